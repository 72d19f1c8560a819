"""Moments, practice days and zones, across changes of the clocks in three zones."""

from __future__ import annotations

import time
from datetime import UTC, date, datetime, timedelta, timezone
from datetime import time as clock_time
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.base.clock import MACHINE_ZONE, ManualClock, SystemClock
from drillbox.base.now import (
    LATEST_DAY_END,
    Now,
    coming_day,
    day_name,
    epoch_days,
    in_zone,
    long_day,
    practice_day,
    read_day_end,
    zone_of,
)
from drillbox.errors import UsageError

ZONES = ("Europe/Zurich", "America/New_York", "Australia/Lord_Howe")
"""The last changes its clocks by half an hour (IANA time zone database)."""
EARLIEST, LATEST = datetime(2000, 1, 1), datetime(2040, 1, 1)  # noqa: DTZ001 - hypothesis wants them naive
MOMENTS = st.datetimes(
    EARLIEST, LATEST, timezones=st.sampled_from(ZONES).map(ZoneInfo), allow_imaginary=False
)
"""Moments that some clock shows: none that it skips in spring."""


@given(MOMENTS)
def test_a_zone_survives_as_text(at: datetime) -> None:
    """Kept as UTC and an offset, a moment shows the same wall clock again."""
    again = in_zone(at.astimezone(UTC), zone_of(at))

    assert at.astimezone(UTC) == again.astimezone(UTC)
    assert at.replace(tzinfo=None) == again.replace(tzinfo=None)


@given(MOMENTS)
def test_epoch_days_agree_with_the_posix_timestamp(at: datetime) -> None:
    """Days since the epoch are the standard library's timestamp over 86,400."""
    assert at.timestamp() / 86_400 == pytest.approx(epoch_days(at), abs=1e-9)


@given(MOMENTS, st.integers(0, 20), st.integers(0, LATEST_DAY_END))
def test_a_practice_day_never_goes_back_within_an_evening(
    at: datetime, hours: int, ends: int
) -> None:
    """Later the same night is the same day or the next, never two on, whatever the clocks do."""
    later = (at.astimezone(UTC) + timedelta(hours=hours)).astimezone(at.tzinfo)

    assert practice_day(later, ends) - practice_day(at, ends) in {0, 1}


@pytest.mark.parametrize("zone", ZONES)
def test_every_date_of_a_year_is_one_practice_day(zone: str) -> None:
    """Noon by noon, days of 23, 24 and 25 hours count one each."""
    noons = [
        datetime(2026, 1, 1, 12, tzinfo=ZoneInfo(zone)) + timedelta(days=n) for n in range(365)
    ]

    first = datetime(2026, 1, 1, tzinfo=UTC).toordinal()
    assert list(range(first, first + 365)) == [Now.of(noon).day for noon in noons]


@given(MOMENTS, st.integers(-400, 400), st.integers(0, LATEST_DAY_END))
def test_the_same_time_of_another_day_is_on_that_day(at: datetime, days: int, ends: int) -> None:
    """However the clocks change between, so many days on is so many days on, at about that time."""
    now = Now.of(at, ends)
    then = now.on(now.day + days)

    assert now.day + days == then.day
    assert abs(then.epoch_days - now.epoch_days - days) <= 1 / 12
    assert now.epoch_days == pytest.approx(now.on(now.day).epoch_days, abs=1 / 12)


@given(MOMENTS, st.floats(0.0, 3650.0), st.integers(0, LATEST_DAY_END))
def test_a_later_moment_is_shown_on_the_clock_of_then(at: datetime, wait: float, ends: int) -> None:
    """Days ahead are counted on the wall clock that will hang there, summer time or not."""
    now = Now.of(at, ends)
    later = (at.astimezone(UTC) + timedelta(days=wait)).astimezone(at.tzinfo)
    days = now.epoch_days + wait

    assert abs(now.moment(days) - later) <= timedelta(milliseconds=1)
    assert now.day_of(days) == practice_day(now.moment(days), ends)


def test_moments_past_the_calendar_are_its_ends() -> None:
    """A belief that lasts beyond the year 9999 makes no date, and no error either."""
    now = Now.of(datetime(2026, 5, 1, 12, tzinfo=ZoneInfo("Pacific/Auckland")))

    assert 9999 == now.moment(1e12).year
    assert 1 == now.moment(-1e12).year


def test_offsets_and_unknown_zones() -> None:
    """A zone is kept as its offset; names of older logs are read, unknown ones are UTC."""
    at = datetime(2026, 5, 1, 12, tzinfo=timezone(timedelta(hours=-3, minutes=-30)))

    assert "-03:30" == zone_of(at)
    assert 12 == in_zone(at.astimezone(UTC), "-03:30").hour
    assert 11 == in_zone(at.astimezone(UTC), "America/New_York").hour
    assert 15 == in_zone(at.astimezone(UTC), "Nowhere/At_All").hour
    assert "+00:00" == zone_of(at.astimezone(UTC))


def test_a_naive_moment_is_refused() -> None:
    """Half a moment is none."""
    with pytest.raises(UsageError, match="no time zone"):
        epoch_days(datetime(2026, 5, 1))  # noqa: DTZ001


