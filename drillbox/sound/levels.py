"""How loud each stroke is.

A stroke's level is written as a MIDI velocity and becomes dB by the curve that the Downloadable
Sounds standard (DLS Level 1, MIDI Manufacturers Association; value from memory) recommends: 40
log10(velocity / 127). The velocities of `Level` put an accent 24 dB above a ghost, 11 dB
above a tap, which lies low between accents, and 8 dB above a plain stroke.

`Balance` moves parts of a play-along against each other. `FULL_DB` is the level of each voice at
velocity 127: the root mean square of its first 50 ms, in dB relative to full scale. The balance
between voices is judgement.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from drillbox.rhythm import Level, Voice

VELOCITY = {level: level.velocity for level in Level}

FULL_DB = {
    Voice.HAT: -25.0,
    Voice.RIDE: -25.0,
    Voice.CRASH: -24.0,
    Voice.SNARE: -17.5,
    Voice.RIM: -20.0,
    Voice.TOM: -18.0,
    Voice.FLOOR: -17.0,
    Voice.BASS: -13.5,
    Voice.PEDAL: -28.0,
}


@dataclass(frozen=True, slots=True)
class Balance:
    """How loud the parts of a play-along are, in dB relative to the usual, and what is left out.

    Attributes
    ----------
    kit_db, click_db
        The whole kit, the whole click; -inf mutes it.
    ghosts_db
        Ghost notes on top of that: raise it to study where they are.
    without
        Voices that do not sound, because the player supplies them.
    """

    kit_db: float = 0.0
    click_db: float = 0.0
    ghosts_db: float = 0.0
    without: frozenset[Voice] = frozenset()


USUAL = Balance()


def velocity_db(velocity: float) -> float:
    """Return the level of a MIDI velocity in dB relative to velocity 127."""
    return 40 * math.log10(velocity / 127)


def decibels(level: float) -> float:
    """Return the amplitude factor of a level in dB."""
    return float(10.0 ** (level / 20))
