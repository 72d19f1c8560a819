"""One log replayed with many sets of a player's numbers at once.

Most of how a take is looked at follows from the log alone (`drillbox.memory.replay_step.Looks`) and
is worked out once; what is left is done for all cards and all sets in one array operation a rank.
The chances are those that `drillbox.memory.replay` gives for each set by itself.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from drillbox.memory.belief import update_with_chance
from drillbox.memory.mixture import Moments
from drillbox.memory.replay import beliefs_before
from drillbox.memory.replay_columns import BeliefColumns
from drillbox.memory.replay_step import OwnNumbers, learn_from, looks_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from drillbox.memory.belief import Belief, Evidence
    from drillbox.memory.parameters import Parameters
    from drillbox.memory.replay_columns import Takes

    Floats = NDArray[np.float64]

FEW = 16
"""With fewer cards times sets than this in a rank, plain Python is quicker than arrays."""


class TrialReplay:
    """A log laid out rank by rank, those cards first that have the most takes.

    Parameters
    ----------
    beliefs
        What is believed before the first take.
    takes
        The log, in order.
    parameters
        One set of numbers; the sets to be tried differ from it in those that are learned only.
    """

    def __init__(self, beliefs: Sequence[Belief], takes: Takes, parameters: Parameters) -> None:
        self._takes, self._parameters = takes, parameters
        self._before = beliefs_before(beliefs, takes, parameters)
        order = np.argsort(takes.card, kind="stable")
        counts = np.bincount(takes.card, minlength=len(beliefs))
        first = np.cumsum(counts) - counts
        cards = np.argsort(-counts, kind="stable")
        self._own = [order[first[card] : first[card] + counts[card]] for card in cards.tolist()]
        most = int(counts.max(initial=0))
        self._widths = [int((counts > rank).sum()) for rank in range(most)]
        ranks = [order[first[cards[:n]] + rank] for rank, n in enumerate(self._widths)]
        self._which = np.concatenate([*ranks, np.empty(0, np.int64)])
        self._looks = looks_at(self._before, takes, parameters).rows(self._which)
        self._start = BeliefColumns.of(beliefs).rows(cards)

    def chances(self, sets: Sequence[Parameters]) -> Floats:
        """Return the chance that each grade had been given: (sets, takes)."""
        own, size = OwnNumbers.of(sets), (len(sets), 1)
        moments = Moments(*(np.tile(column, size) for column in self._start.moments))
        apart = np.tile(self._start.apart, size)
        chances = np.empty((len(sets), len(self._which)))
        done = 0
        for rank, width in enumerate(self._widths):
            moments, apart = Moments(*(m[:, :width] for m in moments)), apart[:, :width]
            if width * len(sets) < FEW:
                for card in range(width):
                    rest = self._own[card][rank:]
                    log = [self._takes.evidence(take) for take in rest.tolist()]
                    for k, parameters in enumerate(sets):
                        belief = self._belief(rest[0], moments, apart, (k, card))
                        chances[k, rest] = _finish(belief, log, parameters)
                break
            some = slice(done, done + width)
            moments, told, apart = learn_from(
                moments, apart, self._looks.rows(some), self._parameters, own
            )
            chances[:, self._which[some]] = told
            done += width
        return chances

    def _belief(
        self, take: int, moments: Moments[Floats], apart: Floats, place: tuple[int, int]
    ) -> Belief:
        """Return what one set lets believe of a card before one of its takes."""
        mu, ln_s, var_mu, cov, var_ln_s = (float(column[place]) for column in moments)
        return replace(
            self._before.belief(take),
            mu=mu,
            ln_s=ln_s,
            var_mu=var_mu,
            cov=cov,
            var_ln_s=var_ln_s,
            apart=float(apart[place]),
        )


def _finish(belief: Belief, log: Sequence[Evidence], parameters: Parameters) -> list[float]:
    """Return the chances of the rest of a card's grades."""
    chances = []
    for evidence in log:
        belief, chance = update_with_chance(belief, evidence, parameters)
        chances.append(chance)
    return chances
