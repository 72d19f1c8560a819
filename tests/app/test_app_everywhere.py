"""Every screen says the same of a player's days, wherever the player lives."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from everywhere import TIMES, ZONES, box_of_the_story

from drillbox.base.clock import ManualClock
from drillbox.memory import Grade

sys.path.insert(0, str(Path(__file__).parent))
from conftest import MORNING
from hands_on import make_app, press, screen_text, settle

WAY = (
    (),
    ("e",),
    ("escape", "s"),
    ("enter",),
    ("t",),
    ("escape", "escape", "v"),
    ("escape", "escape", "w"),
    ("y",),
    ("e",),
)
"""Today, the plan on paper, the shelf, a card, its takes, the map, week, year, the map on paper."""


async def seen(zone: str, now: str) -> list[str]:
    """Return what the screens say on the way, at a time on the wall of a zone."""
    clock = ManualClock(MORNING)
    screens = []
    with box_of_the_story(":memory:", clock, zone, now) as box:
        app = make_app(box, clock)
        async with app.run_test(size=(100, 40)) as pilot:
            await settle(pilot)
            for keys in WAY:
                await press(pilot, *keys)
                screens.append(screen_text(app))
    return screens


@pytest.mark.parametrize("now", [TIMES[0], TIMES[3]])
async def test_every_screen_says_the_same_in_every_zone(now: str) -> None:
    """At four in the morning and at eleven in the evening, on both sides of Greenwich."""
    east, west = [await seen(zone, now) for zone in (ZONES[0], ZONES[-1])]
    assert len(WAY) == len(set(east))
    for here, there in zip(east, west, strict=True):
        assert here == there


def test_a_take_at_the_stand_is_of_the_clock_on_its_wall() -> None:
    """Its zone is kept with it, so its practice day is the same on any machine for good."""
    clock = ManualClock(MORNING)
    for zone, offset in ((ZONES[0], "+12:00"), (ZONES[1], "+05:30"), (ZONES[4], "-07:00")):
        with box_of_the_story(":memory:", clock, zone, TIMES[0]) as box:
            saved = make_app(box, clock).desk.unsaved.save(
                box.find("e"), bpm=90, grade=Grade.CLEAN, at=clock.now(), seconds=40
            )
            assert saved
            assert offset == box.archive.takes()[-1].zone
