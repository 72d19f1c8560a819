"""What is said of a take: which words, from which number on, the gravest first."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from told_takes import told

from drillbox.ear import Measurement, Verdict, place_name, remarks, sentence
from drillbox.ear.saying import noticed_ms
from drillbox.ear.verdict import HandFact, PartialFact
from drillbox.rhythm import Hand, Level, Voice, parse

if TYPE_CHECKING:
    from drillbox.ear.expected import Expected

SNARE = parse("snare: >2 >4 (1a) (3e)\n")
EVEN = told(SNARE)
CLEAR = 20.0


def saying(**changes: Any) -> tuple[str, ...]:
    """Return what is said of a take that is perfect but for some numbers."""
    return remarks(_with(**changes), most=9)


def _with(**changes: Any) -> Measurement:
    perfect: dict[str, Any] = {"partials": (), "hands": (), "ghosts_ms": 0.0, "contrast_db": CLEAR}
    return replace(EVEN, numbers=replace(EVEN.numbers, **{**perfect, **changes}))


def partial(
    *,
    place: Fraction = Fraction(3, 4),
    voice: Voice = Voice.SNARE,
    level: Level = Level.GHOST,
    mean_ms: float | None = 0.0,
    heard: int = 8,
    missed: int = 0,
) -> PartialFact:
    """Return the a of 1, a ghost, in time and heard eight times, but for what is given."""
    return PartialFact(place, voice, level, mean_ms, 1.0, heard, missed, 0)


NOTICED = noticed_ms(EVEN)
"""Strokes of this take lie 667 ms apart in the median: far enough for the share to count."""


def test_what_is_noticed_is_6_ms_up_to_240_ms_and_a_fortieth_above() -> None:
    """Friberg & Sundberg 1995, at the take's usual spacing, each place of time once."""
    dense = "snare: (beat) (e) (&) (a)\nhat: beat\n"

    assert 6.0 == noticed_ms(told(dense, bpm=62.6)) == noticed_ms(told(dense, bpm=120))
    assert 0.025 * 240.1 == pytest.approx(noticed_ms(told(dense, bpm=60000 / 240.1 / 4)), abs=1e-6)
    assert 0.025 * 250 == pytest.approx(noticed_ms(told(dense, bpm=60)))
    gaps = sorted([1 / 4 * 60 / 90, 5 / 4 * 60 / 90, 3 / 4 * 60 / 90, 7 / 4 * 60 / 90] * 6)[:-1]
    assert 25 * gaps[len(gaps) // 2] == pytest.approx(NOTICED)


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"place": Fraction(1), "level": Level.ACCENT}, "the 2 comes 40 ms late"),
        ({"place": Fraction(1)}, "the ghost 2 comes 40 ms late"),
        ({}, "the ghost a of 1 comes 40 ms late"),
        ({"level": Level.PLAIN}, "the a of 1 comes 40 ms late"),
        ({"mean_ms": -40.4}, "the ghost a of 1 comes 40 ms early"),
    ],
)
def test_a_place_off_its_time_is_named(changes: dict[str, Any], text: str) -> None:
    """Numbers stand by themselves after the article, ghosts are called ghosts."""
    assert (text,) == saying(partials=(partial(**{"mean_ms": 40.0, **changes}),))


def test_of_several_voices_the_voice_is_named() -> None:
    """Hat and snare have places of one name."""
    found = saying(
        partials=(
            partial(mean_ms=40.0),
            partial(voice=Voice.HAT, level=Level.PLAIN, place=Fraction(0), mean_ms=-60.0),
        )
    )

    assert ("the hat's 1 comes 60 ms early", "the snare's ghost a of 1 comes 40 ms late") == found


