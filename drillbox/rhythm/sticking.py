"""Which hand plays which stroke, where the writer leaves it open.

Source: common practice. With a cymbal in the pattern the leading hand keeps time on it and the other hand plays the
drums; without one the hands alternate. A hand that the writer prescribes is kept, and what is struck together with it
goes to the free hand.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from drillbox.rhythm.stroke import Hand

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.rhythm.pattern import Pattern
    from drillbox.rhythm.stroke import Stroke

__all__ = ["hands"]


def hands(pattern: Pattern, *, leading: Hand = Hand.RIGHT) -> tuple[Hand | None, ...]:
    """Work out the sticking.

    Parameters
    ----------
    pattern
        What is played.
    leading
        The hand that plays the time on a cymbal, or begins where the hands alternate.

    Returns
    -------
    tuple of Hand or None
        Parallel to the pattern's strokes; None where a foot plays.
    """
    on_cymbal = any(stroke.voice.is_cymbal for stroke in pattern.strokes)
    result: list[Hand | None] = []
    last = leading.other
    for _, group in groupby(pattern.strokes, key=lambda stroke: stroke.at):
        together = list(group)
        wanted = leading if on_cymbal else last.other
        played = _share(together, wanted, keeps_time=on_cymbal)
        result += played
        last = next((hand for hand in reversed(played) if hand is not None), last)
    return tuple(result)


def _share(strokes: Sequence[Stroke], wanted: Hand, *, keeps_time: bool) -> list[Hand | None]:
    """Share strokes that fall together among two hands; `wanted` is the cymbal's hand, or the next in turn."""
    played = [stroke.hand for stroke in strokes]
    for index, stroke in enumerate(strokes):
        if stroke.voice.is_foot or stroke.hand is not None:
            continue
        hand = wanted.other if keeps_time and not stroke.voice.is_cymbal else wanted
        played[index] = hand.other if hand in played and hand.other not in played else hand
    return played
