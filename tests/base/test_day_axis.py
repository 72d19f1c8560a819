"""Ticks under an axis of days: as close as there is room for, on days that people name."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.base.day_axis import day_ticks, tick_name

FIRST = date(2026, 3, 2).toordinal()


def ticks(first: str, last: str, most: int) -> list[str]:
    """Return the ticks of a span as ISO 8601 dates."""
    found = day_ticks(
        date.fromisoformat(first).toordinal(), date.fromisoformat(last).toordinal(), most
    )
    return [date.fromordinal(day).isoformat()[2:] for day in found]


@pytest.mark.parametrize(
    ("first", "last", "expected"),
    [
        ("2026-03-02", "2026-03-02", ["26-03-02"]),
        ("2026-03-02", "2026-03-05", ["26-03-02", "26-03-03", "26-03-04", "26-03-05"]),
        ("2026-03-02", "2026-03-08", ["26-03-02", "26-03-04", "26-03-06", "26-03-08"]),
        ("2026-03-02", "2026-03-29", ["26-03-02", "26-03-09", "26-03-16", "26-03-23"]),
        ("2026-03-02", "2026-04-26", ["26-03-02", "26-03-16", "26-03-30", "26-04-13"]),
        ("2026-03-02", "2026-07-31", ["26-04-01", "26-05-01", "26-06-01", "26-07-01"]),
        ("2026-03-01", "2026-06-01", ["26-03-01", "26-04-01", "26-05-01", "26-06-01"]),
        ("2026-03-02", "2026-10-31", ["26-05-01", "26-07-01", "26-09-01"]),
        ("2026-01-01", "2026-12-31", ["26-01-01", "26-04-01", "26-07-01", "26-10-01"]),
        ("2026-01-01", "2027-12-31", ["26-01-01", "26-07-01", "27-01-01", "27-07-01"]),
        ("2026-01-01", "2029-12-31", ["26-01-01", "27-01-01", "28-01-01", "29-01-01"]),
        ("2026-01-01", "2033-12-31", ["26-01-01", "28-01-01", "30-01-01", "32-01-01"]),
        ("2026-01-01", "2046-12-31", ["30-01-01", "35-01-01", "40-01-01", "45-01-01"]),
    ],
)
def test_at_most_four_ticks_stand_on_days_people_name(
    first: str, last: str, expected: list[str]
) -> None:
    """Days, every other day, weeks, fortnights, then the first days of months and years."""
    assert expected == ticks(first, last, 4)


@given(st.integers(FIRST, FIRST + 20_000), st.integers(0, 15_000), st.integers(2, 12))
def test_ticks_lie_in_the_span_in_order_and_are_not_too_many(
    first: int, days: int, most: int
) -> None:
    """Whatever the span."""
    found = day_ticks(first, first + days, most)

    assert 1 <= len(found) <= most
    assert found == sorted(set(found))
    assert first <= found[0]
    assert found[-1] <= first + days


@pytest.mark.parametrize(
    ("day", "year", "expected"),
    [
        ("2026-03-01", False, "Mar"),
        ("2026-03-01", True, "Mar 2026"),
        ("2026-03-02", False, "2 Mar"),
        ("2026-03-02", True, "2 Mar 2026"),
    ],
)
def test_the_first_of_a_month_is_called_by_the_month(day: str, year: bool, expected: str) -> None:  # noqa: FBT001
    """Every other day has its number."""
    assert expected == tick_name(date.fromisoformat(day).toordinal(), year=year)
