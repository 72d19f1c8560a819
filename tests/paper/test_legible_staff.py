"""A printed staff is legible: brackets, rests, signs and counts keep out of each other's way.

Found by reading sheets as a player does. Where no source is named it is common practice: stems,
rests and brackets of the feet below those of the hands, and a silent beat counted in brackets.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from examples import examples
from fontTools.pens.boundsPen import BoundsPen
from fontTools.svgLib.path import parse_path
from hypothesis import given
from strategies import patterns

from drillbox.paper import Collection, Exercise
from drillbox.paper.engraving import SPACE, engrave
from drillbox.paper.letter_rows import Rows, lyric_rows
from drillbox.paper.musicxml_writing import score
from drillbox.paper.note_values import beat_divisions
from drillbox.rhythm import Hand, Pattern, parse, syllables
from drillbox.rhythm.charting import closes

if TYPE_CHECKING:
    from xml.etree import ElementTree as ET

    from drillbox.paper.flattening import Engraving, Mark

SHUFFLE = "grid: 8t\nhat: 1 1l 2 2l 3 3l 4 4l\nsnare: (t) >2 >4\nbass: 1 2l 3"
FEET_IN_TRIPLETS = [
    SHUFFLE,
    "grid: 8t\nhat: beat\nsnare: (t) (l)\nbass: 1 2t 4l\npedal: 2l 3t",
    "grid: 16t\nhat: beat &\nsnare: >2 >4\nbass: 1 1&l 2t 3 4&t",
    "meter: 6/8\ngrid: 16t\nhat: 1 3 5\nsnare: 4\nbass: 1 2t 6l",
]
CROWDED = [
    "grid: 8t\nhat: beat l\nsnare: (t) >2 >4\nbass: 1 2t 2l 3",
    "hat: beat\nsnare: d2 d4 (3a)\nbass: 1 3& 3a",
    "hat: beat\nsnare: f2 z4 (1e)\nfloor: 4a\nbass: 1 3& 3a",
    "hat: beat\nsnare: f3 | d3\nbass: | 1",
    "hat: beat\nsnare: 2 3 4 | 2 3 4\nbass: 1 3 | ",
]


def written(pattern: Pattern) -> ET.Element:
    """Return the score that is written of a pattern."""
    exercise = Exercise("", pattern, 60)
    return score(Collection("", (exercise,)), rows=Rows(), leading=Hand.RIGHT)


def bounds(mark: Mark) -> tuple[float, float, float, float]:
    """Return left, top, right and bottom of a mark on the page, by another library's reading."""
    pen = BoundsPen(None)
    parse_path(mark.path, pen)
    left, low, right, high = pen.bounds
    top, bottom = sorted(mark.y + mark.upright * mark.scale * y for y in (low, high))
    return mark.x + mark.scale * left, top, mark.x + mark.scale * right, bottom


def brackets(drawn: Engraving) -> list[tuple[float, float, float]]:
    """Return how far from left to right each half of a bracket goes, and at which level."""
    halves = [bounds(mark) for mark in drawn.marks if not mark.filled]
    paths = [mark.path.split(",")[-1].split()[-1] for mark in drawn.marks if not mark.filled]
    return [(half[0], half[2], float(y)) for half, y in zip(halves, paths, strict=True)]


@pytest.mark.parametrize("text", FEET_IN_TRIPLETS)
def test_brackets_stand_outside_the_staff_and_clear_of_the_counts(text: str) -> None:
    """Those of the feet below it: a bracket and its 3 across heads and stems cannot be read."""
    drawn = engrave(parse(text), spaces=100)
    bottom = drawn.top + 4 * SPACE
    letters = min(letter.y for letter in drawn.letters) - 1.62 * SPACE * 0.76
    below = [bracket for bracket in brackets(drawn) if bracket[2] > drawn.top]

    assert below
    for left, right, level in below:
        assert bottom + SPACE < level
        hanging = [
            bounds(mark)[3]
            for mark in drawn.marks
            if mark.upright == -1 and left <= mark.x <= right + SPACE * 2 and mark.y > bottom
        ]
        assert max([level, *hanging]) + SPACE / 2 < letters
    assert max(letter.y for letter in drawn.letters) < drawn.height


def test_brackets_are_written_on_the_side_of_the_stems() -> None:
    """For other engraving programs as well: above for the hands, below for the feet."""
    for text in FEET_IN_TRIPLETS:
        for note in written(parse(text)).iter("note"):
            for tuplet in note.iterfind("notations/tuplet[@type='start']"):
                side = {"1": "above", "2": "below"}[note.findtext("voice", "")]
                assert side == tuplet.get("placement")


@pytest.mark.parametrize("text", CROWDED)
def test_a_rest_of_the_feet_touches_nothing(text: str) -> None:
    """It keeps below the snare's head and the slur of a drag or flam that ends there.

    The feet play no note with a flag here, so that only rests hang below the staff, and numbers of
    triplets.
    """
    drawn = engrave(parse(text), spaces=100)
    signs = [bounds(mark) for mark in drawn.marks if mark.upright == -1 or "C" in mark.path]
    bottom = drawn.top + 4 * SPACE
    hanging = [box for box in signs if box[3] > bottom + SPACE / 4]

    assert hanging
    for rest in hanging:
        for other in signs:
            beside = other[2] <= rest[0] or rest[2] <= other[0]
            assert other is rest or beside or other[3] < rest[1] or rest[3] < other[1]


