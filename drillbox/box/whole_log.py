"""The history of a whole log at once, in columns: `drillbox.box.history` for many takes.

Card by card the same beliefs and the same rows of days, to the last few bits; a test holds the two
together. Cards that inherit wait for those they inherit from, so the log is replayed in as many
rounds as the longest line of ancestors has links, in all but odd boxes one or two.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from drillbox.base.many_moments import DAY, microseconds_of, practice_days
from drillbox.base.now import zone_named
from drillbox.box.days_played import DayColumns
from drillbox.box.history import first_belief
from drillbox.box.lineage import inherited, lineage
from drillbox.memory.replay import Trace, replay_with_trace
from drillbox.memory.replay_columns import Takes

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from drillbox.box.history import Premises
    from drillbox.box.lineage import Link
    from drillbox.memory import Belief
    from drillbox.store.take_columns import TakeColumns

    Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class WholeHistory:
    """What follows from a whole log.

    Parameters
    ----------
    beliefs
        What is believed of each card, after its last take.
    days
        Each card's packed rows (`drillbox.box.days_played`).
    """

    beliefs: dict[str, Belief]
    days: dict[str, bytes]


def replay_all(log: TakeColumns, premises: Premises) -> WholeHistory:
    """Return what follows from a log."""
    replay = _WholeReplay(log, premises)
    return WholeHistory(replay.beliefs(), replay.days())


def latest(
    log: TakeColumns, premises: Premises, *, most: int, before: Mapping[str, Belief] | None = None
) -> tuple[list[Belief], Takes]:
    """Return the last takes of a log, and what was believed of their cards before them.

    Parameters
    ----------
    log, premises
        The log, and what it is read by.
    most
        How many takes at most.
    before
        What was believed of cards before the log, where it is the end of a longer one.
    """
    replay = _WholeReplay(log, premises, before)
    replay.beliefs()
    return replay.latest(most)


class _WholeReplay:
    def __init__(
        self,
        log: TakeColumns,
        premises: Premises,
        before: Mapping[str, Belief] | None = None,
    ) -> None:
        self._log = log
        self._known = before or {}
        self._premises = premises
        self._index = {card_id: index for index, card_id in enumerate(log.cards)}
        order = np.argsort(log.card, kind="stable")
        ends = np.cumsum(np.bincount(log.card, minlength=len(log.cards)))
        self._takes_of = np.split(order, ends[:-1]) if len(log.cards) else []
        self._links = {
            card: link for card, link in premises.links.items() if self._counts(card, link)
        }
        self._takes = Takes.of(
            log.card,
            log.at / DAY,
            self._days(),
            log.bpm,
            log.grade,
            log.level,
            log.level_after,
            log.measured,
        )
        self._trace = Trace.empty(len(log.card))
        self._starts: dict[str, Belief] = {}
        rounds: dict[int, list[str]] = {}
        for card_id in dict.fromkeys((*log.cards, *self._links)):
            rounds.setdefault(len(self._line(card_id)), []).append(card_id)
        self._rounds = [cards for _, cards in sorted(rounds.items())]

    def beliefs(self) -> dict[str, Belief]:
        """Replay the rounds; return what is believed of each card after its last take."""
        found: dict[str, Belief] = {}
        for cards in self._rounds:
            found |= self._round(cards)
        return {card_id: belief for card_id, belief in found.items() if belief.takes}

    def latest(self, most: int) -> tuple[list[Belief], Takes]:
        """Return the last takes, and what was believed of their cards before them."""
        first = max(0, len(self._log.at) - most)
        which = np.arange(first, len(self._log.at))
        cards, place = np.unique(self._log.card[which], return_inverse=True)
        starts = []
        for index in cards.tolist():
            before = self._takes_of[index][self._takes_of[index] < first]
            played = len(before) > 0
            card_id = self._log.cards[index]
            starts.append(self._trace.belief(int(before[-1])) if played else self._starts[card_id])
        takes = self._takes.rows(which)
        return starts, replace(takes, card=place)

    def _days(self) -> Whole:
        days = np.empty(len(self._log.at), np.int64)
        for index, zone in enumerate(self._log.zones):
            there = self._log.zone == index
            ends = self._premises.day_ends_at
            days[there] = practice_days(self._log.at[there], zone_named(zone), ends)
        return days

    def _own(self, card_id: str) -> Whole:
        """Return the places of a card's takes in the log, in order of time."""
        index = self._index.get(card_id)
        return np.empty(0, np.int64) if index is None else self._takes_of[index]

    def _counts(self, card_id: str, link: Link) -> bool:
        """Whether a card inherits: it does unless it was played before the link was made."""
        return not len(self._until(card_id, link))

    def _until(self, card_id: str, link: Link) -> Whole:
        own = self._own(card_id)
        moment = microseconds_of(link.at)
        return own[: int(np.searchsorted(self._log.at[own], moment, "right"))]

    def _line(self, card_id: str) -> tuple[Link, ...]:
        return lineage(card_id, self._links)

    def _start(self, card_id: str) -> Belief:
        """Return what was believed of a card before its first take."""
        if card_id in self._known:
            return self._known[card_id]
        parameters = self._premises.parameters
        for link in self._line(card_id)[:1]:
            before = self._until(link.ancestor, link)
            if len(before):
                return inherited(self._trace.belief(int(before[-1])), parameters)
            if len(self._line(card_id)) > 1 and self._starts[link.ancestor].takes:
                return inherited(self._starts[link.ancestor], parameters)
        index = self._index.get(card_id, -1)
        return first_belief(self._log.first_measures.get(index), parameters)

    def _round(self, cards: list[str]) -> dict[str, Belief]:
        """Replay cards whose ancestors were replayed."""
        starts = [self._start(card_id) for card_id in cards]
        self._starts.update(zip(cards, starts, strict=True))
        own = [self._own(card_id) for card_id in cards]
        which = np.concatenate([*own, np.empty(0, np.int64)])
        takes = self._takes.rows(which)
        place = np.repeat(np.arange(len(cards)), [len(one) for one in own])
        numbered = replace(takes, card=place)
        after, trace = replay_with_trace(starts, numbered, self._premises.parameters)
        self._trace.take_over(which, trace)
        return dict(zip(cards, after, strict=True))

    def days(self) -> dict[str, bytes]:
        """Return each card's packed rows, after `beliefs`."""
        own = self._summed(np.concatenate([*self._takes_of, np.empty(0, np.int64)]))
        found = dict(zip(self._log.cards, own, strict=True))
        for cards in self._rounds:
            for card_id in cards:
                before = b"".join(
                    rows
                    for link in reversed(self._line(card_id))
                    for rows in self._summed(self._until(link.ancestor, link), own=0.0)
                )
                if before:
                    found[card_id] = before + found.get(card_id, b"")
        return found

    def _summed(self, which: Whole, *, own: float = 1.0) -> list[bytes]:
        """Return the packed rows of takes that lie card by card in order of time, a text a card."""
        if not len(which):
            return []
        takes, trace = self._takes.rows(which), self._trace
        new = np.ones(len(which), np.bool_)
        new[1:] = (takes.card[1:] != takes.card[:-1]) | (takes.day[1:] != takes.day[:-1])
        first = np.flatnonzero(new)
        last = np.append(first[1:], len(which)) - 1
        cold, known = trace.cold[which[first]], trace.known[which[first]]
        columns = DayColumns(
            day=takes.day[first],
            own=np.full(len(first), own),
            takes=last - first + 1,
            seconds=np.add.reduceat(self._log.seconds[which], first),
            at=takes.at[last],
            mu=trace.after.mu[which[last]],
            ln_s=trace.after.ln_s[which[last]],
            apart=trace.after.apart[which[last]],
            cold_bpm=np.where(cold, takes.bpm[first], np.nan),
            cold_grade=np.where(cold, takes.grade[first], np.nan),
            told=np.where(cold & known, trace.told[which[first]], np.nan),
        )
        rows = np.column_stack([column.astype("<f8") for column in columns])
        cuts = np.flatnonzero(np.diff(takes.card[first])) + 1
        return [part.tobytes() for part in np.split(rows, cuts)]
