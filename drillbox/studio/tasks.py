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
    from drillbox.studio.figures import StudentFigures, Task
    from drillbox.studio.progress import CardProgress

__all__ = ["NextUp", "next_up", "tasks_of"]

MOST_NEXT = 3
"""So many new cards are enough for a lesson (assumption)."""


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
    found = [task for one in student.cards if one.card.state != "rested" for task in one.tasks]
    return tuple(sorted(found, key=lambda task: (task.asked.by, task.card.title)))


def next_up(student: StudentFigures) -> NextUp:
    """Return what to ask of a student next: the first waiting cards of the decks that are begun.

    Nothing new while as many cards are being built as are enough for a lesson.
    """
    building = student.standing("building")
    waiting = [one.card for one in student.standing("waiting")]
    begun = {deck for one in student.cards if one.begun_on for deck in one.card.decks}
    # A deck that was begun is finished first; sorting keeps the order of the decks otherwise.
    waiting.sort(key=lambda card: not begun & set(card.decks))
    room = max(MOST_NEXT - len(building), 0)
    made = [one.made for one in student.cards if one.made is not None]
    chosen = tuple(waiting[:room])
    days = ceil(median(one.days for one in made)) if made else None
    minutes = median(one.seconds / 60 / one.days for one in made) if made else None
    return NextUp(
        cards=chosen,
        minutes_a_day=None if minutes is None or not chosen else minutes * len(chosen),
        days=None if not chosen else days,
        higher=tuple(one.card for one in student.standing("outgrown")),
    )
