"""One story of a player, told by the clock on the wall of any zone: it is the same everywhere.

In July no clock of these zones changes; moved by whole weeks, its Sunday is one on which they do.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from itertools import count
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from conftest import SMALL_DECK

from drillbox.box import Box
from drillbox.deckfile import parse_deck
from drillbox.memory import Grade

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.base.clock import ManualClock

ZONES = (
    "Pacific/Auckland",
    "Asia/Kolkata",
    "Europe/Zurich",
    "America/New_York",
    "America/Los_Angeles",
)
TIMES = ("2026-07-15 03:59", "2026-07-14 06:00", "2026-07-14 12:00", "2026-07-14 23:00")
"""Of one practice day, a Tuesday."""
SUNDAY = date(2026, 7, 12)
"""Of the story; in its small hours a card is played."""
STORY = (
    ("2026-07-06 12:00", "e", 84, Grade.CLEAN),
    ("2026-07-07 03:30", "a", 76, Grade.STEADY),
    ("2026-07-11 23:30", "e", 96, Grade.AUTOMATIC),
    ("2026-07-12 03:30", "a-doubled", 88, Grade.AUTOMATIC),
    ("2026-07-13 05:30", "a", 92, Grade.AUTOMATIC),
    ("2026-07-13 22:00", "e", 98, Grade.STEADY),
)


def asking(sunday: date = SUNDAY) -> str:
    """Return the story's deck, which asks for cards by the Tuesday and the Wednesday after it."""
    return f"""{SMALL_DECK}
[[assignment]]
by = {sunday + timedelta(days=3)}
cards = ["e", "a"]

[[assignment]]
by = {sunday + timedelta(days=2)}
cards = ["e-a"]
"""


def box_of_the_story(
    path: Path | str, clock: ManualClock, zone: str, now: str, *, sunday: date = SUNDAY
) -> Box:
    """Return a box in which the story was lived in a zone, its clock at a time on the wall.

    All moments, `now` as well, are moved by so many days that the story's Sunday is another one.
    """

    def at(text: str) -> datetime:
        moved = datetime.fromisoformat(text) + (sunday - SUNDAY)
        return moved.replace(tzinfo=ZoneInfo(zone))

    numbers = count(1)
    clock.set(at("2026-07-06 08:00"))
    box = Box.open(path, clock=clock, new_id=lambda: f"{next(numbers):032x}")
    box.put_deck(parse_deck(asking(sunday), name="asking.toml"), at=clock.now())
    for text, slug, bpm, grade in STORY:
        clock.set(at(text))
        box.record(box.find(slug), bpm=bpm, grade=grade, at=at(text), seconds=60)
    clock.set(at(now))
    return box
