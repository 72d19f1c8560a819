"""Engraved music as flat marks and letters, taken out of the SVG that the engraver draws.

The engraver's SVG nests drawings, refers to glyphs by name, styles by rules and writes text in a
font of its own choice; many converters draw half of that, silently. Here it becomes a list of paths
with their places, and the letters below the staff with theirs, which the page sets in its own font.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple
from xml.etree import ElementTree as ET

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

__all__ = ["Engraving", "Letter", "Mark", "flatten"]

_SVG = "{http://www.w3.org/2000/svg}"
_LINK = "{http://www.w3.org/1999/xlink}href"
_DRAWN = frozenset(
    f"{_SVG}{name}" for name in ("path", "polygon", "polyline", "rect", "ellipse", "use", "text")
)
_LEFT_OUT = frozenset(("placeholder", "mNum"))
"""Invisible things, and the numbers of bars."""
_NUMBER = r"(-?[0-9.]+)"
_MOVED = re.compile(rf"translate\({_NUMBER}[ ,]+{_NUMBER}\)")
_SCALED = re.compile(rf"scale\({_NUMBER}[ ,]+{_NUMBER}\)")
_BELOW_BRACKET = 90.0
"""How much lower letters stand under brackets, whose numbers hang out: half a space."""
_HEAD_CENTRE = 157 * 0.72
"""Half the width of a black note head, in the engraver's units at its usual size."""


class Mark(NamedTuple):
    """A path and where it stands.

    Parameters
    ----------
    path
        In the syntax of SVG paths.
    x, y, scale
        Where its origin stands, and how much it is enlarged.
    upright
        -1 where the path's y grows upwards, as in glyphs, else 1.
    stroke
        The width of its line, 0 for none.
    filled
        Whether its inside is black.
    """

    path: str
    x: float
    y: float
    scale: float
    upright: int = 1
    stroke: float = 0.0
    filled: bool = True


class Letter(NamedTuple):
    """A letter below the staff: its centre, its base line, its text."""

    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Engraving:
    """Engraved music, in the engraver's units: 180 from one line of the staff to the next.

    Parameters
    ----------
    width, height
        Of the whole drawing.
    marks, letters
        What is drawn, and what is written below.
    top
        Where the first staff's highest line is.
    """

    width: float
    height: float
    marks: tuple[Mark, ...]
    letters: tuple[Letter, ...]
    top: float


def flatten(svg: str, below_rests: Mapping[str, str]) -> Engraving:
    """Return the marks and letters of an engraver's drawing of one page.

    Parameters
    ----------
    svg
        The drawing.
    below_rests
        What to write below rests, by their ids: the engraver writes below notes alone. It stands on
        the first row of the letters of its system.
    """
    root = ET.fromstring(svg)  # noqa: S314 - written by the engraver in this process
    glyphs = {
        glyph.get("id", ""): glyph[0].get("d", "")
        for definitions in root.iter(f"{_SVG}defs")
        for glyph in definitions
    }
    drawing = next(each for each in root.iter(f"{_SVG}svg") if each is not root)
    _, _, width, height = map(float, drawing.get("viewBox", "0 0 0 0").split())
    marks: list[Mark] = []
    letters: list[Letter] = []
    tuplets = [group for group in drawing.iter(f"{_SVG}g") if group.get("class") == "tuplet"]
    below = [_level_bracket(tuplet) for tuplet in tuplets]
    for element, head in _walk(drawing, None):
        if element.tag == f"{_SVG}text":
            text = "".join(element.itertext()).strip()
            x = float(element.get("x", "0")) if head is None else head + _HEAD_CENTRE
            if text:
                letters.append(Letter(x, float(element.get("y", "0")), text))
        else:
            marks += _marks(element, glyphs)
    for system in drawing.iter(f"{_SVG}g"):
        if system.get("class") == "system":
            letters += _letters_below_rests(system, below_rests)
    lines = [mark.path for mark in marks if mark.stroke and mark.path.startswith("M0 ")]
    top = float(lines[0].split()[1]) if lines else 0.0
    if any(below):
        letters = [letter._replace(y=letter.y + _BELOW_BRACKET) for letter in letters]
        height += _BELOW_BRACKET
    return Engraving(width, height, tuple(marks), tuple(letters), top)


