"""What an engraver's drawing becomes: every shape a path, every letter at its note, nothing else.

The drawings are written out by hand, in the elements of SVG 1.1 (W3C): path, polygon, polyline,
rect, ellipse, use, text; classes are those that the engraver gives to groups.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest

from drillbox.paper import engraving
from drillbox.paper.engraving import engrave
from drillbox.paper.flattening import Letter, Mark
from drillbox.paper.letter_rows import Rows
from drillbox.rhythm import parse

if TYPE_CHECKING:
    from drillbox.paper.flattening import Engraving

HEAD = 157 * 0.72
"""Half a note head, which letters stand in the middle of."""


class Drawer:
    """Stands for the engraver: draws what it was given, and notes how it was asked."""

    def __init__(self, *drawings: str) -> None:
        self.drawings = list(drawings)
        self.asked: list[dict[str, Any]] = []
        self.loaded = ""

    def setOptions(self, options: dict[str, Any]) -> None:  # noqa: N802 - the library's name
        """Note how wide or tight a drawing is to be."""
        self.asked.append(options)

    def loadData(self, document: str) -> None:  # noqa: N802 - the library's name
        """Take the music, which is drawn by hand here."""
        self.loaded = document

    def renderToSVG(self, page: int) -> str:  # noqa: N802 - the library's name
        """Return the next drawing of the first page; the last one again and again."""
        assert 1 == page
        return self.drawings.pop(0) if len(self.drawings) > 1 else self.drawings[0]


def svg(inside: str) -> str:
    """Return a drawing of 1000 by 500 with two glyphs, as the engraver nests it."""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink">'
        '<defs><g id="a"><path d="M1 1h2Z"/></g><g id="b"><path d="M3 3v4Z"/></g></defs>'
        f'<svg viewBox="1 2 1000 500"><g class="page">{inside}</g></svg></svg>'
    )


def drawn(inside: str, monkeypatch: pytest.MonkeyPatch) -> Engraving:
    """Return a drawing as it comes out of the engraver's hands."""
    monkeypatch.setattr(engraving, "_engraver", lambda: Drawer(svg(inside)))
    return engrave(parse("snare: 1"), spaces=100)


SHAPES = {
    '<path d="M5 6 L7 8"/>': Mark("M5 6 L7 8", 0, 0, 1),
    '<path d="M5 6 L7 8" stroke-width="13"/>': Mark("M5 6 L7 8", 0, 0, 1, stroke=13),
    '<path d="M5 6" fill="none" stroke-width="9"/>': Mark("M5 6", 0, 0, 1, 1, 9, filled=False),
    '<path d="M5 6" fill="red"/>': Mark("M5 6", 0, 0, 1),
    '<polygon points="1,2 3,4 5,6"/>': Mark("M1 2 L3 4 L5 6Z", 0, 0, 1),
    '<polyline points="1,2 3,4" stroke-width="8"/>': Mark("M1 2 L3 4", 0, 0, 1, stroke=8),
    '<rect x="1" y="2" width="30" height="40"/>': Mark("M1.0 2.0h30.0v40.0h-30.0Z", 0, 0, 1),
    '<ellipse cx="10" cy="20" rx="3" ry="4"/>': Mark(
        "M7.0 20.0a3.0 4.0 0 1 0 6.0 0a3.0 4.0 0 1 0 -6.0 0Z", 0, 0, 1
    ),
    '<use xlink:href="#b" transform="translate(100, -20.5) scale(0.72, 0.72)"/>': Mark(
        "M3 3v4Z", 100, -20.5, 0.72, upright=-1
    ),
    '<use xlink:href="#a" transform="translate(9 8)"/>': Mark("M1 1h2Z", 9, 8, 1, upright=-1),
}


