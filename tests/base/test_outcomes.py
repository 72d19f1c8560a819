"""What becomes of something asked for by a day, told day by day."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import product

import pytest

from drillbox.base.outcomes import outcome

MONDAY = date(2026, 3, 2)
BY = MONDAY + timedelta(days=4)
WEEK = [MONDAY + timedelta(days=day) for day in range(9)]
REACHED = [None, *WEEK]


def told(*, known: bool, reached: date | None, stands: bool = True) -> list[str]:
    """Return what is said on each day of a week and two days, of a Friday's aim."""
    return [
        outcome(BY, since_known=known, reached=reached, today=day, stands=stands)
        for day in WEEK
        if reached is None or reached <= day
    ]


@pytest.mark.parametrize(
    ("reached", "expected"),
    [
        (None, ["not due"] * 5 + ["missed"] * 4),
        (WEEK[2], ["met"] * 7),
        (WEEK[4], ["met"] * 5),
        (WEEK[5], ["late"] * 4),
    ],
    ids=["never", "Wednesday", "Friday", "Saturday"],
)
@pytest.mark.parametrize("known", [True, False], ids=["a player's", "a deck's"])
def test_an_aim_for_friday_is_in_time_on_friday(
    *, known: bool, reached: date | None, expected: list[str]
) -> None:
    """The day itself is in time; before its end nothing is late, and nothing missed."""
    assert expected == told(known=known, reached=reached)


@pytest.mark.parametrize("reached", WEEK[:5])
def test_what_a_deck_asks_must_still_stand_while_there_is_time(reached: date) -> None:
    """Nobody knows since when it asks: what slipped is to be reached again, until the day is over.

    After it, and of what the player was asked at a known day, what was reached counts for good.
    """
    left = [day for day in WEEK if reached <= day <= BY]

    assert ["not due"] * len(left) + ["met"] * 4 == told(known=False, reached=reached, stands=False)
    assert {"met"} == set(told(known=True, reached=reached, stands=False))


def test_a_day_changes_nothing_once_it_is_over() -> None:
    """What is said the day after is said for ever, and it is never that there is time."""
    for known, reached, stands in product((False, True), REACHED[:6], (True, False)):
        after = {
            outcome(BY, since_known=known, reached=reached, today=day, stands=stands)
            for day in WEEK[5:]
        }
        assert 1 == len(after)
        assert "not due" not in after
