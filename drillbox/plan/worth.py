"""What a visit is worth: the numbers behind the choice, for all cards at once.

A card's worth at a moment is how nearly it is in hand: a steep step at the goal tempo plus a soft slope that
makes progress towards it count ::

    u(c) = (1 - SOFT_SHARE) * step((c - goal) / STEP_WIDTH) + SOFT_SHARE * step((c - goal) / SOFT_WIDTH)

averaged over what is not known of the cold tempo c (widths add in quadrature). The value of a visit is the area between the
worth curve after it and the worth that would be had while waiting for the next practice day, until the curve has come down to
that worth again ::

    value = integral over tau of max(0, u_after(tau) - u_waiting)

For a card that a visit fully restores this is the exact index of the restoring problem: visit when value /
seconds has risen to the common price of a second (with loss 1 - exp(-n t) it gives the optimal period
T = gamma.ppf(c n / w, 2) / n).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from drillbox.plan.takes import (
    CHANGE_SECONDS,
    COUNT_IN_SECONDS,
    FASTEST,
    GRADE_SECONDS,
    PLAY_SECONDS,
    SLOWEST,
    SUCCESS_SDS,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from drillbox.memory import Parameters
    from drillbox.plan.cards import Candidate, Day

    Floats = NDArray[np.float64]

STEP_WIDTH = 0.12
SOFT_WIDTH = 0.45
SOFT_SHARE = 0.3
MOST_TAKES = 4
"""Takes in one visit; after three or four the warm-up is over and more is massing."""
HORIZON_EDGES = np.array([0.0, 1.0, 2.0, 4.0, 7.0, 11.0, 16.0, 23.0, 32.0, 45.0])
"""The weeks ahead, cut where a power law bends."""
LOGISTIC = 1.702
"""Scale at which the logistic curve is within 0.01 of the normal one (Camilli 1994, via Haley 1952)."""
CREDIT_EXPECTED = 0.8
"""Expected share of a survived gap at an 84 % tempo."""


@dataclass(frozen=True, slots=True)
class Table:
    """Per card, in the order of the candidates: what a visit costs and brings.

    ``value`` and ``seconds`` have one column for each number of takes; the rest are one number a card.
    """

    bpm: NDArray[np.int64]
    cold: Floats
    success: Floats
    value: Floats
    seconds: Floats
    upkeep: Floats
    taught: NDArray[np.bool_]


def tabulate(candidates: Sequence[Candidate], day: Day, parameters: Parameters) -> Table:
    """Return the table of all candidates."""
    rows = np.array(
        [
            (
                b.mu,
                b.ln_s,
                b.var_mu,
                b.cov,
                b.var_ln_s,
                day.at if b.at is None else b.at,
                c.goal_bpm,
                c.seconds60,
                c.bars,
                c.importance,
                b.takes_that_day if b.day == day.day else 0,
                b.takes,
            )
            for c in candidates
            for b in (c.belief,)
        ],
        dtype=np.float64,
    ).reshape(-1, 12)
    mu, ln_s, var_mu, cov, var_s, last, goal_bpm, seconds60, bars, weight, today, takes = rows.T
    p = parameters
    taught = takes > 0
    goal = np.log2(np.maximum(goal_bpm, 8.0))
    stability = np.exp(ln_s)
    gap = np.where(today > 0, 0.0, np.maximum(0.0, day.at - last))
    cold, variance = _cold(p, mu, stability, (var_mu, cov, var_s), gap)
    warm = np.where(today > 0, p.boost * (1.0 - 0.5**today), 0.0)
    spread = np.sqrt(variance + p.sigma**2)
    likely = np.floor(2.5 + np.exp2(cold + warm - SUCCESS_SDS * spread) + 0.5)
    bpm = np.clip(np.minimum(likely, np.floor(goal_bpm)), SLOWEST, FASTEST)
    success = step((cold + warm - np.log2(bpm - 2.5)) / spread)
    waiting, waiting_var = _cold(
        p, mu, stability, (var_mu, cov, var_s), gap + 0.5 * day.next_in_days
    )
    before = np.where(taught, worth(waiting, waiting_var, goal), 0.0)
    grown = stability + p.growth * CREDIT_EXPECTED * gap
    value = np.empty((len(rows), MOST_TAKES))
    seconds = np.empty_like(value)
    one = _take_seconds(seconds60, bars, bpm)
    near = np.exp(-0.5 * ((np.log2(bpm) - mu) / p.edge) ** 2)
    change = np.where(_mid_visit(candidates, day), 0.0, CHANGE_SECONDS)
    peak = mu
    # A card played today is as fresh as a visit makes it: more takes bring their gain and nothing else.
    had = np.where(today > 0, _area(p, mu, grown, var_mu, goal, before=before), 0.0)
    for k in range(MOST_TAKES):
        peak = peak + p.gain * near * p.fatigue ** (today + k)
        value[:, k] = weight * (_area(p, peak, grown, var_mu, goal, before=before) - had)
        seconds[:, k] = change + (k + 1) * one
    upkeep = np.where(taught, seconds[:, 0] / _return_days(p, mu, stability, goal), 0.0)
    return Table(bpm.astype(np.int64), cold, success, value, seconds, upkeep, taught)


def step(x: Floats) -> Floats:
    """Return a normal distribution function, to 0.01, at the price of one exponential."""
    result: Floats = 1.0 / (1.0 + np.exp(np.clip(-LOGISTIC * x, -60.0, 60.0)))
    return result


def worth(mean: Floats, variance: Floats, goal: Floats) -> Floats:
    """Return the expected worth of a cold tempo that is not fully known."""
    off = mean - goal
    steep = step(off / np.sqrt(STEP_WIDTH**2 + variance))
    soft = step(off / np.sqrt(SOFT_WIDTH**2 + variance))
    return (1.0 - SOFT_SHARE) * steep + SOFT_SHARE * soft


def _cold(
    p: Parameters, mu: Floats, stability: Floats, var: tuple[Floats, Floats, Floats], gap: Floats
) -> tuple[Floats, Floats]:
    slope = p.lam / np.log(2.0) * gap / (gap + stability)
    idle = np.maximum(0.0, np.minimum(p.idle_var * gap, p.first_sd**2 - var[0]))
    variance = np.maximum(var[0] + slope * (2.0 * var[1] + slope * var[2]), 0.0) + idle
    return mu - p.lam * np.log2(1.0 + gap / stability), variance


def _area(
    p: Parameters,
    peak: Floats,
    stability: Floats,
    variance: Floats,
    goal: Floats,
    *,
    before: Floats,
) -> Floats:
    area = np.zeros_like(peak)
    for left, right in pairwise(HORIZON_EDGES):
        later = 0.5 * (left + right)
        after = worth(peak - p.lam * np.log2(1.0 + later / stability), variance, goal)
        area += (right - left) * np.maximum(0.0, after - before)
    return area


def _take_seconds(seconds60: Floats, bars: Floats, bpm: Floats) -> Floats:
    one_pass = seconds60 * 60.0 / bpm
    bar = one_pass / bars
    count_in = np.maximum(1.0, np.ceil(COUNT_IN_SECONDS / bar - 1e-9))
    passes = np.maximum(1.0, np.floor(PLAY_SECONDS / one_pass + 0.5))
    result: Floats = count_in * bar + passes * one_pass + GRADE_SECONDS
    return result


def _mid_visit(candidates: Sequence[Candidate], day: Day) -> NDArray[np.bool_]:
    """Mark the card that is on the stand already: going on with it costs no change."""
    last = day.done[-1].card_id if day.done else None
    return np.array([c.card_id == last for c in candidates], dtype=np.bool_)


def _return_days(p: Parameters, mu: Floats, stability: Floats, goal: Floats) -> Floats:
    """Return the days until a card begun will want its next visit."""
    margin = np.clip((mu - goal) / p.lam, 0.0, 20.0)
    result: Floats = np.clip(stability * (np.exp2(margin) - 1.0), 1.5, 365.0)
    return result
