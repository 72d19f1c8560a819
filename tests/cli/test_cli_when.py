"""A take that was forgotten is entered later: when it was, by the player's own clock and days."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from strategies import clock_times, nows

from drillbox import Box, Grade
from drillbox.base.now import Now, practice_day
from drillbox.cli.when_played import read_when
from drillbox.errors import UsageError
from drillbox.store import list_backups

if TYPE_CHECKING:
    from pathlib import Path

    from cli_kit import Player

    from drillbox.base.clock import ManualClock
    from drillbox.deckfile import Deck


def left_out(on: date, wanted: time, now: Now) -> bool:
    """Return whether the player's clocks never showed that time on that date."""
    wall = datetime.combine(on, wanted, tzinfo=now.at.tzinfo)
    return wall.astimezone(UTC).astimezone(now.at.tzinfo).time() != wanted


def date_of(practised: int, wanted: time, now: Now) -> date:
    """Return the calendar's date of a time on a practice day: after midnight it is the next."""
    return date.fromordinal(practised + (wanted.hour < now.day_ends_at))


@given(now=nows(), wanted=clock_times())
def test_yesterday_is_the_practice_day_before(now: Now, wanted: time) -> None:
    """Whatever the hour now, and the hour asked for: that day, that time by the clock on the wall.

    An hour after midnight belongs to the evening before it. One that the clocks left out has a test
    of its own.
    """
    assume(not left_out(date_of(now.day - 1, wanted, now), wanted, now))
    at = read_when(f"yesterday {wanted:%H:%M}", now)

    assert now.day - 1 == practice_day(at, now.day_ends_at)
    assert wanted == at.time()
    assert at < now.at


@given(now=nows(), wanted=clock_times())
def test_a_time_alone_is_of_today_and_has_been(now: Now, wanted: time) -> None:
    """What is still to come today is refused, and nothing else is."""
    typed = f"{wanted:%H:%M}"
    on = date_of(now.day, wanted, now)
    assume(not left_out(on, wanted, now))
    if datetime.combine(on, wanted, tzinfo=now.at.tzinfo).astimezone(UTC) > now.at:
        with pytest.raises(UsageError, match="has not come yet"):
            read_when(typed, now)
        return
    at = read_when(typed, now)
    assert now.day == practice_day(at, now.day_ends_at)
    assert wanted == at.time()
    assert at <= now.at


@given(
    now=nows(),
    day=st.dates(date(1970, 1, 1), date(2025, 12, 31)),
    wanted=clock_times(),
    between=st.sampled_from((" ", "T", "  ")),
)
def test_a_date_is_the_calendars(now: Now, day: date, wanted: time, between: str) -> None:
    """Written as ISO 8601 writes it, the time after a space or a T."""
    assume(not left_out(day, wanted, now))
    at = read_when(f"{day}{between}{wanted:%H:%M}", now)

    assert (day, wanted) == (at.date(), at.time())


@given(now=nows())
def test_a_day_without_a_time_is_this_time_of_that_day(now: Now) -> None:
    """Who does not remember the hour need not make one up."""
    assert now.on(now.day - 1).at == read_when(" Yesterday ", now)
    assert now.at == read_when("today", now)
    before = (now.at.date() - timedelta(days=9)).isoformat()
    assert before == read_when(before, now).date().isoformat()


@pytest.mark.parametrize(
    ("zone", "typed", "expected"),
    [
        # Summer time begins on the last Sunday of March at 1:00 UTC (Directive 2000/84/EC).
        ("Europe/Zurich", "2026-03-29 01:59", "2026-03-29T01:59:00+01:00"),
        ("Europe/Zurich", "2026-03-29 03:00", "2026-03-29T03:00:00+02:00"),
        # And ends on the last Sunday of October at 1:00 UTC: of two like hours the first is meant.
        ("Europe/Zurich", "2026-10-25 02:30", "2026-10-25T02:30:00+02:00"),
        # From the second Sunday of March to the first of November (15 U.S.C. 260a).
        ("America/New_York", "2026-03-08 03:30", "2026-03-08T03:30:00-04:00"),
        ("America/New_York", "2026-11-01 01:30", "2026-11-01T01:30:00-04:00"),
        ("Asia/Kolkata", "2026-03-29 02:30", "2026-03-29T02:30:00+05:30"),
    ],
)
def test_the_changes_of_the_clocks(zone: str, typed: str, expected: str) -> None:
    """Of an hour that came twice the first is meant; the hours beside one left out are there."""
    now = Now.of(datetime(2026, 12, 1, 12, tzinfo=ZoneInfo(zone)))

    assert expected == read_when(typed, now).isoformat()


@pytest.mark.parametrize(
    ("zone", "typed", "said"),
    [
        ("Europe/Zurich", "2026-03-29 02:30", "Sun 29 Mar and left 02:30 out; say 01:30 or 03:30"),
        ("Europe/Zurich", "2026-03-29 02:00", "Sun 29 Mar and left 02:00 out; say 01:00 or 03:00"),
        ("America/New_York", "2026-03-08 02:59", "say 01:59 or 03:59, whichever it was"),
        # By half an hour, on the first Sunday of October at 2:00 (the IANA time zone database).
        ("Australia/Lord_Howe", "2025-10-05 02:15", "say 01:45 or 02:45, whichever it was"),
    ],
)
def test_a_time_that_the_clocks_left_out_is_refused(zone: str, typed: str, said: str) -> None:
    """Nobody played then: the player knows whether it was the hour before or the one after."""
    now = Now.of(datetime(2026, 12, 1, 12, tzinfo=ZoneInfo(zone)))
    with pytest.raises(UsageError, match="the clocks were put forward on") as refusal:
        read_when(typed, now)

    assert said in refusal.value.sentence()