def _letters_below_rests(system: ET.Element, below_rests: Mapping[str, str]) -> Iterator[Letter]:
    groups = list(system.iter(f"{_SVG}g"))
    verses = (group for group in groups if group.get("class") == "verse")
    rows = [float(text.get("y", "0")) for verse in verses for text in verse.iter(f"{_SVG}text")]
    for group in groups:
        text = below_rests.get(group.get("id", ""))
        for use in group.iter(f"{_SVG}use") if text else ():
            moved = _MOVED.search(use.get("transform", ""))
            if text and moved and rows:
                yield Letter(float(moved[1]) + _HEAD_CENTRE, min(rows), text)
                break


def _walk(element: ET.Element, head: float | None) -> Iterator[tuple[ET.Element, float | None]]:
    """Yield what is drawn, each with the left edge of the lowest note head it belongs to."""
    kind = element.get("class", "")
    if _LEFT_OUT.intersection(kind.split()):
        return
    if kind in {"note", "chord"} and head is None:
        head = _head(element)
    if element.tag in _DRAWN:
        yield element, head
        return
    for child in element:
        yield from _walk(child, head)


def _level_bracket(tuplet: ET.Element) -> bool:
    """Make a sloping bracket level, as far out as it goes, and take its number along.

    Above a staff that is its highest point, below one its lowest. Return whether it stands below.
    """
    lines = list(tuplet.iter(f"{_SVG}polyline"))
    if len(lines) != 2:
        return False
    points = [
        [tuple(map(float, p.split(","))) for p in line.get("points", "").split()] for line in lines
    ]
    if any(len(corners) != 3 for corners in points):
        return False
    inner = [corners[2][1] for corners in points]
    below = any(foot[1] < corner[1] for foot, corner, _ in points)
    outermost = max if below else min
    level = outermost(corner[1] for corners in points for corner in corners[1:])
    for line, ((x, foot), corner, end) in zip(lines, points, strict=True):
        hook = level + foot - corner[1]
        line.set("points", f"{x},{hook} {corner[0]},{level} {end[0]},{level}")
    groups = (group for group in tuplet if group.get("class") == "tupletNum")
    for number in (use for group in groups for use in group.iter(f"{_SVG}use")):
        moved = _MOVED.search(number.get("transform", ""))
        if moved:
            y = float(moved[2]) + level - sum(inner) / 2
            placed = f"translate({moved[1]}, {y:g})"
            number.set("transform", _MOVED.sub(placed, number.get("transform", "")))
    return below


def _head(element: ET.Element) -> float | None:
    for group in element.iter(f"{_SVG}g"):
        if group.get("class") == "notehead":
            for use in group.iter(f"{_SVG}use"):
                moved = _MOVED.search(use.get("transform", ""))
                if moved:
                    return float(moved[1])
    return None


def _marks(element: ET.Element, glyphs: dict[str, str]) -> Iterator[Mark]:
    stroke = float(element.get("stroke-width", "0"))
    filled = element.get("fill", "") != "none"
    kind = element.tag.removeprefix(_SVG)
    if kind == "use":
        transform = element.get("transform", "")
        moved, scaled = _MOVED.search(transform), _SCALED.search(transform)
        if moved:
            scale = float(scaled[1]) if scaled else 1.0
            name = element.get(_LINK, "")[1:]
            yield Mark(glyphs[name], float(moved[1]), float(moved[2]), scale, upright=-1)
        return
    yield Mark(_path(kind, element), 0.0, 0.0, 1.0, stroke=stroke, filled=filled)


def _path(kind: str, element: ET.Element) -> str:
    """Return a shape as a path."""
    if kind == "path":
        return element.get("d", "")
    if kind in {"polygon", "polyline"}:
        points = element.get("points", "").split()
        path = "M" + " L".join(point.replace(",", " ") for point in points)
        return path + ("Z" if kind == "polygon" else "")
    if kind == "rect":
        x, y, w, h = (float(element.get(k, "0")) for k in ("x", "y", "width", "height"))
        return f"M{x} {y}h{w}v{h}h{-w}Z"
    x, y, rx, ry = (float(element.get(k, "0")) for k in ("cx", "cy", "rx", "ry"))
    half = f"a{rx} {ry} 0 1 0"
    return f"M{x - rx} {y}{half} {2 * rx} 0{half} {-2 * rx} 0Z"
