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
from drillbox.paper.letter_rows import USUAL_ROWS, Rows
from drillbox.paper.musicxml_writing import score
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
_LINEAR_OF_PARTIAL = 0.028
"""The engraver's measure of time that makes a quarter of one partial about `_PARTIAL` wide."""
_LEAST_LINEAR = 0.01
_SLOTS = (1, 2, 3, 4, 6, 8, 12, 24)
_HEAD = 9.0
"""Spaces for clef and meter."""
_OPTIONS: dict[str, Any] = {
    "header": "none",
    "footer": "none",
    "breaks": "line",
    "adjustPageHeight": True,
    "scale": 100,
    "pageHeight": 60000,
    "pageMarginLeft": 0,
    "pageMarginRight": 0,
    "pageMarginTop": 0,
    "pageMarginBottom": 0,
    "spacingNonLinear": 1.0,
    "spacingSystem": 4,
    "minLastJustification": 0.0,
    "beamMaxSlope": 0,
    "smuflTextFont": "none",
    "lyricSize": 4.0,
    "xmlIdSeed": 1,
}


def bars_in_line(pattern: Pattern, spaces: float) -> int:
    """Return how many of a pattern's bars stand beside each other in a line of so many spaces."""
    return min(pattern.bars, max(1, int((spaces - _HEAD) / _bar_spaces(pattern))))


def _finest(pattern: Pattern) -> int:
    """Return how many partials a quarter has where the notes are closest."""
    offsets: dict[int, set[int]] = {}
    for stroke in pattern.strokes:
        offsets.setdefault(stroke.tick // TICKS, set()).add(stroke.tick % TICKS)
    slots = (
        next(n for n in _SLOTS if all(at * n % TICKS == 0 for at in beat))
        for beat in offsets.values()
    )
    return max(slots, default=1) * pattern.meter.unit // 4


def _bar_spaces(pattern: Pattern) -> float:
    """Return how wide a bar wants to be; time runs evenly, so the closest notes decide."""
    return pattern.meter.beats * 4 / pattern.meter.unit * _finest(pattern) * _PARTIAL


def engrave(
    pattern: Pattern, *, spaces: float, rows: Rows = USUAL_ROWS, leading: Hand = Hand.RIGHT
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
    root = score(Collection("", (exercise,)), rows=rows, leading=leading, to_engrave=True)
    across = bars_in_line(pattern, spaces)
    for number, measure in enumerate(root.iter("measure")):
        if number and number % across == 0:
            measure.insert(0, ET.Element("print", {"new-system": "yes"}))
    systems = -(-pattern.bars // across)
    width = max(spaces, _HEAD + _bar_spaces(pattern) * across * _TIGHTEST)
    engraver = _engraver()
    engraver.setOptions({"pageWidth": round(width * _PAGE_UNITS_PER_SPACE)})
    below_rests = _name_rests(root)
    document = ET.tostring(root, encoding="unicode")
    linear = _LINEAR_OF_PARTIAL * _finest(pattern)
    while True:
        engraver.setOptions({"spacingLinear": max(linear, _LEAST_LINEAR)})
        engraver.loadData(document)
        svg = engraver.renderToSVG(1)
        # The engraver begins a system of its own where it finds the bars too wide for the line.
        if svg.count('class="system"') <= systems or linear < _LEAST_LINEAR:
            return flatten(svg, below_rests)
        linear *= 0.7


def _name_rests(root: ET.Element) -> dict[str, str]:
    """Give every rest with a letter a name, and return the letters by these names.

    The engraver draws no letter below a rest, but it keeps the names.
    """
    letters: dict[str, str] = {}
    for note in root.iter("note"):
        if note.find("rest") is not None and (text := note.findtext("lyric/text")):
            name = f"rest-{len(letters)}"
            note.set("id", name)
            letters[name] = text
    return letters


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
