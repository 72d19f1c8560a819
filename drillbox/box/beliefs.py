"""Beliefs, and each card's days, kept in step with the take log.

Views of the one history (`drillbox.box.history`), cached in the box, replayed where the log moved.

Invariant: after `Beliefs.refresh`, what `of` and `days` return is what a replay of the whole log
gives, whoever wrote it. A take dated more than a day later than now waits until then, as if it were
not there: a clock was wrong when it was played, or is wrong now.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import fields, replace
from datetime import timedelta
from math import isfinite, isinf, isnan, nan
from typing import TYPE_CHECKING

from drillbox.box import days_played
from drillbox.box.history import (
    Premises,
    Replay,
    Step,
    at_level_of,
    evidence,
    first_belief,
    line_of,
)
from drillbox.box.lineage import with_descendants
from drillbox.errors import NotSavedError
from drillbox.memory import Belief, Grade, prior, update
from drillbox.memory.belief import lifted
from drillbox.memory.level import with_level
from drillbox.store import LEVEL, LEVEL_AFTER, BeliefRow, Standing, TakeRow
from drillbox.store.takelog import LAST_SEQ

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from drillbox.memory import Parameters
    from drillbox.store import Archive, BeliefCache
    from drillbox.store.take_columns import TakeColumns, WholeLog

WAITS_AFTER = timedelta(days=1)
"""A take dated so much later than now waits; less may be a clock in another zone."""
_MOST = 50.0
"""No octave, no logarithm of days and no variance of them comes near it."""
MOST_ONE_BY_ONE = 12
"""More cards than this are replayed in columns, with all others."""


class Beliefs:
    """What is believed of every card that was ever played, by the player's own numbers.

    Parameters
    ----------
    archive
        The box file.
    now
        The moment; `tell_time` moves it on.

    Attributes
    ----------
    changes
        How often anything that is believed was read anew, for those who keep what they made of it.
    """

    def __init__(self, archive: Archive, *, now: datetime) -> None:
        self._archive = archive
        self._until = now + WAITS_AFTER
        self.changes = 0
        self._begin(Premises.found_in(archive.settings()))

    def _begin(self, premises: Premises) -> None:
        """Take up the cache of these premises, or begin again."""
        self.premises = premises
        self.changes += 1
        self._by_card: dict[str, Belief] = {}
        self._days: dict[str, bytes] = {}
        self._level: float | None = None
        self._found_broken = False
        cached = self._archive.beliefs(premises.version)
        beliefs = None if cached is None else _beliefs(cached)
        if cached is None or beliefs is None:
            self._standing: Standing | None = None
            self._found_broken = cached is not None
        else:
            self._standing, self._by_card = cached.standing, beliefs

    @property
    def parameters(self) -> Parameters:
        """The player's numbers, as of the last `refresh`."""
        return self.premises.parameters

    @property
    def day_ends_at(self) -> int:
        """The hour at which a practice day ends, as of the last `refresh`."""
        return self.premises.day_ends_at

    @property
    def unusable(self) -> int:
        """How many entries of the log are passed over, as of the last `refresh`."""
        return self._standing.unusable if self._standing else 0

    @property
    def until(self) -> datetime:
        """Takes dated later than this wait."""
        return self._until

    def tell_time(self, now: datetime) -> None:
        """Say how late it is; it never gets earlier."""
        self._until = max(self._until, now + WAITS_AFTER)

    def of(self, card_id: str) -> Belief:
        """Return the belief about a card as the player stands now; of one never played, the prior.

        What the player's level has moved since the card's last take is added to it.
        """
        return lifted(self._after_last(card_id), self.level)

    @property
    def level(self) -> float:
        """The player's level after the last take of any card (`drillbox.memory.level`)."""
        if self._level is None:
            known = (b for b in self._by_card.values() if b.at is not None)
            latest = max(known, key=lambda b: (b.at, b.level), default=None)
            self._level = 0.0 if latest is None else latest.level
        return self._level

    def _after_last(self, card_id: str) -> Belief:
        return self._by_card.get(card_id) or prior(self.parameters)

    def guessed(self, *, bpm: float, sd: float) -> Belief:
        """Return the belief about a card never played of which a first tempo is expected."""
        return prior(self.parameters, bpm=bpm, sd=sd)

    def best_cold(self, card_id: str) -> float | None:
        """Return the fastest cold take of a card that was at least steady, in bpm."""
        self.refresh()
        rows = days_played.unpacked(self._days_of(card_id))
        held = [row.cold_bpm for row in rows if row.own and row.cold_grade >= Grade.STEADY]
        return max(held, default=None)

    def first_day_at(self, card_id: str, bpm: float, *, since: int) -> int | None:
        """Return the first practice day, from one on, after which a card stood at a tempo.

        As was believed then; None if there was none, and of one that has not come together yet.
        """
        self.refresh()
        rows = days_played.unpacked(self._days_of(card_id))
        stood = (row for row in rows if not row.apart and 2.0**row.mu >= bpm)
        return next((int(row.day) for row in stood if row.day >= since), None)

    def days(self) -> dict[str, bytes]:
        """Return every card's history by days, packed (`drillbox.box.days_played`)."""
        self.refresh()
        stored = {c: body for c, body in self._archive.courses().items() if c in self._by_card}
        self._count_again(self._by_card.keys() - self._days.keys(), stored)
        return stored | self._days

    def refresh(self) -> None:
        """Replay the cards whose history changed since the last look."""
        premises = Premises.found_in(self._archive.settings())
        if premises != self.premises:
            self._begin(premises)
        since, mark = self._standing, self._archive.mark()
        changed = frozenset[str]()
        if since is not None:
            if mark == since.mark and self._until == since.until:
                return
            changed = self._changed(since)
            if mark == since.mark and not changed:
                # In memory only: what is stored holds for this moment as well.
                self._standing = replace(since, until=self._until)
                return
        if since is None and not mark:
            self._take_over([], Standing(premises.version, mark, self._until))
            return
        now = Standing(premises.version, mark, self._until, self._count_unusable(since))
        rows = self._replayed(changed, everything=since is None)
        self._take_over(rows, now)
        # The cache only saves time: a disk that refuses it must not keep anyone from practising.
        with suppress(NotSavedError):
            self._archive.put_beliefs(rows, since=since, now=now)

    def record(self, take: TakeRow) -> Step | None:
        """Append a take to the log, and what follows from it to the cache, in one durable step.

        Returns
        -------
        Step
            What was believed before and after; None of a take that waits.

        Raises
        ------
        NotSavedError
            If the disk refused; nothing changed then.
        """
        self.refresh()
        take = self._with_level(take)
        since, step = self._standing, self._next_step(take)
        if since is None or step is None or since.mark >= LAST_SEQ:
            self._archive.add_take(take)  # which knows why no entry can follow the last number
            return self._step_of(take)
        now = replace(since, mark=since.mark + 1, until=self._until)
        body = days_played.with_step(self._days_of(take.card_id), step, self.parameters)
        row = _row(take.card_id, step.after, body)
        if self._archive.record(take, [row], since=since, now=now) != now.mark:
            return self._step_of(take)
        self._take_over([row], now)
        return step

    def _step_of(self, take: TakeRow) -> Step | None:
        found = (step for step in self.course(take.card_id) if step.take.id == take.id)
        return next(found, None)

    def course(self, card_id: str) -> list[Step]:
        """Return a card's history, that of the rhythms whose place it took first."""
        self.refresh()
        line = line_of(card_id, self.premises, self._takes_of)
        return list(Replay(self.premises).steps(line))

    def whole_log(self) -> WholeLog:
        """Return all takes that count by now, as columns, and the entries that make no sense."""
        self.refresh()
        return self._archive.whole_log(until=self._until)

    def wrong(self, log: WholeLog) -> frozenset[str]:
        """Return the cards of which something else is believed than a replay of the log says.

        The log is as `whole_log` has just read it.
        """
        from drillbox.box.agreement import differing  # noqa: PLC0415 - numpy, for a checkup only

        days = self._archive.courses() | self._days
        replayed = {row.card_id: row for row in self._replayed_from(log.takes, None)}
        if self._found_broken:
            return frozenset(replayed)
        cards = replayed.keys() | self._by_card.keys()
        unsound = cards & days_played.unsound(days)
        nothing = prior(self.parameters)
        kept = [_row(c, self._after_last(c), days.get(c, b"")) for c in cards - unsound]
        anew = [replayed.get(row.card_id) or _row(row.card_id, nothing, b"") for row in kept]
        return differing(kept, anew) | unsound

    def forget(self) -> None:
        """Throw the cache away and compute it again."""
        self._archive.drop_beliefs()
        self._begin(self.premises)
        self.refresh()

    def _next_step(self, take: TakeRow) -> Step | None:
        """Return the step of a new take, or None where it is not the last of its history."""
        before, seen = self._after_last(take.card_id), evidence(take, self.day_ends_at)
        if not before.takes:
            before = first_belief(take.measures, self.parameters)
        before = at_level_of(seen, before)
        in_order = before.at is None or seen.at >= before.at
        in_order &= all(link.at < take.at for link in self.premises.links.values())
        if not in_order or take.at > self._until:
            return None
        return Step(take, seen, before, update(before, seen, self.parameters))

    def _with_level(self, take: TakeRow) -> TakeRow:
        """Write down with a take where the player's level stood before and after it.

        Of a take that is entered late nobody knows any more.
        """
        seen = evidence(take, self.day_ends_at)
        if any(b.at is not None and b.at > seen.at for b in self._by_card.values()):
            return take
        told = with_level(self._after_last(take.card_id), seen, self.level, self.parameters)
        levels = {LEVEL: told.level, LEVEL_AFTER: told.level_after}
        return replace(take, measures={**(take.measures or {}), **levels})

    def _days_of(self, card_id: str) -> bytes:
        if card_id not in self._days:
            stored = self._archive.courses(card_id) if card_id in self._by_card else {}
            self._count_again({card_id} & self._by_card.keys(), stored)
            self._days.setdefault(card_id, stored.get(card_id, b""))
        return self._days[card_id]

    def _count_again(self, cards: Iterable[str], stored: Mapping[str, bytes]) -> None:
        """Replay those of some cards whose stored days are missing or make no sense."""
        bodies = {card_id: stored.get(card_id, b"") for card_id in cards}
        unsound = days_played.unsound(bodies)
        wrong = {
            card_id
            for card_id in bodies
            if card_id in unsound or bool(stored.get(card_id)) != bool(self._by_card[card_id].takes)
        }
        standing = self._standing
        if not wrong or standing is None:
            return
        rows = self._replayed(frozenset(wrong), everything=False)
        self._take_over(rows, standing)
        with suppress(NotSavedError):
            self._archive.put_beliefs(rows, since=standing, now=standing)

    def _changed(self, since: Standing) -> frozenset[str]:
        """Return the cards whose history changed, by what came in or by what has fallen due."""
        changed = self._archive.changed_cards(after=since.mark)
        if self._until != since.until:
            first, last = sorted((self._until, since.until))
            changed |= self._archive.cards_between(first, last)
        return with_descendants(changed, self.premises.links)

    def _count_unusable(self, since: Standing | None) -> int:
        after = since.mark if since is not None and not since.unusable else 0
        return len(self._archive.unusable_entries(after=after))

    def _replayed(self, cards: frozenset[str], *, everything: bool) -> list[BeliefRow]:
        """Return what follows from the log for some cards, or for all."""
        if not everything and len(cards) <= MOST_ONE_BY_ONE:
            return [self._replayed_alone(card_id) for card_id in cards]
        takes = self._archive.columns(until=self._until)
        return self._replayed_from(takes, None if everything else cards)

    def _replayed_from(self, takes: TakeColumns, cards: frozenset[str] | None) -> list[BeliefRow]:
        """Return what follows from all takes for some cards, or, with None, for all."""
        from drillbox.box.whole_log import replay_all  # noqa: PLC0415 - numpy, only now

        whole = replay_all(takes, self.premises)
        wanted = whole.beliefs.keys() if cards is None else cards
        nothing = prior(self.parameters)
        return [
            _row(card_id, whole.beliefs.get(card_id, nothing), whole.days.get(card_id, b""))
            for card_id in wanted
        ]

    def _replayed_alone(self, card_id: str) -> BeliefRow:
        replay = Replay(self.premises)
        steps = replay.steps(line_of(card_id, self.premises, self._takes_of))
        rows = days_played.rows_of(steps, card_id, self.parameters)
        belief = replay.beliefs.get(card_id) or prior(self.parameters)
        return _row(card_id, belief, days_played.packed(rows))

    def _take_over(self, rows: list[BeliefRow], now: Standing) -> None:
        self.changes += 1
        self._by_card |= {row.card_id: _belief(row) for row in rows}
        self._days |= {row.card_id: row.days for row in rows}
        self._standing, self._level = now, None

    def _takes_of(self, card_id: str) -> list[TakeRow]:
        return self._archive.takes(card_id=card_id, until=self._until)


