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
from typing import TYPE_CHECKING

import numpy as np

from drillbox.plan.takes import octaves
from drillbox.plan.worth import MOST_TAKES

if TYPE_CHECKING:
    from collections.abc import Sequence

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
    """Return how many takes of which cards to play in the time that is left."""
    choice = Choice({}, _closed(candidates, table), float(table.upkeep.sum()), 0.0)
    choice.limit = UPKEEP_SHARE * 60.0 * day.minutes
    families = {c.family for c in candidates if c.family and c.played(day.day) and c.fresh(day.day)}
    density = table.value / table.seconds
    left = day.left_seconds - ROUNDING_SECONDS
    heap = _first_offers(candidates, density, choice)
    while heap:
        offer = heappop(heap)
        value, _, _, i, takes = offer
        had = choice.takes.get(i, 0)
        cost = table.seconds[i, takes - 1] - (table.seconds[i, had - 1] if had else 0.0)
        if cost > left or not (had or _admit(i, candidates[i], table, choice, families)):
            if not had:
                choice.barred.setdefault(i, Bar.PRICE)
            continue
        choice.takes[i] = takes
        choice.price = -value
        left -= cost
        if takes < MOST_TAKES:
            more = table.value[i, takes] - table.value[i, takes - 1]
            each = min(-value, more / (table.seconds[i, takes] - table.seconds[i, takes - 1]))
            if more > LEAST_VALUE:
                heappush(heap, (-each, *offer[1:4], takes + 1))
    return choice


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


def _closed(candidates: Sequence[Candidate], table: Table) -> dict[int, Bar]:
    """Return the cards that cannot be offered at all."""
    by_id = {c.card_id: c for c in candidates}
    barred: dict[int, Bar] = {}
    worthless = table.value.max(axis=1, initial=0.0) <= LEAST_VALUE
    for i, candidate in enumerate(candidates):
        if candidate.rested:
            barred[i] = Bar.RESTED
        elif not candidate.taught and candidate.after and not ready(candidate, by_id):
            barred[i] = Bar.PREREQUISITE
        elif worthless[i]:
            barred[i] = Bar.WORTHLESS
    return barred


def _first_offers(
    candidates: Sequence[Candidate], density: Floats, choice: Choice
) -> list[tuple[float, int, str, int, int]]:
    """Return a heap of every card's first offer: (-value per second, order, id, index, takes)."""
    best = density.max(axis=1, initial=0.0)
    if len(best) > OFFERS_LOOKED_AT:
        open_to = best.copy()
        open_to[list(choice.barred)] = -1.0
        looked_at = np.argsort(-open_to, kind="stable")[:OFFERS_LOOKED_AT]
    else:
        looked_at = np.arange(len(best))
    takes = density.argmax(axis=1) + 1
    heap = [
        (-float(best[i]), candidates[i].order, candidates[i].card_id, int(i), int(takes[i]))
        for i in looked_at
        if int(i) not in choice.barred
    ]
    heapify(heap)
    return heap


def _admit(i: int, candidate: Candidate, table: Table, choice: Choice, families: set[str]) -> bool:
    """Let a card in unless it is new and the day has no room for it; note what it brings along."""
    if candidate.taught:
        return True
    if candidate.family in families:
        choice.barred[i] = Bar.LOOK_ALIKE
        return False
    upkeep = choice.upkeep + float(table.seconds[i, 0]) / NEW_RETURN_DAYS
    if upkeep > choice.limit:
        choice.barred[i] = Bar.UPKEEP
        return False
    choice.upkeep = upkeep
    if candidate.family:
        families.add(candidate.family)
    return True
