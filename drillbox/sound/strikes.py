"""How what is struck sounds: each strike of a pattern in seconds and dB.

What is struck is `drillbox.rhythm.strikes`; here it gets the time that a tempo gives it and the
loudness of its level. A grace is a ghost, and below its stroke even where that is a ghost too;
grace notes and bounces have the soft sound.

Conventions: exact seconds from the stroke's place; levels in dB relative to the voice at full.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.rhythm import Level, Part, bounces, grace_seconds
from drillbox.sound.levels import VELOCITY, velocity_db

if TYPE_CHECKING:
    from fractions import Fraction

    from drillbox.rhythm import Strike, Stroke

_GRACE_BELOW_DB = -6.0


@dataclass(frozen=True, slots=True)
class Sounding:
    """One sound of a strike.

    Parameters
    ----------
    after
        Seconds after the written stroke's place; negative: before.
    db
        Its level.
    level
        Whose sound it has.
    """

    after: Fraction
    db: float
    level: Level


def soundings(strike: Strike, stroke: Stroke, length: Fraction) -> tuple[Sounding, ...]:
    """Return what is heard of a strike, in order of time.

    Parameters
    ----------
    strike, stroke
        The strike, and the written stroke that it belongs to.
    length
        Seconds that the stroke's partial lasts.
    """
    db = velocity_db(VELOCITY[strike.level])
    if strike.part is Part.GRACE:
        below = velocity_db(VELOCITY[stroke.level]) + _GRACE_BELOW_DB
        return (Sounding(-grace_seconds(strike.early, length), min(db, below), Level.GHOST),)
    first = Sounding(strike.share * length, db, strike.level)
    if strike.part is Part.BUZZ:
        return (first, *(Sounding(b.after, db + b.db, Level.GHOST) for b in bounces(length)))
    return (first,)
