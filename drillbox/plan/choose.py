"""Choosing what to play in the time there is.

Every card offers one visit, by number of takes. Its first offer is the number of takes that brings most per second;
each further take is offered at what it adds. Offers are taken in order of value per second while they fit. New
cards are offered only while the forecast upkeep of those already begun leaves room: queues of review jam
sharply, not gradually (Reddy, Labutov, Banerjee & Joachims, KDD 2016).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from heapq import heapify, heappop, heappush
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from drillbox.plan.takes import octaves
from drillbox.plan.worth import MOST_TAKES

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from drillbox.plan.cards import Candidate, Day
    from drillbox.plan.worth import Floats, Table

UPKEEP_SHARE = 0.65
"""New cards are begun while the forecast upkeep is under this share of the day (assumption)."""
READY_OCTAVES = 0.25
"""A card that another one builds on must have come this near to its goal (assumption)."""
NEW_RETURN_DAYS = 1.5
"""A card begun today is wanted again about this soon (assumption)."""
OFFERS_LOOKED_AT = 400
"""More offers than a day has room for."""
ROUNDING_SECONDS = 1e-6
"""Held back so that a sum of lengths, however it rounds, stays inside the time there is."""
LEAST_VALUE = 1e-6
"""A visit that brings less than this brings nothing."""


class Bar(StrEnum):
    """Why a card was not offered, or its offer not taken."""

    RESTED = "rested"
    PREREQUISITE = "prerequisite"
    LOOK_ALIKE = "look-alike"
    UPKEEP = "upkeep"
    ENOUGH = "enough"
    WORTHLESS = "worthless"
    PRICE = "price"


@dataclass(slots=True)
class Choice:
    """What was chosen, and what the choice rested on.

    Parameters
    ----------
    takes
        Takes by index of the candidate.
    barred
        Why a card that was looked at was left out.
    upkeep
        Forecast daily seconds of the cards begun, today's new ones included.
    limit
        What that may be before new cards wait.
    price
        Value per second of the least offer taken.
    """

    takes: dict[int, int]
    barred: dict[int, Bar]
    upkeep: float
    limit: float
    price: float = 0.0

    @property
    def admits(self) -> bool:
        """Whether there was room for new cards."""
        return self.upkeep < self.limit


def choose(candidates: Sequence[Candidate], day: Day, table: Table) -> Choice:
    """Return how many takes of which cards to play in the time that is left.

    The minutes are to be filled. Where time would stay empty, first the cards whose prerequisites are begun, today
    at the latest, are let in, then look-alikes, then what was played enough today; only the limit on upkeep keeps new
    cards out for good.
    """
    hall = _Hall(candidates, day, table)
    hall.serve(i for i in range(len(candidates)) if i not in hall.choice.barred)
    for lifted in (Bar.PREREQUISITE, Bar.LOOK_ALIKE, Bar.ENOUGH):
        hall.lifted.add(lifted)
        while again := hall.second_chances():
            hall.serve(again)
    return hall.choice


class _Hall:
    """Where cards queue up for the day: offers in, takes out, time running down."""

    def __init__(self, candidates: Sequence[Candidate], day: Day, table: Table) -> None:
        self.lifted: set[Bar] = set()
        self.choice = Choice({}, _closed(candidates, day, table), float(table.upkeep.sum()), 0.0)
        self.choice.limit = UPKEEP_SHARE * 60.0 * day.minutes
        self._candidates = candidates
        self._by_id = {c.card_id: c for c in candidates}
        self._table = table
        self._density = table.value / table.seconds
        self._left = day.left_seconds - ROUNDING_SECONDS
        self._families = {
            c.family for c in candidates if c.family and c.played(day.day) and c.fresh(day.day)
        }

    def serve(self, cards: Iterable[int]) -> None:
        """Take the offers of these cards in order of value per second, while they fit."""
        heap = _first_offers(self._candidates, self._density, list(cards))
        while heap:
            offer = heappop(heap)
            value, _, _, i, takes = offer
            had = self.choice.takes.get(i, 0)
            cost = self._cost(i, takes) - self._cost(i, had)
            if cost > self._left or not (had or self._admit(i)):
                if not had:
                    self.choice.barred.setdefault(i, Bar.PRICE)
                continue
            self.choice.takes[i] = takes
            self.choice.price = -value
            self._left -= cost
            if takes < MOST_TAKES:
                more = self._table.value[i, takes] - self._table.value[i, takes - 1]
                each = min(-value, more / (self._cost(i, takes + 1) - self._cost(i, takes)))
                if more > LEAST_VALUE:
                    heappush(heap, (-each, *offer[1:4], takes + 1))

    def second_chances(self) -> list[int]:
        """Return the cards that may come in after all while there is time, and lift what barred them."""
        if self._left < self._table.seconds.min(initial=inf):
            return []
        lifted = [i for i, bar in self.choice.barred.items() if self._lifts(i, bar)]
        for i in lifted:
            del self.choice.barred[i]
        return lifted

    def _lifts(self, i: int, bar: Bar) -> bool:
        if bar not in self.lifted:
            return False
        if bar is not Bar.PREREQUISITE:
            return True
        today = {self._candidates[taken].card_id for taken in self.choice.takes}
        return all(
            before.taught or before.card_id in today
            for before in waiting_for(self._candidates[i], self._by_id)
        )

    def _cost(self, i: int, takes: int) -> float:
        return float(self._table.seconds[i, takes - 1]) if takes else 0.0

    def _admit(self, i: int) -> bool:
        """Let a card in unless it is new and the day has no room for it; note what it brings along."""
        candidate, choice = self._candidates[i], self.choice
        if candidate.taught:
            return True
        if candidate.family in self._families and Bar.LOOK_ALIKE not in self.lifted:
            choice.barred[i] = Bar.LOOK_ALIKE
            return False
        upkeep = choice.upkeep + self._cost(i, 1) / NEW_RETURN_DAYS
        if upkeep > choice.limit:
            choice.barred[i] = Bar.UPKEEP
            return False
        choice.upkeep = upkeep
        if candidate.family:
            self._families.add(candidate.family)
        return True


def ready(candidate: Candidate, by_id: dict[str, Candidate]) -> bool:
    """Whether all the cards that a new card builds on have come near enough to their goals."""
    return not waiting_for(candidate, by_id)


def waiting_for(candidate: Candidate, by_id: dict[str, Candidate]) -> list[Candidate]:
    """Return the cards that a new card still waits for; one set aside or unknown holds up nothing."""
    if candidate.taught:
        return []
    before = (by_id[card_id] for card_id in candidate.after if card_id in by_id)
    return [c for c in before if not c.rested and not _near_goal(c)]


def _near_goal(candidate: Candidate) -> bool:
    near = candidate.belief.mu >= octaves(candidate.goal_bpm) - READY_OCTAVES
    return candidate.taught and near


def _closed(candidates: Sequence[Candidate], day: Day, table: Table) -> dict[int, Bar]:
    """Return the cards that cannot be offered at all."""
    by_id = {c.card_id: c for c in candidates}
    barred: dict[int, Bar] = {}
    worthless = table.value.max(axis=1, initial=0.0) <= LEAST_VALUE
    for i, candidate in enumerate(candidates):
        if candidate.rested:
            barred[i] = Bar.RESTED
        elif not candidate.taught and candidate.after and not ready(candidate, by_id):
            barred[i] = Bar.PREREQUISITE
        elif candidate.played(day.day) >= MOST_TAKES:
            barred[i] = Bar.ENOUGH
        elif worthless[i]:
            barred[i] = Bar.WORTHLESS
    return barred


def _first_offers(
    candidates: Sequence[Candidate], density: Floats, cards: Sequence[int]
) -> list[tuple[float, int, str, int, int]]:
    """Return a heap of the cards' first offers: (-value per second, order, id, index, takes)."""
    looked_at = np.array(cards, dtype=np.int64)
    best = density[looked_at].max(axis=1, initial=0.0)
    takes = density[looked_at].argmax(axis=1) + 1
    if len(best) > OFFERS_LOOKED_AT:
        kept = np.argsort(-best, kind="stable")[:OFFERS_LOOKED_AT]
        looked_at, best, takes = looked_at[kept], best[kept], takes[kept]
    heap = [
        (-value, candidates[i].order, candidates[i].card_id, i, count)
        for i, value, count in zip(looked_at.tolist(), best.tolist(), takes.tolist(), strict=True)
    ]
    heapify(heap)
    return heap
