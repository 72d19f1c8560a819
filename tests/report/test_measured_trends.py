"""What measured takes say over weeks: medians, and habits that come back often enough."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from drillbox.base.now import DAY_ENDS_AT, practice_day
from drillbox.box.take_views import TakeView
from drillbox.ear.bands import COLUMNS, USUAL_CUTS
from drillbox.ear.calibrating import LEAST_TAKES, agreement, limits_at, player_cuts
from drillbox.memory import Grade
from drillbox.report.measured_trends import (
    MonthOfTakes,
    card_trend,
    habits_of,
    heard_section,
    measured_takes,
    months_lines,
    months_of,
    partials_of,
)
from drillbox.report.own_bands import cuts_of, own_bands, verdicts_of
from drillbox.report.year import year_sections

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box

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
    day = practice_day(at, DAY_ENDS_AT)
    return TakeView("t", "c", 80.0, Grade.CLEAN, at, day, 40.0, True, "audio", measured)


def late(*values: float) -> list[TakeView]:
    """Return takes in which the a of 2 came so many milliseconds late."""
    return [take(n, ("a of 2", "snare", value, 4, 0)) for n, value in enumerate(values)]


def missing(*counts: tuple[int, int]) -> list[TakeView]:
    """Return takes in which the a of 2 was heard and missed so often, and never timed."""
    return [take(n, ("a of 2", "snare", None, *count)) for n, count in enumerate(counts)]


def test_a_take_after_midnight_is_of_the_month_of_its_evening() -> None:
    """One of 02:00 on the first of April is March's: a practice day ends at five."""
    (month,) = months_of([take(29.7), take(30 - 7 / 24)])
    assert ("2026-03", 2) == (month.month, month.takes)


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


def test_a_habit_is_told_of_what_was_missed_before_what_was_late() -> None:
    """By how far each goes beyond what is noticed: a third missed outweighs 9 ms.

    A partial is missing in so many of all times it was to be struck, heard or not.
    """
    takes = [take(n, ("a of 2", "snare", 9.0, 2, 1), ("1", "bass", 40.0, 9, 0)) for n in range(3)]

    assert (
        "The bass's 1 comes 40 ms late in 3 takes.",
        "The snare's a of 2 is missing 3 times in 9, over 3 takes.",
        "The snare's a of 2 comes 9 ms late in 3 takes.",
    ) == habits_of(takes)
    assert () == habits_of([replace(one, measured={"version": 99}) for one in takes])


def test_a_cards_trend_has_months_where_there_is_no_habit() -> None:
    """As many of the latest as fit; without habits, months alone; of nothing, nothing."""
    even = [take(31 * n) for n in range(8)]
    both = [take(31 * n, ("a of 2", "snare", 15.0, 4, 0), ("1", "bass", 30.0, 4, 0)) for n in
            range(8)]  # fmt: skip

    assert list(months_lines(months_of(even)))[-5:] == card_trend(even, most=5).splitlines()
    assert [*list(months_lines(months_of(both)))[-3:], *habits_of(both)] == card_trend(
        both, most=5
    ).splitlines()
    assert [*list(months_lines(months_of(both)))[-2:], habits_of(both)[0]] == card_trend(
        both, most=3
    ).splitlines()
    assert "" == card_trend([], most=4)


def test_a_cards_trend_keeps_to_its_lines() -> None:
    """The latest months first of all, and of the habits at most half as many."""
    takes = [take(31 * n, ("a of 2", "snare", 15.0, 4, 0)) for n in range(8)]
    lines = card_trend(takes, most=4).splitlines()

    assert 4 == len(lines)
    assert lines[-1].startswith("The snare's a of 2 comes 15 ms late in 8 takes")
    assert [line[:7] for line in months_lines(months_of(takes))][-3:] == [x[:7] for x in lines[:3]]


