"""Files to and from a teacher, in the app: asked for by name, read first, never looked for."""

from __future__ import annotations

import sys
from datetime import UTC, date
from io import BytesIO
from pathlib import Path

import pytest
from textual.widgets import Input
from told_takes import told

from drillbox.app.screens.hand_over import HandInSheet, TakeInSheet
from drillbox.ear.log_values import log_values
from drillbox.memory import Grade
from drillbox.report.progress_file import keep_student, progress_of
from drillbox.studio import look_at, read_progress
from drillbox.studio.reply_writing import reply_content, reply_for

sys.path.insert(0, str(Path(__file__).parent))
from typing import TYPE_CHECKING

from hands_on import make_app, press, screen_text, settle, shows

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.deckfile import Deck

STUDENT = "0" * 31 + "7"


async def test_progress_is_read_before_it_is_written(
    box: Box, clock: ManualClock, small_deck: Deck, tmp_path: Path
) -> None:
    """What the file tells stands above its name; a file of somebody else is not replaced."""
    box.put_deck(small_deck, at=clock.now())
    other, mine = tmp_path / "other.txt", tmp_path / "mia.jsonl"
    other.write_text("not a progress file", encoding="utf-8")
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        app.action_hand_in()
        assert await shows(pilot, "Hand your progress in")
        sheet = " ".join(screen_text(app).split())
        app.screen.query_one("#file-path", Input).value = str(other)
        await press(pilot, "enter")
        stays = isinstance(app.screen, HandInSheet)
        app.screen.query_one("#file-name", Input).value = "Mia"
        assert await shows(pilot, "The file says: Mia; decks: First ghosts.")
        app.screen.query_one("#file-path", Input).value = str(mine)
        await press(pilot, "enter")
        app.action_hand_in()
        assert await shows(pilot, "The file says: Mia; decks: First ghosts.")
        again = app.screen.query_one("#file-path", Input).value
        await press(pilot, "enter")
    written = read_progress(BytesIO(mine.read_bytes()), "mia.jsonl")

    assert "Not in it: times of day, grades, measurements" in sheet
    assert stays
    assert "The file says: no name; decks: First ghosts." in sheet
    assert "Mia" == written.name
    assert "not a progress file" == other.read_text(encoding="utf-8")
    assert str(mine) == again
    assert len(small_deck.cards) == len(written.cards)


async def test_a_reply_is_taken_in_by_its_name(
    box: Box, clock: ManualClock, small_deck: Deck, tmp_path: Path
) -> None:
    """The word stands on Today; no file, a wrong one and nothing at all are said on the sheet."""
    box.put_deck(small_deck, at=clock.now())
    progress = progress_of(box, at=clock.now(), new_id=lambda: STUDENT, name="Mia")
    keep_student(box, progress, at=clock.now())
    (one,) = look_at([progress], today=date(2026, 11, 25))
    reply = reply_for(
        one, note="Lower ghosts.", wanted=(), by=None, goals=(), teacher="Mr. K",
        now=clock.now().astimezone(UTC),
    )  # fmt: skip
    file = tmp_path / "mia.reply"
    file.write_bytes(reply_content(reply))
    damaged = tmp_path / "damaged.reply"
    damaged.write_bytes(reply_content(reply).replace(b"Lower", b"Louder"))
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        app.action_take_in()
        assert await shows(pilot, "Take in a reply from your teacher")
        stays = []
        for wrong in ("", str(tmp_path / "none.reply"), "~nobody-here/x", "a\0b", str(damaged)):
            app.screen.query_one(Input).value = wrong
            await press(pilot, "enter")
            stays.append(isinstance(app.screen, TakeInSheet))
        untouched = box.replies()
        app.screen.query_one(Input).value = str(file)
        await press(pilot, "enter")
        assert await shows(pilot, "Mr. K, "), screen_text(app)
        today = screen_text(app)

    assert "Lower ghosts." in today
    assert [True] * 5 == stays
    assert () == tuple(untouched)
    assert ["Lower ghosts."] == [one.note for one in box.replies()]


async def test_what_is_typed_first_is_the_name(
    box: Box,
    clock: ManualClock,
    small_deck: Deck,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A student types a name and enter: it is the name in the file, and not the name of the file.

    A name that was given before is replaced in the same way, and the file stays where it was.
    """
    monkeypatch.chdir(tmp_path)
    box.put_deck(small_deck, at=clock.now())
    app = make_app(box, clock)
    names = []
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for typed in ("Sam", "Mia"):
            app.action_hand_in()
            assert await shows(pilot, "Hand your progress in")
            await settle(pilot)
            keys = screen_text(app).splitlines()[-1]
            await press(pilot, *typed, "enter")
            file = tmp_path / "progress.jsonl"
            assert await shows(pilot, "Your progress is in /"), screen_text(app)
            names.append(read_progress(BytesIO(file.read_bytes()), file.name).name)

    assert ["Sam", "Mia"] == names
    assert "leave" in keys
    assert "quit" not in keys
    assert not (tmp_path / "Sam").exists()


@pytest.mark.parametrize("sent", [False, True])
async def test_what_was_heard_is_sent_where_the_player_says_so(
    box: Box, clock: ManualClock, small_deck: Deck, tmp_path: Path, *, sent: bool
) -> None:
    """A box to tick, off at first, beside what it changes in the file; then it is in the file."""
    box.put_deck(small_deck, at=clock.now())
    measured = log_values(told("snare: >2 >4 (1a) (3e)"))
    card = box.find("a")
    box.record(card, 80, Grade.STEADY, clock.now(), 40, source="midi", measured=measured)
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        app.action_hand_in()
        assert await shows(pilot, "▐ ▌ also what was heard: how even your takes were, by month")
        before = " ".join(screen_text(app).split())
        app.screen.query_one("#file-path", Input).value = str(tmp_path / "mia.jsonl")
        if sent:
            await press(pilot, "tab", "space")
        after = " ".join(screen_text(app).split())
        app.screen.query_one("#file-path", Input).focus()
        await press(pilot, "enter")
    written = read_progress(BytesIO((tmp_path / "mia.jsonl").read_bytes()), "mia.jsonl")

    assert "grades, measurements, places" in before
    assert sent == ("How even your takes were" in after)
    assert sent == ("▐X▌ also" in after)
    assert sent != ("grades, measurements, places" in after)
    assert int(sent) == len(written.heard)


async def test_who_was_never_listened_to_is_not_asked(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """Without a measured take there is nothing of it to send."""
    box.put_deck(small_deck, at=clock.now())
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        app.action_hand_in()
        assert await shows(pilot, "Hand your progress in")
        assert "also what was heard" not in screen_text(app)
