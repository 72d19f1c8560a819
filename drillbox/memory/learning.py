"""Learning one player's numbers from the take log.

Penalised maximum likelihood, adopted only if it predicts better.

Three of the `Parameters` are learned, each as a factor on its starting value: what a take adds
(gain), how much warmth adds (boost), and how noisy a take is (sigma). The log-likelihood is that of
every grade given what was believed before it; the penalty is a log-normal prior on each factor. A
pattern search does without gradients: three numbers, a likelihood that costs milliseconds.

To guard against fitting noise the search first sees only the earlier two thirds of the log. What it
finds is adopted if it predicts the *cold* takes of the last third better than the starting values
do; then the search is run once more on the whole.

References: penalised likelihood as maximum a posteriori estimation; pattern search after Hooke &
Jeeves, *Journal of the ACM* 8:212-229 (1961).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp
from typing import TYPE_CHECKING

import numpy as np

from drillbox.memory.parameters import LEARNED
from drillbox.memory.replay import chances_of
from drillbox.memory.replay_columns import BeliefColumns

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
SETTLED_AFTER = 4
"""A card's first takes are left out.

There a first guess that was too low passes for quick learning.
"""
FIRST_STEP, LAST_STEP = 0.4, 0.1
"""Steps of the search in the natural logarithm of a factor."""
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
    settled = cold & (_rank(takes) >= SETTLED_AFTER)
    if settled.sum() < FEWEST_COLD_TAKES:
        return Learned(start, adopted=False, improvement=0.0, cold_takes=int(cold.sum()))
    before = BeliefColumns.of(beliefs)
    early = np.arange(int(EARLIER * len(takes.card)))
    trial = _search(before, takes.rows(early), start)
    held_out = settled.copy()
    held_out[early] = False
    old, new = (
        float(np.log(chances_of(before, takes, p)[held_out]).mean()) for p in (start, trial)
    )
    if not new > old:
        return Learned(start, adopted=False, improvement=new - old, cold_takes=int(cold.sum()))
    final = _search(before, takes, start)
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
    order = np.lexsort((np.arange(len(takes.card)), takes.card))
    card, day = takes.card[order], takes.day[order]
    first = np.ones(len(order), dtype=np.bool_)
    # A day that was passed already does not come again, wherever the clock was set.
    latest = np.zeros(len(order), dtype=np.int64)
    for k in range(len(order)):
        same = k > 0 and card[k] == card[k - 1]
        latest[k] = max(latest[k - 1], day[k]) if same else day[k]
        first[k] = not same or day[k] > latest[k - 1]
    cold = np.empty_like(first)
    cold[order] = first
    return cold


def _rank(takes: Takes) -> NDArray[np.int64]:
    """Return how many takes of its card came before each take."""
    order = np.argsort(takes.card, kind="stable")
    counts = np.bincount(takes.card)
    starts = np.cumsum(counts) - counts
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order)) - np.repeat(starts, counts)
    return rank


def _search(before: BeliefColumns, takes: Takes, start: Parameters) -> Parameters:
    """Return the parameters of the best penalised likelihood that the search finds."""

    def at(factors: dict[str, float]) -> Parameters:
        return replace(start, **{n: getattr(start, n) * exp(f) for n, f in factors.items()})

    def cost(factors: dict[str, float]) -> float:
        penalty = sum(f * f for f in factors.values()) / (2.0 * PRIOR_SD**2)
        return penalty - float(np.log(chances_of(before, takes, at(factors))[settled]).sum())

    settled = _rank(takes) >= SETTLED_AFTER
    best = dict.fromkeys(LEARNED, 0.0)
    least, step = cost(best), FIRST_STEP
    # Where the search comes by again nothing is cheaper than it was: the best only gets better.
    seen = {_place(best)}
    while step >= LAST_STEP:
        moved = False
        for name in LEARNED:
            for way in (step, -step):
                tried = best | {name: best[name] + way}
                if _place(tried) in seen:
                    continue
                seen.add(_place(tried))
                if (price := cost(tried)) < least:
                    best, least, moved = tried, price, True
                    break
        if not moved:
            step /= 2.0
    return at(best)


def _place(factors: dict[str, float]) -> tuple[float, ...]:
    """Return where the search is, the same after steps there and back."""
    return tuple(round(factor, 9) for factor in factors.values())
