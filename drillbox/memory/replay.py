"""Replaying a whole take log at once.

The takes are ranked per card; rank by rank, every card that has a take of that rank is updated in
one array operation (`replay_step`). The last few ranks, when hardly any card is left, go through
`drillbox.memory.belief.update` itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from drillbox.memory.belief import update_with_chance
from drillbox.memory.replay_columns import BeliefColumns
from drillbox.memory.replay_step import step, told_before

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from drillbox.memory.belief import Belief
    from drillbox.memory.parameters import Parameters
    from drillbox.memory.replay_columns import Takes

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

FEW = 24
"""With fewer cards than this in a rank, plain Python is quicker than arrays."""


def replay(beliefs: Sequence[Belief], takes: Takes, parameters: Parameters) -> list[Belief]:
    """Return the beliefs after all the takes.

    Parameters
    ----------
    beliefs
        What is believed before the first take: the priors, or the state of a cache.
    takes
        The log, in order.
    parameters
        The player's numbers.
    """
    return replay_with_chances(beliefs, takes, parameters)[0]


def replay_with_chances(
    beliefs: Sequence[Belief], takes: Takes, parameters: Parameters
) -> tuple[list[Belief], Floats]:
    """Return the beliefs, and for each take the chance that its grade had been given."""
    state = BeliefColumns.of(beliefs)
    chances = _replay_into(state, takes, parameters, None)
    return state.beliefs(), chances


def beliefs_before(
    beliefs: Sequence[Belief], takes: Takes, parameters: Parameters
) -> BeliefColumns:
    """Return what was believed of its card before each take."""
    return _around(BeliefColumns.of(beliefs), takes, parameters)[0]


@dataclass(frozen=True, slots=True)
class Trace:
    """What was believed before and after each take, in the order of the takes.

    Parameters
    ----------
    told
        The chance of at least steady that was believed before the take, looked at as a cold one
        (`drillbox.memory.Outlook.p_hold` at its tempo).
    known
        Whether the card had a take before.
    cold
        Whether the take was the first of its practice day.
    after
        The beliefs right after the take.
    """

    told: Floats
    known: NDArray[np.bool_]
    cold: NDArray[np.bool_]
    after: BeliefColumns

    @classmethod
    def empty(cls, takes: int) -> Trace:
        """Return a trace with room for so many takes."""
        flags = (np.zeros(takes, np.bool_), np.zeros(takes, np.bool_))
        return cls(np.empty(takes), *flags, BeliefColumns.room(takes))

    def belief(self, k: int) -> Belief:
        """Return what was believed right after one take."""
        return self.after.belief(k)

    def take_over(self, which: Ints, other: Trace) -> None:
        """Put another trace in the place of some takes of this one."""
        self.known[which], self.cold[which] = other.known, other.cold
        self.told[which] = other.told
        self.after.write(which, other.after)


def replay_with_trace(
    beliefs: Sequence[Belief], takes: Takes, parameters: Parameters
) -> tuple[list[Belief], Trace]:
    """Return the beliefs after all the takes, and what was believed around each of them."""
    state = BeliefColumns.of(beliefs)
    before, after = _around(state, takes, parameters)
    told = told_before(before, takes, parameters)
    cold = before.first_of_day(takes.day)
    return state.beliefs(), Trace(told, before.takes > 0, cold, after)


def _around(
    state: BeliefColumns, takes: Takes, parameters: Parameters
) -> tuple[BeliefColumns, BeliefColumns]:
    """Take the state through the takes; return what was believed before and after each of them."""
    before, after = state.rows(takes.card), BeliefColumns.room(len(takes.card))
    _replay_into(state, takes, parameters, after)
    # What is believed before a take is what was after the one before it of its card.
    order = np.argsort(takes.card, kind="stable")
    same = takes.card[order[1:]] == takes.card[order[:-1]]
    before.write(order[1:][same], after.rows(order[:-1][same]))
    return before, after


def _replay_into(
    state: BeliefColumns, takes: Takes, parameters: Parameters, after: BeliefColumns | None
) -> Floats:
    """Take the state through the takes; return the chances of the grades.

    What is believed after each take is put into `after` where that is wanted.
    """
    order = np.argsort(takes.card, kind="stable")
    counts = np.bincount(takes.card, minlength=len(state.mu))
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    chances = np.empty(len(order))
    for rank in range(int(counts.max(initial=0))):
        cards = np.flatnonzero(counts > rank)
        which = order[starts[cards] + rank]
        if len(cards) < FEW:
            for card in cards.tolist():
                rest = order[starts[card] + rank : starts[card] + counts[card]]
                some, last = takes.rows(rest), np.array([len(rest)])
                states, chances[rest] = _finish(state.belief(card), some, parameters)
                state.write(np.array([card]), states.rows(last))
                if after is not None:
                    after.write(rest, states.rows(np.arange(len(rest)) + 1))
            break
        new, chances[which] = step(state.rows(cards), takes.rows(which), parameters)
        state.write(cards, new)
        if after is not None:
            after.write(which, new)
    return chances


def _finish(belief: Belief, takes: Takes, parameters: Parameters) -> tuple[BeliefColumns, Floats]:
    """Take one card through the rest of its takes, one take at a time.

    Returns what was believed before the first and after each, and the chances of the grades.
    """
    course, chances = [belief], []
    for k in range(len(takes.card)):
        belief, chance = update_with_chance(belief, takes.evidence(k), parameters)
        course.append(belief)
        chances.append(chance)
    return BeliefColumns.of(course), np.array(chances)
