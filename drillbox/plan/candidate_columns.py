"""The cards that a plan may choose from, one by one and as columns."""

from __future__ import annotations

from math import inf, nan
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from drillbox.base.tempi import TAKEN
from drillbox.memory.mixture import Moments

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from drillbox.memory import Belief
    from drillbox.plan.candidates import Candidate

    Floats = NDArray[np.float64]


class Columns(NamedTuple):
    """What a plan reckons with, one number for each card.

    As in `drillbox.memory.Belief` and `drillbox.plan.Candidate`, with other names for a few: the
    moment (`last`), the practice day and the takes of the last day that a card was played, nan and
    nan before its first take; `deadline` is infinite where there is none; `climbs`, `rested` and
    `builds` (whether there are cards that should come before it) are 0 or 1.
    """

    mu: Floats
    ln_s: Floats
    var_mu: Floats
    cov: Floats
    var_ln_s: Floats
    last: Floats
    last_day: Floats
    that_day: Floats
    takes: Floats
    apart: Floats
    recent: Floats
    streak: Floats
    goal_bpm: Floats
    seconds60: Floats
    bars: Floats
    weight: Floats
    deadline: Floats
    wanted_bpm: Floats
    ceiling_bpm: Floats
    climbs: Floats
    rested: Floats
    builds: Floats

    @property
    def moments(self) -> Moments[Floats]:
        """The means, variances and covariances of what is believed."""
        return Moments(self.mu, self.ln_s, self.var_mu, self.cov, self.var_ln_s)

    def over_goal(self) -> Floats:
        """Return the octaves by which each card's peak stands over its goal."""
        return self.mu - np.log2(np.maximum(self.goal_bpm, TAKEN.least))

    def played(self, day: int) -> Floats:
        """Return the takes already played on a practice day."""
        return np.where(self.last_day == day, self.that_day, 0.0)

    def gap(self, at: float) -> Floats:
        """Return the days since each card's last take; none for a card never played."""
        return np.maximum(0.0, at - np.where(np.isnan(self.last), at, self.last))


class Candidates:
    """The cards of a box in their order, by id, and as columns.

    In a forecast something else is believed of a few of them after each day (`believe`); what is
    reckoned with of all others stays.
    """

    def __init__(self, cards: Iterable[Candidate]) -> None:
        self.cards = list(cards)
        self.by_id = {card.card_id: card for card in self.cards}
        self._place = {card.card_id: i for i, card in enumerate(self.cards)}
        rows = [_numbers(card) for card in self.cards]
        self._columns = np.array(rows, np.float64).reshape(-1, len(Columns._fields)).T.copy()
        self.columns = Columns(*self._columns)

    def believe(self, i: int, belief: Belief) -> None:
        """Let something else be believed of the card in one place."""
        card = self.cards[i].with_belief(belief)
        self.cards[i] = self.by_id[card.card_id] = card
        numbers = _believed(belief)
        self._columns[: len(numbers), i] = numbers

    def place(self, card_id: str) -> int:
        """Return where a card stands among all; a `KeyError` if it is not there."""
        return self._place[card_id]


def _numbers(card: Candidate) -> tuple[float, ...]:
    return (
        *_believed(card.belief),
        card.goal_bpm,
        card.seconds60,
        card.bars,
        card.importance,
        inf if card.deadline is None else card.deadline,
        card.wanted_bpm or card.goal_bpm,
        card.ceiling_bpm,
        card.climbs,
        card.rested,
        bool(card.after),
    )


def _believed(belief: Belief) -> tuple[float, ...]:
    """Return the first columns of a card, those that its takes change."""
    return (
        belief.mu,
        belief.ln_s,
        belief.var_mu,
        belief.cov,
        belief.var_ln_s,
        nan if belief.at is None else belief.at,
        nan if belief.day is None else belief.day,
        belief.takes_that_day,
        belief.takes,
        belief.apart,
        belief.recent,
        belief.streak,
    )
