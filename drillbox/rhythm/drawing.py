"""A pattern as text: counts on top, one row a voice, bar lines between bars.

::

          1   e   &   a   2   e   &   a
    hat | x       x       x       x     |

Every partial has the same width: loose, or tight where that saves breaking a bar; where beats are
divided differently, every beat has the same width and its partials stand in time. As many bars
stand beside each other as fit; a bar that does not fit is broken between beats. A sticking row is
drawn where the writer prescribes hands, on a pad, and under fills. A swung feel is said above.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from drillbox.rhythm.charting import ChartBar, Column, Row, chart, feel_words
from drillbox.rhythm.stroke import Hand

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.rhythm.pattern import Pattern

__all__ = ["draw"]

_STICKING = "hands"
_MOTIONS = ("right", "left")
_SILENT = "·"
_LOOSE, _TIGHT = 4, 3
"""Widths of a partial."""
_NARROW = 12
"""A beat that holds triplets and sixteenths side by side; finer ones need twice as much."""


def draw(
    pattern: Pattern, *, width: int = 80, motions: bool = False, leading: Hand = Hand.RIGHT
) -> str:
    """Return a drawing of the pattern in plain text.

    Parameters
    ----------
    pattern
        What to draw.
    width
        Columns of the terminal. Lines are longer only where a single beat is.
    motions
        Whether to add a row for each hand: full, down, tap, up by their first letters.
    leading
        The hand that leads, for the motions.

    Returns
    -------
    str
        Lines, each ended by a line feed; a blank line between systems.
    """
    bars = chart(pattern, leading=leading, motions=motions).bars
    with_hands = any(any(bar.told) for bar in bars)
    labels = [row.label for row in bars[0].rows]
    labels += [_STICKING] * with_hands + [*_MOTIONS] * motions
    margin = max(map(len, labels), default=0)
    room = width - margin - 2
    longest = max(len(column.label) for bar in bars for column in bar.columns)
    beat = _beat_width(bars)
    loose, tight = (
        _Layout(margin, max(cell, longest), with_hands, beat) for cell in (_LOOSE, _TIGHT)
    )
    layout, parts = loose, loose.broken(bars, room)
    if len(tighter := tight.broken(bars, room)) < len(parts):
        layout, parts = tight, tighter
    systems: list[list[ChartBar]] = []
    used = room + 1
    for part in parts:
        used += layout.width(part)
        if used > room:
            systems.append([])
            used = layout.width(part)
        systems[-1].append(part)
    drawn = "\n".join(layout.system(system) for system in systems)
    felt = feel_words(pattern)
    return f"{'':{margin + 3}}{felt}\n{drawn}" if felt else drawn


@dataclass(frozen=True, slots=True)
class _Layout:
    """The measures of one drawing."""

    margin: int
    cell: int
    with_hands: bool
    beat: int

    def width(self, bar: ChartBar) -> int:
        """Return the width of a bar with the bar line that ends it."""
        return sum(self.cells(bar)) + 1

    def cells(self, bar: ChartBar) -> list[int]:
        """Return the width of each column."""
        if not self.beat:
            return [self.cell] * len(bar.columns)
        places = [int(column.at * self.beat) for column in bar.columns]
        end = (places[-1] // self.beat + 1) * self.beat
        return [after - at for at, after in pairwise([*places, end])]

    def broken(self, bars: Sequence[ChartBar], room: int) -> list[ChartBar]:
        """Break bars that do not fit, until their parts do."""
        return [part for bar in bars for part in self._parts(bar, room)]

    def _parts(self, bar: ChartBar, room: int) -> list[ChartBar]:
        """Break a bar between beats, as evenly as can be, until its parts fit."""
        starts = [i for i, column in enumerate(bar.columns) if column.is_beat]
        for count in range(1, len(starts) + 1):
            cuts = [starts[len(starts) * part // count] for part in range(count)]
            ends = [*cuts[1:], len(bar.columns)]
            parts = [_slice(bar, start, end) for start, end in zip(cuts, ends, strict=True)]
            if all(self.width(part) <= room for part in parts):
                return parts
        return parts

    def system(self, bars: Sequence[ChartBar]) -> str:
        """Return one system: the counts, the voices, the sticking."""
        counts = " ".join(self._row(bar, [column.label for column in bar.columns]) for bar in bars)
        lines = [f"{'':{self.margin}}  {counts}"]
        for voices in zip(*(bar.rows for bar in bars), strict=True):
            row = "|".join(
                self._row(bar, [sign or _SILENT for sign in v.signs])
                for bar, v in zip(bars, voices, strict=True)
            )
            lines.append(f"{voices[0].label:{self.margin}} |{row}|")
        if self.with_hands:
            row = " ".join(self._row(bar, bar.told) for bar in bars)
            lines.append(f"{_STICKING:{self.margin}}  {row}")
        for hand, label in enumerate(_MOTIONS):
            if all(bar.motions is not None for bar in bars):
                row = " ".join(self._row(bar, bar.motions[hand]) for bar in bars if bar.motions)
                lines.append(f"{label:{self.margin}}  {row}")
        return "".join(f"{line.rstrip()}\n" for line in lines)

    def _row(self, bar: ChartBar, texts: Sequence[str]) -> str:
        return "".join(map(_place, texts, self.cells(bar)))


def _beat_width(bars: Sequence[ChartBar]) -> int:
    """Return the columns of a beat in which partials of all its divisions have room.

    0 where every beat is divided alike, and partials may have one width.
    """
    divisions = {tuple(c.at % 1 for c in beat) for bar in bars for beat in _beats_of(bar)}
    if len(divisions) == 1:
        return 0
    gaps = [after - at for places in divisions for at, after in pairwise([*places, Fraction(1)])]
    return _NARROW if min(gaps) * _NARROW >= _TIGHT and _even(gaps, _NARROW) else 2 * _NARROW


def _even(gaps: Sequence[Fraction], width: int) -> bool:
    return all((gap * width).denominator == 1 for gap in gaps)


def _beats_of(bar: ChartBar) -> list[list[Column]]:
    starts = [index for index, column in enumerate(bar.columns) if column.is_beat]
    return [[*bar.columns[a:b]] for a, b in pairwise([*starts, len(bar.columns)])]


def _slice(bar: ChartBar, start: int, end: int) -> ChartBar:
    rows = tuple(Row(row.voice, row.label, row.signs[start:end]) for row in bar.rows)
    motions = bar.motions and (bar.motions[0][start:end], bar.motions[1][start:end])
    cut = slice(start, end)
    return ChartBar(bar.columns[cut], rows, bar.sticking[cut], bar.told[cut], motions)


def _place(text: str, cell: int) -> str:
    """Set a sign so that all heads stand in the second place of their cells."""
    at_once = text.startswith((">", "(", "_")) or len(text) == cell
    return (text if at_once else f" {text}").ljust(cell)
