"""Music drawn by the engraver, verovio: one pattern at a time, a line of the page wide.

Time runs evenly: a partial has the same width wherever it stands, so that the columns of several
patterns stand under each other. Beams are flat, and the rows of letters straight.

Lengths of what is asked for are in spaces, the distance between two lines of a staff.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

from drillbox.errors import MissingExtraError
from drillbox.paper.exercise import Collection, Exercise
from drillbox.paper.flattening import flatten
from drillbox.paper.musicxml import score
from drillbox.paper.rows import Rows
from drillbox.rhythm import Hand
from drillbox.rhythm.stroke import TICKS

if TYPE_CHECKING:
    from drillbox.paper.flattening import Engraving
    from drillbox.rhythm import Pattern

__all__ = ["SPACE", "bars_in_line", "engrave"]

SPACE = 180.0
"""One space in the units of an `Engraving`."""
_PAGE_UNITS_PER_SPACE = 18
_PARTIAL = 4.4
"""Spaces a partial needs at least, so that two parentheses do not touch."""
_TIGHTEST = 0.8
"""How far partials may be pushed together before the line is drawn wider instead."""
_SLOTS = (1, 2, 3, 4, 6, 8, 12, 24)
_HEAD = 9.0
"""Spaces for clef and meter."""
_OPTIONS: dict[str, Any] = {
    "header": "none",
    "footer": "none",
    "breaks": "encoded",
    "adjustPageHeight": True,
    "scale": 100,
    "pageHeight": 60000,
    "pageMarginLeft": 0,
    "pageMarginRight": 0,
    "pageMarginTop": 0,
    "pageMarginBottom": 0,
    "spacingNonLinear": 1.0,
    "spacingLinear": 0.12,
    "spacingSystem": 4,
    "minLastJustification": 0.0,
    "beamMaxSlope": 0,
    "smuflTextFont": "none",
    "lyricSize": 4.0,
    "xmlIdSeed": 1,
}


def bars_in_line(pattern: Pattern, spaces: float) -> int:
    """Return how many of a pattern's bars stand beside each other in a line of so many spaces."""
    longest = max(_partials(pattern))
    return min(pattern.bars, max(1, int((spaces - _HEAD) / (longest * _PARTIAL))))


def _partials(pattern: Pattern) -> list[int]:
    """Return for each bar the partials its notes stand on, which may be fewer than its grid's."""
    beats: list[int] = []
    for beat in range(pattern.beats):
        offsets = {s.tick % TICKS for s in pattern.strokes if s.tick // TICKS == beat}
        beats.append(next(n for n in _SLOTS if all(at * n % TICKS == 0 for at in offsets)))
    size = pattern.meter.beats
    return [sum(beats[first : first + size]) for first in range(0, pattern.beats, size)]


def engrave(
    pattern: Pattern, *, spaces: float, rows: Rows | None = None, leading: Hand = Hand.RIGHT
) -> Engraving:
    """Return a pattern engraved as one system or more, all as wide as a line.

    Parameters
    ----------
    pattern
        What is drawn, hands as this player plays them.
    spaces
        The width of a line. Bars that need more are drawn wider.
    rows
        The rows of letters below; by default counts, and hands where one is written.
    leading
        The hand that leads, for the rows.

    Raises
    ------
    MissingExtraError
        If the engraver is not installed.
    """
    exercise = Exercise("", pattern, 60)
    root = score(Collection("", (exercise,)), rows=rows or Rows(), leading=leading, to_engrave=True)
    across = bars_in_line(pattern, spaces)
    for number, measure in enumerate(root.iter("measure")):
        if number and number % across == 0:
            measure.insert(0, ET.Element("print", {"new-system": "yes"}))
    width = max(spaces, _HEAD + max(_partials(pattern)) * across * _PARTIAL * _TIGHTEST)
    engraver = _engraver()
    engraver.setOptions({"pageWidth": round(width * _PAGE_UNITS_PER_SPACE)})
    engraver.loadData(ET.tostring(root, encoding="unicode"))
    return flatten(engraver.renderToSVG(1))


@cache
def _engraver() -> Any:
    try:
        import verovio  # noqa: PLC0415 - an extra, loaded when music is drawn
    except ImportError:
        raise MissingExtraError(
            "notes are drawn by verovio, which is not installed",
            fix="run pip install 'drillbox[sheets]', or ask for .txt, .musicxml or .mid",
        ) from None
    verovio.enableLog(verovio.LOG_OFF)
    engraver = verovio.toolkit()
    engraver.setOptions(_OPTIONS)
    return engraver
