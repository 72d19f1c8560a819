"""Choosing what to play in the time there is.

Every card offers its next take at a price per second, and further takes of the same visit at theirs
(`drillbox.plan.prices`). Offers are taken from the dearest down while they fit. New cards are
offered only while the forecast upkeep fits the day: queues of review jam sharply, not gradually
(Reddy, Labutov, Banerjee & Joachims, KDD 2016).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from enum import StrEnum
from heapq import heapify, heappop, heappush
from math import inf
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from drillbox.memory import Grade
from drillbox.plan.table import MOST_TAKES
from drillbox.plan.takes import octaves

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from drillbox.plan.candidate_columns import Candidates
    from drillbox.plan.candidates import Candidate, Day
    from drillbox.plan.table import TakeTable

UPKEEP_SHARE = 1.0
"""New cards are begun while the forecast upkeep is under this share of the day.

The forecast has every card below its goal played once in ten practice days. On the benchmark a
limit of three days costs 7 % of what is in hand, and a player who knows half of 400 cards then does
worse than by rotation; with no limit nothing is gained."""
MEETING_PLANNED = 3
"""Takes of a first meeting in one plan at most.

In a day it has as many as any card, and no more to fill empty minutes: what has failed four times
rests until tomorrow. On the benchmark six a day won nothing."""
READY_OCTAVES = 0.25
"""A card that another one builds on must have come this near to its goal (assumption)."""
NEW_OF_A_FAMILY = 2
"""Cards of a family begun in one plan.

None more today once one of them went worse than steady (Duke & Davis 2006).
"""
OFFERS_LOOKED_AT = 400
"""More offers than a day has room for."""
NOTHING = 0.0003
"""Card-days per second below which a take is not worth its time at all, not even to fill a day:
a card at its top tempo, or kept at its goal, that holds for months."""
ROUNDING_SECONDS = 1e-6
"""Held back so that a sum of lengths, however it rounds, stays inside the time there is."""
LEAST_PRICE = 0.02
"""The least price, in card-days a second, at which a card above its goal goes before new ones.

One card-day in all.
"""
_Offer: TypeAlias = tuple[float, int, str, int, int]
"""(-price per second, place in the deck, card, index, takes before).

