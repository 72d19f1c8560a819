"""Beliefs kept in step with the take log.

Computed from it, cached in the box, replayed where it moved.

Invariant: after `Beliefs.refresh`, what `of` returns is what replaying that card's takes in order
of time would give, whoever wrote them; for an heir, on top of what its ancestors' takes give
(`drillbox.box.lineage`).
"""

from __future__ import annotations

from contextlib import suppress
from itertools import chain
from math import isclose, isnan, nan
from typing import TYPE_CHECKING

from drillbox.base.now import epoch_days, in_zone, practice_day
from drillbox.box.learned_numbers import numbers_digest, parameters_in
from drillbox.box.lineage import (
    Inheritance,
    digest,
    heirs_in,
    inherited,
    inherited_takes,
    with_descendants,
)
from drillbox.box.views import day_ends_in
from drillbox.errors import NotSavedError
from drillbox.memory import MODEL_VERSION, Belief, Evidence, Grade, prior, update
from drillbox.store import BeliefRow, TakeRow

if TYPE_CHECKING:
    from collections.abc import Iterable

    from drillbox.memory import Parameters
    from drillbox.store import Archive

EXPECTED_BPM, EXPECTED_SD = "expected_bpm", "expected_sd"
"""Measures of a card's first take.

The tempo that its relatives let expect, and its standard deviation in octaves.
"""
WIDEST_SD = 1.0
"""Nobody knows less than this of a tempo."""


def evidence(take: TakeRow, day_ends_at: int) -> Evidence:
    """Return what the memory learns from a take: when, on which practice day, how fast, how well.

    The day is the one it was in the zone that the take was played in.
    """
    day = practice_day(in_zone(take.at, take.zone), day_ends_at)
    return Evidence(epoch_days(take.at), day, take.bpm, Grade(take.grade))


def first_belief(takes: Iterable[TakeRow], parameters: Parameters) -> Belief:
    """Return what was believed of a card before its first take.

    The take itself says what was expected of it then.
    """
    first = next(iter(takes), None)
    measures = (first and first.measures) or {}
    bpm, sd = measures.get(EXPECTED_BPM), measures.get(EXPECTED_SD)
    if isinstance(bpm, float) and isinstance(sd, float) and bpm > 0.0 and 0.0 < sd <= WIDEST_SD:
        return prior(parameters, bpm=bpm, sd=sd)
    return prior(parameters)


