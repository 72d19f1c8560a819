"""How one sign of the printed page fills a cell of the stand.

A sign is what `drillbox.rhythm.chart` gives: ``o`` or ``x`` plain, ``(o)`` ghost, ``>o`` accent, with ``/ z f d`` in
the head's place for a double, buzz, flam or drag. A tall cell has three rows of three columns; a flat one is the
sign itself. The frame says how loud (round and open: ghost; square: plain; hat-shaped accent above: accent), the
middle says what. Only box-drawing and block characters are used, since terminals draw those themselves.
"""

from __future__ import annotations

Tall = tuple[str, str, str]

TALL_WIDTH = 3
_HEADS: dict[str, Tall] = {
    "o": ("▗▄▖", "▐█▌", "▝▀▘"),
    "x": ("╲ ╱", " ╳ ", "╱ ╲"),
    "(o)": ("╭ ╮", "│o│", "╰ ╯"),
    "(x)": ("╭ ╮", "│x│", "╰ ╯"),
    ">o": (" > ", "▟█▙", "▜█▛"),
    ">x": (" > ", "╲ ╱", "╱ ╲"),
}


def tall(sign: str) -> Tall:
    """Return the three rows of a sign, each three columns wide."""
    if sign in _HEADS:
        return _HEADS[sign]
    head = sign.strip("(>)")
    if sign.startswith("("):
        return ("╭ ╮", f"│{head}│", "╰ ╯")
    if sign.startswith(">"):
        return (" > ", f"│{head}│", "└─┘")
    return ("┌─┐", f"│{head}│", "└─┘")


def loudness(sign: str) -> str:
    """Return ``ghost``, ``accent`` or ``plain``: the component style a sign is drawn in."""
    if sign.startswith("("):
        return "ghost"
    return "accent" if sign.startswith(">") else "plain"
