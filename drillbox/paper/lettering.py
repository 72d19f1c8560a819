"""The font of sheets: its files, how wide a text is, and breaking text into lines.

DejaVu Sans Condensed, cut down to Latin, Greek and Cyrillic letters and some signs; its licence
stands beside it. It goes into every PDF, SVG and HTML file, so that a sheet looks the same
everywhere.
"""

from __future__ import annotations

from functools import cache, lru_cache
from importlib.resources import files
from io import BytesIO
from typing import TYPE_CHECKING, Any

from drillbox.errors import MissingExtraError
from drillbox.paper.page import POINT

if TYPE_CHECKING:
    from collections.abc import Iterable
    from importlib.resources.abc import Traversable

__all__ = ["FAMILY", "MISSING_SIGN", "broken", "cut_down", "font_file", "shortened", "width"]

FAMILY = "Sheet Sans"
MISSING_SIGN = "\u25a1"
"""What stands for a sign that the font does not have."""
_ASCII = frozenset(map(chr, range(0x20, 0x7F))) | frozenset("♩")
_FILES = {False: "DejaVuSansCondensed.ttf", True: "DejaVuSansCondensed-Bold.ttf"}


def font_file(*, bold: bool) -> Traversable:
    """Return the font's file."""
    return files("drillbox.paper") / "fonts" / _FILES[bold]


@cache
def _font(*, bold: bool) -> Any:
    try:
        from fontTools.ttLib import TTFont  # noqa: PLC0415 - an extra, loaded for sheets
    except ImportError:
        raise MissingExtraError(
            "sheets need fpdf2, which is not installed",
            fix="run pip install 'drillbox[sheets]', or ask for .txt, .musicxml or .mid",
        ) from None
    return TTFont(BytesIO(font_file(bold=bold).read_bytes()))


@cache
def _advances(*, bold: bool) -> dict[str, float]:
    """Return the advance of every sign, in ems."""
    font = _font(bold=bold)
    em = font["head"].unitsPerEm
    advances = font["hmtx"].metrics
    return {chr(code): advances[name][0] / em for code, name in font.getBestCmap().items()}


def printable(text: str) -> str:
    """Return a text with `MISSING_SIGN` for every sign that the font does not have."""
    known = _advances(bold=False)
    return "".join(sign if sign in known else MISSING_SIGN for sign in text)


def width(text: str, size: float, *, bold: bool = False) -> float:
    """Return how many millimetres a text is wide at a size in points."""
    advances = _advances(bold=bold)
    missing = advances[MISSING_SIGN]
    return sum(advances.get(sign, missing) for sign in text) * size * POINT


def shortened(text: str, room: float, size: float, *, bold: bool = False) -> str:
    """Return a text that fits into so many millimetres, cut with an ellipsis where it is longer."""
    if width(text, size, bold=bold) <= room:
        return text
    while text and width(text + "…", size, bold=bold) > room:
        text = text[:-1].rstrip()
    return text + "…"


def broken(text: str, room: float, size: float) -> list[str]:
    """Break a text into lines that fit into so many millimetres, between words where it can."""
    lines: list[str] = []
    for paragraph in text.splitlines():
        line = ""
        for word in paragraph.split():
            longer = f"{line} {word}".lstrip()
            if line and width(longer, size) > room:
                lines.append(line)
                line = word
            else:
                line = longer
        if line:
            lines.append(shortened(line, room, size))
    return lines


def cut_down(signs: Iterable[str], *, bold: bool) -> bytes:
    """Return the font with few more than some signs, as a small file to be carried along.

    All of ASCII is always in it, so that most files carry the same one and it is cut once.
    """
    return _cut_down(frozenset(signs) | _ASCII, bold=bold)


@lru_cache(maxsize=32)
def _cut_down(signs: frozenset[str], *, bold: bool) -> bytes:
    from fontTools import subset  # noqa: PLC0415 - an extra, loaded for sheets
    from fontTools.ttLib import TTFont  # noqa: PLC0415

    font = TTFont(BytesIO(font_file(bold=bold).read_bytes()), recalcTimestamp=False)
    options = subset.Options(layout_features=[], name_IDs=[0, 1, 2], hinting=False)
    cutter = subset.Subsetter(options)
    cutter.populate(text="".join(sorted(signs)) + MISSING_SIGN)
    cutter.subset(font)
    out = BytesIO()
    font.save(out)
    return out.getvalue()
