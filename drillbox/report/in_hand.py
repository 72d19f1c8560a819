"""A player's progress, computed from the take log.

What was in hand on each day, minutes, records, what comes back.

Conventions: days are practice days as ordinals (`drillbox.base.moments.practice_day`), tempos bpm,
lengths minutes.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from drillbox.base.moments import EPOCH_ORDINAL, practice_day
from drillbox.box.beliefs import evidence
from drillbox.memory import Grade, interval_days, prior, update

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

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
    return look_back(box.archive.takes(), box.entries(), box.parameters, last=practice_day(at))


def look_back(
    takes: Iterable[TakeRow], entries: dict[str, Entry], parameters: Parameters, *, last: int
) -> Progress:
    """Return the progress up to and including the practice day `last`.

    Parameters
    ----------
    takes
        Every take that counts, in order of time.
    entries
        The cards by id; takes of cards that are not in the box count for minutes only.
    parameters
        The player's numbers.
    last
        The last day looked at.
    """
    minutes: dict[int, float] = {}
    best: dict[str, Record] = {}
    holding: list[tuple[float, float]] = []
    beliefs = {card_id: prior(parameters) for card_id in entries}
    held: dict[str, tuple[float, float]] = {}
    for take in takes:
        seen = evidence(take)
        minutes[seen.day] = minutes.get(seen.day, 0.0) + take.seconds / 60.0
        if take.card_id not in entries:
            continue
        entry, before = entries[take.card_id], beliefs[take.card_id]
        if (before.day is None or seen.day > before.day) and seen.grade >= Grade.STEADY:
            _note_record(best, entry, seen.bpm, seen.day)
        after = beliefs[take.card_id] = update(before, seen, parameters)
        if take.card_id in held:
            start, end = held.pop(take.card_id)
            holding.append((start, min(end, seen.at)))
        lasts = interval_days(after, parameters, hold_bpm=entry.goal_bpm)
        if lasts > 0.0:
            held[take.card_id] = (seen.at, seen.at + lasts)
    holding += held.values()
    first = min([*minutes, last])
    return Progress(
        first,
        last,
        tuple(_count(holding, day) for day in range(first, last + 1)),
        minutes,
        tuple(sorted(best.values(), key=lambda record: (-record.bpm, record.family))),
    )


def _note_record(best: dict[str, Record], entry: Entry, bpm: float, day: int) -> None:
    family = entry.row.family or entry.deck_ids[0]
    if bpm > (best[family].bpm if family in best else -inf):
        best[family] = Record(family, entry.row.title, bpm, day)


def _count(holding: list[tuple[float, float]], day: int) -> int:
    end_of_day = day - EPOCH_ORDINAL + 1.0
    return sum(start <= end_of_day < end for start, end in holding)


def coming_back(cards: Iterable[CardView], *, at: datetime, days: int) -> tuple[int, ...]:
    """Return how many cards slip under their goals on each of the next days, today first.

    Those under already are today's.
    """
    counts = [0] * days
    now = practice_day(at)
    for card in cards:
        if card.returns is not None:
            ahead = max(0, practice_day(card.returns) - now)
            if ahead < days:
                counts[ahead] += 1
    return tuple(counts)