@examples(40)
@given(patterns(max_bars=2))
def test_a_closing_stroke_has_its_plus(pattern: Pattern) -> None:
    """As many as the drawing on the screen has, none elsewhere: circle and plus of MusicXML 4.0."""
    closing = sorted(str(voice) for _, voice in closes(pattern))
    notes = [note for note in written(pattern).iter("note") if note.find(".//stopped") is not None]
    found = [note.find("instrument").get("id") for note in notes]  # type: ignore[union-attr]

    assert closing == sorted(name.removeprefix("P1-") for name in found if name)


def test_the_engraver_draws_the_plus() -> None:
    """Above the hat, below the pedal: one mark more than where the hat was never open."""
    hat = "hat: beat 1& 2& 3& {}4&\nsnare: >2 >4\nbass: 1 3"
    shut, opened = (engrave(parse(hat.format(sign)), spaces=100) for sign in ("", "o"))
    assert len(shut.marks) + 2 == len(opened.marks)
    foot = "hat: 1 {}2 3\nsnare: >4\npedal: 2& 4"
    shut, opened = (engrave(parse(foot.format(sign)), spaces=100) for sign in ("", "o"))
    signs = [{(m.x, m.path) for m in drawn.marks} for drawn in (shut, opened)]
    plus = max((m for m in opened.marks if (m.x, m.path) in signs[1] - signs[0]), key=lambda m: m.y)
    assert opened.top + 4 * SPACE < plus.y


def read_counts(pattern: Pattern) -> dict[Fraction, tuple[Fraction, bool]]:
    """Read the row of counts from left to right, as a player does who sees nothing else.

    Returns, for each place with a letter, the place that was read, and whether it is silent.
    """
    (counts,) = lyric_rows(pattern, Rows(hands=False)) or ({},)
    found: dict[Fraction, tuple[Fraction, bool]] = {}
    beat, second_half, before = 0, False, -1
    for place in sorted(counts):
        at = Fraction(place, beat_divisions(pattern.meter))
        bar = int(at / pattern.meter.beats)
        if bar != before:
            beat, before = 0, bar
        text = counts[place].text
        said = re.fullmatch(r"\(?(\d*)\)?([^\d()]*)", text)
        assert said, text
        if said[1]:
            beat, second_half = int(said[1]), False
        assert beat, f"{text} of no beat"
        name = {"trip": "t", "let": "l"}.get(said[2], said[2])
        if second_half and name in {"t", "l"} and pattern.grids[int(at)] == 6:
            name = f"&{name}"
        second_half = second_half or name.startswith("&")
        counted = bar * pattern.meter.beats + beat - 1
        found[at] = (counted + syllables(pattern.grids[counted])[name], text.startswith("("))
    return found


@examples(150)
@given(patterns(max_bars=2))
def test_counts_say_by_themselves_where_everything_is(pattern: Pattern) -> None:
    """Whoever reads the row alone finds every stroke that can be counted, and no other."""
    struck = {
        stroke.at
        for stroke in pattern.strokes
        if not next(
            name
            for name, offset in syllables(pattern.grids[int(stroke.at)]).items()
            if offset == stroke.at % 1
        ).endswith(".")
    }
    read = read_counts(pattern)

    assert all(at == place for at, (place, _) in read.items())
    assert struck == {at for at, (_, silent) in read.items() if not silent}
    assert all(at.denominator == 1 for at, (_, silent) in read.items() if silent)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("hat: 2e 2a 4&\nsnare: 1a 3 4e\nbass: 1e 3a", "(1) e a (2) e a 3 a (4) e &"),
        ("grid: 16t\nhat: beat\nsnare: 1t 3&t 3&l", "1 t 2 3 &t &l 4"),
        ("grid: 16t\nhat: beat &\nsnare: 3t 3&t", "1 & 2 & 3 t & t 4 &"),
        ("grid: 8t\nhat: 1 2 3\nsnare: 4t 4l", "1 2 3 (4) trip let"),
        ("meter: 6/8\nhat: 1 3 5\nsnare: 4\nbass: 1 2&", "1 2& 3 4 5"),
    ],
)
def test_a_silent_beat_is_counted_where_its_partials_are_played(text: str, expected: str) -> None:
    """In brackets below its rest; where a note still sounds there, in the partial's whole name."""
    pattern = parse(text)
    (row,) = lyric_rows(pattern, Rows(hands=False))
    drawn = engrave(pattern, spaces=100, rows=Rows(hands=False))

    assert expected == " ".join(row[at].text for at in sorted(row))
    assert expected == " ".join(letter.text for letter in sorted(drawn.letters))
    assert 1 == len({letter.y for letter in drawn.letters})


def test_counts_below_rests_stand_on_the_row_of_their_own_line() -> None:
    """Several lines of music, hands below the counts: two rows a line, brackets on the first."""
    text = "hat: 1e 1& 2e 3 | 1e 2a 3 4 | 1e 2a 3 4\nsnare: R4 | R4 | R4"
    drawn = engrave(parse(text), spaces=60, rows=Rows(hands=True))
    rows = sorted({letter.y for letter in drawn.letters})

    assert 6 == len(rows)
    silent = {letter.y for letter in drawn.letters if letter.text.startswith("(")}
    assert set(rows[::2]) == silent
