"""What measured takes say over weeks: medians, and habits that come back often enough."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from drillbox.box.take_views import TakeView
from drillbox.memory import Grade
from drillbox.report.measured_trends import (
    MonthOfTakes,
    card_trend,
    habits_of,
    months_lines,
    months_of,
    partials_of,
)

MORNING = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def take(
    days: float = 0.0,
    *partials: tuple[str, str, float | None, int, int],
    spread: float | None = 10.0,
    contrast: float | None = 14.0,
) -> TakeView:
    """Return a measured take so many days after 2 March 2026."""
    measured: dict[str, Any] = {
        "version": 1,
        "bpm": 80.0,
        "spread_ms": spread,
        "wrong_percent": 0.0,
        "contrast_db": contrast,
        "ghosts_ms": None,
        "spacing_ms": 187.5,
        "unheard_share": 0.0,
        "proposed": 0,
        "partials": [list(partial) for partial in partials],
    }
    at = MORNING + timedelta(days=days)
    return TakeView("t", "c", 80.0, Grade.CLEAN, at, 0, 40.0, True, "audio", measured)


def late(*values: float) -> list[TakeView]:
    """Return takes in which the a of 2 came so many milliseconds late."""
    return [take(n, ("a of 2", "snare", value, 4, 0)) for n, value in enumerate(values)]


def missing(*counts: tuple[int, int]) -> list[TakeView]:
    """Return takes in which the a of 2 was heard and missed so often, and never timed."""
    return [take(n, ("a of 2", "snare", None, *count)) for n, count in enumerate(counts)]


def test_a_month_is_told_by_its_medians() -> None:
    """Not by its means: one bad take changes little. Takes without a measure do not count."""
    takes = [
        take(0, spread=8.0, contrast=None),
        take(1, spread=10.0),
        take(2, spread=90.0, contrast=20.0),
        replace(take(3), measured=None),
        take(31, spread=None, contrast=None),
    ]

    assert (
        MonthOfTakes("2026-03", 3, 10.0, 17.0),
        MonthOfTakes("2026-04", 1, None, None),
    ) == months_of(reversed(takes))
    assert (
        "2026-03: 3 takes measured, spread 10 ms, accents over ghosts 17 dB",
        "2026-04: 1 take measured, spread –, accents over ghosts –",
    ) == months_lines(months_of(takes))


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ((14.0, 15.0, 16.0), ("The snare's a of 2 comes 15 ms late in 3 takes.",)),
        ((-14.0, -15.0, -16.0), ("The snare's a of 2 comes 15 ms early in 3 takes.",)),
        # 6 ms is the least displacement that listeners notice (Friberg & Sundberg 1995).
        ((6.0, 6.0, 6.0), ("The snare's a of 2 comes 6 ms late in 3 takes.",)),
        ((5.9, 5.9, 5.9), ()),
        ((15.0, 15.0), ()),
        # Three of four in one direction are a habit; two of three are not.
        ((20.0, 20.0, 20.0, -1.0), ("The snare's a of 2 comes 20 ms late in 4 takes.",)),
        ((20.0, 20.0, -1.0), ()),
    ],
)
def test_what_comes_back_is_a_habit(values: tuple[float, ...], told: tuple[str, ...]) -> None:
    """At least three takes, beyond what is noticed, mostly one way."""
    assert told == habits_of(late(*values))


@pytest.mark.parametrize(
    ("counts", "told"),
    [
        (
            ((4, 1), (4, 1), (3, 1)),
            ("The snare's a of 2 is missing 3 times in 14, over 3 takes.",),
        ),
        (((4, 1), (4, 1), (4, 1)), ()),  # one in five is not more than one in five
        (((0, 4), (0, 4)), ()),
    ],
)
def test_what_is_often_missing_is_said(
    counts: tuple[tuple[int, int], ...], told: tuple[str, ...]
) -> None:
    """More than a fifth of the times, over at least three takes."""
    assert told == habits_of(missing(*counts))


def test_the_largest_habit_comes_first() -> None:
    """Places and voices are told apart."""
    takes = [take(n, ("a of 2", "snare", 9.0, 4, 0), ("1", "bass", -30.0, 4, 0)) for n in range(3)]

    assert ["The bass's 1 comes 30", "The snare's a of 2 comes 9"] == [
        told.split(" ms")[0] for told in habits_of(takes)
    ]


def test_partials_are_told_over_all_cards() -> None:
    """The a of every beat is one partial, numbered places are beats; most takes first."""
    places = (("a of 1", 8.0), ("a of 2", 12.0), ("2", -4.0))
    whole = [(name, "snare", late, 4, 0) for name, late in places]
    takes = [*(take(n, *whole) for n in range(3)), take(9, ("2", "snare", 2.0, 4, 0))]

    assert (
        "snare beats: 2 ms early in 4 takes",
        "snare a: 10 ms late in 3 takes",
    ) == partials_of(takes)


def test_a_partials_course_is_told_from_six_takes_on() -> None:
    """The first half against the second; less than half a millisecond is in place."""
    course = (9.0, 9.0, 9.0, 0.4, 0.2, -0.6)
    rising = [take(n, ("e of 1", "snare", late, 1, 0)) for n, late in enumerate(course)]

    assert ("snare e: 4 ms late in 6 takes; first 9 ms late, lately in place",) == partials_of(
        rising
    )
    assert ("snare e: 7 ms late in 5 takes",) == partials_of(
        [*rising[:3], *[take(4, ("e of 1", "snare", 4.0, 1, 0))] * 2]
    )
    assert () == partials_of(rising[:2])
    assert ("snare e: 0 ms late in 3 takes",) == partials_of(
        [take(n, ("e of 1", "snare", 0.5, 1, 0)) for n in range(3)]
    )


def test_a_cards_trend_keeps_to_its_lines() -> None:
    """The latest months first of all, and of the habits at most half as many."""
    takes = [take(31 * n, ("a of 2", "snare", 15.0, 4, 0)) for n in range(8)]
    lines = card_trend(takes, most=4).splitlines()

    assert 4 == len(lines)
    assert lines[-1].startswith("The snare's a of 2 comes 15 ms late in 8 takes")
    assert [line[:7] for line in months_lines(months_of(takes))][-3:] == [x[:7] for x in lines[:3]]
