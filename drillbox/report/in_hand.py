"""A player's progress, computed from the take log.

What was in hand on each day, minutes, records, what comes back.

Conventions: days are practice days as ordinals (`drillbox.base.now`), tempos bpm, lengths minutes.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from drillbox.box.beliefs import evidence
from drillbox.memory import Grade, interval_days, prior, update

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from drillbox.base.now import Now
    from drillbox.box import Box
    from drillbox.box.catalogue import Entry
    from drillbox.box.views import CardView
    from drillbox.memory import Parameters
    from drillbox.store import TakeRow


@dataclass(frozen=True, slots=True)
class Record:
    """The fastest cold take of a family that came off at least steady."""

    family: str
    title: str
    bpm: float
    day: int


@dataclass(frozen=True, slots=True)
class Progress:
    """What the log says of a span of days.

    Parameters
    ----------
    first, last
        The days it covers, both included.
    in_hand
        For each day, how many cards stood at or above their goals at its end, cold, by what is
        believed now of then.
    minutes
        Minutes practised, by day; days without practice are missing.
    records
        By family, fastest first.
    """

    first: int
    last: int
    in_hand: tuple[int, ...]
    minutes: dict[int, float]
    records: tuple[Record, ...]

    @property
    def days_practised(self) -> int:
        """How many days had a take."""
        return len(self.minutes)


def progress(box: Box, *, at: datetime) -> Progress:
    """Return what was in hand on each day so far, the minutes, the records."""
    return look_back(box.archive.takes(), box.entries(), box.parameters, now=box.now(at))


def look_back(
    takes: Iterable[TakeRow], entries: dict[str, Entry], parameters: Parameters, *, now: Now
) -> Progress:
    """Return the progress up to and including today.

    Parameters
    ----------
    takes
        Every take that counts, in order of time.
    entries
        The cards by id; takes of cards that are not in the box count for minutes only.
    parameters
        The player's numbers.
    now
        The moment; its practice day is the last one looked at.
    """
    minutes: dict[int, float] = {}
    best: dict[str, Record] = {}
    holding: list[tuple[int, int]] = []
    beliefs = {card_id: prior(parameters) for card_id in entries}
    held: dict[str, tuple[int, int]] = {}
    for take in takes:
        seen = evidence(take, now.day_ends_at)
        minutes[seen.day] = minutes.get(seen.day, 0.0) + take.seconds / 60.0
        if take.card_id not in entries:
            continue
        entry, before = entries[take.card_id], beliefs[take.card_id]
        if (before.day is None or seen.day > before.day) and seen.grade >= Grade.STEADY:
            _note_record(best, entry, seen.bpm, seen.day)
        after = beliefs[take.card_id] = update(before, seen, parameters)
        if take.card_id in held:
            start, end = held.pop(take.card_id)
            holding.append((start, min(end, seen.day)))
        lasts = interval_days(after, parameters, hold_bpm=entry.goal_bpm)
        if lasts > 0.0:
            held[take.card_id] = (seen.day, max(seen.day, now.day_of(seen.at + lasts)))
    holding += held.values()
    first = min([*minutes, now.day])
    return Progress(
        first,
        now.day,
        tuple(_count(holding, day) for day in range(first, now.day + 1)),
        minutes,
        tuple(sorted(best.values(), key=lambda record: (-record.bpm, record.family))),
    )


def _note_record(best: dict[str, Record], entry: Entry, bpm: float, day: int) -> None:
    family = entry.row.family or entry.deck_ids[0]
    if bpm > (best[family].bpm if family in best else -inf):
        best[family] = Record(family, entry.row.title, bpm, day)


def _count(holding: list[tuple[int, int]], day: int) -> int:
    """Return how many cards are in hand when a day ends, of those held from one day to another.

    A card counts on the day it comes to its goal, and no more on the day it slips or is played
    next.
    """
    return sum(start <= day < end for start, end in holding)


def coming_back(cards: Iterable[CardView], *, today: int, days: int) -> tuple[int, ...]:
    """Return how many cards slip under their goals on each of the next days, today first.

    Those under already are today's.
    """
    counts = [0] * days
    for card in cards:
        if card.returns_on is not None:
            ahead = max(0, card.returns_on - today)
            if ahead < days:
                counts[ahead] += 1
    return tuple(counts)
