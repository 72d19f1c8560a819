"""Who needs a word first, why, and what is the class's trouble rather than a student's.

A student who does not practise and one who practises and gains nothing need different words, so
they have different reasons. The weights are assumptions, chosen to be easy to explain.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from drillbox.base.wording import counted
from drillbox.studio.figures import MONTH, STUCK_GAIN, StudentFigures
from drillbox.studio.tasks import TRIED_DAYS, none_together, tasks_of, unmade

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

__all__ = ["SharedTrouble", "attention", "shared_troubles"]

IDLE_DAYS = 3
"""So many days without practice are a usual pause (assumption)."""
FEW_DAYS = 10
"""Fewer days of practice in a month are few: less than every third (assumption)."""
OLD_DAYS = 10
"""A file older than a week and a pause says little of today (assumption)."""
LITTLE = 1 / 3
"""Less than this share of the begun cards in hand after `LONG_ENOUGH` days is little (assumed)."""
LONG_ENOUGH = 20
MOST = 3.0
"""No reason that counts cards weighs more."""
SHARED_STUDENTS, SHARED_SHARE = 3, 0.25
"""A card stuck for so many, and so large a share of those who have it, is the teacher's message."""
SURE = 1.645
"""Standard deviations beyond which a loss is no doubt: the normal 0.95 quantile."""


@dataclass(frozen=True, slots=True)
class SharedTrouble:
    """A card that many are stuck on.

    Parameters
    ----------
    rhythm, title
        The card.
    stuck, students
        How many are stuck on it, of how many who have begun it.
    goals
        The least and greatest goal of those who are.
    """

    rhythm: str
    title: str
    stuck: int
    students: int
    goals: tuple[float, float]


def shared_troubles(students: Iterable[StudentFigures]) -> tuple[SharedTrouble, ...]:
    """Return the cards that many students are stuck on, the most troublesome first."""
    begun: dict[str, int] = defaultdict(int)
    stuck: dict[str, list[tuple[str, float]]] = defaultdict(list)
    for student in students:
        for one in student.cards:
            begun[one.card.rhythm] += one.begun_on is not None
            if one.stuck or (one.apart and one.days >= TRIED_DAYS):
                stuck[one.card.rhythm].append((one.card.title, one.card.goal_bpm))
    found = [
        SharedTrouble(
            rhythm,
            cards[0][0],
            len(cards),
            begun[rhythm],
            (min(goal for _, goal in cards), max(goal for _, goal in cards)),
        )
        for rhythm, cards in stuck.items()
        if len(cards) >= max(SHARED_STUDENTS, SHARED_SHARE * begun[rhythm])
    ]
    return tuple(sorted(found, key=lambda one: (-one.stuck, one.title, one.rhythm)))


def attention(student: StudentFigures, *, shared: Collection[str]) -> StudentFigures:
    """Return a student with how much a word is needed, and why.

    Parameters
    ----------
    student
        The student.
    shared
        Rhythms that the whole class is stuck on: they are no reason of a student's own.
    """
    own = sum(one.stuck and one.card.rhythm not in shared for one in student.cards)
    weights = {
        **_practice(student),
        **_together(student, shared),
        **_getting_on(student, own),
        f"{counted(student.whole.fading, 'card')} fading": min(student.whole.fading / 2, MOST),
        **_tasks(student),
    }
    reasons = sorted((words for words in weights if weights[words] > 0), key=lambda w: -weights[w])
    return replace(student, attention=sum(weights.values()), reasons=tuple(reasons))


def _practice(student: StudentFigures) -> dict[str, float]:
    """Return what there is to say of whether a student practises."""
    whole, idle = student.whole, student.idle_days
    said: dict[str, float] = {}
    if idle is None:
        said["has not begun"] = MONTH / 4
    else:
        away = min(max(idle - IDLE_DAYS, 0), MONTH) / 4
        few = max(FEW_DAYS - whole.days, 0) / 4 if student.span_days >= FEW_DAYS else 0.0
        # One of the two, the one that says more: both count the same missing days.
        if away >= few:
            said[f"no practice for {idle} days"] = away
        else:
            said[f"practised on {counted(whole.days, 'day')} of {MONTH}"] = few
    if student.age_days > OLD_DAYS:
        age = student.age_days
        said[f"the file is {age} days old"] = min((age - OLD_DAYS) / 7, MOST)
    return said


def _together(student: StudentFigures, shared: Collection[str]) -> dict[str, float]:
    """Return what there is to say of cards that were tried and have not come together."""
    begun = student.whole.begun
    if none_together(student):
        none = "it has not" if begun == 1 else "none has"
        return {f"{counted(begun, 'card')} tried, {none} come together": min(float(begun), MOST)}
    own = sum(one.card.rhythm not in shared for one in unmade(student))
    return {f"{counted(own, 'card')} not together yet": min(float(own), MOST)} if own else {}


def _getting_on(student: StudentFigures, stuck: int) -> dict[str, float]:
    """Return what there is to say of whether practice brings anything."""
    whole = student.whole
    said: dict[str, float] = {}
    gain, doubt = whole.gain_bpm, whole.gain_doubt_bpm
    below = whole.cards - whole.in_hand
    if gain is not None and doubt is not None:
        if gain < -max(STUCK_GAIN, SURE * doubt):
            said["slower than a month ago"] = 1.0
        elif whole.days >= FEW_DAYS and below and gain < STUCK_GAIN and whole.in_hand < below:
            said[f"practises on {counted(whole.days, 'day')} and gains nothing"] = 2.0
    span = student.span_days
    gains = gain is not None and gain >= max(STUCK_GAIN, SURE * (doubt or 0.0))
    little = whole.in_hand < LITTLE * whole.begun and not none_together(student) and not gains
    if span >= LONG_ENOUGH and little:
        in_hand = f"{whole.in_hand} of {whole.begun} begun in hand after {counted(span, 'day')}"
        said[in_hand] = 3 * (LITTLE - whole.in_hand / whole.begun) / LITTLE
    if stuck:
        said[f"{counted(stuck, 'card')} stuck"] = min(float(stuck), MOST)
    return said


def _tasks(student: StudentFigures) -> dict[str, float]:
    missed = sum(task.status == "missed" for task in tasks_of(student))
    return {f"{counted(missed, 'assignment')} missed": min(float(missed), MOST)} if missed else {}
