"""The one history: each take with what was believed before and after it.

There is one replay of the log, `Replay`, started the one right way: from what a card's first take
says that its relatives let expect, and, where the card took another rhythm's place in a new edition
of a deck, from what was believed of that rhythm then (`drillbox.box.lineage`). Beliefs, a card's
curve, what was in hand, how well first takes were foretold and the progress file are views of it.
`drillbox.box.whole_log` is the same replay for a whole log at once, in columns; a test holds the
two together.

Takes come in order of time, (moment, id), of all cards or of some; of a card that has ancestors,
theirs are needed too (`line_of`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from drillbox.base.now import epoch_days, in_zone, practice_day
from drillbox.box.days_played import LAYOUT
from drillbox.box.learned_numbers import numbers_digest, parameters_in
from drillbox.box.lineage import (
    Link,
    digest,
    inherited,
    inherited_takes,
    links_in,
)
from drillbox.box.settings import day_ends_in
from drillbox.memory import MODEL_VERSION, Belief, Evidence, Grade, Parameters, prior, update
from drillbox.memory.belief import lifted
from drillbox.store import EXPECTED_BPM, EXPECTED_SD, LEVEL, LEVEL_AFTER, MEASURING, TakeRow

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping
    from typing import Any

    from drillbox.store import Setting


@dataclass(frozen=True, slots=True)
class Premises:
    """What a log is read by: the player's numbers, who inherits from whom, when a day ends.

    Parameters
    ----------
    parameters
        The player's numbers.
    links
        The links between rhythms, by the card that took another's place.
    day_ends_at
        The hour at which a practice day ends.
    """

    parameters: Parameters
    links: Mapping[str, Link]
    day_ends_at: int

    @classmethod
    def found_in(cls, settings: Mapping[str, Setting]) -> Premises:
        """Return the premises that a box's settings hold."""
        return cls(parameters_in(settings), links_in(settings), day_ends_in(settings))

    @property
    def version(self) -> str:
        """A text that differs where other beliefs or days would follow from the same log."""
        kept = (MODEL_VERSION, f"rows {LAYOUT}", f"days end at {self.day_ends_at}")
        parts = (*kept, numbers_digest(self.parameters), digest(self.links))
        return " ".join(part for part in parts if part)


@dataclass(frozen=True, slots=True)
class Step:
    """One take, and what was believed of its card right before and right after it."""

    take: TakeRow
    seen: Evidence
    before: Belief
    after: Belief

    @property
    def cold(self) -> bool:
        """Whether the take was the card's first of a practice day."""
        return self.before.day is None or self.seen.day > self.before.day


@dataclass(slots=True)
class Replay:
    """A replay that goes on as long as takes come, in order of time.

    Attributes
    ----------
    beliefs
        What is believed of each card after the takes so far.
    """

    premises: Premises
    beliefs: dict[str, Belief] = field(default_factory=dict)
    _played: set[str] = field(default_factory=set)

    def steps(self, takes: Iterable[TakeRow]) -> Iterator[Step]:
        """Give the steps of these takes; `beliefs` follows as they are taken."""
        links = sorted(self.premises.links.values(), key=lambda link: link.at, reverse=True)
        for take in takes:
            self._hand_on(links, take)
            yield self._step(take)
        self._hand_on(links, None)

    def _step(self, take: TakeRow) -> Step:
        seen = evidence(take, self.premises.day_ends_at)
        before = self.beliefs.get(take.card_id)
        if before is None:
            before = first_belief(take.measures, self.premises.parameters)
        before = at_level_of(seen, before)
        after = update(before, seen, self.premises.parameters)
        self.beliefs[take.card_id] = after
        self._played.add(take.card_id)
        return Step(take, seen, before, after)

    def _hand_on(self, links: list[Link], take: TakeRow | None) -> None:
        """Let cards inherit whose links were made before a take; `links` end with the earliest.

        Links of one moment see what was believed before any of them. A rhythm that was played
        before its link was made keeps its own history.
        """
        while links and (take is None or links[-1].at < take.at):
            at, handed = links[-1].at, {}
            while links and links[-1].at == at:
                link = links.pop()
                known = self.beliefs.get(link.ancestor)
                if known is not None and link.card_id not in self._played:
                    handed[link.card_id] = inherited(known, self.premises.parameters)
            self.beliefs |= handed


def evidence(take: TakeRow, day_ends_at: int) -> Evidence:
    """Return what the memory learns from a take: when, on which practice day, how fast, how well.

    The day is the one it was in the zone that the take was played in; the player's level is the one
    that was written down with the take.
    """
    day = practice_day(in_zone(take.at, take.zone), day_ends_at)
    told = take.measures or {}
    levels = told.get(LEVEL), told.get(LEVEL_AFTER)
    measured = take.source in MEASURING
    return Evidence(epoch_days(take.at), day, take.bpm, Grade(take.grade), *levels, measured)


def at_level_of(seen: Evidence, belief: Belief) -> Belief:
    """Return what was believed of a card right before a take, by the player's level then."""
    return belief if seen.level is None else lifted(belief, seen.level)


def first_belief(measures: Mapping[str, Any] | None, parameters: Parameters) -> Belief:
    """Return what was believed of a card before its first take.

    Parameters
    ----------
    measures
        Those of the take; they may say what the card's relatives let expect of it then.
    parameters
        The player's numbers.
    """
    if measures and EXPECTED_BPM in measures and EXPECTED_SD in measures:
        return prior(parameters, bpm=measures[EXPECTED_BPM], sd=measures[EXPECTED_SD])
    return prior(parameters)


def line_of(
    card_id: str, premises: Premises, takes_of: Callable[[str], list[TakeRow]]
) -> list[TakeRow]:
    """Return a card's takes in order of time, after those of the rhythms whose place it took.

    Parameters
    ----------
    card_id
        The card.
    premises
        The links, among other things.
    takes_of
        Gives a card's own takes, in order of time.
    """
    own = takes_of(card_id)
    before = inherited_takes(card_id, own, premises.links, takes_of)
    return [take for part in (*before, own) for take in part]
