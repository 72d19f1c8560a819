"""Difficulty.

A number made of countable facts, in the order in which a teacher would introduce things.
"""

from __future__ import annotations

import pytest
from examples import examples
from hypothesis import given
from strategies import patterns

from drillbox.rhythm import (
    Hand,
    Ornament,
    Pattern,
    difficulty,
    facts,
    mirrored,
    movement,
    parse,
    repeated,
)
from drillbox.rhythm.generators import Blend, blend, figures, lay, stock_groove

BASES = [
    ("rock eighths", 4),
    ("quarter hat", 4),
    ("half-time", 4),
    ("shuffle", 3),
    ("rock eighths", 6),
]


def test_the_facts_can_be_counted_by_hand() -> None:
    """The e and the a of every beat over rock eighths.

    Ten strokes on the snare, eight of them off the hat.
    """
    counted = facts(parse("hat: beat &\nsnare: (e) >2 (a) >4\nbass: 1 3"))

    assert (10 / 4, 8 / 4, 4 / 4) == (counted.drums, counted.off_time, counted.turns)
    assert 4 / 5 == pytest.approx(counted.load)
    assert (4, 2, 0.0, 0.0) == (
        counted.limb_sets,
        counted.beats,
        counted.grid_changes,
        counted.ornaments,
    )
    assert round(3 * 2.5 + 2 + 2 + 8 + 4 + 2, 1) == counted.difficulty


@pytest.mark.parametrize(("groove", "slots"), BASES)
def test_more_partials_are_never_easier(groove: str, slots: int) -> None:
    """Whatever set is added to, the number does not fall: singles before pairs before threes."""
    base = stock_groove(groove)
    numbers = {
        frozenset(figure.partials): difficulty(laid.pattern)
        for figure in figures(slots)
        if (laid := lay(base, [figure])).pattern
    }

    assert [] == [
        (small, large) for small in numbers for large in numbers
        if small < large and numbers[small] > numbers[large]
    ]  # fmt: skip


@pytest.mark.parametrize("ornament", [Ornament.DOUBLE, Ornament.BUZZ, Ornament.FLAM, Ornament.DRAG])
@pytest.mark.parametrize(("groove", "slots"), BASES)
def test_plain_before_embellished(groove: str, slots: int, ornament: Ornament) -> None:
    """A set with ornaments is harder than the set without."""
    base = stock_groove(groove)
    for plain, embellished in zip(figures(slots), figures(slots, ornament=ornament), strict=True):
        one, other = lay(base, [plain]).pattern, lay(base, [embellished]).pattern
        assert one is not None
        assert other is not None
        assert difficulty(one) < difficulty(other)


@pytest.mark.parametrize("way", Blend)
def test_a_blend_of_grids_is_harder_than_the_mean_of_its_parts(way: Blend) -> None:
    """Sixteenths with triplets: the change between them has its price."""
    base = stock_groove("quarter hat")
    for first in figures(4, counts={1, 2}):
        for second in figures(3, counts={1, 2}):
            one, two = lay(base, [first]).pattern, lay(base, [second]).pattern
            assert one is not None
            assert two is not None
            mean = (difficulty(one) + difficulty(two)) / 2
            assert difficulty(blend(one, two, way)) > mean


@examples(60)
@given(patterns(max_bars=1))
def test_writing_it_twice_and_mirroring_change_nothing(pattern: Pattern) -> None:
    """The number belongs to the rhythm; the mirror image is as hard for the other-handed player."""
    left = facts(mirrored(pattern), movement(mirrored(pattern), leading=Hand.LEFT))

    assert difficulty(pattern) == left.difficulty
    if any(stroke.voice.is_cymbal for stroke in pattern.strokes):
        assert difficulty(pattern) == difficulty(repeated(pattern, 2))