class Beliefs:
    """What is believed of every card that was ever played, by the player's own numbers.

    Attributes
    ----------
    parameters
        The numbers, as of the last `refresh`.
    day_ends_at
        The hour at which a practice day ends, as of the same moment.
    """

    def __init__(self, archive: Archive) -> None:
        self._archive = archive
        settings = archive.settings()
        self.parameters = parameters_in(settings)
        self.day_ends_at = day_ends_in(settings)
        self._heirs: dict[str, Inheritance] = heirs_in(settings)
        cached = archive.beliefs(self._version)
        self._mark = cached.mark
        self._by_card = {card_id: _belief(row) for card_id, row in cached.rows.items()}

    @property
    def _version(self) -> str:
        """What the cache was computed with.

        Other numbers, links between cards or hours at which a day ends give other beliefs.
        """
        ends = f"days end at {self.day_ends_at}"
        parts = (MODEL_VERSION, ends, numbers_digest(self.parameters), digest(self._heirs))
        return " ".join(part for part in parts if part)

    def of(self, card_id: str) -> Belief:
        """Return the belief about a card; of one never played, the prior."""
        return self._by_card.get(card_id) or prior(self.parameters)

    def refresh(self) -> None:
        """Replay the cards whose history changed since the last look."""
        settings = self._archive.settings()
        new = (heirs_in(settings), parameters_in(settings), day_ends_in(settings))
        if new != (self._heirs, self.parameters, self.day_ends_at):
            self._heirs, self.parameters, self.day_ends_at = new
            self._mark, self._by_card = 0, {}
        mark = self._archive.mark()
        if mark == self._mark:
            return
        changed = with_descendants(self._archive.changed_cards(after=self._mark), self._heirs)
        replayed = self._replayed(changed)
        self._by_card.update(replayed)
        since, self._mark = self._mark, mark
        # The cache only saves time: a disk that refuses it must not keep anyone from practising.
        with suppress(NotSavedError):
            rows = [_row(card_id, belief) for card_id, belief in replayed.items()]
            self._archive.put_beliefs(rows, version=self._version, since=since, mark=mark)

    def record(self, take: TakeRow) -> None:
        """Append a take to the log, and what follows from it to the cache, in one durable step.

        Raises
        ------
        NotSavedError
            If the disk refused; nothing changed then.
        """
        self.refresh()
        before, seen = self.of(take.card_id), evidence(take, self.day_ends_at)
        if not before.takes:
            before = first_belief([take], self.parameters)
        in_order = before.at is None or seen.at >= before.at
        in_order &= all(heir.at < take.at for heir in self._heirs.values())
        if not in_order:
            self._archive.add_take(take)
            self.refresh()
            return
        after = update(before, seen, self.parameters)
        rows = [_row(take.card_id, after)]
        mark = self._archive.record(take, rows, version=self._version, mark=self._mark)
        if mark == self._mark + 1:
            self._by_card[take.card_id], self._mark = after, mark
        else:
            self.refresh()

    def wrong(self) -> frozenset[str]:
        """Return the cards of which something else is believed than a replay of the log says.

        Two machines may round the last bits differently, so a difference is one that could be heard
        of.
        """
        self.refresh()
        cards = self._archive.changed_cards(after=0) | self._by_card.keys()
        replayed = self._replayed(with_descendants(cards, self._heirs))
        alike = {card for card, belief in replayed.items() if _alike(belief, self.of(card))}
        return frozenset(replayed.keys() - alike)

    def forget(self) -> None:
        """Throw the cache away and compute it again."""
        self._archive.drop_beliefs()
        self._mark, self._by_card = 0, {}
        self.refresh()

    def _replayed(self, cards: frozenset[str]) -> dict[str, Belief]:
        histories: dict[str, list[TakeRow]] = {card_id: [] for card_id in cards}
        for take in self._takes_of(cards):
            histories[take.card_id].append(take)
        return {card_id: self._replay(card_id, takes) for card_id, takes in histories.items()}

    def course(self, card_id: str) -> list[tuple[TakeRow, Belief]]:
        """Return a card's takes, inherited ones first.

        Each with what is believed right after it.
        """
        self.refresh()
        own = self._takes_of_card(card_id)
        parts = [*inherited_takes(card_id, own, self._heirs, self._takes_of_card), own]
        belief = prior(self.parameters)
        found: list[tuple[TakeRow, Belief]] = []
        for takes in parts:
            if belief.takes:
                belief = inherited(belief, self.parameters)
            for take in takes:
                belief = update(belief, evidence(take, self.day_ends_at), self.parameters)
                found.append((take, belief))
        return found

    def _takes_of_card(self, card_id: str) -> list[TakeRow]:
        return self._archive.takes(card_id=card_id)

    def _takes_of(self, cards: frozenset[str]) -> Iterable[TakeRow]:
        if len(cards) == 1:
            return self._archive.takes(card_id=next(iter(cards)))
        return (take for take in self._archive.takes() if take.card_id in cards)

    def _replay(self, card_id: str, takes: Iterable[TakeRow]) -> Belief:
        takes = list(takes)
        belief = self._start(card_id, takes)
        for take in takes:
            belief = update(belief, evidence(take, self.day_ends_at), self.parameters)
        return belief

    def _start(self, card_id: str, takes: list[TakeRow]) -> Belief:
        """Return what is believed before a card's first take.

        Of an heir, what it has from its ancestors.
        """
        ancestors = inherited_takes(card_id, takes, self._heirs, self._takes_of_card)
        belief = first_belief(chain(*ancestors, takes), self.parameters)
        for before in ancestors:
            for take in before:
                belief = update(belief, evidence(take, self.day_ends_at), self.parameters)
            if belief.takes:
                belief = inherited(belief, self.parameters)
        return belief


def _alike(one: Belief, other: Belief) -> bool:
    return all(
        a == b or (a is not None and b is not None and isclose(a, b, rel_tol=1e-9, abs_tol=1e-9))
        for a, b in zip(one.to_row(), other.to_row(), strict=True)
    )


def _row(card_id: str, belief: Belief) -> BeliefRow:
    numbers = belief.to_row()
    return BeliefRow(card_id, tuple(nan if number is None else float(number) for number in numbers))


def _belief(row: BeliefRow) -> Belief:
    *state, at, day, takes_that_day, takes, apart, recent = row.body
    return Belief.from_row(
        (
            *state,
            None if isnan(at) else at,
            None if isnan(day) else int(day),
            int(takes_that_day),
            int(takes),
            apart,
            recent,
        )
    )
