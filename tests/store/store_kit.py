"""What the tests of the store share: a fixed moment, ids in order, small rows."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import drillbox
from drillbox.store import Archive, CardRow, DeckRow, Standing, TakeRow

if TYPE_CHECKING:
    from collections.abc import Callable

NOW = datetime(2026, 3, 12, 18, 30, tzinfo=ZoneInfo("Europe/Berlin"))
CARD, OTHER = f"{1:016x}", f"{2:016x}"
USUAL: dict[str, Any] = {
    "card_id": CARD, "bpm": 90.0, "grade": 0, "at": "2026-03-12T19:30:00.000000Z",
    "zone": "Europe/Berlin", "seconds": 40.0, "source": "self",
}  # fmt: skip
"""The values of a take as another program may put them into a box (`hostile_rows.put_take`)."""


def ids(start: int = 10**6) -> Callable[[], str]:
    """Return a source of entry ids that gives the same ones every time."""
    numbers = count(start)
    return lambda: f"{next(numbers):032x}"


def open_box(
    path: str | Path = ":memory:",
    *,
    now: datetime = NOW,
    read_only: bool = False,
    checks_first: bool = True,
    start: int = 10**6,
) -> Archive:
    """Open a box at a fixed moment."""
    return Archive.open(
        path, now=now, new_id=ids(start), read_only=read_only, checks_first=checks_first
    )


def standing(mark: int, version: str = "model 1") -> Standing:
    """Return what a cache accounts for: the log up to a mark, and every take up to tomorrow."""
    return Standing(version, mark, NOW + timedelta(days=1))


def take(number: int, **changes: Any) -> TakeRow:
    """Return the take of that number, a minute after the one before."""
    values: dict[str, Any] = {
        "id": f"{number:032x}",
        "card_id": CARD,
        "bpm": 92.0,
        "grade": 1,
        "at": NOW + timedelta(minutes=number),
        "zone": "Europe/Berlin",
        "seconds": 45.0,
        "source": "self",
    }
    return TakeRow(**values | changes)


def deck(key: str = "ghosts", **changes: Any) -> DeckRow:
    """Return a deck."""
    values: dict[str, Any] = {
        "id": key,
        "title": "Ghost notes",
        "edition": 1,
        "author": "A. Teacher",
        "licence": "CC0-1.0",
        "about": "Placements.\nAll of them.",
        "text": 'title = "Ghost notes"\n',
        "added_at": NOW,
    }
    return DeckRow(**values | changes)


def card(number: int, key: str = "ghosts", **changes: Any) -> CardRow:
    """Return the card of that number of a deck."""
    values: dict[str, Any] = {
        "deck_id": key,
        "slug": f"card-{number}",
        "card_id": f"{number:016x}",
        "title": "e of every beat",
        "pattern": "snare: >2 >4 (e)\n",
        "seconds60": 4.0,
        "bars": 1,
        "goal_bpm": 100.0,
        "importance": 1.0,
        "after": (CARD,),
        "family": "singles",
        "position": number,
        "note": "",
    }
    return CardRow(**values | changes)


def box_with(path: Path, *numbers: int) -> Path:
    """Make a box with takes of these numbers."""
    with open_box(path) as box:
        for number in numbers:
            box.add_take(take(number))
    return path


def python(program: str, *arguments: str) -> subprocess.Popen[str]:
    """Start a child process that knows this folder and drillbox."""
    places = (Path(drillbox.__file__).parent.parent, Path(__file__).parent)
    return subprocess.Popen(
        [sys.executable, "-c", program, *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(map(str, places))},
    )