@pytest.mark.parametrize("sign", [-1, 1])
def test_what_nobody_notices_is_not_spoken_of(sign: int) -> None:
    """On the limit silence, a hair past it a remark; the same for ghosts against accents."""
    past = NOTICED * 1.001

    assert () == saying(partials=(partial(mean_ms=sign * NOTICED),))
    assert 1 == len(saying(partials=(partial(mean_ms=sign * past),)))
    assert () == saying(ghosts_ms=sign * NOTICED * 0.999)
    word = "early" if sign < 0 else "late"
    assert (f"the ghosts come {past:.0f} ms {word} against the accents",) == saying(
        ghosts_ms=sign * past
    )
    assert () == saying(ghosts_ms=None, contrast_db=None)
    assert () == saying(partials=(partial(mean_ms=None),))


@pytest.mark.parametrize(
    ("heard", "missed", "text"),
    [
        (0, 4, "the ghost a of 1 is missing every time"),
        (3, 3, "the ghost a of 1 is missing half the time"),
        (5, 2, "the ghost a of 1 is missing 2 times in 7"),
        (2, 1, "the ghost a of 1 is missing once in 3"),
        (4, 1, None),
        (1, 1, None),
        (0, 2, None),
    ],
)
def test_a_place_missing_often_is_named(heard: int, missed: int, text: str | None) -> None:
    """More than one in five of at least three."""
    assert ((text,) if text else ()) == saying(partials=(partial(heard=heard, missed=missed),))


def test_ghosts_less_than_12_db_under_the_accents_are_told() -> None:
    """Twelve is clean and is not spoken of."""
    assert () == saying(contrast_db=12.0)
    assert ("the ghosts lie only 12 dB under the accents",) == saying(contrast_db=11.99)
    assert ("the ghosts lie only 4 dB under the accents",) == saying(contrast_db=4.2)


@pytest.mark.parametrize(
    ("tempi", "text"),
    [
        ((90.0, 90.0, 90.0, 92.0), "the tempo rises from 90 to 92"),
        ((90.0, 90.0, 90.0, 88.0), "the tempo falls from 90 to 88"),
        ((90.0, 90.0, 90.0, 91.7), None),
        ((90.0, 80.0, 95.0), None),
        ((80.0, 100.0, 1.0, 1.0, 1.0, 1.0, 70.0, 60.0), "the tempo falls from 90 to 65"),
        ((88.0, 92.0, 1.0, 1.0, 1.0, 1.0, 92.0, 94.0), "the tempo rises from 90 to 93"),
        ((90.0, 1.0, 1.0, 1.0, 1.0, 1.0, 99.0), "the tempo rises from 90 to 99"),
    ],
)
def test_a_tempo_that_slides_is_told_from_the_first_to_the_last_quarter(
    tempi: tuple[float, ...], text: str | None
) -> None:
    """Two per cent or more, over four bars or more; a quarter of seven bars is one."""
    assert ((text,) if text else ()) == saying(bpm_by_bar=tempi)


def test_a_hand_less_even_than_the_other_is_named() -> None:
    """Half as much again and half of what is noticed more, whichever hand it is."""

    def hands(right: float | None, left: float | None) -> tuple[HandFact, ...]:
        return (HandFact(Hand.RIGHT, 9, right, None), HandFact(Hand.LEFT, 9, left, None))

    most = 3 * NOTICED / 2
    text = "the {} hand is less even than the {} (" + f"{most:.0f} against {NOTICED:.0f} ms)"
    assert (text.format("left", "right"),) == saying(hands=hands(NOTICED, most))
    assert (text.format("right", "left"),) == saying(hands=hands(most, NOTICED))
    assert () == saying(hands=hands(NOTICED, most - 0.01))
    assert () == saying(hands=hands(2.0, 2.0 + NOTICED / 2 - 0.01))
    assert 1 == len(saying(hands=hands(2.0, 2.0 + NOTICED / 2)))
    assert () == saying(hands=hands(4 * NOTICED, 5.9 * NOTICED))
    assert () == saying(hands=hands(None, 40.0))
    assert () == saying(hands=hands(0.0, 40.0)[:1])


