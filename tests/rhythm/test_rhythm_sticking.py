"""Sticking.

Which hand plays what. Common practice, no source, except the single stroke roll and the paradiddle.
"""

from __future__ import annotations

from examples import examples
from hypothesis import given
from strategies import patterns

from drillbox.rhythm import Hand, Pattern, hands, parse


def sticking(text: str, leading: Hand = Hand.RIGHT) -> str:
    """Return the hands as letters, feet as dots."""
    return "".join(hand or "." for hand in hands(parse(text), leading=leading))


def test_one_hand_keeps_time_and_the_other_plays_the_drums() -> None:
    """With a cymbal in the pattern the ghosts fall to the other hand, with the hat or between."""
    assert "R.LRL" == sticking("meter: 2/4\nhat: beat\nsnare: (1e) >2\nbass: 1")
    assert "L.RLR" == sticking("meter: 2/4\nhat: beat\nsnare: (1e) >2\nbass: 1", Hand.LEFT)


def test_without_a_cymbal_the_hands_alternate() -> None:
    """The single stroke roll is R L R L, over the bar line too (PAS rudiment 1)."""
    assert "RLRLRLRL" == sticking("grid: 8\nsnare: beat &")
    assert "LRLRLRLR" == sticking("grid: 8\nsnare: beat &", Hand.LEFT)
    assert "R.L.R" == sticking("meter: 3/4\nsnare: beat\nbass: 1& 2&")


def test_a_fill_goes_from_hand_to_hand() -> None:
    """Where the cymbals pause for more than a beat both hands are free, whatever the foot does.

    One stroke is no fill, nor are ghosts between quarters; the leading hand begins (common
    practice, no source).
    """
    assert "RRLRLRL" == sticking("meter: 2/4\nhat: 1 1&\nsnare: 1& 2 2e 2& 2a")
    assert "RRLRL" == sticking("meter: 2/4\ncrash: 1\nsnare: 1& 1a\ntom: 2&\nfloor: 2a")
    assert "R.RL.R" == sticking("meter: 2/4\ncrash: 1\nbass: 1 2\nsnare: 1& 1a 2&")
    assert "RL" == sticking("meter: 2/4\ncrash: 1\nsnare: 2")
    assert "RLLRLL" == sticking("meter: 2/4\nhat: beat\nsnare: (e) (a)")


def test_a_written_hand_is_kept() -> None:
    """The single paradiddle is RLRR LRLL (Percussive Arts Society, rudiment 16), whoever leads."""
    text = "meter: 2/4\nsnare: >R1 L1e R1& R1a >L2 R2e L2& L2a"

    assert "RLRRLRLL" == sticking(text) == sticking(text, Hand.LEFT)


def test_alternation_goes_on_from_a_written_hand() -> None:
    """After a written left comes a right."""
    assert "RLRLLR" == sticking("meter: 3/4\ngrid: 8\nsnare: 1 1& 2 2& L3 3&")


def test_what_falls_together_goes_to_both_hands() -> None:
    """Two drums at once, a cymbal taken by a written hand, two cymbals.

    Nobody strikes two things with one hand.
    """
    assert "RL" == sticking("snare: 1\ntom: 1")
    assert "LR" == sticking("hat: L1\nsnare: 1")
    assert "RL" == sticking("hat: 1\ncrash: 1")
    assert "RL" == sticking("ride: 1\nsnare: L1")


@examples(100)
@given(patterns())
def test_feet_have_no_hand_and_all_else_has(pattern: Pattern) -> None:
    """None exactly for the feet without a written hand; a written hand always stays."""
    for stroke, hand in zip(pattern.strokes, hands(pattern), strict=True):
        assert (hand is None) == (stroke.voice.is_foot and stroke.hand is None)
        assert stroke.hand in (None, hand)


@examples(100)
@given(patterns())
def test_leading_with_the_other_hand_mirrors(pattern: Pattern) -> None:
    """Where no hand is written, the sticking of a left-handed player is the mirror image."""
    if all(stroke.hand is None for stroke in pattern.strokes):
        mirrored = [hand and hand.other for hand in hands(pattern, leading=Hand.LEFT)]
        assert mirrored == list(hands(pattern))
