"""Numbers that are read from across the room: digits of any size, drawn with quarter blocks.

A digit is a few round strokes in a box of 1 by 1.7; a quarter of a cell is filled where its middle
lies on a stroke. Block characters only: terminals draw those themselves, in every font.

Conventions: sizes in terminal cells, a cell being twice as high as it is wide.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from math import cos, hypot, pi, sin

Point = tuple[float, float]
Rows = tuple[str, ...]

TALL = 1.7
"""Height of a digit's box, its width being 1."""
_HALF_STROKE = 0.15
_GAP = 0.2
_LEAST_ROWS = 3
"""A digit that is lower cannot be told from others."""
_QUARTERS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"


def _bow(middle: Point, across: float, down: float, start: float, end: float) -> list[Point]:
    """Return points along an ellipse; angles in quarter turns from the right, clockwise."""
    turns = [start + (end - start) * step / 10 for step in range(11)]
    x, y = middle
    return [(x + across * cos(t * pi / 2), y + down * sin(t * pi / 2)) for t in turns]


def _shapes() -> dict[str, list[list[Point]]]:
    left, right, top, middle, bottom = 0.16, 0.84, 0.16, 0.83, TALL - 0.16
    wide = 0.34
    return {
        "0": [_bow((0.5, TALL / 2), wide, TALL / 2 - 0.16, 0, 4)],
        "1": [[(0.26, 0.46), (0.56, top), (0.56, bottom)]],
        "2": [[*_bow((0.5, 0.52), wide, 0.36, -1.9, 0.35), (left, bottom), (right, bottom)]],
        "3": [
            _bow((0.48, 0.5), wide, 0.34, -1.7, 1),
            _bow((0.48, 1.19), wide, 0.35, -1, 1.7),
        ],
        "4": [[(0.62, top), (0.12, 1.16), (0.9, 1.16)], [(0.68, 0.72), (0.68, bottom)]],
        "5": [
            [(0.8, top), (0.24, top), (0.2, 0.8), *_bow((0.48, 1.14), wide, 0.4, -1.4, 1.6)],
        ],
        "6": [
            _bow((0.5, 1.17), wide, 0.37, 0, 4),
            [(0.16, 1.17), (0.2, 0.8), (0.36, 0.42), (0.66, top)],
        ],
        "7": [[(left, top), (right, top), (0.4, bottom)]],
        "8": [_bow((0.5, 0.5), 0.31, 0.34, 0, 4), _bow((0.5, 1.2), wide, 0.34, 0, 4)],
        "9": [
            _bow((0.5, 0.53), wide, 0.37, 0, 4),
            [(0.84, 0.53), (0.8, 0.9), (0.64, 1.28), (0.34, bottom)],
        ],
        "-": [[(0.2, middle), (0.8, middle)]],
        "+": [[(0.2, middle), (0.8, middle)], [(0.5, 0.55), (0.5, 1.11)]],
    }


_SHAPES = _shapes()


def rows_that_fit(text: str, width: int, height: int) -> int:
    """Return how many rows the digits of `text` may have; 0 where they cannot be read."""
    count = max(len(text), 1)
    for rows in range(height, _LEAST_ROWS - 1, -1):
        if count * _digit_columns(rows) + (count - 1) * _gap_columns(rows) <= width:
            return rows
    return 0


def _digit_columns(rows: int) -> int:
    """Return how wide one digit is that is so high."""
    return max(2, round(2 * rows / TALL))


def _gap_columns(rows: int) -> int:
    """Return how far two digits stand apart that are so high."""
    return max(1, round(2 * rows * _GAP / TALL))


@lru_cache(maxsize=256)
def big(text: str, rows: int) -> Rows:
    """Return `text`, made of digits and signs, drawn `rows` rows high."""
    drawn = [_digit(letter, rows) for letter in text]
    gap = " " * _gap_columns(rows)
    return tuple(gap.join(parts) for parts in zip(*drawn, strict=True)) if drawn else ("",) * rows


def carved(rows: Rows) -> Rows:
    """Return the same drawing cut out of a full ground."""
    return tuple("".join(_QUARTERS[15 - _QUARTERS.index(c)] for c in row) for row in rows)


@lru_cache(maxsize=256)
def _digit(letter: str, rows: int) -> Rows:
    width = _digit_columns(rows)
    if letter not in _SHAPES:
        return (" " * width,) * rows
    strokes = _SHAPES[letter]
    # A stroke is never thinner than a quarter of a cell, or small digits would have holes.
    reach = max(_HALF_STROKE, 0.3 * TALL / rows)

    def filled(column: int, row: int) -> bool:
        x, y = (column + 0.5) / (2 * width), (row + 0.5) / (2 * rows) * TALL
        return any(
            _distance(x, y, one, other) <= reach
            for stroke in strokes
            for one, other in pairwise(stroke)
        )

    def cell(column: int, row: int) -> str:
        corners = ((0, 0), (1, 0), (0, 1), (1, 1))
        bits = (filled(2 * column + right, 2 * row + down) for right, down in corners)
        return _QUARTERS[sum(bit << place for place, bit in enumerate(bits))]

    return tuple("".join(cell(c, r) for c in range(width)) for r in range(rows))


def _distance(x: float, y: float, one: Point, other: Point) -> float:
    """Return how far a point is from the line between two others."""
    across, down = other[0] - one[0], other[1] - one[1]
    length = across * across + down * down
    along = ((x - one[0]) * across + (y - one[1]) * down) / length if length else 0.0
    along = min(max(along, 0.0), 1.0)
    return hypot(x - one[0] - along * across, y - one[1] - along * down)
