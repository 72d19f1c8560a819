"""What was read from another program's file, before it is written as rhythms."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from drillbox.rhythm import EMBELLISHMENTS, Level, Ornament

if TYPE_CHECKING:
    from collections.abc import Mapping

    from drillbox.rhythm import Hand, Meter, Voice
    from drillbox.rhythm.swing import Swing

__all__ = [
    "MAX_BARS_READ",
    "MAX_STROKES",
    "BarFrame",
    "Cluster",
    "MusicInFile",
    "StrokeInFile",
    "embellished",
]

MAX_BARS_READ = 2000
"""Bars of one file; a long song has 200."""
MAX_STROKES = 100_000
"""Strokes of one file; a busy song has 5,000."""


@dataclass(frozen=True, slots=True)
class StrokeInFile:
    """One stroke as it stands in the file.

    Parameters
    ----------
    at
        Quarters from the file's start, not yet on any grid.
    voice, level, ornament, hand
        What it was understood as.
    """

    at: Fraction
    voice: Voice
    level: Level = Level.PLAIN
    ornament: Ornament = Ornament.NONE
    hand: Hand | None = None


@dataclass(frozen=True, slots=True)
class BarFrame:
    """An empty bar.

    Parameters
    ----------
    meter, swing
        Its meter, and how its pairs are felt.
    start
        Where it starts, in quarters.
    title
        A section's title, where one begins; else None.
    """

    meter: Meter
    start: Fraction
    title: str | None = None
    swing: Swing | None = None

    @property
    def beat(self) -> Fraction:
        """Quarters that a beat lasts."""
        return Fraction(4, self.meter.unit)

    @property
    def end(self) -> Fraction:
        """Where it ends, in quarters."""
        return self.start + self.beat * self.meter.beats


@dataclass(frozen=True, slots=True)
class Cluster:
    """Velocities that were taken for one level: from, to, and how many strokes."""

    level: Level
    low: int
    high: int
    strokes: int


@dataclass(frozen=True, slots=True)
class MusicInFile:
    """A file as it was read.

    Parameters
    ----------
    bars
        Its bars, in order.
    strokes
        Its strokes, by time.
    bpm
        The tempo at its start in metronome pulses a minute, None where it says none.
    clusters
        How velocities were told apart; empty where the file says levels itself.
    left_out
        What was not taken, and how often.
    says_doubles
        Whether the file says itself what is a double; else it is told by the places of notes.
    clicked
        Whether there was a click, so that silent bars are count-ins.
    remarks
        What else a reader of the result should know.
    """

    bars: tuple[BarFrame, ...]
    strokes: tuple[StrokeInFile, ...]
    bpm: float | None
    clusters: tuple[Cluster, ...]
    left_out: Mapping[str, int]
    says_doubles: bool = False
    clicked: bool = False
    remarks: tuple[str, ...] = ()


def embellished(
    *, graces: int = 0, even: int = 1, bounces: bool = False, rings: bool = False
) -> Ornament | None:
    """Return the embellishment that is struck in a way, None if there is none such."""
    for ornament, row in EMBELLISHMENTS.items():
        if (row.graces, row.even, row.bounces, row.rings) == (graces, even, bounces, rings):
            return ornament
    return None
