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
    from drillbox.studio.figures import CardFigures, StudentFigures, Task
    from drillbox.studio.progress import CardProgress

__all__ = [
    "STATUSES",
    "GoalStep",
    "NextUp",
    "Slower",
    "next_up",
    "none_together",
    "reach_of",
    "tasks_of",
    "unmade",
]

STATUSES = ("met", "late", "missed", "not due")
"""What becomes of something asked."""
MOST_NEXT = 3
"""So many new cards are enough for a lesson (assumption)."""
TRIED_DAYS = 3
"""A card that was played on so many days and has not come together wants help (assumption)."""
STEP = 5
"""Slower is on a mark of the metronome: in fives (common practice, no source)."""
IN_REACH = 10.0
"""So many bpm over the cold tempo are in reach of anybody in two weeks (assumption)."""
SLOWEST = 40.0
"""Slower than this it is no tempo but one stroke after another (assumption)."""


@dataclass(frozen=True, slots=True)
class Slower:
    """A card that has not come together, or is stuck, and a slower tempo to ask for.

    `bpm` is None where the last take was so slow already, or of a tempo not known, that no slower
    one helps: then it wants to be taken apart in the lesson.
    """

    card: CardProgress
    bpm: float | None

    @property
    def stuck(self) -> bool:
        """Whether it came together and gains nothing, so that its goal is to be lowered."""
        return self.card.cold_bpm is not None


@dataclass(frozen=True, slots=True)
class GoalStep:
    """A card whose goal is further away than this student goes, and a tempo on the way to it."""

    card: CardProgress
    bpm: float


@dataclass(frozen=True, slots=True)
class NextUp:
    """What to ask of a student next.

    Parameters
    ----------
    slower
        The first cards that were tried and have not come together; then those that are stuck.
    near
        The cards in the making that are nearest to their goals, to be brought there; then those
        that are fading.
    steps
        Those of them whose goals are out of reach, each with a tempo on the way.
    new
        The waiting cards to begin, in the order to take them.
    minutes_a_day
        What `near` and `new` would take on the days until in hand, as this student's other cards
        did; None where the student has brought none there yet.
    days
        On how many days a card came there, as this student's other cards did; None likewise.
    higher
        Cards that stand so far above their goals that a higher one is due.
    """

    slower: tuple[Slower, ...]
    near: tuple[CardProgress, ...]
    steps: tuple[GoalStep, ...]
    new: tuple[CardProgress, ...]
    minutes_a_day: float | None
    days: int | None
    higher: tuple[CardProgress, ...]


def tasks_of(student: StudentFigures) -> tuple[Task, ...]:
    """Return what was asked of a student, the nearest day last."""
    found = [task for one in student.cards if one.card.state != "rested" for task in one.tasks]
    return tuple(sorted(found, key=lambda task: (task.asked.by, task.card.title)))


def next_up(student: StudentFigures) -> NextUp:
    """Return what to ask of a student next, as much as is enough for a lesson.

    First what has not come together or is stuck, slower; then what is nearest to its goal, as far
    as this student goes; then the first waiting cards of the decks that are begun. Nothing new
    while as many cards are in the making as are enough, or while nothing that was tried has come
    together.
    """
    stuck = sorted(student.of_kind("stuck"), key=lambda one: -one.takes)
    trouble = [one.card for one in (*unmade(student), *stuck)]
    slower = tuple(Slower(card, _slower(card)) for card in trouble[:MOST_NEXT])
    making = [one.card for kind in ("building", "fading") for one in _nearest(student, kind)]
    far = reach_of(student)
    tempi = [(card, _step(card, far)) for card in making[: MOST_NEXT - len(slower)]]
    near = tuple(card for card, bpm in tempi if bpm is None)
    waiting = [one.card for one in student.standing("waiting")]
    begun = {deck for one in student.cards if one.begun_on for deck in one.card.decks}
    # A deck that was begun is finished first; sorting keeps the order of the decks otherwise.
    waiting.sort(key=lambda card: not begun & set(card.decks))
    room = 0 if none_together(student) else MOST_NEXT - len(student.standing("building"))
    new = tuple(waiting[: max(room, 0)])
    made, chosen = [one.made for one in student.cards if one.made is not None], len(near) + len(new)
    known = bool(made and chosen)
    minutes = median(one.seconds / 60 / one.days for one in made) * chosen if known else None
    return NextUp(
        slower=slower,
        near=near,
        steps=tuple(GoalStep(card, bpm) for card, bpm in tempi if bpm is not None),
        new=new,
        minutes_a_day=minutes,
        days=ceil(median(one.days for one in made)) if known else None,
        higher=tuple(one.card for one in student.standing("outgrown")),
    )


def _nearest(student: StudentFigures, kind: str) -> list[CardFigures]:
    """Return the cards of a kind, the one that lacks least of its goal first."""
    cards = student.of_kind(kind)
    return sorted(cards, key=lambda one: -(one.card.cold_bpm or 0.0) / one.card.goal_bpm)


def reach_of(student: StudentFigures) -> float:
    """Return how many bpm over their cold tempi cards may be asked for at once."""
    return max(student.whole.gain_bpm or 0.0, IN_REACH)


def none_together(student: StudentFigures) -> bool:
    """Return whether cards were tried and none of them has come together."""
    return 0 < student.whole.apart == student.whole.begun


def unmade(student: StudentFigures) -> tuple[CardFigures, ...]:
    """Return the cards that have not come together and want help: not those of a first day."""
    all_of_them = none_together(student)
    return tuple(
        one for one in student.of_kind("apart") if (all_of_them or len(one.card.days) >= TRIED_DAYS)
    )


def _slower(card: CardProgress) -> float | None:
    """Return a mark of the metronome at least a step under the last take and the cold tempo.

    None where none helps.
    """
    known = [bpm for bpm in (card.last_bpm, card.cold_bpm) if bpm is not None]
    if not known:
        return None
    bpm = (min(known) // STEP - 1) * STEP
    return bpm if bpm >= SLOWEST else None


def _step(card: CardProgress, reach: float) -> float | None:
    """Return a mark five to ten bpm over the cold tempo; None where the goal itself is in reach."""
    if card.cold_bpm is None or card.goal_bpm - card.cold_bpm <= reach:
        return None
    return float(ceil(card.cold_bpm / STEP + 1) * STEP)
