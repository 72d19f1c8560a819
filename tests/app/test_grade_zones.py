"""The five zones at every size: none without its grade, the tempo it leads to, and its key."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest
from textual.app import App, ComposeResult
from textual.containers import Vertical

from drillbox.app.widgets.grade_zones import GRADE_KEYS, GradeZones, Proposal, Zone
from drillbox.memory import Grade

if TYPE_CHECKING:
    from textual.geometry import Size

TEMPI = {
    Grade.FELL_APART: 90, Grade.SHAKY: 95, Grade.STEADY: 100, Grade.CLEAN: 105, Grade.AUTOMATIC: 110
}  # fmt: skip


class ZonesAlone(App[None]):
    """The zones in a window of their own, with a proposal of a foot."""

    def compose(self) -> ComposeResult:
        """Lay them out beside words with a margin, as the stand does."""
        with Vertical():
            yield GradeZones()

    def on_mount(self) -> None:
        """Ask."""
        self.query_one(GradeZones).ask(TEMPI, Proposal(Grade.STEADY, "foot"), by_parts=True)


@dataclass(frozen=True)
class Shown:
    """A zone as it settles: its columns in the window, the room in it, and what it says where."""

    columns: int
    room: Size
    text: str
    top: str
    bottom: str


async def zones_at(width: int, height: int) -> list[Shown]:
    """Return what the zones show in a window of some size."""
    async with ZonesAlone().run_test(size=(width, height)) as pilot:
        await pilot.pause()
        return [
            Shown(
                zone.outer_size.width,
                zone.content_size,
                str(zone.render()),
                zone.border_title or "" if zone.styles.border.top[0] else "",
                zone.border_subtitle or "",
            )
            for zone in pilot.app.query(Zone)
        ]


@pytest.mark.parametrize(
    ("width", "height"),
    [(40, 3), (40, 5), (40, 20), (47, 4), (59, 9), (60, 3), (60, 5), (80, 4), (80, 5), (160, 6)],
)
async def test_every_zone_says_its_grade_its_tempo_and_its_key(width: int, height: int) -> None:
    """No word is cut, no row is wider than its zone, and the zones fill the window."""
    zones = await zones_at(width, height)

    assert width == sum(zone.columns for zone in zones)
    for (key, grade), zone in zip(GRADE_KEYS.items(), zones, strict=True):
        words, rows = zone.text.split(), zone.text.splitlines()

        assert grade.label.split() == [word for word in words if word in grade.label.split()]
        assert str(TEMPI[grade]) in words
        assert key in f"{zone.top} {zone.text}".split()
        assert len(rows) <= zone.room.height
        assert max(map(len, rows)) <= zone.room.width


@pytest.mark.parametrize(
    ("width", "where", "title"),
    [
        (40, ["↓", "←", "_", "→", "↑"], "d"),
        (60, ["↓", "← left", "space", "→", "↑"], "d foot"),
        (80, ["↓", "← left", "space", "right →", "↑"], "d foot"),
    ],
)
async def test_the_line_around_a_zone_says_what_it_has_room_for(
    width: int, where: list[str], title: str
) -> None:
    """Its part of the keyboard in words or as a sign, and who proposes it: never half of it."""
    zones = await zones_at(width, 9)

    assert where == [zone.bottom for zone in zones]
    assert title == zones[2].top
    assert all(len(words) <= zone.room.width - 4 for zone in zones for words in (zone.bottom,))
