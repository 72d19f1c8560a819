"""The practice days of many moments at once are those of each moment alone."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from drillbox.base.many_moments import DAY, microseconds, microseconds_of, practice_days
from drillbox.base.now import LATEST_DAY_END, epoch_days, practice_day
from drillbox.base.tempi import ASKED, FIRST_GOAL, LOGGED, SOUNDED, TAKEN

ZONES = ("Pacific/Auckland", "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata")
CHANGES = (
    # Moments at which clocks change: New York, 8 March and 1 November 2026, 2:00 local; Auckland,
    # 5 April and 27 September 2026; Lord Howe, by half an hour, on the same days (IANA database).
    datetime(2026, 3, 8, 7, tzinfo=UTC),
    datetime(2026, 11, 1, 6, tzinfo=UTC),
    datetime(2026, 4, 4, 14, tzinfo=UTC),
    datetime(2026, 9, 26, 14, tzinfo=UTC),
    datetime(2026, 4, 4, 15, tzinfo=UTC),
)


@given(
    st.sampled_from(ZONES).map(ZoneInfo),
    st.integers(0, LATEST_DAY_END),
    st.lists(
        st.tuples(st.sampled_from(CHANGES), st.integers(-3 * DAY, 3 * DAY)), min_size=1, max_size=30
    ),
)
def test_columns_agree_with_one_moment_at_a_time(
    zone: ZoneInfo, ends: int, moments: list[tuple[datetime, int]]
) -> None:
    """Around every change of the clocks, at every hour at which a day may end."""
    ticks = [round(at.timestamp()) * 1_000_000 + shift for at, shift in moments]
    ats = [datetime.fromtimestamp(tick / 1e6, UTC).astimezone(zone) for tick in ticks]
    expected = [practice_day(at, ends) for at in ats]

    assert expected == practice_days(np.array(ticks), zone, ends).tolist()


def test_days_become_whole_microseconds() -> None:
    """To the nearest one: a float of today counts days to about a microsecond."""
    at = datetime(2026, 11, 25, 12, 30, 15, 250_001, tzinfo=UTC)

    assert [round(at.timestamp() * 1e6)] == microseconds(np.array([epoch_days(at)])).tolist()
    assert [1, 0] == microseconds(np.array([0.6 / DAY, 0.4 / DAY])).tolist()


@given(st.datetimes(timezones=st.sampled_from(ZONES).map(ZoneInfo), allow_imaginary=False))
def test_a_moment_becomes_whole_microseconds(at: datetime) -> None:
    """Its seconds since the Unix epoch (POSIX), a million times, and its own microseconds."""
    seconds = round(at.replace(microsecond=0).timestamp())
    assert 1_000_000 * seconds + at.microsecond == microseconds_of(at)


def test_a_tempo_beyond_a_range_is_brought_to_its_end() -> None:
    """And one inside is left as it is."""
    assert [20, 20, 99.5, 400, 400] == [ASKED.nearest(bpm) for bpm in (3, 20, 99.5, 400, 900)]


def test_the_table_of_tempos_is_the_guides() -> None:
    """One table; a change of it is a change of what users are told."""
    assert [(20, 400), (8, 400), (1, 1000), (10, 600), (40, 240)] == [
        tuple(span) for span in (ASKED, TAKEN, LOGGED, SOUNDED, FIRST_GOAL)
    ]
