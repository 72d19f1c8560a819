"""Looking back: what was in hand on each day, minutes and records, computed from the take log.

What was in hand on each day, minutes, records, what comes back.

Conventions: days are practice days as ordinals (`drillbox.base.now`), tempos bpm, lengths minutes.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC
from typing import TYPE_CHECKING

import numpy as np

from drillbox.base.many_moments import microseconds, practice_days
from drillbox.memory import LONGEST_DAYS, Grade
from drillbox.memory.array_maths import COLUMNS
from drillbox.memory.forgetting import days_held

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from drillbox.base.now import Now
    from drillbox.box import Box
    from drillbox.box.catalogue import Entry
    from drillbox.box.days_played import Days
    from drillbox.box.views import CardView

_LATER = 7.0
"""Days from now after which it is later than today in every zone; how much later is not asked."""


@dataclass(frozen=True, slots=True)
class Record:
    """The fastest cold take of a family that came off at least steady."""

    family: str
    title: str
    bpm: float
    day: int


@dataclass(frozen=True, slots=True)
class LookBack:
    """What the log says of a span of days.

    Parameters
    ----------
    first, last
        The days it covers, both included.
    in_hand
        For each day, how many cards stood at or above their present goals at its end, cold.
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


def look_back(box: Box, *, at: datetime) -> LookBack:
    """Return what was in hand on each day so far, the minutes, the records."""
    now, entries, days = box.now(at), box.entries(), box.days()
    minutes = _minutes(days)
    first = min([*minutes, now.day])
    # Today is not over: it counts what holds at this moment, as the shelf does.
    cards = box.cards(at=at)
    holding = sum(card.holds for card in cards)
    return LookBack(
        first,
        now.day,
        (*_in_hand(box, days, now, first)[:-1], holding),
        minutes,
        _records(days, entries, box.families()),
    )


def _minutes(days: Days) -> dict[int, float]:
    """Return the minutes of each day on which anything was played, of all cards there ever were."""
    own = days.rows.own == 1.0
    ordinals, place = np.unique(days.rows.day[own].astype(np.int64), return_inverse=True)
    spent = np.bincount(place, weights=days.rows.seconds[own] / 60.0, minlength=len(ordinals))
    return dict(zip(ordinals.tolist(), spent.tolist(), strict=True))


def _in_hand(box: Box, days: Days, now: Now, first: int) -> tuple[int, ...]:
    """Return how many cards were in hand when each day from the first to today ended.

    A card counts on the day it comes to its goal, and no more on the day it slips or is played
    next.
    What it inherited counts as its own, unless the rhythm that it is from is still a card itself.
    """
    entries, days = box.entries(), days.together()
    rows = days.rows
    goals = np.array([entries[c].goal_bpm if c in entries else np.inf for c in days.cards])
    split = np.array(
        [not entries.keys().isdisjoint(box.ancestors(c)) for c in days.cards], np.bool_
    )
    goal = goals[days.card]
    lasts = days_held(rows.mu - np.log2(goal), rows.ln_s, box.parameters.lam, COLUMNS)
    slips = np.minimum(rows.at + np.minimum(lasts, LONGEST_DAYS), now.epoch_days + _LATER)
    start = rows.day.astype(np.int64)
    end = practice_days(microseconds(slips), now.at.tzinfo or UTC, now.day_ends_at)
    same = days.card[1:] == days.card[:-1]
    end[:-1] = np.where(same, np.minimum(end[:-1], start[1:]), end[:-1])
    held = (lasts > 0.0) & (end > start) & ((rows.own == 1.0) | ~split[days.card])
    span = now.day - first + 1
    begun = np.bincount(np.minimum(start[held] - first, span), minlength=span + 1)
    ended = np.bincount(np.minimum(end[held] - first, span), minlength=span + 1)
    return tuple(np.cumsum(begun - ended)[:span].tolist())


def _records(days: Days, entries: dict[str, Entry], families: dict[str, str]) -> tuple[Record, ...]:
    """Return each family's fastest cold take that came off at least steady."""
    rows = days.rows
    came_off = np.flatnonzero((rows.own == 1.0) & (rows.cold_grade >= Grade.STEADY))
    if not len(came_off):
        return ()
    # Rows lie card by card in order of time: the first of a card's greatest is its record.
    card, bpm = days.card[came_off], rows.cold_bpm[came_off]
    starts = np.flatnonzero(np.diff(card, prepend=-1))
    greatest = np.repeat(np.maximum.reduceat(bpm, starts), np.diff(starts, append=len(card)))
    top = np.flatnonzero(bpm == greatest)
    top = came_off[top[np.unique(card[top], return_index=True)[1]]]
    best: dict[str, Record] = {}
    for k in top[np.lexsort((rows.at[top], -rows.cold_bpm[top]))].tolist():
        card_id = days.cards[days.card[k]]
        entry = entries.get(card_id)
        if entry is None:
            continue
        family = families[card_id]
        record = Record(family, entry.row.title, float(rows.cold_bpm[k]), int(rows.day[k]))
        best.setdefault(family, record)
    return tuple(sorted(best.values(), key=lambda record: (-record.bpm, record.family)))


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
