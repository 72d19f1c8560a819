"""Patterns: what can be one, which ones are the same rhythm, and how a part lies over a groove."""

from __future__ import annotations

import hashlib
import math
from dataclasses import replace
from fractions import Fraction
from itertools import product
from typing import TYPE_CHECKING

import pytest
from examples import examples
from hypothesis import assume, given
from hypothesis import strategies as st
from strategies import patterns

from drillbox.errors import UsageError
from drillbox.rhythm import (
    Level,
    Meter,
    Pattern,
    Stroke,
    Voice,
    fingerprint,
    overlay,
    parse,
    repeated,
    syllables,
)

if TYPE_CHECKING:
    from random import Random

FOUR = Meter(4, 4)
SIXTEENTHS = (4, 4, 4, 4)
ROCK = parse("hat: beat &\nsnare: >2 >4\nbass: 1 3")


def snare(at: Fraction | int, level: Level = Level.PLAIN) -> Stroke:
    """Return a stroke of the snare."""
    return Stroke(Fraction(at), Voice.SNARE, level)


@given(patterns(), st.randoms(use_true_random=False))
def test_the_order_of_strokes_does_not_matter(pattern: Pattern, chance: Random) -> None:
    """Strokes in any order make one pattern, sorted by time and then from cymbals to feet."""
    shuffled = list(pattern.strokes)
    chance.shuffle(shuffled)

    again = Pattern(pattern.meter, pattern.grids, tuple(shuffled), pattern.swing)

    assert pattern == again
    keys = [(stroke.at, list(Voice).index(stroke.voice)) for stroke in again.strokes]
    assert sorted(keys) == keys


@pytest.mark.parametrize(
    ("grids", "strokes", "message"),
    [
        ((4, 4, 4), (), "3 beats are not 1 to 64 whole bars of 4/4"),
        ((), (), "0 beats are not 1 to 64 whole bars"),
        (SIXTEENTHS * 65, (), "260 beats are not 1 to 64 whole bars"),
        ((4, 5, 4, 4), (), "5 slots a beat is no grid of 4/4; use 2, 3, 4, 6, 8"),
        (SIXTEENTHS, (snare(4),), "at beat 4 is outside 4 beats"),
        (SIXTEENTHS, (snare(Fraction(-1, 4)),), "at beat -1/4 is outside"),
        (SIXTEENTHS, (snare(Fraction(4, 3)),), "at beat 4/3 is off its grid"),
        (SIXTEENTHS, (snare(1), snare(1, Level.GHOST)), "two strokes of the snare at beat 1"),
    ],
)
def test_what_cannot_be_a_pattern(
    grids: tuple[int, ...], strokes: tuple[Stroke, ...], message: str
) -> None:
    """Bars are whole, grids are the meter's, strokes stand inside, on their grid, once."""
    with pytest.raises(UsageError, match=message):
        Pattern(FOUR, grids, strokes)


def test_length_at_a_tempo() -> None:
    """Two bars of 4/4 at 60 are eight seconds; one bar of 6/8 at 60 dotted quarters is two."""
    assert (2, 8, 8.0) == (
        (two := repeated(ROCK, 2)).bars,
        two.beats,
        two.seconds(60),
    )
    assert 2.0 == parse("meter: 6/8\nhat: beat").seconds(60)


def finer(pattern: Pattern) -> Pattern:
    """Return the same strokes on a grid that holds all that the old one held."""
    twice = {1: 2, 2: 4, 4: 8, 3: 6, 6: 6, 8: 8}
    limit = 8 if pattern.meter.unit == 4 else 4
    grids = tuple(twice[n] if twice[n] <= limit else n for n in pattern.grids)
    return replace(pattern, grids=grids)


@given(patterns())
def test_identity_does_not_see_the_grid(pattern: Pattern) -> None:
    """The same strokes written on a finer grid are the same rhythm."""
    assert fingerprint(pattern) == fingerprint(finer(pattern))


