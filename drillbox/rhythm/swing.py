"""Swing: the feel of a groove in which pairs of even partials are played long and short.

Source: common practice. A ratio of 1:1 is straight, 2:1 the triplet swing, 3:1 the dotted one;
what lies between (3:2, 4:3) is how most swung sixteenths are played.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from drillbox.errors import UsageError

__all__ = ["Swing"]


@dataclass(frozen=True, slots=True)
class Swing:
    """Long-short pairs: the first half of each `pair` (in beats) takes `share` of its time.

    A share of 1/2 is straight, 2/3 the triplet swing, 3/4 the dotted one. A pair of one beat swings
    eighths in x/4, half a beat swings sixteenths.
    """

    share: Fraction = Fraction(1, 2)
    pair: Fraction = Fraction(1)

    def __post_init__(self) -> None:
        if not Fraction(1, 2) <= self.share < 1:
            raise UsageError(
                f"a swing share of {self.share} is not playable", fix="use 1/2 to below 1"
            )
        if self.pair <= 0 or (1 / self.pair).denominator != 1:
            raise UsageError(
                f"a swing pair of {self.pair} beats does not fill a beat", fix="use 1, 1/2, 1/3 ..."
            )

    @property
    def ratio(self) -> str:
        """Long to short, in the smallest whole numbers: ``2:1``."""
        parts = self.share / (1 - self.share)
        return f"{parts.numerator}:{parts.denominator}"

    def bend(self, beat: Fraction) -> Fraction:
        """Move a written position to where it is played."""
        return self._map(beat, Fraction(1, 2), self.share)

    def unbend(self, beat: Fraction) -> Fraction:
        """Undo `bend`."""
        return self._map(beat, self.share, Fraction(1, 2))

    def _map(self, beat: Fraction, source: Fraction, target: Fraction) -> Fraction:
        whole = beat // self.pair * self.pair
        part = (beat - whole) / self.pair
        if part < source:
            return whole + part * target / source * self.pair
        return whole + (target + (part - source) * (1 - target) / (1 - source)) * self.pair
