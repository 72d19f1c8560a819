"""The map crossed: ghost sets by the bass line under them, or by the drums they are on.

A deck multiplies short lists (`drillbox.rhythm.lists`); here two of them are laid out against each
other. A row has one ghost set, a column one line of the other list; what stands in a cell is the
caller's. Rows and columns with a single cell are left out: they cross nothing.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from drillbox.rhythm.counting import counts, said_places
from drillbox.rhythm.embellishments import EMBELLISHMENTS
from drillbox.rhythm.lists import Axis, axes
from drillbox.rhythm.stroke import Level, Ornament, Voice

if TYPE_CHECKING:
    from collections.abc import Iterable

    from drillbox.rhythm.pattern import Pattern

__all__ = ["Crossing", "crossed"]

_NO_BASS = "no bass"
_MIXED = "mixed"


class Crossing(NamedTuple):
    """A table: the names of its columns, and rows of a name and a text for each column."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


def crossed(cards: Iterable[tuple[Pattern, float | None, str]], by: Axis) -> Crossing:
    """Return ghost sets crossed with another list of the cards.

    Parameters
    ----------
    cards
        Of each card the pattern, the tempo it is played at (None if it was never), and what to
        write. Where several have one cell, over different time lines, the fastest is written.
    by
        `Axis.BASS` or `Axis.PLACE`.
    """
    best: dict[tuple[str, str], tuple[float, str]] = {}
    for pattern, bpm, text in cards:
        row = _ghosts(pattern)
        if row:
            cell, rank = (row, _line(pattern, by)), bpm or 0.0
            if cell not in best or rank > best[cell][0]:
                best[cell] = (rank, text)
    cells = _worth_crossing(set(best))
    known = [cell for cell in best if cell in cells]
    columns = [name for name, _ in Counter(column for _, column in known).most_common()]
    rows = dict.fromkeys(row for row, _ in known)
    return Crossing(
        tuple(columns),
        tuple(
            (row, tuple(best[row, c][1] if (row, c) in cells else "" for c in columns))
            for row in rows
        ),
    )


def _worth_crossing(cells: set[tuple[str, str]]) -> set[tuple[str, str]]:
    """Return the cells left when rows and columns of one cell are taken away again and again."""
    while True:
        rows = Counter(row for row, _ in cells)
        columns = Counter(column for _, column in cells)
        left = {(row, column) for row, column in cells if rows[row] > 1 and columns[column] > 1}
        if left == cells:
            return left
        cells = left


def _ghosts(pattern: Pattern) -> str:
    """Return a pattern's ghosts in words, wherever they are played; empty if it has none."""
    ghosts = [stroke for stroke in pattern.strokes if stroke.level is Level.GHOST]
    if not ghosts or str(pattern.meter) != "4/4" or any(stroke.hand for stroke in ghosts):
        return ""
    words = said_places(pattern, ghosts)
    ornaments = {stroke.ornament for stroke in ghosts}
    if ornaments == {Ornament.NONE}:
        return words
    embellished = EMBELLISHMENTS[ornaments.pop()].said_of_all if len(ornaments) == 1 else _MIXED
    return f"{words}, {embellished}"


def _line(pattern: Pattern, by: Axis) -> str:
    if by is Axis.PLACE:
        return " and ".join(axes(pattern).place)
    bass = [stroke for stroke in pattern.strokes if stroke.voice is Voice.BASS]
    return counts(pattern, bass) or _NO_BASS