@given(patterns(), st.integers(1, 3))
def test_identity_does_not_see_repetition(pattern: Pattern, times: int) -> None:
    """A rhythm written out twice or three times is the same rhythm."""
    assert fingerprint(pattern) == fingerprint(repeated(pattern, times * pattern.bars))


def test_a_rhythm_is_known_by_what_it_is_played_on_and_on() -> None:
    """Two bars in any order, up to four: one rhythm where the same bars come, repeated for ever.

    So A B A is not A B, though its third bar is its first again: after it comes A, not B.
    """
    line = {"A": "1 3", "B": "1 2&"}
    orders = ["".join(bars) for n in range(1, 5) for bars in product("AB", repeat=n)]
    known = {
        bars: fingerprint(parse(f"bass: {' | '.join(line[bar] for bar in bars)}"))
        for bars in orders
    }
    for one, other in product(orders, repeat=2):
        bars = math.lcm(len(one), len(other))
        alike = one * (bars // len(one)) == other * (bars // len(other))
        assert alike is (known[one] == known[other])


@given(patterns(), st.data())
def test_identity_sees_every_stroke(pattern: Pattern, data: st.DataObject) -> None:
    """A pattern of one bar without one of its strokes, or with another level, is another rhythm."""
    assume(pattern.strokes and pattern.bars == 1)
    index = data.draw(st.integers(0, len(pattern.strokes) - 1))
    stroke = pattern.strokes[index]
    rest = pattern.strokes[:index] + pattern.strokes[index + 1 :]
    level = Level.GHOST if stroke.level is Level.ACCENT else Level.ACCENT

    assert fingerprint(pattern) != fingerprint(replace(pattern, strokes=rest))
    changed = (*rest, replace(stroke, level=level))
    assert fingerprint(pattern) != fingerprint(replace(pattern, strokes=changed))


def test_identity_sees_meter_voice_ornament_and_hand() -> None:
    """Three four and six eight, snare and rim, stroke and buzz, right and left are different."""
    texts = [
        "meter: 3/4\nsnare: 1",
        "meter: 6/8\nsnare: 1",
        "meter: 2+2+2/8\nsnare: 1",
        "snare: 1",
        "rim: 1",
        "snare: z1",
        "snare: R1",
        "snare: L1",
        "snare: 1 | 2",
        "snare: 2 | 1",
    ]

    assert len(texts) == len({fingerprint(parse(text)) for text in texts})


def test_identity_is_for_ever() -> None:
    """The id of a card is the SHA-256 of a form that anyone can write down.

    It must never change.
    """
    form = (
        "drillbox rhythm 1\n4/4\n1\n"
        "0 hat plain none -\n1/4 snare ghost double L\n2 bass plain none -\n7/2 snare accent none -"
    )
    pattern = parse("hat: 1\nsnare: (/L1e) >4&\nbass: 3")

    assert hashlib.sha256(form.encode()).hexdigest()[:16] == fingerprint(pattern)
    # Both from sha256sum of GNU coreutils, over the canonical forms written out by hand.
    assert "b5ccc1abdd2f6099" == fingerprint(pattern)
    assert "55c403d4ef21d6f8" == fingerprint(ROCK)


@given(patterns(meter=FOUR))
def test_a_silent_part_or_groove_changes_nothing(pattern: Pattern) -> None:
    """Nothing over a groove is the groove; a part over nothing is the part."""
    silence = Pattern(FOUR, SIXTEENTHS, ())

    assert pattern.strokes == overlay(pattern, silence).strokes
    assert pattern.strokes == overlay(silence, pattern).strokes


@given(patterns(meter=FOUR))
def test_a_pattern_over_itself_is_itself(pattern: Pattern) -> None:
    """Overlay is idempotent."""
    assert pattern == overlay(pattern, pattern)


def clashing(groove: Pattern, part: Pattern) -> bool:
    """Whether some beat has strokes that share no grid, by trying every grid on every beat."""
    bars = math.lcm(groove.bars, part.bars)
    strokes = repeated(groove, bars).strokes + repeated(part, bars).strokes
    offsets = [{s.at % 1 for s in strokes if s.at // 1 == beat} for beat in range(bars * 4)]
    return not all(any(o <= set(syllables(n).values()) for n in (2, 3, 4, 6, 8)) for o in offsets)


@examples(100)
@given(patterns(meter=FOUR), patterns(meter=FOUR))
def test_the_louder_stroke_stays(groove: Pattern, part: Pattern) -> None:
    """Every place of either pattern is played by the louder stroke, the part's between equals."""
    assume(not clashing(groove, part))
    both = overlay(groove, part)
    loudness = {level: n for n, level in enumerate(("ghost", "tap", "plain", "accent"))}
    long_groove = {(s.at, s.voice): s for s in repeated(groove, both.bars).strokes}
    long_part = {(s.at, s.voice): s for s in repeated(part, both.bars).strokes}
    expected = {
        place: max(
            (found[place] for found in (long_part, long_groove) if place in found),
            key=lambda stroke: loudness[stroke.level],
        )
        for place in long_groove | long_part
    }

    assert expected == {(s.at, s.voice): s for s in both.strokes}


def test_a_ghost_on_a_backbeat_leaves_the_backbeat() -> None:
    """Ghosts on every beat over accents on two and four.

    One and three are ghosted, the backbeats stay.
    """
    both = overlay(ROCK, parse("snare: (beat)"))

    assert parse("hat: beat &\nsnare: (1) >2 (3) >4\nbass: 1 3") == both


def test_triplets_lie_over_eighths_on_the_hat() -> None:
    """The half of a beat is on every grid, so triplets keep theirs under the groove's hat."""
    both = overlay(ROCK, parse("grid: 8t\nsnare: (t)"))

    assert (3, 3, 3, 3) == both.grids


def test_a_part_takes_the_grooves_grid_where_its_own_is_too_coarse() -> None:
    """Sixteenths on the hat under a part in eighths stay sixteenths, beat by beat."""
    sixteenths = parse("hat: beat e & a")

    assert (4, 4, 4, 4) == overlay(sixteenths, parse("grid: 8\nsnare: 1&")).grids
    eighths = parse("grid: 8\nhat: 1&")
    assert (3, 3, 3, 3) == overlay(eighths, parse("grid: 8t\nsnare: 1t")).grids
    thirds = parse("grid: 8 16 16t 32\nhat: 2e 3t 4.")
    assert (2, 4, 6, 8) == overlay(thirds, parse("grid: 8\nsnare: beat")).grids


def test_a_part_of_two_bars_repeats_the_groove() -> None:
    """The shorter one is repeated until both end together."""
    two = overlay(ROCK, parse("snare: (1e) | (3e)"))
    six = overlay(parse("bass: 1 | 3"), parse("snare: 1 | 2 | 3"))

    assert (2, 6) == (two.bars, six.bars)
    assert repeated(ROCK, 2).strokes == tuple(s for s in two.strokes if s.level is not Level.GHOST)


def test_what_cannot_be_laid_over() -> None:
    """Unlike meters, triplets inside a beat of sixteenths.

    And lengths that never meet are refused.
    """
    with pytest.raises(UsageError, match="a part in 3/4 cannot lie over a groove in 4/4"):
        overlay(ROCK, parse("meter: 3/4\nsnare: 1"))
    with pytest.raises(UsageError, match="no grid holds all strokes of beat 2"):
        overlay(parse("hat: 2e"), parse("grid: 8t\nsnare: 2t"))
    with pytest.raises(UsageError, match="9 and 8 bars meet only after 72"):
        overlay(repeated(ROCK, 9), repeated(ROCK, 8))
    with pytest.raises(UsageError, match="2 bars cannot fill 3"):
        repeated(repeated(ROCK, 2), 3)
