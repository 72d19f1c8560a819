"""The studio on a screen: who needs a word stands first, and the arrows go through the students."""

from __future__ import annotations

import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from textual.widgets import Input

from drillbox.app.screens.studio import StudioApp
from drillbox.base.clock import ManualClock
from drillbox.studio import CardProgress, DeckInfo, Played, Progress, look_at, read_reply

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import check_screen, press, screen_text, settle, shows

TODAY = date(2026, 11, 25)
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
DECK = DeckInfo("week-3", "Week 3", 2)


def student(number: int, name: str, state: str, *played: tuple[int, int, float]) -> Progress:
    """Return a student with one card, played as (days ago, takes, cold tempo)."""
    days = tuple(
        Played(TODAY - timedelta(days=ago), takes, 60.0 * takes, bpm) for ago, takes, bpm in played
    )
    card = CardProgress("0" * 16, "e of every beat", ("week-3",), 90.0, state, played[-1][2], days)
    written = datetime(2026, 11, 25, tzinfo=UTC)
    return Progress(f"{number:032x}", name, written, (DECK,), (card,))


def studio() -> StudioApp:
    """Return the studio of three students."""
    files = [
        student(1, "Ada", "holding", (40, 2, 80), (1, 3, 92)),
        student(2, "Ben", "building", (20, 8, 80), (9, 9, 80.5)),
        student(3, "Cleo [b]", "fading", (28, 3, 92)),
    ]
    return StudioApp(look_at(files, today=TODAY), clock=ManualClock(NOON))


async def test_the_studio_as_a_teacher_sees_it() -> None:
    """A row a student, the first in full; the arrows show the others."""
    app = studio()
    async with app.run_test(size=(100, 28)) as pilot:
        assert await shows(pilot, "r reply q quit")
        await settle(pilot)
        check_screen(app, "studio")
        await press(pilot, "down")
        assert await shows(pilot, "Ben: 0 of 1 begun in hand after 21 days")
        second = " ".join(screen_text(app).split())
        await press(pilot, "q")

    assert "Ben: 0 of 1 begun in hand after 21 days" in second
    assert "1 card stuck" in second
    assert "stuck: e of every beat (80 of 90; 17 takes on 2 days, +0.5 bpm)" in second
    assert 0 == app.return_code


@pytest.mark.parametrize("size", [(60, 18), (80, 24), (200, 60)])
async def test_the_studio_fits_every_terminal(size: tuple[int, int]) -> None:
    """Names, reasons and decks are to be seen, however small the window."""
    app = studio()
    async with app.run_test(size=size) as pilot:
        assert await shows(pilot, "Cleo [b]: no practice")
        shown = screen_text(app)
        await press(pilot, "f2")

    for words in (
        "Ada",
        "Ben",
        "Cleo [b]: no practice for 28 days",
        "Week 3 (edition 2); file of Wed 25 Nov",
    ):
        assert words in shown


async def test_a_reply_is_written_at_the_desk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A word and a goal for the student under the cursor; a mistake is said first."""
    monkeypatch.chdir(tmp_path)
    app = studio()
    async with app.run_test(size=(80, 24)) as pilot:
        assert await shows(pilot, "Cleo [b]: no practice")
        await press(pilot, "r")
        assert await shows(pilot, "Reply to Cleo [b]")
        sheet = screen_text(app)
        app.screen.query_one("#reply-note", Input).value = "Lower ghosts."
        app.screen.query_one("#reply-goals", Input).value = "nothing like it=80"
        await press(pilot, "enter")
        refused = screen_text(app)
        app.screen.query_one("#reply-goals", Input).value = "e of every=80"
        await press(pilot, "enter")
        await settle(pilot)
    name = "cleo-b-2026-11-25.reply"
    reply = read_reply((tmp_path / name).read_bytes(), name)

    assert "Reply to Cleo [b]" in sheet
    assert "2026-12-09" in sheet
    assert "no card" in refused
    assert ("Lower ghosts.", 80.0) == (reply.note, reply.goals[0].goal_bpm)