def logged(spread: float, *partials: tuple[str, str, float | None, int, int]) -> dict[str, Any]:
    """Return what the log keeps of a take of so even a playing."""
    measured = take(0, *partials, spread=spread, contrast=20.0).measured
    assert measured is not None
    return dict(measured)


def play(box: Box, clock: ManualClock, *takes: tuple[float, Grade, str]) -> None:
    """Record measured takes, each (spread, grade, source), a week apart."""
    partials = [(f"{name} of 1", "snare", 12.0, 4, 0) for name in ("e", "&", "a")]
    partials += [(str(beat), voice, -9.0, 4, 0) for beat in (1, 2) for voice in ("bass", "hat")]
    partials += [(f"{name} of 1", "rim", 7.0, 4, 0) for name in ("e", "&", "a", "and t")]
    for spread, grade, source in takes:
        clock.forward(days=7)
        box.record(
            box.find("e"), bpm=80, grade=grade, at=clock.now(), seconds=40, source=source,
            measured=logged(spread, *partials),
        )  # fmt: skip


def test_the_year_tells_what_was_heard(box: Box, clock: ManualClock) -> None:
    """Months, then at most eight partials, no line wider than asked for; unmeasured takes apart."""
    box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    assert [] == heard_section(box, width=80)
    assert not any("Heard" in title for title, _ in year_sections(box, at=clock.now(), width=80))
    play(box, clock, *[(8.0, Grade.AUTOMATIC, "audio")] * 5)
    ((title, body),) = heard_section(box, width=200)
    lines = body.splitlines()

    assert ((title, body),) == tuple(
        section for section in year_sections(box, at=clock.now(), width=200) if section[0] == title
    )
    assert 5 == len(measured_takes(box))
    assert title.startswith("Heard: ")
    assert list(months_lines(months_of(measured_takes(box)))) == lines[:2]
    assert list(partials_of(measured_takes(box))[:8]) == lines[2:]
    assert 9 == len(partials_of(measured_takes(box)))
    assert "snare e: 12 ms late in 5 takes" in lines
    for width in (30, 50):
        ((_, narrow),) = heard_section(box, width=width)
        assert max(map(len, narrow.splitlines())) <= width
        assert body.split() == narrow.split()


def test_own_limits_come_from_own_verdicts_alone(box: Box, clock: ManualClock) -> None:
    """Takes that were measured and graded by hand; from eight on they are told, under the months.

    The shares and limits are those of `drillbox.ear.calibrating`, each grade down to shaky.
    """
    strict = (8.0, Grade.STEADY, "self")
    play(box, clock, *[(8.0, Grade.AUTOMATIC, "audio")] * 9, *[strict] * (LEAST_TAKES - 1))
    for measured in (None, {"version": 99}):
        box.record(
            box.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40, measured=measured
        )
    assert LEAST_TAKES - 1 == len(verdicts_of(box).takes)
    assert (USUAL_CUTS, ()) == (cuts_of(box), own_bands(box))

    play(box, clock, strict)
    verdicts = verdicts_of(box)
    cuts = player_cuts(verdicts)
    head, *grades = own_bands(box)
    assert {(8.0, 0)} == {(measures.spread_ms, grade) for measures, grade in verdicts.takes}
    assert cuts == cuts_of(box) != USUAL_CUTS
    assert f"own verdicts, {LEAST_TAKES} takes graded by hand" in head
    shares = (agreement(verdicts, cuts), agreement(verdicts, USUAL_CUTS))
    assert [f"{share:.0%}" for share in shares] == re.findall(r"\d+%", head)
    assert ["automatic", "clean", "steady"] == [line.split(":")[0] for line in grades]
    for place, line in enumerate(grades):
        for column, mine, usual in zip(
            COLUMNS, limits_at(cuts), limits_at(USUAL_CUTS), strict=True
        ):
            assert f"{column.name} {mine[place]:.0f} ({usual[place]:.0f}) {column.unit}" in line
    ((_, body),) = heard_section(box, width=400)
    assert body.endswith("\n".join(["", "", head, *grades]))
