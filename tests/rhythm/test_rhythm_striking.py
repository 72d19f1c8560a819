"""What is struck when, and the table of embellishments that it follows from.

Outside check: the doubled eighths of a hand-to-hand roll are its thirty-seconds, counted by hand.
"""

from __future__ import annotations

from dataclasses import fields
from fractions import Fraction

from hypothesis import given
from strategies import patterns

from drillbox.rhythm import (
    EMBELLISHMENTS,
    Embellishment,
    Level,
    Ornament,
    Part,
    Pattern,
    bounces,
    grace_seconds,
    parse,
    strikes,
)

HALF = Fraction(1, 2)


def test_every_embellishment_has_every_column() -> None:
    """A new embellishment is a new row, and a row without a word or a count is no row.

    No column has a default, and no row leaves one empty, but for the sign of what is not there.
    """
    assert list(Ornament) == list(EMBELLISHMENTS)
    for ornament, row in EMBELLISHMENTS.items():
        for column in fields(Embellishment):
            value = getattr(row, column.name)
            assert value is not None, (ornament, column.name)
            if isinstance(value, str) and ornament is not Ornament.NONE:
                assert value, (ornament, column.name)
        assert (row.sign == "") is (ornament is Ornament.NONE)
        assert row.even >= 1
        assert row.graces >= 0


def test_no_two_embellishments_look_or_sound_alike() -> None:
    """Signs and short names tell them apart, and so does what is struck."""
    rows = EMBELLISHMENTS.values()
    struck = {(row.graces, row.even, row.bounces, row.rings) for row in rows}

    assert len(Ornament) == len({row.sign for row in rows}) == len({row.slug for row in rows})
    assert len(Ornament) == len(struck)


def test_every_part_of_a_stroke_is_named() -> None:
    """A double is struck again, a flam and a drag have graces of the other hand, a buzz is one."""
    struck = strikes(parse("snare: /R1 L2 fR3 (dL4) zR4&"))

    assert [
        (0, "R", Level.PLAIN, Part.STROKE, 0),
        (Fraction(1, 8), "R", Level.PLAIN, Part.AGAIN, 0),
        (1, "L", Level.PLAIN, Part.STROKE, 0),
        (2, "L", Level.GHOST, Part.GRACE, 1),
        (2, "R", Level.PLAIN, Part.STROKE, 0),
        (3, "R", Level.GHOST, Part.GRACE, 2),
        (3, "R", Level.GHOST, Part.GRACE, 1),
        (3, "L", Level.GHOST, Part.STROKE, 0),
        (3 + HALF, "R", Level.PLAIN, Part.BUZZ, 0),
    ] == [(s.at, s.hand, s.level, s.part, s.early) for s in struck]


def test_doubled_sixteenths_are_thirty_seconds() -> None:
    """The double stroke roll, counted out: RRLLRRLL, eight to the beat."""
    roll = strikes(parse("meter: 1/4\nsnare: /beat /e /& /a"))

    assert [Fraction(part, 8) for part in range(8)] == [strike.at for strike in roll]
    assert "RRLLRRLL" == "".join(str(strike.hand) for strike in roll)


def test_the_halving_of_a_triplet_beat_is_an_eighth() -> None:
    """A double on the & of a beat in triplets lasts to the next beat, never past it."""
    (first, second) = strikes(parse("meter: 1/4\ngrid: 8t\nsnare: /1&"))

    assert (HALF, Fraction(3, 4), HALF) == (first.at, second.at, second.length)


def test_graces_and_bounces_are_timed_in_seconds() -> None:
    """28 ms apart where there is room, a quarter of the partial where there is not.

    Bounces end before the next partial.
    """
    slow, fast = Fraction(1, 4), Fraction(1, 20)

    assert (Fraction(28, 1000), Fraction(56, 1000)) == (
        grace_seconds(1, slow),
        grace_seconds(2, slow),
    )
    assert fast / 4 == grace_seconds(1, fast)
    assert 9 == len(bounces(Fraction(1, 2)))
    assert all(bounce.after < fast for bounce in bounces(fast))


def test_swung_sixteenths_are_struck_late() -> None:
    """Two to one: the e on the last third of its half beat; a double shares what time is left."""
    struck = strikes(parse("meter: 1/4\nswing: 16 2:1\nhat: beat &\nsnare: (/1e)"))

    assert [0, Fraction(1, 3), Fraction(5, 12), HALF] == [strike.at for strike in struck]
    assert Fraction(1, 6) == struck[1].length


@given(patterns(max_bars=2))
def test_every_written_stroke_is_struck_once_and_as_often_as_its_row_says(
    pattern: Pattern,
) -> None:
    """Nothing is lost, nothing is added, nothing leaves the pattern, and time never goes back."""
    struck = strikes(pattern)
    main = [strike for strike in struck if strike.part in (Part.STROKE, Part.BUZZ)]

    assert sorted(range(len(pattern.strokes))) == sorted(strike.stroke for strike in main)
    felt = pattern.swing.bend if pattern.swing else Fraction
    assert all(strike.at == felt(pattern.strokes[strike.stroke].at) for strike in main)
    assert [strike.at for strike in struck] == sorted(strike.at for strike in struck)
    assert all(0 <= strike.at < pattern.beats for strike in struck)
    for index, stroke in enumerate(pattern.strokes):
        row = EMBELLISHMENTS[stroke.ornament]
        mine = [strike for strike in struck if strike.stroke == index]
        assert row.graces + row.even == len(mine)
        assert row.graces == sum(strike.part is Part.GRACE for strike in mine)