@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_is_a_path_at_its_place(shape: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Lines keep their width, glyphs grow upwards, what is not to be filled is not."""
    found = drawn(f'<g class="stem">{shape}</g>', monkeypatch)
    assert ((SHAPES[shape],), ()) == (found.marks, found.letters)
    assert (1000, 500) == (found.width, found.height)


def test_what_cannot_be_seen_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Placeholders, numbers of bars, glyphs without a place, letters of nothing but spaces."""
    line = '<path d="M5 6 L7 8"/>'
    found = drawn(
        f'<g class="mNum"><text x="1" y="2">7</text></g><g class="x placeholder">{line}</g>'
        f'<use xlink:href="#a"/><text x="1" y="2"> </text><g class="beam">{line}</g>',
        monkeypatch,
    )
    assert [Mark("M5 6 L7 8", 0, 0, 1)] == list(found.marks)
    assert () == found.letters


def head(x: int) -> str:
    """Return a note head at a place."""
    use = f'<use xlink:href="#a" transform="translate({x}, 5) scale(0.72, 0.72)"/>'
    return f'<g class="notehead">{use}</g>'


def letter(text: str, x: int = 1) -> str:
    """Return a letter, which the engraver puts somewhere near its note."""
    return f'<g class="verse"><text x="{x}" y="400"><tspan> {text}</tspan></text></g>'


@pytest.mark.parametrize(
    ("inside", "x"),
    [
        (f'<g class="note">{head(50)}{letter("e")}</g>', 50 + HEAD),
        (f'<g class="note">{letter("e")}{head(50)}</g>', 50 + HEAD),
        (
            (
                f'<g class="chord"><g class="note">{head(50)}</g>'
                f'<g class="note">{head(60)}{letter("e")}</g></g>'
            ),
            50 + HEAD,
        ),
        (
            (
                f'<g class="note"><g class="accid"><use transform="translate(9, 9)"/></g>'
                f'<g class="notehead"><use/></g>{head(70)}{letter("e")}</g>'
            ),
            70 + HEAD,
        ),
        (f'<g class="note">{letter("e", 33)}</g>', 33),
        (f'<g class="note">{head(50)}</g><g class="dir">{letter("e", 33)}</g>', 33),
        (f'<g class="layer">{head(50)}{letter("e", 33)}</g>', 33),
        (f'<g class="note">{head(50)}</g><g class="note">{head(80)}{letter("e")}</g>', 80 + HEAD),
    ],
)
def test_a_letter_stands_below_its_own_head(
    inside: str, x: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the middle of the head of its note, of a chord's first; without a head where it was."""
    wanted = inside.replace("<use transform", '<use xlink:href="#a" transform')
    assert (Letter(x, 400, "e"),) == drawn(wanted, monkeypatch).letters


@pytest.mark.parametrize(
    ("inside", "top"),
    [
        ('<path d="M0 90 L9 90" stroke-width="13"/><path d="M0 70 L9 70" stroke-width="13"/>', 90),
        ('<path d="M4 60 L4 70" stroke-width="9"/><path d="M0 90 L9 90" stroke-width="13"/>', 90),
        ('<path d="M0 60 L4 70Z"/><path d="M0 90 L9 90" stroke-width="13"/>', 90),
        ('<path d="M4 60 L4 70" stroke-width="9"/>', 0),
    ],
)
def test_the_first_line_of_the_staff_is_its_top(
    inside: str, top: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A line that is drawn from the left edge; bar lines and beams are none."""
    assert top == drawn(inside, monkeypatch).top


def test_the_engraver_is_asked_again_until_the_bars_fit(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tighter by three tenths each time while it begins lines of its own, then it is taken.

    A bar of quarters that are one partial each asks for 0.028; a page unit is an eighteenth of a
    space. Where it never fits, it is drawn as it comes in the end.
    """
    one, two = svg('<g class="system"/>'), svg('<g class="system"/><g class="system"/>')
    drawer = Drawer(two, two, one)
    monkeypatch.setattr(engraving, "_engraver", lambda: drawer)
    engrave(parse("snare: 1"), spaces=100)
    width, *tight = drawer.asked
    assert {"pageWidth": 1800} == width
    assert [0.028, 0.0196, 0.01372] == pytest.approx([each["spacingLinear"] for each in tight])
    never = Drawer(two)
    monkeypatch.setattr(engraving, "_engraver", lambda: never)
    engrave(parse("snare: 1"), spaces=100)
    assert [0.028, 0.0196, 0.01372, 0.01] == pytest.approx(
        [each["spacingLinear"] for each in never.asked[1:]]
    )


WIDTHS = {
    # Nine spaces for clef and meter; of a bar, at least eight tenths of 4.4 spaces a partial.
    "snare: 1 2": (1, 9 + 0.8 * 4 * 1 * 4.4),
    "snare: 1 2&": (2, 9 + 0.8 * 4 * 2 * 4.4),
    "grid: 8t\nsnare: 1l": (3, 9 + 0.8 * 4 * 3 * 4.4),
    "snare: 1e 2&": (4, 9 + 0.8 * 4 * 4 * 4.4),
    "grid: 16t\nsnare: 1t": (6, 9 + 0.8 * 4 * 6 * 4.4),
    "grid: 32\nsnare: 1.": (8, 9 + 0.8 * 4 * 8 * 4.4),
    "meter: 6/8\nsnare: 1 2 3": (2, 9 + 0.8 * 3 * 2 * 4.4),
    "meter: 6/8\nsnare: 1& 2": (4, 9 + 0.8 * 3 * 4 * 4.4),
    "meter: 3/4\nsnare: 3": (1, 9 + 0.8 * 3 * 1 * 4.4),
    "snare: 1 | 2&": (2, 9 + 0.8 * 4 * 2 * 4.4),
}


@pytest.mark.parametrize("text", WIDTHS)
def test_the_closest_notes_say_how_wide_a_bar_is(
    text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a line too narrow for a bar it is drawn wider; on a wide line it is the line's width."""
    partials, least = WIDTHS[text]
    for spaces, wide in ((5, least), (500, 500)):
        drawer = Drawer(svg('<g class="system"/>'))
        monkeypatch.setattr(engraving, "_engraver", lambda drawer=drawer: drawer)
        engrave(parse(text), spaces=spaces)
        assert round(wide * 18) == drawer.asked[0]["pageWidth"]
        assert 0.028 * partials == pytest.approx(drawer.asked[1]["spacingLinear"])


@pytest.mark.parametrize(("across", "breaks"), [(1, "01111"), (2, "00101"), (3, "00010")])
def test_a_line_is_broken_after_every_so_many_bars(
    across: int, breaks: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Never before the first, and told to the engraver, which is let to begin as many lines."""
    drawer = Drawer(svg('<g class="system"/>' * breaks.count("1") + '<g class="system"/>'))
    monkeypatch.setattr(engraving, "_engraver", lambda: drawer)
    engrave(parse("hat: " + " | ".join(["1"] * 5)), spaces=9 + across * 4 * 4.4 + 1)
    bars = re.findall(r"<measure .*?</measure>", drawer.loaded)
    assert breaks == "".join(str(int('new-system="yes"' in bar)) for bar in bars)
    assert 2 == len(drawer.asked)


def bracket(*lines: str) -> str:
    """Return a triplet's bracket as the engraver draws it: a line a half, a number between."""
    number = '<use xlink:href="#b" transform="translate(200, 44) scale(0.5, 0.5)"/>'
    other = '<use xlink:href="#a" transform="translate(250, 44)"/>'
    drawn_lines = "".join(f'<polyline points="{each}" fill="none"/>' for each in lines)
    return (
        f'<g class="tuplet"><g class="tupletNum">{number}</g>{drawn_lines}'
        f'<g class="note">{other}</g></g>'
    )


def test_a_sloping_bracket_becomes_level(monkeypatch: pytest.MonkeyPatch) -> None:
    """At its highest point; its hooks stay as long, its number as far below it, notes where.

    The halves slope from 20 to 30 and from 40 to 50 with hooks of 40: level at 20. The number stood
    nine below the middle of the two inner ends, at 35: now at 29.
    """
    found = drawn(bracket("100,60 100,20 180,30", "300,90 300,50 220,40"), monkeypatch)
    number, left, right, note = found.marks
    ends = [[float(n) for n in re.findall(r"[\d.]+", half.path)] for half in (left, right)]
    assert [[100, 60, 100, 20, 180, 20], [300, 60, 300, 20, 220, 20]] == ends
    assert (200, 29, 0.5) == (number.x, number.y, number.scale)
    assert (250, 44) == (note.x, note.y)
    turned = drawn(bracket("300,90 300,50 220,40", "100,60 100,20 180,30"), monkeypatch)
    assert {left, right} == set(turned.marks[1:3])


@pytest.mark.parametrize(
    "lines",
    [
        ("100,60 100,20 180,30",),
        ("100,60 100,20 180,30", "1,2 3,4 5,6", "300,90 300,50 220,40"),
        ("100,60 100,20 180,30", "300,90 300,50"),
        ("100,60 100,20 180,30", "300,90 300,50 220,40 9,9"),
    ],
)
def test_what_is_no_bracket_of_two_halves_is_left_as_it_is(
    lines: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """One line, three, or lines of other corners than three."""
    number, *halves, _ = drawn(bracket(*lines), monkeypatch).marks
    assert ["M" + line.replace(" ", " L").replace(",", " ") for line in lines] == [
        half.path for half in halves
    ]
    assert 44 == number.y


def test_a_staff_is_as_wide_as_its_drawing() -> None:
    """From edge to edge, five lines a space apart; rows of letters stand two spaces apart."""
    found = engrave(parse("hat: beat &\nsnare: >2 >4"), spaces=100, rows=Rows(hands=True))
    lines = [
        [float(n) for n in re.findall(r"[\d.]+", mark.path)]
        for mark in found.marks
        if mark.stroke and mark.path.startswith("M0 ")
    ]
    assert [(0, found.width)] * 5 == [(x, to_x) for x, _, to_x, _ in lines]
    assert [found.top + n * 180 for n in range(5)] == [y for _, y, *_ in lines]
    first, second = sorted({letter.y for letter in found.letters})
    assert 1.9 < (second - first) / 180 < 2.1
    assert lines[-1][1] < first < second < found.height < second + 2 * 180
