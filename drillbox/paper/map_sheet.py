"""The vocabulary on one page: every set of partials of a grid, by embellishment.

A row for each set, drawn as filled and empty squares; beside it a cell for each embellishment that
the cards have. What stands in a cell is the caller's.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from drillbox.paper.lettering import width
from drillbox.paper.page import Box, Line, Text
from drillbox.paper.sheet_layout import Block, Look, heading, paged
from drillbox.rhythm import EMBELLISHMENTS, Ornament, Placing

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from drillbox.paper.page import Page

__all__ = ["map_sheet"]

_GRIDS = {"Sixteenths": "1e&a", "Eighth triplets": "1tl", "Sixteenth triplets": "1tl&tl"}
_SQUARE = 2.6
_ROW = 4.6
_CELL = 10.0
_SIZE = 8.0
_GAP = 6.0
_TALLEST = 34
"""Rows in one column of the page."""


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
    columns = list(_columns(ornaments, cells))
    wide = sum(_wide(letters, ornaments) for letters, _ in columns) + _GAP * (len(columns) - 1)
    scale = min(1.0, look.room / wide) if columns else 1.0
    items: list[Text | Line | Box] = []
    x = tall = 0.0
    for letters, parts in columns:
        y = 0.0
        for part in parts:
            items += [_scaled(item, x, y, scale) for item in part.items]
            y += part.height * scale
        x += (_wide(letters, ornaments) + _GAP) * scale
        tall = max(tall, y)
    return paged(heading(title, lines, look), [Block(tall, tuple(items))], look, foot=foot)


def _wide(letters: str, ornaments: Sequence[Ornament]) -> float:
    return len(letters) * _SQUARE * 1.15 + 2 + _CELL * len(ornaments)


def _columns(
    ornaments: Sequence[Ornament], cells: Mapping[Placing, str]
) -> Iterator[tuple[str, list[Block]]]:
    """Yield columns of the page: the letters of the widest grid in it, and its blocks."""
    small = [_grid(name, _sets(len(_GRIDS[name])), ornaments, cells) for name in list(_GRIDS)[:2]]
    yield "1e&a", small
    name = "Sixteenth triplets"
    sets = _sets(len(_GRIDS[name]))
    for start in range(0, len(sets), _TALLEST):
        label = name if start == 0 else ""
        yield _GRIDS[name], [_grid(label, sets[start : start + _TALLEST], ornaments, cells)]


def _sets(slots: int) -> list[tuple[int, ...]]:
    return [chosen for n in range(1, slots + 1) for chosen in combinations(range(slots), n)]


def _grid(
    name: str,
    sets: Sequence[tuple[int, ...]],
    ornaments: Sequence[Ornament],
    cells: Mapping[Placing, str],
) -> Block:
    letters = _GRIDS.get(name) or _GRIDS["Sixteenth triplets"]
    slots = len(letters)
    start = slots * _SQUARE * 1.15 + 2
    items: list[Text | Line | Box] = [Text(0, 4, name, 10, bold=True)]
    for column, ornament in enumerate(ornaments):
        words = EMBELLISHMENTS[ornament].said_of_all
        size = _SIZE - 1
        while width(words, size) > _CELL - 1 and size > 4:
            size -= 0.5
        items.append(Text(start + _CELL * (column + 0.5), 8.6, words, size, anchor="middle"))
    items += [
        Text(slot * _SQUARE * 1.15 + _SQUARE / 2, 8.6, letter, _SIZE - 1, anchor="middle")
        for slot, letter in enumerate(letters)
    ]
    y = 10.0
    for chosen in sets:
        for slot in range(slots):
            x = slot * _SQUARE * 1.15
            items.append(Box(x, y + 0.5, _SQUARE, _SQUARE, 0.15))
            if slot in chosen:
                middle = y + 0.5 + _SQUARE / 2
                items.append(Line(x, middle, x + _SQUARE, middle, _SQUARE))
        offsets = frozenset(Fraction(slot, slots) for slot in chosen)
        for column, ornament in enumerate(ornaments):
            placed = Placing(offsets, ornament, 0 if ornament is Ornament.NONE else slots)
            x = start + _CELL * column
            items.append(Box(x + 0.6, y, _CELL - 1.2, _ROW - 0.8, 0.12))
            if text := cells.get(placed, ""):
                items.append(Text(x + _CELL / 2, y + 3, text, _SIZE, anchor="middle"))
        y += _ROW
    return Block(y + 4, tuple(items))


def _scaled(
    item: Text | Line | Box, x: float, y: float, scale: float
) -> Text | Line | Box:
    if isinstance(item, Line):
        ends = (item.x1, item.y1, item.x2, item.y2)
        x1, y1, x2, y2 = (each * scale for each in ends)
        return Line(x1 + x, y1 + y, x2 + x, y2 + y, item.width * scale)
    if isinstance(item, Text):
        placed = item._replace(x=item.x * scale + x, y=item.y * scale + y)
        return placed._replace(size=item.size * scale)
    return Box(
        item.x * scale + x, item.y * scale + y, item.width * scale, item.height * scale, item.stroke
    )
