"""What was asked of a student and what became of it, and what to ask next.

An assignment is met if the card's cold tempo, as expected after a day's practice, stood at the
asked tempo on some day until the asked one; late if it did later. What comes next is read off the
decks, which stand in the order of their course, and what it takes off the student's own cards.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from drillbox.studio.figures import StudentFigures
    from drillbox.studio.progress import Asked, CardProgress

__all__ = ["NextUp", "Task", "next_up", "tasks_of"]

MOST_NEXT = 3
"""So many new cards are enough for a lesson (assumption)."""


@dataclass(frozen=True, slots=True)
class Task:
    """One thing asked of one card.

    Parameters
    ----------
    card, asked
        What.
    status
        ``met``, ``late``, ``missed`` or ``not due``.
    """

    card: CardProgress
    asked: Asked
    status: str


@dataclass(frozen=True, slots=True)
class NextUp:
    """What to ask of a student next.

    Parameters
    ----------
    cards
        The cards, in the order to take them.
    minutes_a_day
        What they would take on the days until in hand, as this student's other cards did; None
        where the student has brought none there yet.
    days
        On how many days, as this student's other cards did; None likewise.
    higher
        Cards that stand so far above their goals that a higher one is due.
    """

    cards: tuple[CardProgress, ...]
    minutes_a_day: float | None
    days: int | None
    higher: tuple[CardProgress, ...]


def tasks_of(student: StudentFigures) -> tuple[Task, ...]:
    """Return what was asked of a student, the nearest day last."""
    found = [
        Task(one.card, asked, _status(one.card, asked, student.progress.until))
        for one in student.cards
        if one.card.state != "rested"
        for asked in one.card.asked
    ]
    return tuple(sorted(found, key=lambda task: (task.asked.by, task.card.title)))


def _status(card: CardProgress, asked: Asked, until: date) -> str:
    reached = [day.day for day in card.days if day.cold_bpm >= asked.goal_bpm and day.day <= until]
    if reached and min(reached) <= asked.by:
        return "met"
    if asked.by >= until:
        return "not due"
    return "late" if reached else "missed"


def next_up(student: StudentFigures) -> NextUp:
    """Return what to ask of a student next: the first waiting cards of the decks that are begun.

    Nothing new while as many cards are being built as are enough for a lesson.
    """
    building = student.standing("building")
    waiting = [one.card for one in student.standing("waiting")]
    begun = {deck for one in student.cards if one.card.days for deck in one.card.decks}
    # A deck that was begun is finished first; sorting keeps the order of the decks otherwise.
    waiting.sort(key=lambda card: not begun & set(card.decks))
    room = max(MOST_NEXT - len(building), 0)
    made = [cost for one in student.cards if (cost := _cost(one.card)) is not None]
    chosen = tuple(waiting[:room])
    days = ceil(median(days for days, _ in made)) if made else None
    minutes = median(seconds / 60 / days for days, seconds in made) if made else None
    return NextUp(
        cards=chosen,
        minutes_a_day=None if minutes is None or not chosen else minutes * len(chosen),
        days=None if not chosen else days,
        higher=tuple(one.card for one in student.standing("outgrown")),
    )


def _cost(card: CardProgress) -> tuple[int, float] | None:
    """Return on how many days and in how many seconds a card first came to its goal, or None."""
    seconds = 0.0
    for number, day in enumerate(card.days, start=1):
        seconds += day.seconds
        if day.cold_bpm >= card.goal_bpm:
            return number, seconds
    return None
