"""Which card comes up next at the stand, so that the day brings what its plan promised.

The plan is made anew after every take, and to go on with the card just played looks good each time.
Taken alone that would keep a drummer at the first card that climbs. So at most a few takes of a
card are played in a row (in blocks one plays better today and keeps less: Shea & Morgan, *Journal
of Experimental Psychology: Human Learning and Memory* 5:179, 1979; how many is a judgement), and a
card that was promised comes before one that was not, and before time runs out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.plan.takes import CHANGE_SECONDS

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from drillbox.box.views import CardView
    from drillbox.plan import Item

MOST_IN_A_ROW = 3
"""Takes of one card before another comes between, where there is another."""


@dataclass(frozen=True, slots=True)
class Visit:
    """A card of the plan with all that the stand shows of it, so that no frame asks the box.

    `played` takes of the card are in today's log already, `takes` is how many it is to have today,
    those and the ones of later visits included.
    """

    item: Item
    card: CardView
    played: int
    takes: int


class DayOrder:
    """The cards of a day: what was played, in order, and what the plan promised.

    Parameters
    ----------
    played
        The card of each take that was played before, in order.

    Attributes
    ----------
    promised
        The first visit to each card of the day's first plan.
    """

    def __init__(self, played: Iterable[str]) -> None:
        self.promised: dict[str, Visit] = {}
        self._row = list(played)

    @property
    def last(self) -> str:
        """The card of the last take; empty before the first."""
        return self._row[-1] if self._row else ""

    @property
    def last_has_enough(self) -> bool:
        """Whether the card of the last take was played often enough in a row for now.

        A card that has the day to itself never has.
        """
        tail = self._row[-MOST_IN_A_ROW:]
        return len(tail) == MOST_IN_A_ROW and len({*tail}) == 1 and {*tail} != {*self.promised}

    def promise(self, plan: Iterable[Visit]) -> None:
        """Note the day's cards, unless they are noted already."""
        if not self.promised:
            for visit in plan:
                self.promised.setdefault(visit.card.card_id, visit)

    def keep_only(self, card_ids: Collection[str]) -> None:
        """Forget what was promised of all other cards."""
        self.promised = {one: visit for one, visit in self.promised.items() if one in card_ids}

    def played(self, card_id: str) -> None:
        """Note a take."""
        self._row.append(card_id)

    def takes_of(self, card_id: str) -> int:
        """Return how many takes of a card there were today."""
        return self._row.count(card_id)

    def took_back(self) -> None:
        """Forget the last take."""
        del self._row[-1:]

    def owed_seconds(self, without: Collection[str]) -> float:
        """Return how long one take each of the cards lasts that were promised and not yet met."""
        return sum(_once(visit) for visit in self._owed(without))

    def following(
        self, coming: Sequence[Visit], *, without: Collection[str], seconds_left: float
    ) -> Visit | None:
        """Return the visit to go on with: the plan's next one, or one that was promised.

        Parameters
        ----------
        coming
            What is planned, in order.
        without
            Cards that are not to come now.
        seconds_left
            What is left of the day.
        """
        off = {*without, self.last} if self.last_has_enough else {*without}
        fits = (v for v in coming if v.item.seconds <= seconds_left)
        planned = next((v for v in fits if v.card.card_id not in off), None)
        owed = [visit for visit in self._owed(off) if _once(visit) <= seconds_left]
        if planned is None or not owed:
            return planned or next(iter(owed), None)
        if planned.card.card_id in {visit.card.card_id for visit in owed}:
            return planned
        stranger = planned.card.card_id not in {*self.promised, *self._row}
        tight = planned.item.seconds + sum(map(_once, owed)) > seconds_left
        return _as_planned(owed[0], coming) if stranger or tight else planned

    def _owed(self, without: Collection[str]) -> list[Visit]:
        met = {*self._row, *without}
        return [visit for one, visit in self.promised.items() if one not in met]


def _once(visit: Visit) -> float:
    """Return how long one take of a card lasts at most, with the change to it."""
    return visit.item.seconds / visit.item.takes + CHANGE_SECONDS


def _as_planned(visit: Visit, coming: Sequence[Visit]) -> Visit:
    """Return the visit as the newest plan has it, where it is in it."""
    return next((v for v in coming if v.card.card_id == visit.card.card_id), visit)
