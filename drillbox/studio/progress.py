"""A student's progress, as a file that a student hands to a teacher and as the values it holds.

The file says how the cards of some decks stand and on which days they were practised, and, where
the student chose so, what was heard month by month; nothing else. It has no time of day, no place,
no device, no grade, and no name but the one the student chose.
docs/studio.md is its reference.

Conventions: days are the student's own practice days; tempos bpm; lengths seconds. A card is known
by its rhythm, 16 hex digits, so one rhythm in two decks is one card.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from datetime import date, datetime

__all__ = ["STATES", "Asked", "CardProgress", "DeckInfo", "HeardMonth", "Played", "Progress"]

STATES = ("waiting", "building", "holding", "fading", "rested", "outgrown")


@dataclass(frozen=True, slots=True)
class DeckInfo:
    """A deck the student works on."""

    id: str
    title: str
    edition: int


class Played(NamedTuple):
    """A day's takes of one card, and the cold tempo expected after them.

    A file of years has thousands of them: a named tuple is made three times as fast.
    """

    day: date
    takes: int
    seconds: float
    cold_bpm: float


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked of a card: the tempo to have it at, and the last day to practise it.

    `given` is the day on which a reply asked for it; None where a deck did, which has no such day.
    """

    by: date
    goal_bpm: float
    given: date | None = None


@dataclass(frozen=True, slots=True)
class HeardMonth:
    """What was heard of a month's takes, where the student chose to show it.

    Parameters
    ----------
    month
        Such as ``2026-03``.
    takes
        How many were measured.
    spread_ms, contrast_db
        Medians: how far strokes scatter, how far ghosts lie under accents; None where nothing says.
    """

    month: str
    takes: int
    spread_ms: float | None
    contrast_db: float | None


@dataclass(frozen=True, slots=True)
class CardProgress:
    """How one card stands, and its days, oldest first.

    Parameters
    ----------
    rhythm, title
        The fingerprint of what is played, and what it is called.
    decks
        Ids of the decks that have it.
    goal_bpm, state
        As the student sees them.
    cold_bpm
        The cold tempo expected when the file was written; None of a card that was never played or
        has not come together yet. Of such a card the days' tempos are guesses that tell nothing.
    days
        When it was played.
    low_bpm, high_bpm
        The 80 % band of `cold_bpm`; None where it is not known.
    last_bpm
        The tempo of the last take; None where it is not known.
    asked
        What decks and replies have asked of it, past days included.
    """

    rhythm: str
    title: str
    decks: tuple[str, ...]
    goal_bpm: float
    state: str
    cold_bpm: float | None
    days: tuple[Played, ...]
    low_bpm: float | None = None
    high_bpm: float | None = None
    last_bpm: float | None = None
    asked: tuple[Asked, ...] = ()


@dataclass(frozen=True, slots=True)
class Progress:
    """What one progress file holds.

    Parameters
    ----------
    student
        32 hex digits, made by chance once per box: students of one name stay apart.
    name
        What the student wants to be called; may be empty.
    written
        When, in UTC, to the second: of two files of a student the later one counts.
    decks, cards
        What the student chose to show.
    day
        The student's practice day when it was written; None in files of before it was kept.
    program
        The version of drillbox that wrote it; empty in files of before it was kept.
    minutes
        The minutes a day the student means to practise, or None.
    taken_in
        Ids of the replies that the student has taken in, the latest last.
    heard
        What was heard, month by month; empty unless the student chose to show it.
    group
        What the teacher files the student under. It is not in the file.
    """

    student: str
    name: str
    written: datetime
    decks: tuple[DeckInfo, ...]
    cards: tuple[CardProgress, ...]
    day: date | None = None
    program: str = ""
    minutes: int | None = None
    taken_in: tuple[str, ...] = ()
    heard: tuple[HeardMonth, ...] = ()
    group: str = ""

    @property
    def until(self) -> date:
        """The last day that the file knows of: what came after it, nobody here can say."""
        return self.day or self.written.date()

    @property
    def latest(self) -> date:
        """The latest day that it says has been: of its writing or of practice."""
        practised = (card.days[-1].day for card in self.cards if card.days)
        return max(self.until, self.written.date(), *practised)
