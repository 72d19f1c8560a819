"""A pattern as text: counts on top, one row a voice, bar lines between bars.

::

          1   e   &   a   2   e   &   a
    hat | x       x       x       x     |

Every partial has the same width: loose, or tight where that saves breaking a bar. As many bars
stand beside each other as fit; a bar that does not fit is broken between beats. A sticking row is
drawn where the writer prescribes hands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.rhythm.charting import ChartBar, Row, chart
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
    with_hands = any(stroke.hand is not None for stroke in pattern.strokes)
    labels = [row.label for row in bars[0].rows]
    labels += [_STICKING] * with_hands + [*_MOTIONS] * motions
    margin = max(map(len, labels), default=0)
    room = width - margin - 2
    longest = max(len(column.label) for bar in bars for column in bar.columns)
    loose, tight = (_Layout(margin, max(cell, longest), with_hands) for cell in (_LOOSE, _TIGHT))
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
    return "\n".join(layout.system(system) for system in systems)


@dataclass(frozen=True, slots=True)
class _Layout:
    """The measures of one drawing."""

    margin: int
    cell: int
    with_hands: bool

    def width(self, bar: ChartBar) -> int:
        """Return the width of a bar with the bar line that ends it."""
        return len(bar.columns) * self.cell + 1

    def broken(self, bars: Sequence[ChartBar], room: int) -> list[ChartBar]:
        """Break bars that do not fit, until their parts do."""
        return [part for bar in bars for part in self._parts(bar, room)]

    def _parts(self, bar: ChartBar, room: int) -> list[ChartBar]:
        """Break a bar between beats, as evenly as can be, until its parts fit or are single beats."""
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
        counts = " ".join(self._cells([column.label for column in bar.columns]) for bar in bars)
        lines = [f"{'':{self.margin}}  {counts}"]
        for voices in zip(*(bar.rows for bar in bars), strict=True):
            row = "|".join(self._cells([sign or _SILENT for sign in v.signs]) for v in voices)
            lines.append(f"{voices[0].label:{self.margin}} |{row}|")
        if self.with_hands:
            row = " ".join(self._cells(bar.sticking) for bar in bars)
            lines.append(f"{_STICKING:{self.margin}}  {row}")
        for hand, label in enumerate(_MOTIONS):
            if all(bar.motions is not None for bar in bars):
                row = " ".join(self._cells(bar.motions[hand]) for bar in bars if bar.motions)
                lines.append(f"{label:{self.margin}}  {row}")
        return "".join(f"{line.rstrip()}\n" for line in lines)

    def _cells(self, texts: Sequence[str]) -> str:
        return "".join(_place(text, self.cell) for text in texts)


def _slice(bar: ChartBar, start: int, end: int) -> ChartBar:
    rows = tuple(Row(row.voice, row.label, row.signs[start:end]) for row in bar.rows)
    motions = bar.motions and (bar.motions[0][start:end], bar.motions[1][start:end])
    return ChartBar(bar.columns[start:end], rows, bar.sticking[start:end], motions)


def _place(text: str, cell: int) -> str:
    """Set a sign so that all heads stand in the second place of their cells."""
    at_once = text.startswith((">", "(")) or len(text) == cell
    return (text if at_once else f" {text}").ljust(cell)
