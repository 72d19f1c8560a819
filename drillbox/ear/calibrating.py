"""The bands, moved to a player's own verdicts.

What one player calls clean another calls steady. Where measured takes were graded by hand as well,
the four cuts between the grades move along the scale of severity (`drillbox.ear.bands`) to where
they predict the player best: ordered regression (McCullagh 1980, J. R. Stat. Soc. B 42:109-142),
with the usual cuts as prior, so that a few takes move them a little and many takes all the way.

Beginners flatter themselves and able players are hard on themselves (Hewitt 2015, J. Res. Music
Educ. 63:298-313); the cuts follow the player all the same, for the grade is the player's word on
where the metronome should go next.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

import numpy as np
from numpy.typing import NDArray

from drillbox.ear.bands import AUTOMATIC, COLUMNS, USUAL_CUTS, Measures, worst

Floats = NDArray[np.float64]

LEAST_TAKES = 8
"""Fewer takes graded by hand leave the bands where they are."""
_SCATTER = 0.35
"""How unlike itself a player's verdict is, in steps of severity (judgement)."""
_PRIOR = 0.7
"""How far, in the same steps, players' cuts lie from ours (judgement)."""
_CLOSEST = 0.15
_ROUNDS = 60


@dataclass(frozen=True, slots=True)
class Verdicts:
    """Takes that were measured and graded by the player.

    Attributes
    ----------
    takes
        What was measured, and the player's grade, -2 to 2.
    """

    takes: tuple[tuple[Measures, int], ...]


def player_cuts(verdicts: Verdicts) -> tuple[float, ...]:
    """Return the severities at which this player's grade falls; ours while little is known."""
    if len(verdicts.takes) < LEAST_TAKES:
        return USUAL_CUTS
    reached = np.array([worst(measures)[0] for measures, _ in verdicts.takes])
    place = np.array([AUTOMATIC - grade for _, grade in verdicts.takes])
    cuts = np.array(USUAL_CUTS)
    value = _loss(cuts, reached, place)
    step = 0.25
    # Four numbers and a smooth loss: steps along each in turn find the bottom.
    for _ in range(_ROUNDS):
        moved = False
        for number in range(cuts.size):
            for way in (-step, step):
                trial = _moved(cuts, number, way)
                if trial[0] < _CLOSEST:
                    continue
                loss = _loss(trial, reached, place)
                if loss < value - 1e-9:
                    cuts, value, moved = trial, loss, True
        if not moved:
            step /= 2
            if step < 1e-3:
                break
    return tuple(float(cut) for cut in cuts)


def _moved(cuts: Floats, number: int, way: float) -> Floats:
    """Return cuts with one moved; the others make room, so that they stay in order."""
    trial = cuts.copy()
    trial[number] += way
    for below in range(number - 1, -1, -1):
        trial[below] = min(trial[below], trial[below + 1] - _CLOSEST)
    for above in range(number + 1, trial.size):
        trial[above] = max(trial[above], trial[above - 1] + _CLOSEST)
    return trial


def _loss(cuts: Floats, reached: Floats, place: Floats) -> float:
    """Return minus the log posterior: verdicts logistic about cuts, cuts normal about ours."""
    edges = np.concatenate([[-np.inf], cuts, [np.inf]])
    upper = 1 / (1 + np.exp(-np.clip((edges[place + 1] - reached) / _SCATTER, -60, 60)))
    lower = 1 / (1 + np.exp(-np.clip((edges[place] - reached) / _SCATTER, -60, 60)))
    far = (cuts - np.array(USUAL_CUTS)) / _PRIOR
    return float(-np.log(np.maximum(upper - lower, 1e-9)).sum() + 0.5 * far @ far)


def limits_at(cuts: tuple[float, ...]) -> tuple[tuple[float, ...], ...]:
    """Return, column by column, the limits that a player's cuts stand for, to be shown."""
    rows = []
    for column in COLUMNS:
        if column.at_least:
            best = column.limits[0] + 2 * (column.limits[0] - column.limits[1])
            known = np.array([best, *np.clip(column.limits, -10, None)])
        else:
            known = np.array([0.0, *column.limits])
        rows.append(tuple(float(np.interp(cut, np.arange(5.0), known)) for cut in cuts))
    return tuple(rows)


def agreement(verdicts: Verdicts, cuts: tuple[float, ...]) -> float:
    """Return the geometric mean chance that these cuts give the player's own grades."""
    if not verdicts.takes:
        return 1.0
    reached = np.array([worst(measures)[0] for measures, _ in verdicts.takes])
    place = np.array([AUTOMATIC - grade for _, grade in verdicts.takes])
    prior = np.array(cuts) - np.array(USUAL_CUTS)
    loss = _loss(np.array(cuts), reached, place) - 0.5 * float(prior @ prior) / _PRIOR**2
    return exp(-loss / len(verdicts.takes))
