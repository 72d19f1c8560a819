"""The vocabulary on one page: every set of partials of a grid, by embellishment.

A row for each set, drawn as filled and empty squares; beside it a cell for each embellishment that
the cards have. What stands in a cell is the caller's.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from drillbox.paper.lettering import width
from drillbox.paper.page import Rectangle, Text
from drillbox.paper.sheet_layout import Block, Look, heading, paged
from drillbox.rhythm import EMBELLISHMENTS, Ornament, Placing

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from drillbox.paper.page import Page

__all__ = ["map_sheet"]

_GRIDS = {"Sixteenths": "1e&a", "Eighth triplets": "1tl", "Sixteenth triplets": "1tl&tl"}
_SQUARE = 2.6
_STEP = 3.0
_ROW = 4.6
_ROWS_AT = 10.0
_CELL = 10.0
_SIZE = 8.0
_GAP = 6.0
_MOST_SCALE = 1.4
_HEAD_AND_FOOT = 60.0


def map_sheet(
    title: str, lines: Sequence[str], cells: Mapping[Placing, str], look: Look, *, foot: str
) -> tuple[Page, ...]:
    """Return the map as one page.

    Parameters
    ----------
    title, lines
        The head, and what explains the cells.
    cells
        What to write beside a placing, five characters at most; nothing where no card has it.
    look
        The paper.
    foot
        The foot of the page.
    """
    ornaments = [
        ornament
        for ornament in Ornament
        if ornament is Ornament.NONE or any(placed.ornament is ornament for placed in cells)
    ]
    columns = _columns()
    widths = [max(_wide(grid.letters, ornaments) for grid in column) for column in columns]
    heights = [sum(map(_tall, column)) for column in columns]
    scale = min(
        _MOST_SCALE,
        look.room / (sum(widths) + _GAP * (len(columns) - 1)),
        (look.paper.height - _HEAD_AND_FOOT) / max(heights),
    )
    items: list[Text | Rectangle] = []
    x = 0.0
    for column, wide in zip(columns, widths, strict=True):
        y = 0.0
        for grid in column:
            items += [_scaled(item, x, y, scale) for item in _drawn(grid, ornaments, cells)]
            y += _tall(grid) * scale
        x += (wide + _GAP) * scale
    block = Block(max(heights) * scale, tuple(items))
    return paged(heading(title, lines, look), [block], look, foot=foot)


class _Grid(NamedTuple):
    """A part of the map: its name, a letter for each partial, its rows."""

    name: str
    letters: str
    sets: Sequence[tuple[int, ...]]


def _columns() -> list[list[_Grid]]:
    """Return what stands in each column of the page."""
    grids = [_Grid(name, letters, _sets(len(letters))) for name, letters in _GRIDS.items()]
    *small, large = grids
    half = -(-len(large.sets) // 2)
    parts = [large._replace(sets=large.sets[:half])]
    parts.append(_Grid("", large.letters, large.sets[half:]))
    return [small, *([part] for part in parts)]


def _wide(letters: str, ornaments: Sequence[Ornament]) -> float:
    return len(letters) * _STEP + 2 + _CELL * len(ornaments)


def _tall(grid: _Grid) -> float:
    return _ROWS_AT + _ROW * len(grid.sets) + 4


def _sets(slots: int) -> list[tuple[int, ...]]:
    return [chosen for n in range(1, slots + 1) for chosen in combinations(range(slots), n)]


def _drawn(
    grid: _Grid, ornaments: Sequence[Ornament], cells: Mapping[Placing, str]
) -> Iterator[Text | Rectangle]:
    slots = len(grid.letters)
    start = slots * _STEP + 2
    yield Text(0, 4, grid.name, 10, bold=True)
    for column, ornament in enumerate(ornaments):
        words, size = EMBELLISHMENTS[ornament].said_of_all, _SIZE - 1
        size = min(size, size * (_CELL - 1) / width(words, size))
        yield Text(start + _CELL * (column + 0.5), 8.6, words, size, anchor="middle")
    for slot, letter in enumerate(grid.letters):
        yield Text(slot * _STEP + _SQUARE / 2, 8.6, letter, _SIZE - 1, anchor="middle")
    for row, chosen in enumerate(grid.sets):
        y = _ROWS_AT + _ROW * row
        for slot in range(slots):
            yield Rectangle(slot * _STEP, y + 0.5, _SQUARE, _SQUARE, 0.15, filled=slot in chosen)
        offsets = frozenset(Fraction(slot, slots) for slot in chosen)
        for column, ornament in enumerate(ornaments):
            placed = Placing(offsets, ornament, 0 if ornament is Ornament.NONE else slots)
            x = start + _CELL * column
            yield Rectangle(x + 0.6, y, _CELL - 1.2, _ROW - 0.8, 0.12)
            if text := cells.get(placed, ""):
                yield Text(x + _CELL / 2, y + 3, text, _SIZE, anchor="middle")


def _scaled(item: Text | Rectangle, x: float, y: float, scale: float) -> Text | Rectangle:
    placed = item._replace(x=item.x * scale + x, y=item.y * scale + y)
    if isinstance(placed, Text):
        return placed._replace(size=placed.size * scale)
    return placed._replace(width=placed.width * scale, height=placed.height * scale)
