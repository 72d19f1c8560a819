"""Strokes: who plays, how loud, with which ornament, with which hand.

A stroke stands at an exact place, a `Fraction` of beats from the start of its pattern, from 0.
Voices are listed from the top of a drawing to its bottom: cymbals, drums, feet.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction

__all__ = ["DRUMS", "HAT_LINE", "TICKS", "VOICES", "Hand", "Level", "Ornament", "Stroke", "Voice"]


class Voice(StrEnum):
    """What is struck."""

    HAT = "hat"
    RIDE = "ride"
    CRASH = "crash"
    SNARE = "snare"
    RIM = "rim"
    TOM = "tom"
    FLOOR = "floor"
    BASS = "bass"
    PEDAL = "pedal"
    """The hat, closed with the foot."""

    @property
    def rank(self) -> int:
        """The place in a drawing, 0 on top."""
        return _RANKS[self]

    @property
    def is_cymbal(self) -> bool:
        """Whether a hand plays it on metal: hat, ride, crash."""
        return self in _CYMBALS

    @property
    def is_foot(self) -> bool:
        """Whether a foot plays it: bass, pedal."""
        return self in _FEET


_CYMBALS = frozenset((Voice.HAT, Voice.RIDE, Voice.CRASH))
_FEET = frozenset((Voice.BASS, Voice.PEDAL))
DRUMS = (Voice.SNARE, Voice.RIM, Voice.TOM, Voice.FLOOR)
"""What the hands play on skin and rim, from the first drum to the last."""
HAT_LINE = (Voice.HAT, Voice.PEDAL)
"""What closes an open hat."""
VOICES = len(Voice)
TICKS = 24
"""Parts of a beat; every place of every grid falls on one."""
_RANKS = {voice: rank for rank, voice in enumerate(Voice)}


class Level(StrEnum):
    """How loud a stroke is meant."""

    GHOST = "ghost"
    TAP = "tap"
    """Low and unaccented, as between accents, yet no ghost: written where it is meant."""
    PLAIN = "plain"
    ACCENT = "accent"

    @property
    def loudness(self) -> int:
        """The order of loudness, and of the stick's height: ghost 0, tap 1, plain 2, accent 3."""
        return _LOUDNESS[self]

    @property
    def velocity(self) -> int:
        """The MIDI velocity it is sounded and written with.

        General MIDI fixes none; ghosts at 15-40, taps at 60-75, accents at 100-120 are common
        practice, no source.
        """
        return _VELOCITY[self]


_VELOCITY = {Level.GHOST: 28, Level.TAP: 60, Level.PLAIN: 72, Level.ACCENT: 112}
_LOUDNESS = {level: loudness for loudness, level in enumerate(Level)}


class Ornament(StrEnum):
    """What is done with a stroke besides striking once."""

    NONE = "none"
    DOUBLE = "double"
    """Two even strokes of one hand in the time of one."""
    BUZZ = "buzz"
    """One push that bounces many times."""
    FLAM = "flam"
    """One grace note of the other hand just before."""
    DRAG = "drag"
    """Two grace notes of the other hand just before."""
    OPEN = "open"
    """A hat that rings until the next stroke of the hat, or of its pedal, closes it."""


class Hand(StrEnum):
    """Right or left."""

    RIGHT = "R"
    LEFT = "L"

    @property
    def other(self) -> Hand:
        """The other hand."""
        return Hand.LEFT if self is Hand.RIGHT else Hand.RIGHT


@dataclass(frozen=True, slots=True)
class Stroke:
    """One stroke.

    Parameters
    ----------
    at
        Beats from the pattern's start, from 0.
    voice, level, ornament
        What is struck, how loud, how.
    hand
        The hand where the writer prescribes one, else None.
    """

    at: Fraction
    voice: Voice
    level: Level = Level.PLAIN
    ornament: Ornament = Ornament.NONE
    hand: Hand | None = None
    order: int = field(init=False, repr=False, compare=False)
    """A whole number that sorts strokes by time, then from the top of the drawing down.

    Different for any two places on
    any grid. Comparing fractions instead would take most of the time of reading a deck."""

    def __post_init__(self) -> None:
        at = self.at
        tick = at.numerator * TICKS // at.denominator
        object.__setattr__(self, "order", tick * VOICES + _RANKS[self.voice])

    @property
    def tick(self) -> int:
        """The time in whole parts of a beat, `TICKS` to a beat."""
        return self.order // VOICES
