"""Near relatives: cards that differ in one list only."""

from __future__ import annotations

import pytest
from hypothesis import given
from strategies import patterns

from drillbox.rhythm import Axis, Pattern, axes, kinship, parse, quiet_places, repeated

GROOVE = "hat: beat &\nsnare: >2 >4 (1e)\nbass: 1 3\n"


@pytest.mark.parametrize(
    ("text", "axis"),
    [
        ("hat: beat &\nsnare: >2 >4 (1a)\nbass: 1 3\n", Axis.GHOSTS),
        ("hat: beat &\nsnare: >3 (1e)\nbass: 1 3\n", Axis.BEATS),
        ("hat: beat &\nsnare: >2 >4 (1e)\nbass: 1 2& 3\n", Axis.BASS),
        ("hat: beat\nsnare: >2 >4 (1e)\nbass: 1 3\n", Axis.TIME),
        ("ride: beat &\nsnare: >2 >4 (1e)\nbass: 1 3\n", Axis.TIME),
        ("hat: beat &\npedal: 2 4\nsnare: >2 >4 (1e)\nbass: 1 3\n", Axis.TIME),
        ("hat: beat &\nsnare: >2 >4\ntom: (1e)\nbass: 1 3\n", Axis.PLACE),
        (GROOVE, None),
        ("hat: beat\nsnare: >2 >4 (1a)\nbass: 1 3\n", None),
        ("meter: 5/4\nhat: beat &\nsnare: >2 >4 (1e)\nbass: 1 3\n", None),
    ],
)
def test_relatives_differ_in_one_list(text: str, axis: Axis | None) -> None:
    """One list differs, and it is named; none or two differ, and they are no near relatives."""
    assert axis is kinship(parse(GROOVE), parse(text))
    assert axis is kinship(parse(text), parse(GROOVE))


def test_a_bass_line_is_the_same_under_ghosts_of_two_bars() -> None:
    """Lists are compared by their shortest repeating bars."""
    longer = parse("hat: beat &\nsnare: >2 >4 (1e) | >2 >4 (1a)\nbass: 1 3\n")

    assert Axis.GHOSTS is kinship(parse(GROOVE), longer)


def test_a_line_repeats_only_where_it_fills_its_bars() -> None:
    """A bass line that comes round in the third bar of three is not the one of two bars."""
    three = parse("hat: beat &\nsnare: >2 >4 (1e)\nbass: 1 3 | 1 2& | 1 3\n")
    two = parse("hat: beat &\nsnare: >2 >4 (1e)\nbass: 1 3 | 1 2&\n")

    assert Axis.BASS is kinship(three, two)


def test_relatives_share_a_key() -> None:
    """Thousands of cards find their relatives by a key for each list, without being compared."""
    other = axes(parse("hat: beat &\nsnare: >2 >4 (1e)\nbass: 1 2& 3\n"))
    mine = axes(parse(GROOVE))

    assert mine.without(Axis.BASS) == other.without(Axis.BASS)
    assert [Axis.BASS] == [axis for axis in Axis if mine.without(axis) == other.without(axis)]


@given(patterns(max_bars=2))
def test_nobody_is_a_relative_of_himself(pattern: Pattern) -> None:
    """One rhythm, once or written out twice, differs in nothing from itself."""
    assert kinship(pattern, repeated(pattern, pattern.bars * 2)) is None


def test_mirrored_placements_have_their_ghosts_at_the_same_places_of_a_beat() -> None:
    """On e and a of whichever beats: ticks 6 and 18 of 24; a cymbal's quiet stroke is no ghost."""
    one = parse("hat: 1 &\nsnare: >2 >4 (1e) (3e) (2a) (4a)")
    other = parse("hat: (1) &\nsnare: >2 >4 (1a) (3a) (2e) (4e)")
    assert frozenset({6, 18}) == quiet_places(one) == quiet_places(other)
    assert frozenset() == quiet_places(parse("snare: >2 >4"))
