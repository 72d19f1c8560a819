"""A player's days are the same wherever the player lives: every command says the same of them.

One story is told by the clock on the wall, in five zones. What a command says of days, counts and
foresees depends on practice days alone, so no two zones may differ in a word; only the moments with
their offsets that are written for programs are not looked at. In July no clock of these zones
changes; the nights on which they do have tests of their own (`test_day_names.py`).
"""

from __future__ import annotations

import re
from datetime import datetime
from itertools import count
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest
from cli_kit import Player
from conftest import SMALL_DECK

from drillbox.box import Box
from drillbox.deckfile import parse_deck
from drillbox.memory import Grade

if TYPE_CHECKING:
    from pathlib import Path

ZONES = (
    "Pacific/Auckland",
    "Asia/Kolkata",
    "Europe/Zurich",
    "America/New_York",
    "America/Los_Angeles",
)
ASKING = f"""{SMALL_DECK}
[[assignment]]
by = 2026-07-15
cards = ["e", "a"]

[[assignment]]
by = 2026-07-14
cards = ["e-a"]
"""
ID = re.compile(r"\b(?:[0-9a-f]{8}){1,4}\b")
STORY = (
    ("2026-07-06 12:00", "e", 84, Grade.CLEAN),
    ("2026-07-07 03:30", "a", 76, Grade.STEADY),
    ("2026-07-11 23:30", "e", 96, Grade.AUTOMATIC),
    ("2026-07-12 03:30", "a-doubled", 88, Grade.AUTOMATIC),
    ("2026-07-13 05:30", "a", 92, Grade.AUTOMATIC),
    ("2026-07-13 22:00", "e", 98, Grade.STEADY),
)
"""Takes before the commands are asked, by the clock on the wall."""
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
)
"""In this order; files lie in the player's own folder."""


def told(folder: Path, zone: str, now: str, player: Player) -> dict[str, str]:
    """Return what all the commands say to a player of the story at a time on the wall of a zone."""

    def at(text: str) -> datetime:
        return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone))

    numbers = count(1)
    (folder / "asking.toml").write_text(ASKING, encoding="utf-8")
    player.clock.set(at("2026-07-06 08:00"))
    with Box.open(player.path, clock=player.clock, new_id=lambda: f"{next(numbers):032x}") as box:
        box.put_deck(parse_deck(ASKING, name="asking.toml"), at=player.clock.now())
        for text, slug, bpm, grade in STORY:
            player.clock.set(at(text))
            box.record(box.find(slug), bpm=bpm, grade=grade, at=at(text), seconds=60)
    player.clock.set(at(now))
    return {" ".join(words): ID.sub("ID", "".join(map(str, player(*words)))) for words in SAID}


@pytest.mark.parametrize(
    "now", ["2026-07-15 03:59", "2026-07-14 06:00", "2026-07-14 12:00", "2026-07-14 23:00"]
)
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
