"""A printed page as plain values: text, lines, boxes and music at their places.

Millimetres from the page's top left corner; sizes of text in points. The writers of SVG, PDF and
HTML read nothing else, so that all three show the same page.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.paper.flattening import Engraving

__all__ = [
    "A4",
    "LETTER",
    "POINT",
    "Line",
    "Music",
    "Page",
    "PageItem",
    "PaperSize",
    "Rectangle",
    "Text",
]

POINT = 25.4 / 72
"""One point in millimetres."""


@dataclass(frozen=True, slots=True)
class PaperSize:
    """A sheet of paper, upright, in millimetres."""

    name: str
    width: float
    height: float


A4 = PaperSize("a4", 210.0, 297.0)
LETTER = PaperSize("letter", 215.9, 279.4)


class Text(NamedTuple):
    """A line of text.

    Parameters
    ----------
    x, y
        Its anchor on the base line.
    text, size, bold
        What, how large in points, how heavy.
    anchor
        ``start``, ``middle`` or ``end``: which point of the text stands at `x`.
    """

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    anchor: str = "start"


class Line(NamedTuple):
    """A straight line from one point to another."""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float = 0.2


class Rectangle(NamedTuple):
    """A box by its top left corner: empty, to be ticked or written in, or all black."""

    x: float
    y: float
    width: float
    height: float
    stroke: float = 0.25
    filled: bool = False


class Music(NamedTuple):
    """Engraved music, by its top left corner; `scale` is millimetres per unit of the engraving."""

    x: float
    y: float
    scale: float
    engraving: Engraving


PageItem = Text | Line | Rectangle | Music


@dataclass(frozen=True, slots=True)
class Page:
    """One page, or a drawing of any size."""

    width: float
    height: float
    items: Sequence[PageItem]
