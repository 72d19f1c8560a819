"""Where every sign of a pattern stands on the stand.

The chart cut into systems that fit the screen.

Time runs proportionally: a beat has the same width everywhere, and a column stands where its
fraction of the beat falls. A pattern that does not fit on one line is cut at bar lines, a bar that
does not fit at beats.

Conventions: x and widths in terminal columns, positions in beats from the pattern's start
(`Fraction`).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from drillbox.app.glyphs import FLAT, SIZES

if TYPE_CHECKING:
    from drillbox.app.glyphs import Size
    from drillbox.rhythm import Chart

Under = Mapping[Fraction, str]
LABEL_WIDTH = 7
_BEAT_WIDTH_MOST = 40


@dataclass(frozen=True, slots=True)
class Cell:
    """One column of the chart on the screen.

    Its place, its count, one sign a voice, and what stands under them.
    """

    at: Fraction
    x: int
    count: str
    is_beat: bool
    signs: tuple[str, ...]
    under: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class System:
    """One line of music.

    Beats `first` to `last` (exclusive), with a bar line at each x of `bar_lines`.
    """

    first: int
    last: int
    cells: tuple[Cell, ...]
    bar_lines: tuple[int, ...]

    def cell_at(self, beat: float) -> int | None:
        """Return the index of the cell that `beat` falls into, or None outside this system."""
        if not self.first <= beat < self.last:
            return None
        return bisect_right([cell.at for cell in self.cells], beat) - 1


@dataclass(frozen=True, slots=True)
class PatternLayout:
    """A pattern laid out for a width and height in terminal cells.

    Parameters
    ----------
    labels
        The voices, top to bottom.
    systems
        The lines of music.
    size
        The size of the signs.
    gap
        Blank rows after each voice.
    under
        The names of the rows under the voices.
    """

    labels: tuple[str, ...]
    systems: tuple[System, ...]
    size: Size
    gap: int
    under: tuple[str, ...]

    @property
    def voice_height(self) -> int:
        """Rows from one voice to the next."""
        return self.size.rows + self.gap

    @property
    def system_height(self) -> int:
        """Rows of one system: counts, voices, what stands under them."""
        return 1 + len(self.labels) * self.voice_height + len(self.under)

    @property
    def height(self) -> int:
        """Rows of the whole page, one blank row between systems."""
        return len(self.systems) * (self.system_height + 1) - 1


def lay_out(chart: Chart, under: Mapping[str, Under], *, width: int, height: int) -> PatternLayout:
    """Return the largest page that fits `width` x `height`.

    One that cannot fit is flat and scrolls.

    Parameters
    ----------
    chart
        The pattern.
    under
        Rows to stand under the voices, by name: a short text at each position that has one.
    width, height
        The place there is.
    """
    total = chart.meter.beats * len(chart.bars)
    closest = min(
        (late.at - early.at for bar in chart.bars for early, late in pairwise(bar.columns)),
        default=Fraction(1),
    )
    labels = tuple(row.label for row in chart.bars[0].rows)
    room = max(width - LABEL_WIDTH, 8)
    for size in SIZES:
        per_line = _beats_per_line(total, chart.meter.beats, int(room * closest) // size.columns)
        if per_line == 0 and size is not FLAT:
            continue
        per_line = max(per_line, 1)
        beat_width = min(room // per_line, _BEAT_WIDTH_MOST)
        systems = tuple(
            _system(chart, under, first, min(first + per_line, total), beat_width)
            for first in range(0, total, per_line)
        )
        for gap in (1, 0) if size is not FLAT else (0,):
            page = PatternLayout(labels, systems, size, gap, tuple(under))
            if page.height <= height or size is FLAT:
                return page
    raise AssertionError("the flat size always fits")  # pragma: no cover


def _beats_per_line(total: int, bar: int, most: int) -> int:
    """Return how many beats go on a line of `most` at the most.

    Whole bars, else half a bar, else what fits.
    """
    whole_bars = min(total, most) // bar * bar
    if whole_bars:
        return whole_bars
    half = (bar + 1) // 2
    return half if half <= most else min(most, bar)


def _system(
    chart: Chart, under: Mapping[str, Under], first: int, last: int, beat_width: int
) -> System:
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
                        under=tuple(texts.get(place.at, "") for texts in under.values()),
                    )
                )
    return System(first, last, tuple(cells), tuple(bar_lines))