def test_the_gravest_comes_first_and_no_more_than_three_are_said() -> None:
    """Weights: twice and eight times the share missing, times over the noticed, dB, per cents."""
    grave = saying(
        partials=(
            partial(heard=4, missed=4, mean_ms=NOTICED * 2),
            partial(place=Fraction(9, 4), mean_ms=NOTICED * 5.9),
            partial(place=Fraction(1), mean_ms=NOTICED * 6.1),
        ),
        ghosts_ms=NOTICED * 4.8,
        contrast_db=2.0,
        bpm_by_bar=(100.0, 100.0, 100.0, 108.0),
        hands=(HandFact(Hand.RIGHT, 9, 10.0, None), HandFact(Hand.LEFT, 9, 25.0, None)),
    )

    assert [
        f"the ghost 2 comes {NOTICED * 6.1:.0f} ms late",
        "the ghost a of 1 is missing half the time",
        f"the ghost e of 3 comes {NOTICED * 5.9:.0f} ms late",
        f"the ghosts come {NOTICED * 4.8:.0f} ms late against the accents",
        "the ghosts lie only 2 dB under the accents",
        "the tempo rises from 100 to 108",
        "the left hand is less even than the right (25 against 10 ms)",
        f"the ghost a of 1 comes {NOTICED * 2:.0f} ms late",
    ] == list(grave)
    found = told(SNARE, late=lambda s: 90.0 * (s.index % 4 == 0), level=lambda _: -20.0)
    assert 3 == len(remarks(found))
    assert 1 == len(remarks(found, most=1))


def test_one_sentence_of_a_take() -> None:
    """Two remarks at most, else what was missed, and how far the strokes scatter."""
    slide = (90.0, 90.0, 90.0, 92.0)
    much = _with(ghosts_ms=-60.0, contrast_db=3.0, spread_ms=9.0, bpm_by_bar=slide)

    assert (
        "The ghosts come 60 ms early against the accents; the ghosts lie only 3 dB under the "
        "accents." == sentence(much)
    )
    assert "The strokes scatter by 12 ms." == sentence(_with(spread_ms=12.4))
    assert "2 strokes of 24 are missing; the strokes scatter by 12 ms." == sentence(
        _with(missed=2, spread_ms=12.4)
    )
    assert "1 stroke of 24 is missing." == sentence(_with(missed=1, spread_ms=None))
    assert "Too little was heard to say much." == sentence(_with(spread_ms=None))
    assert (
        "The ghosts come 60 ms late against the accents; the strokes scatter by 9 ms."
        == sentence(_with(ghosts_ms=60.0, spread_ms=9.0))
    )


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("snare: 1 1e 1& 1a 4", ["1", "e of 1", "& of 1", "a of 1", "4"]),
        ("grid: 8t\nsnare: 1 2t 2l 4", ["1", "trip of 2", "let of 2", "4"]),
        ("snare: /1e /2", ["e of 1", "second stroke on e of 1", "2", "second stroke of 2"]),
        ("snare: 1 | 2a", ["1 in bar 1", "a of 2 in bar 2"]),
    ],
)
def test_places_are_named_as_a_drummer_says_them(text: str, names: list[str]) -> None:
    """The count, the beat, the bar where there are several; a double's second stroke by its own."""
    pattern = parse(text + "\n")
    places = sorted({fact.expected.place for fact in told(pattern).facts})

    assert names == [place_name(pattern, place) for place in places]


@given(st.floats(-50, 50), st.floats(0, 1))
def test_remarks_are_of_what_was_played(late: float, share: float) -> None:
    """A take told stroke by stroke: its ghosts' delay and nothing else is remarked on."""

    def off(stroke: Expected) -> float:
        return late if stroke.level is Level.GHOST else 0.0

    found = told(SNARE, late=off)
    numbers: Verdict = found.numbers
    against = [text for text in remarks(found, most=9) if "against the accents" in text]

    assert (abs(numbers.ghosts_ms or 0) >= NOTICED) == bool(against)
