"""Beliefs kept in step with the take log: computed from it, cached in the box, replayed where it moved.

Invariant: after `Beliefs.refresh`, what `of` returns is what replaying that card's takes in order of time would give,
whoever wrote them.
"""

from __future__ import annotations

from contextlib import suppress
from math import isnan, nan
from typing import TYPE_CHECKING

from drillbox.errors import NotSavedError
from drillbox.memory import MODEL_VERSION, Belief, Evidence, Grade, prior, update
from drillbox.moments import epoch_days, in_zone, practice_day
from drillbox.store import BeliefRow, TakeRow

if TYPE_CHECKING:
    from collections.abc import Iterable

    from drillbox.memory import Parameters
    from drillbox.store import Archive


def evidence(take: TakeRow) -> Evidence:
    """Return what the memory learns from a take: its moment, its local practice day, its tempo and grade."""
    local = in_zone(take.at, take.zone)
    return Evidence(epoch_days(take.at), practice_day(local), take.bpm, Grade(take.grade))


class Beliefs:
    """What is believed of every card that was ever played."""

    def __init__(self, archive: Archive, parameters: Parameters) -> None:
        self._archive = archive
        self._parameters = parameters
        cached = archive.beliefs(MODEL_VERSION)
        self._mark = cached.mark
        self._by_card = {card_id: _belief(row) for card_id, row in cached.rows.items()}

    def of(self, card_id: str) -> Belief:
        """Return the belief about a card; of one never played, the prior."""
        return self._by_card.get(card_id) or prior(self._parameters)

    def refresh(self) -> None:
        """Replay the cards whose history changed since the last look."""
        mark = self._archive.mark()
        if mark == self._mark:
            return
        changed = self._archive.changed_cards(after=self._mark)
        histories: dict[str, list[TakeRow]] = {card_id: [] for card_id in changed}
        for take in self._takes_of(changed):
            histories[take.card_id].append(take)
        replayed = {card_id: self._replay(takes) for card_id, takes in histories.items()}
        self._by_card.update(replayed)
        since, self._mark = self._mark, mark
        # The cache only saves time: a disk that refuses it must not keep anyone from practising.
        with suppress(NotSavedError):
            rows = [_row(card_id, belief) for card_id, belief in replayed.items()]
            self._archive.put_beliefs(rows, version=MODEL_VERSION, since=since, mark=mark)

    def record(self, take: TakeRow) -> None:
        """Append a take to the log, and what follows from it to the cache, in one durable step.

        Raises
        ------
        NotSavedError
            If the disk refused; nothing changed then.
        """
        self.refresh()
        before, seen = self.of(take.card_id), evidence(take)
        in_order = before.at is None or seen.at >= before.at
        if not in_order:
            self._archive.add_take(take)
            self.refresh()
            return
        after = update(before, seen, self._parameters)
        rows = [_row(take.card_id, after)]
        mark = self._archive.record(take, rows, version=MODEL_VERSION, mark=self._mark)
        if mark == self._mark + 1:
            self._by_card[take.card_id], self._mark = after, mark
        else:
            self.refresh()

    def _takes_of(self, cards: frozenset[str]) -> Iterable[TakeRow]:
        if len(cards) == 1:
            return self._archive.takes(card_id=next(iter(cards)))
        return (take for take in self._archive.takes() if take.card_id in cards)

    def _replay(self, takes: Iterable[TakeRow]) -> Belief:
        belief = prior(self._parameters)
        for take in takes:
            belief = update(belief, evidence(take), self._parameters)
        return belief


def _row(card_id: str, belief: Belief) -> BeliefRow:
    numbers = belief.to_row()
    return BeliefRow(card_id, tuple(nan if number is None else float(number) for number in numbers))


def _belief(row: BeliefRow) -> Belief:
    *state, at, day, takes_that_day, takes = row.body
    return Belief.from_row(
        (
            *state,
            None if isnan(at) else at,
            None if isnan(day) else int(day),
            int(takes_that_day),
            int(takes),
        )
    )
