"""How one sign of the printed page fills a cell of the stand.

A sign is what `drillbox.rhythm.chart` gives: ``o`` or ``x`` plain, ``(o)`` ghost, ``_o`` tap,
``>o`` accent, with ``/ z f d`` in the head's place for a double, buzz, flam or drag, ``O`` for an
open hat and ``+`` for what closes it. There are three sizes. In the
flat one the sign is itself; in the others the frame says how loud (round and open: ghost; square:
plain; a mark on top: accent; open on top: tap), the middle says what. No head fills its cell from
side to side, so that a stream of them stays apart. Only box-drawing and block characters are used,
since terminals draw those themselves.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

Rows = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Size:
    """One size of signs.

    Rows and columns of a cell, and the drawings of the heads that have one.
    """

    rows: int
    columns: int
    heads: Mapping[str, Rows]

    def draw(self, sign: str) -> Rows:
        """Return the rows of a sign, each as wide as the size."""
        if self.rows == 1:
            return (sign.center(self.columns),)
        if sign in self.heads:
            return self.heads[sign]
        middle = sign.strip("(>_)")
        if sign.startswith("("):
            return self._framed(middle, "╭╮╰╯", " ")
        framed = self._framed(middle, "┌┐└┘", "─")
        if sign.startswith("_"):
            return (" " * self.columns, *framed[1:])
        return (">".center(self.columns), *framed[1:]) if sign.startswith(">") else framed

    def _framed(self, middle: str, corners: str, edge: str) -> Rows:
        inside = self.columns - 2
        walls = [f"│{' ' * inside}│"] * ((self.rows - 3) // 2)
        return (
            f"{corners[0]}{edge * inside}{corners[1]}",
            *walls,
            f"│{middle.center(inside)}│",
            *walls,
            f"{corners[2]}{edge * inside}{corners[3]}",
        )


FLAT = Size(1, 3, {})
TALL = Size(
    3,
    3,
    {
        "o": ("   ", "▗█▖", "▝█▘"),
        ">o": (" > ", "▗█▖", "▝█▘"),
        "_o": ("   ", " ▄ ", " ▀ "),
        "O": ("╭─╮", "│ │", "╰─╯"),
        "+": (" │ ", "─┼─", " │ "),
        "x": ("╲ ╱", " ╳ ", "╱ ╲"),
        ">x": (" > ", "╲ ╱", "╱ ╲"),
    },
)
GRAND = Size(
    5,
    5,
    {
        "o": ("     ", " ▄▄▄ ", "▐███▌", "▐███▌", " ▀▀▀ "),
        ">o": ("  >  ", " ▄▄▄ ", "▐███▌", "▐███▌", " ▀▀▀ "),
        "_o": ("     ", "     ", " ▄▄▄ ", " ▀▀▀ ", "     "),
        "O": (" ╭─╮ ", "╭╯ ╰╮", "│   │", "╰╮ ╭╯", " ╰─╯ "),
        "+": ("     ", "  │  ", "──┼──", "  │  ", "     "),
        "x": ("╲   ╱", " ╲ ╱ ", "  ╳  ", " ╱ ╲ ", "╱   ╲"),
        ">x": ("  >  ", " ╲ ╱ ", "  ╳  ", " ╱ ╲ ", "     "),
    },
)
SIZES = (GRAND, TALL, FLAT)


def loudness(sign: str) -> str:
    """Return ``ghost``, ``accent`` or ``plain``: the component style a sign is drawn in.

    A tap is drawn as a ghost is, and told by its form.
    """
    if sign.startswith(("(", "_")):
        return "ghost"
    return "accent" if sign.startswith(">") else "plain"
