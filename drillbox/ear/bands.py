"""The proposed grade: bands for what was measured, the worst column decides.

A proposal, never a verdict: the player's word stands. No paper says how even is clean. What is
published, beside our bands (docs/ear.md has them all):

- one displaced tone in an even row is noticed at 6 ms where tones are less than 240 ms apart, at
  2.5 % of the distance above (Friberg & Sundberg 1995, J. Acoust. Soc. Am. 98:2524-2531);
- kick, snare and hat that should fall together are noticed apart at about 19 to 24 ms;
- trained tappers spread by about 2 % of the interval (Repp 2005, value from memory).

So `automatic` asks for a spread near what a listener can notice at all, and a band of times widens
with the spacing above 240 ms.

Conventions: grades are whole numbers from -2, fell apart, to 2, automatic.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, sqrt

import numpy as np

NOTICED_MS, NOTICED_SHARE, SPACING_MS = 6.0, 0.025, 240.0
"""Friberg & Sundberg 1995: the least noticed displacement, and up to which spacing."""
AUTOMATIC, FELL_APART = 2, -2
MOST_UNHEARD = 0.15
LEAST_FOUND = 0.80
LEAST_BARS = 4
LOUDEST_NOISE_DB = -45.0


@dataclass(frozen=True, slots=True)
class Column:
    """One measure and its limits for automatic, clean, steady and shaky.

    Attributes
    ----------
    name, unit
        What it is.
    limits
        In falling order of grade; past the last is `fell apart`.
    at_least
        Whether more is better.
    widens
        Whether the limits widen with the spacing of the strokes.
    """

    name: str
    unit: str
    limits: tuple[float, float, float, float]
    at_least: bool = False
    widens: bool = False


COLUMNS = (
    Column("spread", "ms", (9.0, 15.0, 23.0, 38.0), widens=True),
    Column("missed and extra", "%", (2.0, 5.0, 12.0, 25.0)),
    Column("accent over ghost", "dB", (16.0, 12.0, 8.0, -99.0), at_least=True),
    Column("ghosts against accents", "ms", (6.0, 10.0, 20.0, 35.0), widens=True),
)
"""Judgement, but for what is published above. Loudness alone never means that a take fell apart."""


@dataclass(frozen=True, slots=True)
class Measures:
    """What the bands look at; None where a pattern or a recording does not say.

    Attributes
    ----------
    spread_ms, wrong_percent, contrast_db, ghosts_ms
        The columns.
    spacing_ms
        Usual time from stroke to stroke.
    unheard_share
        Share of strokes that the recording cannot tell: they may have been missed.
    """

    spread_ms: float | None
    wrong_percent: float
    contrast_db: float | None
    ghosts_ms: float | None
    spacing_ms: float
    unheard_share: float

    def values(self) -> tuple[float | None, ...]:
        """Return the columns' values in their order."""
        off = None if self.ghosts_ms is None else abs(self.ghosts_ms)
        return (self.spread_ms, self.wrong_percent, self.contrast_db, off)


@dataclass(frozen=True, slots=True)
class Proposal:
    """A proposed grade.

    Attributes
    ----------
    grade
        From -2 to 2, or None where it is withheld.
    sure
        Chance that a take measured without error would get the same grade, 0 to 1.
    because
        The name of the column that decided.
    """

    grade: int | None
    sure: float
    because: str


USUAL_CUTS = (1.0, 2.0, 3.0, 4.0)
"""Severities at which the grade falls: the limits themselves."""


def severity(column: Column, value: float, spacing_ms: float) -> float:
    """Return where a value lies among its column's limits: 1 at the first, 4 at the last.

    Between limits in proportion; 0 is perfect.
    """
    factor = max(spacing_ms / SPACING_MS, 1.0) if column.widens else 1.0
    limits = np.array(column.limits) * factor
    if column.at_least:
        best = limits[0] + 2 * (limits[0] - limits[1])
        limits = limits.clip(-10, None)
        places, at = np.array([best, *limits])[::-1], np.arange(5.0)[::-1]
        return float(np.interp(value, places, at))
    places, at = np.array([0.0, *limits]), np.arange(5.0)
    over = (value - limits[-1]) / (limits[-1] - limits[-2])
    return float(np.interp(value, places, at) + max(over, 0.0))


def worst(measures: Measures) -> tuple[float, str]:
    """Return the severity of the worst column, and its name."""
    found = [
        (severity(column, value, measures.spacing_ms), column.name)
        for column, value in zip(COLUMNS, measures.values(), strict=True)
        if value is not None
    ]
    return max(found)


def propose(measures: Measures, cuts: tuple[float, ...] = USUAL_CUTS) -> Proposal:
    """Return the grade of a take by the bands, or by a player's own cuts on the same scale."""
    reached, because = worst(measures)
    grade = _grade(reached, cuts)
    return Proposal(grade, _sure(measures, cuts, grade), because)


def _grade(reached: float, cuts: tuple[float, ...]) -> int:
    return AUTOMATIC - int(np.searchsorted(cuts, reached - 1e-9))


def _sure(measures: Measures, cuts: tuple[float, ...], grade: int) -> float:
    """Return the chance of this grade, each column's value being normal about what was measured."""
    errors = _errors(measures)
    values = measures.values()

    def at_most(cut: float) -> float:
        chance = 1.0
        for column, value, error in zip(COLUMNS, values, errors, strict=True):
            if value is None:
                continue
            here = severity(column, value, measures.spacing_ms)
            step = severity(column, value + error, measures.spacing_ms) - here
            width = max(abs(step), 0.05)
            chance *= 0.5 * (1 + erf((cut - here) / width / sqrt(2)))
        return chance

    better = at_most(cuts[AUTOMATIC - grade - 1]) if grade < AUTOMATIC else 0.0
    as_good = at_most(cuts[AUTOMATIC - grade]) if grade > FELL_APART else 1.0
    return float(np.clip(as_good - better, 0.0, 1.0))


def _errors(measures: Measures) -> tuple[float, float, float, float]:
    """Return how far each column may be off (judgement, after the benchmark's errors)."""
    spread = measures.spread_ms or 0.0
    return (
        0.3 + 0.03 * spread,
        0.3 + 50 * measures.unheard_share,
        0.8,
        0.4 + 0.03 * spread,
    )
