"""A player's days are the same wherever the player lives: every command says the same of them.

What a command says of days, counts and foresees depends on practice days alone, so no two zones may
differ in a word; only the moments with their offsets that are written for programs are not looked
at.
"""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

import pytest
from cli_kit import Player
from everywhere import SUNDAY, TIMES, ZONES, asking, box_of_the_story

from drillbox.report.strides import week, week_sections
from drillbox.report.year_page import year_page

if TYPE_CHECKING:
    from pathlib import Path

ID = re.compile(r"\b(?:[0-9a-f]{8}){1,4}\b")
SAID = (
    ("today",),
    ("why", "e"),
    ("why", "a-doubled"),
    ("why", "e-a"),
    ("cards",),
    ("cards", "away>2"),
    ("goals", "away<2", "--by", "5", "--preview"),
    ("card", "e"),
    ("card", "a", "--plain"),
    ("year",),
    ("year", "--json"),
    ("decks",),
    ("decks", "check", "asking.toml"),
    ("progress", "export", "mia.jsonl", "--name", "Mia", "--yes"),
    ("studio", "mia.jsonl"),
    ("studio", "mia.jsonl", "--parents", "Mia"),
    ("reply", "mia.jsonl", "--to", "Mia", "--want", "e of every beat", "--by", "2026-07-13"),
    ("reply", "mia.jsonl", "--to", "Mia", "--want", "e of every beat", "--by", "2026-07-14"),
    ("sheet", "--today"),
    ("sheet", "--map"),
    ("sheet", "--standing"),
    ("sheet", "--deck", "first-ghosts", "--lesson", "Mia"),
    ("record", "e", "80", "steady", "--at", "yesterday 12:00", "--sure"),
    ("undo",),
    ("backup",),
    ("record", "e", "80", "steady", "--sure"),
    ("restore", "--yes"),
)
"""In this order; files lie in the player's own folder."""


def told(
    folder: Path, zone: str, now: str, player: Player, *, sunday: date = SUNDAY
) -> dict[str, str]:
    """Return what all the commands say to a player of the story at a time on the wall of a zone."""
    (folder / "asking.toml").write_text(asking(sunday), encoding="utf-8")
    with box_of_the_story(player.path, player.clock, zone, now, sunday=sunday) as box:
        at = player.clock.now()
        pages = {
            "the year's page": year_page(box, at=at),
            "the week": repr(week_sections(week(box, at=at), width=80)),
        }
    said = {" ".join(words): "".join(map(str, player(*words))) for words in SAID}
    return {
        words: ID.sub("ID", text.replace(str(folder), "")) for words, text in (pages | said).items()
    }


@pytest.mark.parametrize("now", TIMES)
def test_every_command_says_the_same_in_every_zone(
    now: str, tmp_path: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """At four in the morning, at six, at noon and at eleven in the evening of a Tuesday."""
    first: dict[str, str] = {}
    for n, zone in enumerate(ZONES):
        folder = tmp_path / str(n)
        folder.mkdir()
        monkeypatch.chdir(folder)
        player = Player(folder / "player.box", capfd, monkeypatch)
        said = told(folder, zone, now, player)
        first = first or said
        for words, text in said.items():
            assert first[words] == text, f"{words} in {zone}"


@pytest.mark.parametrize(
    ("zone", "sunday"),
    [
        ("America/Los_Angeles", "2026-03-08"),
        ("America/Los_Angeles", "2026-11-01"),
        ("Europe/Zurich", "2026-03-29"),
        ("Europe/Zurich", "2026-10-25"),
        ("Pacific/Auckland", "2026-04-05"),
        ("Pacific/Auckland", "2026-09-27"),
    ],
)
def test_every_command_says_the_same_over_a_change_of_the_clocks(
    zone: str,
    sunday: str,
    tmp_path: Path,
    capfd: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Two days after the night of the change, as where the clocks are left alone.

    The page's curves aside: an hour more or less was forgotten, which is a tenth of a millimetre.
    """
    said = []
    for n, where in enumerate((zone, "Asia/Kolkata")):
        folder = tmp_path / str(n)
        folder.mkdir()
        monkeypatch.chdir(folder)
        player = Player(folder / "player.box", capfd, monkeypatch)
        said.append(told(folder, where, TIMES[0], player, sunday=date.fromisoformat(sunday)))
    for words in said[0].keys() - {"the year's page"}:
        assert said[1][words] == said[0][words], words
