"""Charts and drawings: golden pictures, looked at by eye, and the laws behind them."""

from __future__ import annotations

from textwrap import dedent

import pytest
from examples import examples
from hypothesis import given
from strategies import patterns

from drillbox.rhythm import Hand, Pattern, Voice, chart, draw, parse

PICTURES = [
    (
        "hat: 1 & 2 & 3 & 4 &\nsnare: (e) >2 >4\nbass: 1 3",
        """
                1   e   &   a   2   e   &   a   3   e   &   a   4   e   &   a
        hat   | x   ·   x   ·   x   ·   x   ·   x   ·   x   ·   x   ·   x   ·  |
        snare | ·  (o)  ·   ·  >o  (o)  ·   ·   ·  (o)  ·   ·  >o  (o)  ·   ·  |
        bass  | o   ·   ·   ·   ·   ·   ·   ·   o   ·   ·   ·   ·   ·   ·   ·  |
        """,
    ),
    (
        "grid: 8t\nhat: beat l\nsnare: (zt) >f2 d4",
        """
                1  trip let 2  trip let 3  trip let 4  trip let
        hat   | x   ·   x   x   ·   x   x   ·   x   x   ·   x  |
        snare | ·  (z)  ·  >f  (z)  ·   ·  (z)  ·   d  (z)  ·  |
        """,
    ),
    (
        "grid: 8t\nhat: beat &\nsnare: (t) >2 >4",
        """
                1  trip &   let 2  trip &   let 3  trip &   let 4  trip &   let
        hat   | x   ·   x   ·   x   ·   x   ·   x   ·   x   ·   x   ·   x   ·  |
        snare | ·  (o)  ·   ·  >o  (o)  ·   ·   ·  (o)  ·   ·  >o  (o)  ·   ·  |
        """,
    ),
    (
        "grid: 16t\nride: beat &\nsnare: (t) (/1l) (&l) >2 >4",
        """
                1  t  l  &  t  l  2  t  l  &  t  l  3  t  l  &  t  l  4  t  l  &  t  l
        ride  | x  ·  ·  x  ·  ·  x  ·  ·  x  ·  ·  x  ·  ·  x  ·  ·  x  ·  ·  x  ·  · |
        snare | · (o)(/) ·  · (o)>o (o) ·  ·  · (o) · (o) ·  ·  · (o)>o (o) ·  ·  · (o)|
        """,
    ),
    (
        "grid: 32\nhat: beat &\nsnare: (1e.) (a.) >2 >4",
        """
                1   ·   e   ·   &   ·   a   ·   2   ·   e   ·   &   ·   a   ·
        hat   | x   ·   ·   ·   x   ·   ·   ·   x   ·   ·   ·   x   ·   ·   ·  |
        snare | ·   ·   ·  (o)  ·   ·   ·  (o) >o   ·   ·   ·   ·   ·   ·  (o) |

                3   ·   e   ·   &   ·   a   ·   4   ·   e   ·   &   ·   a   ·
        hat   | x   ·   ·   ·   x   ·   ·   ·   x   ·   ·   ·   x   ·   ·   ·  |
        snare | ·   ·   ·   ·   ·   ·   ·  (o) >o   ·   ·   ·   ·   ·   ·  (o) |
        """,
    ),
    (
        "meter: 6/8\ngrid: 8\ncrash: 1\nhat: 2 3 4 5 6\nsnare: >4\npedal: 3 6 | 6",
        """
                1   2   3   4   5   6    1   2   3   4   5   6
        hat   | ·   x   x   x   x   x  | ·   x   x   x   x   x  |
        crash | x   ·   ·   ·   ·   ·  | x   ·   ·   ·   ·   ·  |
        snare | ·   ·   ·  >o   ·   ·  | ·   ·   ·  >o   ·   ·  |
        pedal | ·   ·   x   ·   ·   x  | ·   ·   ·   ·   ·   x  |
        """,
    ),
    (
        "meter: 7/8\nride: beat\nrim: 5 (7&)\nbass: 1 3",
        """
               1   &   2   &   3   &   4   &   5   &   6   &   7   &
        ride | x   ·   x   ·   x   ·   x   ·   x   ·   x   ·   x   ·  |
        rim  | ·   ·   ·   ·   ·   ·   ·   ·   x   ·   ·   ·   ·  (x) |
        bass | o   ·   ·   ·   o   ·   ·   ·   ·   ·   ·   ·   ·   ·  |
        """,
    ),
    (
        "meter: 12/8\nhat: beat\nsnare: >4 >10",
        """
                1   2   3   4   5   6   7   8   9   10  11  12
        hat   | x   x   x   x   x   x   x   x   x   x   x   x  |
        snare | ·   ·   ·  >o   ·   ·   ·   ·   ·  >o   ·   ·  |
        """,
    ),
    (
        "meter: 2/4\ngrid: 16 8t\nsnare: >R1 L1e R1& R1a L2 R2t L2l",
        """
                1  e  &  a  2  trip let
        snare |>o  o  o  o  o   o   o  |
        hands   R  L  R  R  L   R   L
        """,
    ),
    (
        "tom: 1 2\nfloor: 3 4 | (3) (4)",
        """
                1   e   &   a   2   e   &   a   3   e   &   a   4   e   &   a
        tom   | o   ·   ·   ·   o   ·   ·   ·   ·   ·   ·   ·   ·   ·   ·   ·  |
        floor | ·   ·   ·   ·   ·   ·   ·   ·   o   ·   ·   ·   o   ·   ·   ·  |
        hands   R               L               R               L

                1   e   &   a   2   e   &   a   3   e   &   a   4   e   &   a
        tom   | o   ·   ·   ·   o   ·   ·   ·   ·   ·   ·   ·   ·   ·   ·   ·  |
        floor | ·   ·   ·   ·   ·   ·   ·   ·  (o)  ·   ·   ·  (o)  ·   ·   ·  |
        hands   R               L               R               L
        """,
    ),
    (
        "meter: 3/4\nswing: 16 3:2\ncrash: 1\nhat: 1& 2 2&\nsnare: >2 3 3e 3a\nbass: 1",
        """
                sixteenths swung 3:2
                1   e   &   a   2   e   &   a   3   e   &   a
        hat   | ·   ·   x   ·   x   ·   x   ·   ·   ·   ·   ·  |
        crash | x   ·   ·   ·   ·   ·   ·   ·   ·   ·   ·   ·  |
        snare | ·   ·   ·   ·  >o   ·   ·   ·   o   o   ·   o  |
        bass  | o   ·   ·   ·   ·   ·   ·   ·   ·   ·   ·   ·  |
        hands                                   R   L       R
        """,
    ),
]