def _row(card_id: str, belief: Belief, days: bytes) -> BeliefRow:
    numbers = (nan if number is None else float(number) for number in belief.to_row())
    return BeliefRow(card_id, tuple(numbers), days)


def _beliefs(cached: BeliefCache) -> dict[str, Belief] | None:
    """Return the beliefs of a cache, or None where it makes no sense."""
    try:
        return {card_id: _belief(row) for card_id, row in cached.rows.items()}
    except (ValueError, TypeError, OverflowError):
        return None


def _belief(row: BeliefRow) -> Belief:
    if len(row.body) != len(fields(Belief)):
        raise ValueError(row.card_id)
    *state, at, day, takes_that_day, takes, apart, recent, level, streak = row.body
    near = all(isfinite(number) and abs(number) < _MOST for number in (*state, apart, level))
    near = near and min(state[2], state[4]) > 0 and not isinf(recent)
    # Moments, counted from the epoch, stay far below.
    if not near or any(abs(moment) > days_played.LAST_DAY for moment in (at, day)):
        raise ValueError(row.card_id)
    return Belief.from_row(
        (
            *state,
            None if isnan(at) else at,
            None if isnan(day) else int(day),
            int(takes_that_day),
            int(takes),
            apart,
            recent,
            level,
            int(streak),
        )
    )
