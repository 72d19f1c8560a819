"""A card's history as a picture: a sign for each take, the goal, and the cold tempo expected.

The sign is the grade's: ``=`` steady, ``+`` clean, ``#`` automatic, ``-`` shaky, ``v`` fell apart;
the day's first, cold take stands out.
"""

from __future__ import annotations

from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING

from drillbox.app.grade_signs import GRADE_SIGNS
from drillbox.app.widgets.dated_plot import Curve, Marks, Picture

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.box.take_views import TakeView

APART, MOST_APART = 0.12, 0.9
"""Takes of one day stand side by side as far as there is room, in parts of a day."""


def card_picture(
    takes: Sequence[TakeView], slipping: Sequence[float], *, goal_bpm: float, today: int
) -> Picture:
    """Return the picture of some takes, oldest first.

    Parameters
    ----------
    takes
        At least one.
    slipping
        The cold tempo expected on each day from today on.
    goal_bpm, today
        The goal, and today as an ordinal.
    """
    found: dict[tuple[str, bool], tuple[list[float], list[float]]] = {}
    for day, of_the_day in groupby(takes, key=attrgetter("day")):
        for number, take in enumerate(of_the_day):
            days, tempi = found.setdefault((GRADE_SIGNS[take.grade], take.cold), ([], []))
            days.append(day + min(number * APART, MOST_APART))
            tempi.append(take.bpm)
    # Cold takes are drawn last: where two fall on one place, the one that tells more stays.
    marks = [
        Marks(days, tempi, sign, strong=cold)
        for (sign, cold), (days, tempi) in sorted(found.items(), key=lambda item: item[0][1])
    ]
    ahead = [float(today + n) for n in range(len(slipping))]
    return Picture(
        first=takes[0].day,
        last=today + max(len(slipping) - 1, 0),
        today=today,
        curves=(Curve(ahead, slipping),) if ahead else (),
        marks=tuple(marks),
        goal=goal_bpm,
    )