@pytest.mark.parametrize(("text", "picture"), PICTURES)
def test_pictures(text: str, picture: str) -> None:
    """Each grid, meter, sign and way of wrapping at 80 columns, as looked at and found good."""
    assert dedent(picture).lstrip("\n") == draw(parse(text))


def test_two_bars_stand_side_by_side_where_there_is_room() -> None:
    """A wide terminal holds two bars in one system; a narrow one breaks each bar between beats."""
    pattern = parse("hat: beat &\nsnare: 2 4 | 2 3&")

    assert 3 == len(draw(pattern, width=160).splitlines())
    narrow = draw(pattern, width=40)
    assert 15 == len(narrow.splitlines())
    assert "1   e   &   a   2   e   &   a" == narrow.splitlines()[0].strip()


def test_a_beat_is_never_broken() -> None:
    """Where not even a beat fits, each beat is a drawing of its own, wider than asked."""
    beats = draw(parse("hat: beat e & a\nsnare: >2"), width=8).split("\n\n")

    assert ["1", "2", "3", "4"] == [beat.split()[0] for beat in beats]
    assert all("e   &   a" in beat.splitlines()[0] for beat in beats)


@examples(100)
@given(patterns())
def test_a_drawing_fits_the_width(pattern: Pattern) -> None:
    """No line is wider than the terminal, and no line ends in blanks."""
    for width in (60, 80, 120):
        for line in draw(pattern, width=width).splitlines():
            assert len(line) <= width
            assert line == line.rstrip()


@examples(100)
@given(patterns())
def test_a_chart_shows_every_stroke_once(pattern: Pattern) -> None:
    """The signs of all rows are the strokes, each in the column of its own time."""
    shown = [
        (column.at, row.voice)
        for bar in chart(pattern).bars
        for row in bar.rows
        for column, sign in zip(bar.columns, row.signs, strict=True)
        if sign
    ]

    assert sorted((s.at, s.voice) for s in pattern.strokes) == sorted(shown)


@examples(100)
@given(patterns())
def test_columns_run_in_time_and_beats_are_numbered(pattern: Pattern) -> None:
    """Each bar counts its beats from 1.

    Partials come in order, signs and counts keep to three and four letters.
    """
    for bar in chart(pattern).bars:
        assert sorted(column.at for column in bar.columns) == [column.at for column in bar.columns]
        beats = [column.label for column in bar.columns if column.is_beat]
        assert [str(n + 1) for n in range(pattern.meter.beats)] == beats
        assert all(1 <= len(column.label) <= 4 for column in bar.columns)
        assert all(len(sign) <= 3 for row in bar.rows for sign in row.signs)


def test_a_chart_knows_the_sticking() -> None:
    """Under each column stand the hands that strike there; a left-handed player's are mirrored."""
    pattern = parse("grid: 8\nhat: beat\nsnare: (&) 2\nbass: 1 1&")

    (bar,) = chart(pattern).bars
    assert ("R", "L", "RL", "L", "R", "L", "R", "L") == bar.sticking
    assert not any(bar.told)
    (mirrored,) = chart(pattern, leading=Hand.LEFT).bars
    assert ("L", "R", "RL", "R", "L", "R", "L", "R") == mirrored.sticking
    assert [Voice.HAT, Voice.SNARE, Voice.BASS] == [row.voice for row in bar.rows]


def test_silence_can_be_drawn() -> None:
    """A pattern without strokes shows its counts."""
    assert "  1   &   2   &\n" == draw(parse("meter: 2/4\ngrid: 8"))[1:]
