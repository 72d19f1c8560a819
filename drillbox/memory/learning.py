"""Learning one player's numbers from the take log.

Penalised maximum likelihood, adopted only if it predicts better.

Three of the `Parameters` are learned, each as a factor on its starting value: what a take adds
(gain), how much warmth adds (boost), and how noisy a take is (sigma). The log-likelihood is that of
every grade given what was believed before it; the penalty is a log-normal prior on each factor. The
best factors are found by Newton's method (`drillbox.memory.newton`) in a few rounds of ten replays,
which are made at once (`drillbox.memory.trial_replay`).

To guard against fitting noise the search first sees only the earlier two thirds of the log. What it
finds is adopted if it predicts the *cold* takes of the last third better than the starting values
do; then the search goes on from there on the whole.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from drillbox.memory.newton import minimum
from drillbox.memory.parameters import LEARNED
from drillbox.memory.trial_replay import TrialReplay

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from drillbox.memory.belief import Belief
    from drillbox.memory.parameters import Parameters
    from drillbox.memory.replay_columns import Takes

PRIOR_SD = 0.3
"""Standard deviation of the natural logarithm of each factor.

Two times out of three within a factor 1.35 (assumption).
"""
PRECISION = PRIOR_SD**-2
SETTLED_AFTER = 4
"""A card's first takes are left out.

There a first guess that was too low passes for quick learning.
"""
FEWEST_COLD_TAKES = 200
"""Below this nothing is learned (assumption)."""
EARLIER = 2.0 / 3.0
"""Share of the log that the trial search sees."""


@dataclass(frozen=True, slots=True)
class Learned:
    """What was learned, and whether to believe it.

    Parameters
    ----------
    parameters
        The new numbers if they were adopted, otherwise the old ones.
    adopted
        Whether held-out cold takes are predicted better.
    improvement
        By how much: natural logarithm of the chance of a grade, mean over the held-out cold takes.
    cold_takes
        Cold takes in the log.
    """

    parameters: Parameters
    adopted: bool
    improvement: float
    cold_takes: int


def learn(beliefs: Sequence[Belief], takes: Takes, start: Parameters) -> Learned:
    """Return the player's numbers as the log tells them.

    Parameters
    ----------
    beliefs
        The priors of all cards: what was believed before the first take.
    takes
        The whole log, in order.
    start
        The numbers to start from, and to fall back on.
    """
    cold = _cold(takes)
    counted = _rank(takes) >= SETTLED_AFTER
    early = np.arange(len(takes.card)) < int(EARLIER * len(takes.card))
    settled = cold & counted
    held_out = settled & ~early
    if settled.sum() < FEWEST_COLD_TAKES or not held_out.any():
        return Learned(start, adopted=False, improvement=0.0, cold_takes=int(cold.sum()))
    trials = TrialReplay(beliefs, takes, start)
    trial = _search(trials, counted & early, start, start)
    old, new = np.log(trials.chances([start, trial])[:, held_out]).mean(axis=1).tolist()
    if not new > old:
        return Learned(start, adopted=False, improvement=new - old, cold_takes=int(cold.sum()))
    final = _search(trials, counted, start, trial)
    return Learned(final, adopted=True, improvement=new - old, cold_takes=int(cold.sum()))


def sentences(start: Parameters, learned: Parameters) -> tuple[str, ...]:
    """Return what was learned in words, one sentence for each number that moved by a tenth."""
    said = {
        "gain": "A take adds about {:.1f} times as much to your tempo as we first assumed.",
        "boost": "Warming up gives you about {:.1f} times as much as we first assumed.",
        "sigma": "Your takes vary about {:.1f} times as much as we first assumed.",
    }
    factors = {name: getattr(learned, name) / getattr(start, name) for name in LEARNED}
    return tuple(
        sentence.format(factors[name])
        for name, sentence in said.items()
        if abs(factors[name] - 1.0) >= 0.1
    )


def _cold(takes: Takes) -> NDArray[np.bool_]:
    """Mark each card's first take of a practice day."""
    order = np.argsort(takes.card, kind="stable")
    # Each card's days are put behind those of the card before it, so one look goes over all. A day
    # that was passed already does not come again, wherever the clock was set.
    place = takes.card[order] * (takes.day.max(initial=0) + 1) + takes.day[order]
    cold = np.ones(len(order), np.bool_)
    cold[order[1:]] = place[1:] > np.maximum.accumulate(place)[:-1]
    return cold


def _rank(takes: Takes) -> NDArray[np.int64]:
    """Return how many takes of its card came before each take."""
    order = np.argsort(takes.card, kind="stable")
    counts = np.bincount(takes.card)
    starts = np.cumsum(counts) - counts
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order)) - np.repeat(starts, counts)
    return rank


def _search(
    trials: TrialReplay, asked: NDArray[np.bool_], start: Parameters, near: Parameters
) -> Parameters:
    """Return the parameters of the best penalised likelihood of some takes.

    Parameters
    ----------
    trials, asked
        The log, and of which of its takes the grades are to be likely.
    start
        What the factors stand on.
    near
        Where to begin.
    """

    def at(factors: NDArray[np.float64]) -> Parameters:
        found = zip(LEARNED, np.exp(factors).tolist(), strict=True)
        return replace(start, **{name: getattr(start, name) * factor for name, factor in found})

    def costs(points: NDArray[np.float64]) -> NDArray[np.float64]:
        likely = np.log(trials.chances([at(factors) for factors in points])[:, asked])
        result: NDArray[np.float64] = 0.5 * PRECISION * (points**2).sum(axis=1) - likely.sum(axis=1)
        return result

    begin = np.log([getattr(near, name) / getattr(start, name) for name in LEARNED])
    found = np.exp(minimum(costs, begin, bend=PRECISION))
    # To a hundredth: no log tells more, and what is learned again from the same log stays the same.
    return at(np.log(np.maximum(found.round(2), 0.01)))
