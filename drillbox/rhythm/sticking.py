"""Which hand plays which stroke, where the writer leaves it open.

Source: common practice. There are three ways of sharing strokes among the hands: one hand keeps
time on a cymbal and the other plays the drums, but where the cymbals pause for a fill both play,
hand to hand; the hands alternate, stroke by stroke; or every partial keeps the hand it would have
if all partials were played (natural sticking). A hand that the
writer prescribes is kept, and what is struck together with it goes to the free hand. What is
written is written for players who lead with the right hand; `mirrored` turns it round.
"""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING

from drillbox.rhythm.stroke import DRUMS, TICKS, Hand, Level

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.rhythm.pattern import Pattern
    from drillbox.rhythm.stroke import Stroke

__all__ = ["Sticking", "fills", "for_player", "hands", "hands_to_show", "mirrored", "with_hands"]

_FILL = 2
"""Strokes on drums that make a fill; ghosts are not counted."""
_PAUSE = {4: TICKS, 8: 3 * TICKS}
"""How long the cymbals may rest, by the meter's unit, before their hand is free for the drums."""


class Sticking(StrEnum):
    """A way of sharing strokes among two hands."""

    TIME = "time"
    """The leading hand keeps time on the cymbals, the other plays the drums.

    Without a cymbal the hands alternate, in a fill too.
    """
    ALTERNATE = "alternate"
    """Hand to hand, stroke by stroke, whatever is struck."""
    NATURAL = "natural"
    """Hand to hand by partial.

    The leading hand has the first, third, fifth partial of the bar, played or not.
    """


def hands(
    pattern: Pattern, *, leading: Hand = Hand.RIGHT, way: Sticking = Sticking.TIME
) -> tuple[Hand | None, ...]:
    """Work out the sticking.

    Parameters
    ----------
    pattern
        What is played.
    leading
        The hand that plays the time on a cymbal, or begins where the hands alternate.
    way
        How strokes are shared.

    Returns
    -------
    tuple of Hand or None
        Parallel to the pattern's strokes; None where a foot plays.
    """
    on_cymbal = way is Sticking.TIME and any(stroke.voice.is_cymbal for stroke in pattern.strokes)
    filled = fills(pattern) if on_cymbal else frozenset()
    result: list[Hand | None] = []
    last = leading.other
    for tick, group in groupby(pattern.strokes, key=attrgetter("tick")):
        together = list(group)
        if on_cymbal and tick not in filled:
            last = leading.other
            result += _share(together, leading, keeps_time=True)
            continue
        if way is Sticking.NATURAL:
            wanted = leading if _partial(pattern, tick) % 2 == 0 else leading.other
        else:
            wanted = last.other
        played = _share(together, wanted, keeps_time=False)
        result += played
        last = next((hand for hand in reversed(played) if hand is not None), last)
    return tuple(result)


def hands_to_show(pattern: Pattern, *, leading: Hand = Hand.RIGHT) -> tuple[Hand | None, ...]:
    """Return the sticking as far as a player has to be told it.

    All of it where the writer prescribes hands and where hands play without cymbals and feet, that
    of a fill, and else nothing: one hand keeps time and the other has the drums.
    """
    strokes = pattern.strokes
    alone = not any(stroke.voice.is_cymbal or stroke.voice.is_foot for stroke in strokes)
    played = hands(pattern, leading=leading)
    if alone or any(stroke.hand is not None for stroke in strokes):
        return played
    filled = fills(pattern)
    return tuple(
        hand if stroke.tick in filled else None
        for stroke, hand in zip(strokes, played, strict=True)
    )


def fills(pattern: Pattern) -> frozenset[int]:
    """Return the ticks in which the cymbals pause and both hands are on the drums."""
    struck = sorted({stroke.tick for stroke in pattern.strokes if stroke.voice.is_cymbal})
    end = pattern.beats * TICKS
    pauses = [
        (first, after)
        for first, after in zip(
            struck, [*struck[1:], *(tick + end for tick in struck[:1])], strict=True
        )
        if after - first > _PAUSE[pattern.meter.unit]
    ]
    found: set[int] = set()
    for first, after in pauses:
        mine = [s for s in pattern.strokes if first < s.tick < after or s.tick < after - end]
        loud = [s for s in mine if s.voice in DRUMS and s.level is not Level.GHOST]
        if len(loud) >= _FILL:
            found |= {stroke.tick for stroke in mine}
    return frozenset(found)


def _partial(pattern: Pattern, tick: int) -> int:
    """Return the number of a place's partial in its bar, from 0."""
    beat, over = divmod(tick, TICKS)
    first = beat - beat % pattern.meter.beats
    return sum(pattern.grids[first:beat]) + over * pattern.grids[beat] // TICKS


def _share(strokes: Sequence[Stroke], wanted: Hand, *, keeps_time: bool) -> list[Hand | None]:
    """Share strokes that fall together among two hands.

    `wanted` is the cymbal's hand, or the next in turn.
    """
    played = [stroke.hand for stroke in strokes]
    for index, stroke in enumerate(strokes):
        voice = stroke.voice
        if stroke.hand is not None or voice.is_foot:
            continue
        hand = wanted.other if keeps_time and not voice.is_cymbal else wanted
        played[index] = hand.other if hand in played and hand.other not in played else hand
    return played


def with_hands(pattern: Pattern, way: Sticking) -> Pattern:
    """Return the pattern with the sticking written out, for a right-handed player."""
    worked_out = hands(pattern, way=way)
    return replace(
        pattern,
        strokes=tuple(
            replace(stroke, hand=hand)
            for stroke, hand in zip(pattern.strokes, worked_out, strict=True)
        ),
    )


def mirrored(pattern: Pattern) -> Pattern:
    """Return the pattern with every written hand turned round; twice is what it was."""
    return replace(
        pattern,
        strokes=tuple(
            stroke if stroke.hand is None else replace(stroke, hand=stroke.hand.other)
            for stroke in pattern.strokes
        ),
    )


def for_player(pattern: Pattern, leading: Hand) -> Pattern:
    """Return the pattern as a player with this leading hand plays it.

    Mirrored for the left-handed.
    """
    return pattern if leading is Hand.RIGHT else mirrored(pattern)
