"""Where two hands are not enough: the one judgement of every card, written out or made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.rhythm.embellishments import EMBELLISHMENTS
from drillbox.rhythm.pattern import place_name

if TYPE_CHECKING:
    from fractions import Fraction

    from drillbox.rhythm.pattern import Pattern

__all__ = ["too_few_hands"]


def too_few_hands(pattern: Pattern) -> str:
    """Say what needs more than two hands, as a clause; empty where two can play it all.

    Such as ``beat 2 needs more than two hands``, and ``2& needs`` between the beats; the first such
    place is told. A flam or a drag needs both hands, one for its graces and one for its stroke, so
    nothing else may be struck by a hand with it.
    """
    wanted: dict[int, int] = {}
    for stroke in pattern.strokes:
        if not stroke.voice.is_foot:
            count = wanted.get(stroke.tick, 0) + EMBELLISHMENTS[stroke.ornament].hands
            wanted[stroke.tick] = count
            if count > 2:
                return f"{_said(stroke.at, pattern)} needs more than two hands"
    return ""


def _said(at: Fraction, pattern: Pattern) -> str:
    """Return a place as a drummer says it: ``beat 2``, ``2&``, ``2& of bar 3``."""
    name = place_name(pattern, at)
    place = f"beat {name}" if at.denominator == 1 else name
    return f"{place} of bar {int(at) // pattern.meter.beats + 1}" if pattern.bars > 1 else place
