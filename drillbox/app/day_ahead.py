"""What the day still brings: the plan for the minutes that are left, and what comes up next.

The box is asked after each take, and may refuse: then what was planned before goes on from memory.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from drillbox.app.day_order import DayOrder, Visit
from drillbox.box.practice import by_card
from drillbox.errors import BoxError, UnknownCardError

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable
    from datetime import datetime

    from drillbox.app.stand_time import StandTime
    from drillbox.app.unsaved import Unsaved
    from drillbox.base.clock import Clock
    from drillbox.box import Box
    from drillbox.plan import Item


class DayAhead:
    """The visits that are to come.

    Parameters
    ----------
    box, clock
        What is played from, and the time.
    minutes
        Length of the day's practice.
    time
        How much of it is left.
    unsaved
        Takes that the box does not know of yet.
    played
        The card of each take that was played before, in order.
    tempo_check
        Begin with a tempo check, the most telling cards and each on up while it is easy; then the
        day's plan.

    Attributes
    ----------
    order
        What was played, and what the day's first plan promised.
    coming
        What is planned, in order; the visit on the stand left out.
    checking
        Whether the tempo check goes on.
    skipped
        Cards left for today.
    """

    def __init__(
        self,
        box: Box,
        clock: Clock,
        *,
        minutes: int,
        time: StandTime,
        unsaved: Unsaved,
        played: Iterable[str],
        tempo_check: bool,
    ) -> None:
        self._box = box
        self._clock = clock
        self._minutes = minutes
        self._time = time
        self._unsaved = unsaved
        self.order = DayOrder(played)
        self.checking = tempo_check
        self.skipped: frozenset[str] = frozenset()
        self.coming: tuple[Visit, ...] = self._planned()
        self._promise()

    def first(self, card_id: str) -> Visit | None:
        """Return a visit to a card that the player chose to begin with; None for no card."""
        planned = next((v for v in self.coming if v.card.card_id == card_id), None)
        if planned is None and card_id:
            item = self._box.chosen(card_id, at=self._clock.now())
            return self._visit(item, self._played_today(), item.takes)
        return planned

    def again(self, card_id: str, bpm: int) -> Visit | None:
        """Return a visit in which a card is asked for at a tempo; None where it is not there."""
        try:
            item = self._box.item_for(card_id, bpm=bpm)
            return self._visit(item, self._played_today(), item.takes)
        except (BoxError, UnknownCardError):
            return None

    def look(self) -> None:
        """Plan what is left; where the box refuses, what was planned before still stands."""
        try:
            self.coming = self._planned()
            self._promise()
            self.order.keep_only(self._box.entries())
        except (BoxError, UnknownCardError):
            self.coming = tuple(v for v in self.coming if v.card.card_id not in self.skipped)

    def put_up(self, visit: Visit) -> None:
        """Take note that a visit is on the stand, and no longer to come."""
        self.coming = tuple(v for v in self.coming if v is not visit)

    def has_left(self, card_id: str) -> bool:
        """Return whether a card is in no deck any more; False if nobody can say."""
        try:
            return card_id not in self._box.entries()
        except BoxError:
            return False

    def following(self, on_the_stand: Visit | None) -> Visit | None:
        """Return the visit to another card that would be next if the one on the stand were over."""
        if self.checking:
            return self._first_that_fits(self.coming)
        shown = {on_the_stand.card.card_id} if on_the_stand else set()
        return self.order.following(
            self.coming, without=self.skipped | shown, seconds_left=self._time.left
        )

    def next(self, on_the_stand: Visit | None) -> Visit | None:
        """Return the visit to put up now; None where the day is over."""
        following = self.following(on_the_stand)
        while following is not None and following not in self.coming:
            if renewed := self._renewed(following):
                return renewed
            del self.order.promised[following.card.card_id]
            following = self.following(on_the_stand)
        return following or self._goes_on_alone()

    def _planned(self) -> tuple[Visit, ...]:
        played, items = self._played_today(), self._items(self._clock.now())
        wanted = {one.card_id: one.takes for one in by_card(items)}
        return tuple(self._visit(item, played, wanted[item.card_id]) for item in items)

    def _played_today(self) -> Counter[str]:
        return Counter(take.card_id for take in self._box.day(self._clock.now()).takes)

    def _visit(self, item: Item, played: Counter[str], wanted: int) -> Visit:
        card, before = self._box.card(item.card_id, at=self._clock.now()), played[item.card_id]
        return Visit(item, card, before, before + wanted)

    def _promise(self) -> None:
        """Hold the day to its first plan; a tempo check promises nothing."""
        if not self.checking:
            self.order.promise(self.coming)

    def _items(self, at: datetime, *, without: Collection[str] = ()) -> tuple[Item, ...]:
        elapsed = self._time.unbilled + self._unsaved.seconds
        without = self._not_wanted().union(without)
        if self.checking:
            plan = self._box.tempo_check(at, self._minutes, elapsed=elapsed, without=without)
            self.checking = bool(plan.items)
            if plan.items:
                return plan.items
        return self._box.plan(at, self._minutes, elapsed=elapsed, without=without).items

    def _not_wanted(self) -> frozenset[str]:
        return self.skipped | {take.card_id for take in self._unsaved.takes}

    def _renewed(self, promised: Visit) -> Visit | None:
        """Return a promised visit that later plans left out: a new card at the tempo of now.

        None where it is not to be played any more.
        """
        try:
            others = set(self._box.entries()) - {promised.card.card_id}
            items = self._items(self._clock.now(), without=others)
        except (BoxError, UnknownCardError):
            return promised
        if not items:
            return None
        return replace(promised, item=items[0]) if not promised.card.takes else promised

    def _goes_on_alone(self) -> Visit | None:
        """Return a further visit to the card of the last take, where the plan has no other.

        After many in a row whatever else may come instead, and else nothing.
        """
        if not self.order.last_has_enough:
            return self._first_that_fits(self.coming)
        try:
            others = self._items(self._clock.now(), without={self.order.last})
        except (BoxError, UnknownCardError):
            return None
        played = self._played_today()
        return self._first_that_fits(self._visit(item, played, item.takes) for item in others)

    def _first_that_fits(self, visits: Iterable[Visit]) -> Visit | None:
        return next((v for v in visits if v.item.seconds <= self._time.left), None)
