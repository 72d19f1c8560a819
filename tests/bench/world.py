"""The world a habit or a scheduler practises in: days, minutes, what a take costs, what is in hand.

A card is *in hand* on a day if its true cold tempo would come off at least steady at its goal, that
is, is no more than 2.5 bpm under it. Everybody pays the same: count-in of a bar (two seconds at
least), whole bars for half a minute, six seconds to grade, six more for a card that is not the one
just played. Patterns are one bar of 4/4.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor
from typing import Protocol

import numpy as np
from newcomers import Disuse, Meeting
from students import KINDS as FIRST_THREE
from students import Floats, Nature, Student

PLAIN = Nature()
KINDS: dict[str, type[Student]] = FIRST_THREE | {"meeting": Meeting, "disuse": Disuse}
LATE_DAYS = 30
"""The last month, of which is told how many takes were too easy."""


@dataclass(frozen=True)
class Cell:
    """One setting of the benchmark."""

    kind: str
    cards: int = 120
    minutes: float = 15.0
    calendar: str = "daily"
    nature: Nature = PLAIN
    seed: int = 1
    days: int = 120

    @property
    def name(self) -> str:
        """A short name for the tables."""
        n = self.nature
        rates = f"{n.learning:g}/{n.forgetting:g}/{n.noise:g}"
        return (
            f"{self.kind:<11} {self.cards:>3} {self.minutes:>2.0f} {self.calendar:<8}"
            f" {n.known:.1f} {rates:<9} #{self.seed}"
        )

    def practice_days(self) -> list[int]:
        """Return the days on which there is practice."""
        days = range(self.days)
        if self.calendar == "weekdays":
            return [d for d in days if d % 7 < 5]
        if self.calendar == "away":
            middle = self.days // 2
            return [d for d in days if not middle - 7 <= d < middle + 7]
        if self.calendar == "uneven":
            rng = np.random.default_rng(8000 + self.seed)
            return [d for d in days if rng.random() < 0.85]
        return list(days)

    def minutes_on(self, day: int) -> float:
        """Return the minutes of a day: five to twenty where days are uneven."""
        if self.calendar != "uneven":
            return self.minutes
        rng = np.random.default_rng((8000 + self.seed, day))
        return float(self.minutes * rng.uniform(0.4, 1.6))

    def goals(self) -> Floats:
        """Return the goal tempo of each card."""
        rng = np.random.default_rng(7000 + self.seed)
        return 5.0 * np.round(rng.uniform(70.0, 120.0, self.cards) / 5.0)

    def families(self) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
        """Return the family of each card: runs of six look alike."""
        return np.arange(self.cards) // 6

    def student(self) -> Student:
        """Return the student, the same for everyone who practises in this cell."""
        return KINDS[self.kind](self.goals(), self.families(), self.nature, self.seed)


class Session:
    """One day's practice: it ends when the next take would not end in time."""

    def __init__(self, student: Student, day: int, minutes: float) -> None:
        self.student = student
        self.day = day
        self.limit = 60.0 * minutes
        self.second = 0.0
        self.on_stand = -1
        self.takes = 0
        self.played: list[tuple[int, int]] = []

    def cost(self, card: int, bpm: float) -> float:
        """Return the seconds that a take costs now."""
        bar = 240.0 / bpm
        bars = ceil(2.0 / bar - 1e-9) + max(1, floor(30.0 / bar + 0.5))
        return bars * bar + 6.0 + (0.0 if card == self.on_stand else 6.0)

    def play(self, card: int, bpm: float) -> int | None:
        """Play a take; return its grade, or None if there is no time for it."""
        cost = self.cost(card, bpm)
        if self.second + cost > self.limit:
            return None
        self.second += cost
        self.on_stand = card
        self.takes += 1
        grade = self.student.take(card, float(self.day), self.second, bpm)
        self.played.append((card, grade))
        return grade


class Practice(Protocol):
    """A habit, a scheduler or an oracle."""

    def practise(self, session: Session) -> None:
        """Use one day's session."""


@dataclass(frozen=True)
class Result:
    """What came of it."""

    in_hand: float
    """Patterns in hand, averaged over the days."""
    at_end: float
    """Patterns in hand on the last day."""
    tempo: float
    """Cold tempo over goal, at most 1, averaged over cards on the last day."""
    takes: int
    octaves: float = 0.0
    """Cold tempo over goal on the last day in octaves, mean over cards, above the goal as well."""
    automatic: float = 0.0
    """Share of the last month's takes graded automatic."""
    busiest: float = 0.0
    """Share of the last month's takes that went to the busiest quarter of the cards."""


def run(cell: Cell, practice: Practice, student: Student) -> Result:
    """Return what a student has in hand after practising one way."""
    line = np.log2(cell.goals() - 2.5)
    practice_days = set(cell.practice_days())
    held, takes = [], 0
    late: list[tuple[int, int]] = []
    for day in range(cell.days):
        held.append(float((student.cold(float(day)) >= line).sum()))
        if day in practice_days:
            session = Session(student, day, cell.minutes_on(day))
            practice.practise(session)
            takes += session.takes
            if day >= cell.days - LATE_DAYS:
                late += session.played
    cold = student.cold(float(cell.days))
    at_end = float((cold >= line).sum())
    reached = float(np.minimum(1.0, 2.0 ** (cold - np.log2(cell.goals()))).mean())
    counts = np.sort(np.bincount([card for card, _ in late], minlength=cell.cards))[::-1]
    return Result(
        float(np.mean([*held[1:], at_end])),
        at_end,
        reached,
        takes,
        float((cold - np.log2(cell.goals())).mean()),
        float(np.mean([grade == 2 for _, grade in late])),
        float(counts[: max(1, cell.cards // 4)].sum() / max(1, len(late))),
    )
