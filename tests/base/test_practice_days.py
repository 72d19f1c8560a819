"""Practice days: plain words and RFC 5545 rules, holidays, and what they mean for the plan."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from typing import TYPE_CHECKING

import pytest
from dateutil.rrule import rrulestr
from hypothesis import given
from hypothesis import strategies as st

from drillbox.base.practice_days import FARTHEST_DAYS, PracticeDays, read_practice_days
from drillbox.errors import UsageError

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


def following(rule: str, start: str, count: int, holidays: str = "") -> list[str]:
    """Return the next practice days after a date."""
    days = read_practice_days(rule, holidays)
    day, found = date.fromisoformat(start).toordinal(), []
    for _ in range(count):
        day = days.next_after(day)
        found.append(date.fromordinal(day).isoformat())
    return found


@pytest.mark.parametrize(
    ("rule", "start", "expected"),
    [
        # RFC 5545, section 3.8.5.3, "Every other day": from 2 September 1997, that day and every
        # second one after. It is an even number of days after our own start.
        ("FREQ=DAILY;INTERVAL=2", "1997-09-02", ["1997-09-04", "1997-09-06"]),
        ("RRULE:FREQ=DAILY;INTERVAL=2;UNTIL=19971224T000000Z", "1997-09-03", ["1997-09-04"]),
        # The same section, "Weekly on Tuesday and Thursday": 2, 4, 9, 11 September 1997.
        ("tue thu", "1997-09-02", ["1997-09-04", "1997-09-09", "1997-09-11"]),
        ("FREQ=WEEKLY;BYDAY=TU,TH", "1997-09-02", ["1997-09-04", "1997-09-09", "1997-09-11"]),
        # The same section, "Monthly on the first Friday": 5 September, 3 October, 7 November 1997.
        ("FREQ=MONTHLY;BYDAY=1FR", "1997-09-01", ["1997-09-05", "1997-10-03", "1997-11-07"]),
        # Without other parts a month keeps the day of the start (RFC 5545, section 3.3.10).
        ("FREQ=MONTHLY", "2026-03-05", ["2026-04-05", "2026-05-05"]),
        ("FREQ=MONTHLY;INTERVAL=3", "2026-01-20", ["2026-04-05", "2026-07-05"]),
        ("FREQ=YEARLY", "2026-01-04", ["2026-01-05", "2027-01-05"]),
        ("every day", "2026-02-27", ["2026-02-28", "2026-03-01"]),
        ("weekdays", "2026-11-27", ["2026-11-30", "2026-12-01"]),
        # A rule has no day before its start (RFC 5545, section 3.8.5.3), ours before January 1970.
        ("every day", "1960-01-01", ["1960-01-02"]),
        ("every day", "1969-12-30", ["1970-01-05", "1970-01-06"]),
        ("Monday, Wednesday", "2026-11-23", ["2026-11-25", "2026-11-30"]),
    ],
)  # fmt: skip
def test_rules_name_the_days_of_the_standard(rule: str, start: str, expected: list[str]) -> None:
    """Plain words and the standard's own examples give the standard's days."""
    assert expected == following(rule, start, len(expected))


@given(
    st.sampled_from(["DAILY", "WEEKLY", "MONTHLY", "YEARLY"]),
    st.integers(1, 40),
    st.sampled_from(["", ";BYDAY=MO,TH", ";BYMONTH=3,7"]),
    st.sampled_from(["", ";WKST=SU"]),
    st.integers(719_170, 722_000),
)
def test_a_rule_started_late_names_the_days_of_one_started_at_once(
    frequency: str, interval: int, more: str, week: str, day: int
) -> None:
    """By python-dateutil from the first day on, step by step; months keep the fifth."""
    text = f"FREQ={frequency};INTERVAL={interval}{more}{week}"
    start = datetime(1970, 1, 5)  # noqa: DTZ001 - a rule of local days has no zone
    expected = rrulestr(text, dtstart=start).after(datetime.combine(date.fromordinal(day), time()))
    if expected is not None and expected.toordinal() - day <= FARTHEST_DAYS:
        assert expected.toordinal() == PracticeDays(text, ()).next_after(day)


def test_intervals_reach_from_a_day_to_a_year() -> None:
    """Both ends of the range are meant; what lies beyond is refused elsewhere."""
    assert ["1997-09-03"] == following("FREQ=DAILY;INTERVAL=1", "1997-09-02", 1)
    first, second = following("FREQ=DAILY;INTERVAL=366", "1997-09-02", 2)
    assert 366 == (date.fromisoformat(second) - date.fromisoformat(first)).days


def test_every_part_that_names_days_may_stand_in_a_rule() -> None:
    """All ten at once: 2 January 2026 is the Friday of the first week (ISO 8601 calendar)."""
    rule = (
        "FREQ=YEARLY;INTERVAL=1;UNTIL=20260102;WKST=MO;BYMONTH=1;BYWEEKNO=1;BYYEARDAY=2"
        ";BYMONTHDAY=2;BYDAY=FR;BYSETPOS=1"
    )
    day = date(2026, 1, 2).toordinal()

    assert day == PracticeDays(rule, ()).next_after(day - 300)
    # Its last day has passed: the next day is taken.
    assert day + 1 == PracticeDays(rule, ()).next_after(day)


def test_a_year_ahead_is_looked_at_and_no_more() -> None:
    """A leap year lies between two firsts of March; two of them never lie farther apart."""
    first = "FREQ=YEARLY;BYMONTH=3;BYMONTHDAY=1"

    assert ["2028-03-01", "2029-03-01"] == following(first, "2027-03-01", 2)
    assert ["2027-03-01"] == following(first, "2027-02-28", 1)
    # The next 29th of February is four years away: the next day is taken.
    leap, day = "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29", date(2024, 2, 29).toordinal()
    assert day + 1 == PracticeDays(leap, ()).next_after(day)
    assert day == PracticeDays(leap, ()).next_after(day - 60)


def test_a_rule_may_be_as_long_as_a_line_and_no_longer() -> None:
    """Two hundred signs; a rule that is refused is shown, one of more than sixty by its start."""
    days = ",".join(f"{day % 9 + 1}" for day in range(89))
    longest = f"FREQ=DAILY;BYMONTHDAY={days}1"
    assert 200 == len(longest)

    assert ["1997-09-03"] == following(longest, "1997-09-02", 1)
    with pytest.raises(UsageError, match="names no practice days") as caught:
        read_practice_days(f"{longest}1")
    assert f"'{longest[:57]}'... names" in str(caught.value)
    for many, shown in ((60, f"'{'x' * 60}' names"), (61, f"'{'x' * 57}'... names")):
        with pytest.raises(UsageError, match=re.escape(shown)):
            read_practice_days("x" * many)


@pytest.mark.parametrize("last", ["2029-01-03", "2026-01-01"])
def test_a_holiday_lasts_three_years_at_most(last: str) -> None:
    """Of 366 days each; both its ends are off, and what is a day longer is refused."""
    (span,) = read_practice_days("every day", f"2026-01-01..{last}").off
    begin, end = date(2026, 1, 1).toordinal(), date.fromisoformat(last).toordinal()

    assert (begin, end) == span
    assert end - begin in {0, 3 * 366}
    assert [False, True, True, False] == [
        PracticeDays("every day", (span,)).is_off(day) for day in (begin - 1, begin, end, end + 1)
    ]
    with pytest.raises(UsageError, match="is longer than three years"):
        read_practice_days("every day", "2026-01-01..2029-01-04")


def test_after_a_year_of_holidays_the_next_day_is_taken() -> None:
    """No plan waits for ever: where no practice day is left, tomorrow is one."""
    assert ["1997-09-03"] == following("mon", "1997-09-02", 1, "1997-01-01..1999-01-01")


def test_holidays_are_left_out() -> None:
    """Single days and spans, both ends included."""
    found = following("weekdays", "2026-12-22", 3, "2026-12-24 2026-12-28..2027-01-01")

    assert ["2026-12-23", "2026-12-25", "2027-01-04"] == found


@pytest.mark.parametrize(
    ("rule", "holidays", "sentence"),
    [
        ("fortnightly", "", "'fortnightly' names no practice days"),
        ("FREQ=NEVER", "", "names no practice days"),
        ("BYDAY=MO", "", "'BYDAY=MO' names no practice days"),
        ("", "", "names no practice days"),
        ("DTSTART:19970902T000000\nRRULE:FREQ=DAILY", "", "names no practice days"),
        ("FREQ=SECONDLY", "", "'FREQ=SECONDLY' is finer than a day"),
        ("FREQ=HOURLY;INTERVAL=24", "", "is finer than a day"),
        ("FREQ=WEEKLY;INTERVAL=0", "", "'FREQ=WEEKLY;INTERVAL=0' has no interval of 1 to 366"),
        ("FREQ=DAILY;INTERVAL=-1", "", "has no interval of 1"),
        ("FREQ=DAILY;INTERVAL=99999999999", "", "has no interval of 1"),
        ("FREQ=YEARLY;INTERVAL=2", "", "has no practice day within a year"),
        ("FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30", "", "has no practice day within a year"),
        ("FREQ=DAILY;BYHOUR=1,2,3", "", "names no practice days"),
        ("FREQ=DAILY;COUNT=3", "", "names no practice days"),
        ("FREQ=DAILY;FREQ=WEEKLY", "", "names no practice days"),
        ("FREQ=DAILY;BYDAY=1FR,XX", "", "names no practice days"),
        ("FREQ=DAILY;UNTIL=20269999", "", "names no practice days"),
        ("FREQ=DAILY;BYDAY=" + "MO," * 5000 + "TU", "", "names no practice days"),
        ("FREQ=DAILY;UNTIL=19600101T000000", "", "has no practice day within"),
        ("every day", "christmas", "'christmas' is no date"),
        ("every day", "2026-12-30..2026-12-01", "ends before it begins"),
        ("every day", "0001-01-01..9999-12-31", "is longer than three years"),
    ],
)
def test_what_cannot_be_meant_is_refused(rule: str, holidays: str, sentence: str) -> None:
    """One sentence, and what can be written instead."""
    with pytest.raises(UsageError, match=sentence):
        read_practice_days(rule, holidays)


@given(
    st.sets(st.sampled_from(["mon", "tue", "wed", "thu", "fri", "sat", "sun"]), min_size=1),
    st.integers(720_000, 800_000),
)
def test_the_next_practice_day_is_the_first_of_its_names(names: set[str], day: int) -> None:
    """It lies one to seven days ahead, bears one of the names, and no day between does."""
    found = read_practice_days(" ".join(sorted(names))).next_after(day)
    between = [f"{date.fromordinal(d):%a}".lower() for d in range(day + 1, found)]

    assert 1 <= found - day <= 7
    assert f"{date.fromordinal(found):%a}".lower() in names
    assert not names & set(between)


def test_a_rule_is_kept_only_if_it_can_be_read(box: Box, clock: ManualClock) -> None:
    """The box refuses what it could not plan by, and stays as it was."""
    box.change_settings(at=clock.now(), days="mon wed fri")
    with pytest.raises(UsageError, match="names no practice days"):
        box.change_settings(at=clock.now(), days="now and then")

    assert "mon wed fri" == box.settings.days


def test_the_next_practice_is_on_the_next_practice_day(box: Box, clock: ManualClock) -> None:
    """From a Monday, with Mondays and Thursdays: the plan is Thursday's."""
    box.change_settings(at=clock.now(), days="mon thu")
    day, plan = box.next_practice(at=clock.now())

    assert date(2026, 3, 5).toordinal() == day
    assert plan.items