def test_a_day_without_a_time_never_names_one_that_was_left_out() -> None:
    """Nobody typed 02:30: that date it is, at the time the clocks had."""
    now = Now.of(datetime(2026, 12, 1, 2, 30, tzinfo=ZoneInfo("Europe/Zurich")))

    assert "2026-03-29T03:30:00+02:00" == read_when("2026-03-29", now).isoformat()


@pytest.mark.parametrize(
    "typed",
    ["", " ", "t", "soon", "24:00", "18:60", "18", "1830", "yesterday at 6", "2026-02-30",
     "2026-13-01 10:00", "26-11-25 18:30", "9999-99-99",
     "١٨:٣٠", "yesterday 18:30:00", "-1:30", "today today"],
)  # fmt: skip
def test_what_names_no_moment_is_refused(typed: str) -> None:
    """In one sentence that says how it is written."""
    now = Now.of(datetime(2026, 12, 1, 12, tzinfo=ZoneInfo("Europe/Zurich")))
    with pytest.raises(UsageError, match="no time that can be read") as refusal:
        read_when(typed, now)

    assert "yesterday 18:30" in refusal.value.sentence()


@pytest.mark.parametrize("day", ["0001-01-01", "1969-12-31"])
def test_a_day_before_all_takes_is_refused_as_too_early(day: str) -> None:
    """It can be read; the log holds nothing before 1970."""
    now = Now.of(datetime(2026, 12, 1, 12, tzinfo=ZoneInfo("Europe/Zurich")))
    with pytest.raises(UsageError, match=f"{day} is too early: takes are from 1970 on"):
        read_when(f"{day} 10:00", now)


def test_a_take_of_yesterday_is_yesterdays(box: Box, clock: ManualClock, small_deck: Deck) -> None:
    """It stands before today's in the history, cold; what is believed is a replay of both."""
    del small_deck
    card, now = box.find("e"), clock.now()
    box.record(card, bpm=80, grade=Grade.STEADY, at=now, seconds=40)
    late = read_when("yesterday 18:30", box.now(now))
    saved = box.record(card, bpm=70, grade=Grade.CLEAN, at=late, seconds=30, entered=now)

    assert saved.cold
    assert [70, 80] == [take.bpm for take in box.history(card)]
    assert [True, True] == [take.cold for take in box.history(card)]
    assert ["18:30", f"{now:%H:%M}"] == [f"{take.at:%H:%M}" for take in box.history(card)]
    assert 40.0 == box.day(now).seconds
    assert 30.0 == box.day(late).seconds
    assert frozenset() == box.wrong_beliefs()


def test_a_take_entered_late_makes_no_backup_of_yesterday(
    tmp_path: Path, clock: ManualClock, small_deck: Deck
) -> None:
    """The box is told what time it is, and not what time it was: backups are dated by the clock."""
    path, now = tmp_path / "player.box", clock.now()
    with Box.open(path, clock=clock) as box:
        box.put_deck(small_deck, at=now)
    with Box.open(path, clock=clock) as box:
        late = now - timedelta(days=1)
        box.record(box.find("e"), bpm=70, grade=Grade.CLEAN, at=late, seconds=30, entered=now)

    assert {now.date()} == {backup.day for backup in list_backups(path)}


def test_a_date_long_ago_is_asked_about(box: Box, clock: ManualClock) -> None:
    """A month late may be a mistyped date; of a late take it is no wonder that others are later."""
    card, now = box.find("e"), clock.now()
    box.record(card, bpm=80, grade=Grade.STEADY, at=now, seconds=40)
    for days, doubted in ((1, False), (30, False), (31, True), (400, True)):
        at = now - timedelta(days=days)
        said = box.implausible(card, 78, at, entered=now)
        assert doubted == (said is not None), days
        assert said is None or f"{at.year} is {days} days ago." in said
    yesterday = now - timedelta(days=1)
    assert "far above" in str(box.implausible(card, 380, yesterday, entered=now))


def test_forgotten_takes_are_entered_in_one_line(player: Player) -> None:
    """One after the other; each is told with how it is taken back, and 'undo' keeps to today's."""
    code, out, _ = player("record", "e 60 clean, e 65 steady", "--at", "yesterday 18:30")
    assert 0 == code
    assert 2 == out.count("18:30; 'drillbox undo ")
    code, out, _ = player("card", "e")
    assert ["cold", "warm"] == [
        line.split()[4] for line in out.splitlines() if "18:3" in line and "bpm" not in line
    ]
    code, out, _ = player("undo")
    assert "No take of today" in out
    code, _, err = player("record", "e 60 clean", "--at", "1999-01-01 10:00")
    assert 2 == code
    assert "days ago; say --sure if it is so." in err
    code, _, err = player("record", "e 60 clean", "--at", "soon")
    assert 2 == code
    assert "no time that can be read" in err
    code, _, err = player(
        "record", ", ".join(["e 60 clean"] * 3), "--at", "today", "--seconds", "30"
    )
    assert 2 == code
    assert "the last of 3 takes ends later than now" in err


def test_a_day_before_the_new_years_is_of_the_old_year(
    tmp_path: Path, clock: ManualClock, small_deck: Deck
) -> None:
    """Half past midnight on 1 January is still the practice day of 31 December, and its year."""
    with Box.open(tmp_path / "one.box", clock=clock) as box:
        box.put_deck(small_deck, at=clock.now())
        (card, *_) = box.entries()
        night = datetime(2025, 1, 1, 0, 30, tzinfo=clock.now().tzinfo)
        doubt = box.implausible(card, 80, night, entered=clock.now())

    assert doubt is not None
    assert doubt.startswith("Tue 31 Dec 2024 is ")
