"""Where every sign of a pattern stands on the stand: the chart cut into systems that fit the screen.

Time runs proportionally: a beat has the same width everywhere, and a column stands where its fraction of the beat
falls. A pattern that does not fit on one line is cut at bar lines, a bar that does not fit at beats.

Conventions: x and widths in terminal columns, positions in beats from the pattern's start (`Fraction`).
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from drillbox.app.glyphs import TALL_WIDTH

if TYPE_CHECKING:
    from drillbox.rhythm import Chart

LABEL_WIDTH = 7
_BEAT_WIDTH_MOST = 40


@dataclass(frozen=True, slots=True)
class Cell:
    """One column of the chart on the screen: its place, its count, one sign a row, and the sticking."""

    at: Fraction
    x: int
    count: str
    is_beat: bool
    signs: tuple[str, ...]
    hands: str


@dataclass(frozen=True, slots=True)
class System:
    """One line of music: beats `first` to `last` (exclusive), with a bar line at each x of `bar_lines`."""

    first: int
    last: int
    cells: tuple[Cell, ...]
    bar_lines: tuple[int, ...]

    def cell_at(self, beat: float) -> int | None:
        """Return the index of the cell that sounds or rests at `beat`, or None outside this system."""
        if not self.first <= beat < self.last:
            return None
        return bisect_right([cell.at for cell in self.cells], beat) - 1


@dataclass(frozen=True, slots=True)
class Page:
    """A pattern laid out for a width and height in terminal cells."""

    labels: tuple[str, ...]
    systems: tuple[System, ...]
    beat_width: int
    row_height: int
    with_hands: bool

    @property
    def system_height(self) -> int:
        """Rows of one system: counts, voices, hands."""
        return 1 + len(self.labels) * self.row_height + (1 if self.with_hands else 0)

    @property
    def height(self) -> int:
        """Rows of the whole page, one blank row between systems."""
        return len(self.systems) * (self.system_height + 1) - 1


def lay_out(chart: Chart, *, width: int, height: int) -> Page:
    """Return the largest page that fits `width` x `height`; a page too tall for it scrolls."""
    beats = chart.meter.beats
    total = beats * len(chart.bars)
    closest = min(
        (late.at - early.at for bar in chart.bars for early, late in pairwise(bar.columns)),
        default=Fraction(1),
    )
    labels = tuple(row.label for row in chart.bars[0].rows)
    room = max(width - LABEL_WIDTH, 8)
    per_line = _beats_per_line(total, beats, room, closest)
    beat_width = min(room // per_line, _BEAT_WIDTH_MOST)
    systems = tuple(
        _system(chart, first, min(first + per_line, total), beat_width)
        for first in range(0, total, per_line)
    )
    with_hands = any(cell.hands for system in systems for cell in system.cells)
    rows = (height + 1) // len(systems) - 2 - (1 if with_hands else 0)
    tall_fits = rows // max(len(labels), 1) >= 3 and beat_width * closest >= TALL_WIDTH
    return Page(labels, systems, beat_width, 3 if tall_fits else 1, with_hands)


def _beats_per_line(total: int, bar: int, room: int, closest: Fraction) -> int:
    candidates = [total, *(n * bar for n in range(total // bar, 0, -1)), (bar + 1) // 2]
    for count in candidates:
        if (room // count) * closest >= TALL_WIDTH:
            return count
    return next((n for n in range(bar, 0, -1) if (room // n) * closest >= TALL_WIDTH), 1)


def _system(chart: Chart, first: int, last: int, beat_width: int) -> System:
    cells = []
    bar_lines = []
    for index, bar in enumerate(chart.bars):
        start = index * chart.meter.beats
        if first <= start < last:
            bar_lines.append(LABEL_WIDTH - 1 + (start - first) * beat_width)
        for column, place in enumerate(bar.columns):
            if first <= place.at < last:
                cells.append(
                    Cell(
                        at=place.at,
                        x=LABEL_WIDTH + int((place.at - first) * beat_width),
                        count=place.label,
                        is_beat=place.is_beat,
                        signs=tuple(row.signs[column] for row in bar.rows),
                        hands=bar.sticking[column],
                    )
                )
    return System(first, last, tuple(cells), tuple(bar_lines))