def test_days_have_names() -> None:
    """25 November 2026 is a Wednesday (ISO 8601 calendar)."""
    assert "Wed 25 Nov" == day_name(datetime(2026, 11, 25, tzinfo=UTC).toordinal())


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="the zone of a process is its own on POSIX")
@pytest.mark.parametrize("zone", ZONES)
def test_the_machines_zone_knows_the_changes_of_its_clocks(
    zone: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Hour by hour of 2026 the machine's zone shows what the IANA time zone database says."""
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        for hour in range(365 * 24):
            at = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(hours=hour)
            here, there = at.astimezone(MACHINE_ZONE), at.astimezone(ZoneInfo(zone))
            assert there.isoformat() == here.isoformat()
            assert there.fold == here.fold
            assert at == here.astimezone(UTC)
        assert SystemClock().now().utcoffset() == datetime.now(ZoneInfo(zone)).utcoffset()
    finally:
        monkeypatch.undo()
        time.tzset()


def test_a_clock_is_turned_forward_by_true_hours() -> None:
    """Over the night of 29 March 2026 a day of 24 hours shows 25 on the wall in Zurich."""
    clock = ManualClock(datetime(2026, 3, 28, 12, tzinfo=ZoneInfo("Europe/Zurich")))
    clock.forward(days=1)

    assert "2026-03-29T13:00:00+02:00" == clock.now().isoformat()
    assert 86_400.0 == clock.seconds()


@pytest.mark.parametrize(
    ("stored", "expected"),
    [(0, 0), (5, 5), (12, 12), (13, 5), (-1, 5), (True, 5), (4.0, 5), ("4", 5), (None, 5)],
)
def test_an_hour_at_which_no_day_can_end_is_the_usual_one(stored: object, expected: int) -> None:
    """From midnight to noon, as the guide says; the usual hour is five."""
    assert expected == read_day_end(stored)


@given(MOMENTS, st.floats(0.0, 30.0), st.integers(0, LATEST_DAY_END))
def test_a_now_knows_its_zone_and_its_date(at: datetime, wait: float, ends: int) -> None:
    """The day at its end still belongs to the date on which it began."""
    now, later = Now.of(at, ends), at + timedelta(days=wait)

    assert zone_of(at) == now.zone
    assert (at.replace(tzinfo=None) - timedelta(hours=ends)).date() == now.today
    assert date.fromordinal(Now.of(later, ends).day) == now.date_of(later)


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="the zone of a process is its own on POSIX")
def test_a_zone_that_no_clock_has_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """A day or more from UTC; the fix names the variable and a zone that works."""
    monkeypatch.setenv("TZ", "UTC+25")
    time.tzset()
    try:
        with pytest.raises(UsageError, match="24 hours or more from UTC; set TZ to a zone such as"):
            SystemClock().now()
    finally:
        monkeypatch.undo()
        time.tzset()


def test_a_now_is_a_value() -> None:
    """Nobody who was handed a moment may move it."""
    now = Now.of(datetime(2026, 11, 25, 12, tzinfo=UTC))

    with pytest.raises(AttributeError):
        now.day = 1  # type: ignore[misc]


class Counter:
    """What the machine counts its seconds by, turned by hand."""

    def __init__(self) -> None:
        self.seconds = 500.0

    def monotonic(self) -> float:
        """Return the count."""
        return self.seconds


@pytest.fixture
def counter(monkeypatch: pytest.MonkeyPatch) -> Counter:
    """Return the machine's count of seconds."""
    made = Counter()
    monkeypatch.setattr("drillbox.base.clock.time", made)
    return made


def test_a_rehearsal_goes_faster_than_the_wall(counter: Counter) -> None:
    """At a pace of a thousand, nine seconds are two hours and a half, told and counted."""
    clock = SystemClock(pace=1000.0)
    began = clock.now()
    counter.seconds += 9.0

    assert 9000.0 == clock.seconds()
    assert timedelta(hours=2, minutes=30) == clock.now() - began


def test_the_true_clock_is_the_wall_and_its_count_is_not(
    counter: Counter, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A wall clock set back by an hour in mid-take shows it, and the take still has its length."""
    wall = datetime(2026, 3, 2, 9, tzinfo=UTC)
    monkeypatch.setattr("drillbox.base.clock._local_now", lambda: wall)
    clock = SystemClock()
    wall -= timedelta(hours=1)
    counter.seconds += 45.0

    assert wall == clock.now()
    assert 45.0 == clock.seconds()


def test_a_time_of_day_alone_has_no_offset() -> None:
    """The zone of a machine is asked for one with no date, and None means that nobody knows.

    So says the standard library of `tzinfo.utcoffset`; of what summer time adds, it never knows.
    """
    alone = clock_time(12, tzinfo=MACHINE_ZONE)

    assert [None] * 3 == [alone.utcoffset(), alone.tzname(), alone.dst()]
    assert datetime(2026, 7, 1, 12, tzinfo=MACHINE_ZONE).dst() is None


@given(st.floats(0.0, 1e6), st.floats(0.0, 400.0))
def test_a_clock_turned_by_hand_tells_and_counts_alike(seconds: float, days: float) -> None:
    """By seconds, by days, by both and by nothing; set to another time, it counts on."""
    began = datetime(2026, 3, 2, 9, tzinfo=UTC)
    clock = ManualClock(began)
    clock.forward(seconds=seconds)
    assert seconds == pytest.approx((clock.now() - began).total_seconds(), abs=1e-5)
    clock.forward(days=days)
    clock.forward()
    passed = seconds + days * 86_400
    assert passed == pytest.approx(clock.seconds())
    assert passed == pytest.approx((clock.now() - began).total_seconds(), abs=1e-4)
    clock.set(began)
    assert began == clock.now()
    assert passed == pytest.approx(clock.seconds())


def test_a_day_is_called_by_what_one_needs_of_it() -> None:
    """The weekday of one that is near, the year of one that may be far, tomorrow as tomorrow."""
    day = date(2026, 3, 4).toordinal()

    assert ("Wed 4 Mar", "4 Mar 2026") == (day_name(day), long_day(day))
    assert ["tomorrow", "on Wed 4 Mar"] == [coming_day(day, day - 1), coming_day(day, day - 2)]