What a heap sorts by, and deterministically.
"""


class WhyNot(StrEnum):
    """Why a card was not offered, or its offer not taken."""

    RESTED = "rested"
    PREREQUISITE = "prerequisite"
    LOOK_ALIKE = "look-alike"
    UPKEEP = "upkeep"
    MOST_NEW = "most new"
    PACE = "pace"
    ENOUGH = "enough"
    WORTHLESS = "worthless"
    NOTHING = "nothing"
    PRICE = "price"


@dataclass(slots=True)
class Choice:
    """What was chosen, and what the choice rested on.

    Parameters
    ----------
    takes
        Takes by index of the candidate.
    left_out
        Why a card that was looked at was left out.
    upkeep
        Forecast daily seconds of the cards begun, today's new ones included.
    limit
        What that may be before new cards wait.
    """

    takes: dict[int, int]
    left_out: dict[int, WhyNot]
    upkeep: float
    limit: float

    @property
    def admits(self) -> bool:
        """Whether there was room for new cards."""
        return self.upkeep < self.limit


def choose(candidates: Candidates, day: Day, table: TakeTable) -> Choice:
    """Return how many takes of which cards to play in the time that is left.

    The minutes are to be filled. Where time would stay empty, first the cards are let in whose
    prerequisites have come together or are begun today, then look-alikes, then what could well
    wait, then what was played enough today; only the limit on upkeep keeps new cards out for good.
    """
    selection = _Selection(candidates, day, table)
    everyone = range(len(candidates.cards))
    selection.serve(i for i in everyone if i not in selection.choice.left_out)
    for lifted in (WhyNot.PREREQUISITE, WhyNot.LOOK_ALIKE, WhyNot.WORTHLESS, WhyNot.ENOUGH):
        selection.lifted.add(lifted)
        while (again := selection.second_chances()) or selection.put_off_may_come():
            selection.serve(again)
    return selection.choice


class _Selection:
    """The choice while it is made: a queue of offers, the takes chosen, the seconds left."""

    def __init__(self, candidates: Candidates, day: Day, table: TakeTable) -> None:
        cards = candidates.cards
        self.lifted: set[WhyNot] = set()
        self.choice = Choice({}, _closed(candidates, day, table), float(table.upkeep.sum()), 0.0)
        self.choice.limit = UPKEEP_SHARE * 60.0 * day.minutes
        self._cards = cards
        self._by_id = candidates.by_id
        self._table = table
        self._seconds = table.seconds.tolist()
        self._left = day.left_seconds - ROUNDING_SECONDS
        shortest = np.diff(table.seconds[:, :2]).min(initial=inf)
        self._shortest = float(min(shortest, table.seconds.min(initial=inf)))
        self._today = day.day
        self._families = _families(candidates, day)
        self._put_off: list[_Offer] = []
        columns = candidates.columns
        taught = columns.takes > 0
        fresh = taught & (columns.takes == columns.played(day.day))
        begun = [cards[i] for i in np.flatnonzero(fresh).tolist()]
        unsettled = taught & (columns.rested == 0) & ((columns.apart > 0) | fresh)
        self._looks = {cards[i].look for i in np.flatnonzero(unsettled).tolist()}
        self._of_deck = Counter(deck for c in begun for deck in c.decks)
        # What turns out to be known is none of the day's new ones.
        met = sum(c.apart or not _near_goal(c) for c in begun)
        self._new_left = inf if day.most_new is None else day.most_new - met

    def serve(self, cards: Iterable[int]) -> None:
        """Take the offers of these cards, the dearest first, while they fit."""
        heap = _first_offers(self._cards, self._table, list(cards))
        if WhyNot.WORTHLESS in self.lifted:
            heap += self._put_off
            self._put_off = []
            heapify(heap)
        # Once no take of any card fits, the rest of the offers need not be looked at.
        while heap and self._left >= self._shortest:
            offer = heappop(heap)
            i, had = offer[3:]
            cost = self._cost(i, had + 1) - self._cost(i, had)
            if -offer[0] < NOTHING:
                if not had:
                    self.choice.left_out.setdefault(i, WhyNot.NOTHING)
                continue
            if cost > self._left or not (had or self._admit(i)):
                if not had:
                    self.choice.left_out.setdefault(i, WhyNot.PRICE)
                continue
            self.choice.takes[i] = had + 1
            self._left -= cost
            if had + 1 < self._most_takes(i):
                self._offer_again(heap, offer, had + 1)

    def _most_takes(self, i: int) -> int:
        """Return how many takes of a card the plan may have, beside those it had today."""
        candidate = self._cards[i]
        left = MOST_TAKES - candidate.played(self._today)
        if candidate.belief.apart:
            return min(left, MEETING_PLANNED)
        return MOST_TAKES if WhyNot.ENOUGH in self.lifted else left

    def _offer_again(self, heap: list[_Offer], offer: _Offer, had: int) -> None:
        """Offer a further take of the visit.

        Above the goal, one that brings hardly anything is put off.
        """
        price = float(self._table.price[offer[3], had])
        further = (-price, *offer[1:4], had)
        if self._table.above[offer[3]] and price <= LEAST_PRICE:
            self._put_off.append(further)
        else:
            heappush(heap, further)

    def second_chances(self) -> list[int]:
        """Return the cards that may come in after all while there is time, left out no more."""
        if self._left < self._table.seconds.min(initial=inf):
            return []
        lifted = [i for i, bar in self.choice.left_out.items() if self._lifts(i, bar)]
        for i in lifted:
            del self.choice.left_out[i]
        return lifted

    def put_off_may_come(self) -> bool:
        """Whether takes that were put off are to be offered now."""
        return WhyNot.WORTHLESS in self.lifted and bool(self._put_off)

    def _lifts(self, i: int, bar: WhyNot) -> bool:
        if bar not in self.lifted:
            return False
        if bar is WhyNot.ENOUGH:
            return not self._cards[i].apart
        if bar is not WhyNot.PREREQUISITE:
            return True
        today = {self._cards[taken].card_id for taken in self.choice.takes}
        before = waiting_for(self._cards[i], self._by_id)
        return all(
            not c.apart or c.fresh(self._today) if c.taught else c.card_id in today for c in before
        )

    def _cost(self, i: int, takes: int) -> float:
        return self._seconds[i][takes - 1] if takes else 0.0

    def _admit(self, i: int) -> bool:
        """Let a card in unless it is new and the day has no room for it.

        Note what it brings along.
        """
        candidate, choice = self._cards[i], self.choice
        if candidate.taught:
            return True
        begun = max((self._of_deck[deck] for deck in candidate.decks), default=0)
        if self._new_left < 1:
            choice.left_out[i] = WhyNot.MOST_NEW
            return False
        if candidate.pace is not None and begun >= candidate.pace:
            choice.left_out[i] = WhyNot.PACE
            return False
        full = bool(candidate.family) and self._families[candidate.family] >= NEW_OF_A_FAMILY
        alike = bool(candidate.look) and candidate.look in self._looks
        if (full or alike) and WhyNot.LOOK_ALIKE not in self.lifted:
            choice.left_out[i] = WhyNot.LOOK_ALIKE
            return False
        upkeep = choice.upkeep + float(self._table.first_upkeep[i])
        if upkeep > choice.limit:
            choice.left_out[i] = WhyNot.UPKEEP
            return False
        choice.upkeep = upkeep
        self._families[candidate.family] += 1
        self._looks.add(candidate.look)
        self._of_deck.update(candidate.decks)
        self._new_left -= 1
        return True


def ready(candidate: Candidate, by_id: dict[str, Candidate]) -> bool:
    """Whether all the cards that a new card builds on have come near enough to their goals."""
    return not waiting_for(candidate, by_id)


def waiting_for(candidate: Candidate, by_id: dict[str, Candidate]) -> list[Candidate]:
    """Return the cards that a new card still waits for.

    One set aside or unknown holds up nothing.
    """
    if candidate.taught:
        return []
    before = (by_id[card_id] for card_id in candidate.after if card_id in by_id)
    return [c for c in before if not c.rested and not _near_goal(c)]


def _near_goal(candidate: Candidate) -> bool:
    near = candidate.belief.mu >= octaves(candidate.goal_bpm) - READY_OCTAVES
    return candidate.taught and near


def _closed(candidates: Candidates, day: Day, table: TakeTable) -> dict[int, WhyNot]:
    """Return the cards that cannot be offered at all."""
    columns = candidates.columns
    rested = columns.rested > 0
    worthless = table.above & (table.price[:, 0] <= LEAST_PRICE)
    enough = columns.played(day.day) >= MOST_TAKES
    waiting = (columns.takes == 0) & (columns.builds > 0)
    left_out: dict[int, WhyNot] = {}
    for i in np.flatnonzero(rested | waiting | enough | worthless).tolist():
        if rested[i]:
            left_out[i] = WhyNot.RESTED
        elif waiting[i] and not ready(candidates.cards[i], candidates.by_id):
            left_out[i] = WhyNot.PREREQUISITE
        elif enough[i]:
            left_out[i] = WhyNot.ENOUGH
        elif worthless[i]:
            left_out[i] = WhyNot.WORTHLESS
    return left_out


def _first_offers(
    candidates: Sequence[Candidate], table: TakeTable, cards: Sequence[int]
) -> list[_Offer]:
    """Return a heap of the cards' next takes.

    (-price per second, order, id, index, takes before).
    """
    looked_at = np.array(cards, dtype=np.int64)
    price = table.price[looked_at, 0]
    if len(price) > OFFERS_LOOKED_AT:
        kept = np.argsort(-price, kind="stable")[:OFFERS_LOOKED_AT]
        looked_at, price = looked_at[kept], price[kept]
    heap = [
        (-value, candidates[i].order, candidates[i].card_id, i, 0)
        for i, value in zip(looked_at.tolist(), price.tolist(), strict=True)
    ]
    heapify(heap)
    return heap


def _families(candidates: Candidates, day: Day) -> Counter[str]:
    """Count as full the families of which a card that is new today went worse than steady."""
    badly = {done.card_id for done in day.done if done.grade < Grade.STEADY}
    full: Counter[str] = Counter()
    for c in (candidates.by_id[card_id] for card_id in badly if card_id in candidates.by_id):
        if c.fresh(day.day):
            full[c.family] = NEW_OF_A_FAMILY
    return full
