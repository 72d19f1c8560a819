"""The plots of the year and of a card: true dates, the goal and today marked, no hanging on hue."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.app.widgets.card_history import card_picture
from drillbox.app.widgets.dated_plot import Curve
from drillbox.base.day_axis import day_ticks
from drillbox.memory import Grade

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import make_app, press, screen_text, settle, shows

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


@pytest.fixture
def lived(box: Box, clock: ManualClock) -> Box:
    """Return the box after two years: one card came to its goal, one was begun last month."""
    for day in range(0, 720, 20):
        clock.forward(days=20)
        grade = Grade.SHAKY if day % 60 == 0 else Grade.CLEAN
        box.record(box.find("e"), bpm=60 + day / 12, grade=grade, at=clock.now(), seconds=40)
    for _ in range(3):
        clock.forward(seconds=60)
        box.record(box.find("a"), bpm=70, grade=Grade.STEADY, at=clock.now(), seconds=40)
    clock.forward(days=1)
    return box


DAYS = st.integers(date(2000, 1, 1).toordinal(), date(2060, 1, 1).toordinal())


@given(DAYS, st.integers(1, 9_000), st.integers(2, 20))
def test_ticks_are_few_in_order_and_on_days_a_reader_knows(
    first: int, span: int, most: int
) -> None:
    """Never more than there is room for; single days, or the first of a month."""
    ticks = day_ticks(first, first + span, most)
    days = [date.fromordinal(tick) for tick in ticks]

    assert 0 < len(ticks) <= most
    assert sorted(set(ticks)) == ticks
    assert first <= ticks[0] <= ticks[-1] <= first + span
    if len(ticks) > 1 and ticks[1] - ticks[0] > 14:
        assert {1} == {day.day for day in days}


def test_five_years_have_their_years_at_the_axis() -> None:
    """From November 2021 on, with room for six names: each January, or each second month of it."""
    first = date(2021, 11, 27).toordinal()
    ticks = [date.fromordinal(tick) for tick in day_ticks(first, first + 1_825, 6)]

    assert [date(year, 1, 1) for year in range(2022, 2027)] == ticks


@given(st.lists(DAYS, min_size=1, unique=True).map(sorted), DAYS)
def test_a_part_of_a_curve_begins_at_the_height_it_had(days: list[int], first: int) -> None:
    """What was reached before the span is where the line enters it; later points stay."""
    values = [float(n) for n, _ in enumerate(days)]
    part = Curve(days, values, "a").since(first)
    before = [value for day, value in zip(days, values, strict=True) if day <= first]

    assert all(day >= first for day in part.days)
    assert sorted(set(part.days)) == list(part.days)
    assert [day for day in days if day > first] == [day for day in part.days if day > first]
    if before:
        assert (first, before[-1]) == (part.days[0], part.values[0])


def test_a_cards_picture_has_each_take_under_its_grade(lived: Box, clock: ManualClock) -> None:
    """As many marks as takes, at their tempos; a day's first stands out; the goal is there."""
    takes = lived.history(lived.find("e"))
    picture = card_picture(takes, (90.0, 89.0), goal_bpm=90.0, today=lived.now(clock.now()).day)
    drawn = [tempo for marks in picture.marks for tempo in marks.values]

    assert sorted(take.bpm for take in takes) == sorted(drawn)
    assert sum(take.cold for take in takes) == sum(
        len(marks.values) for marks in picture.marks if marks.strong
    )
    assert (90.0, takes[0].day) == (picture.goal, picture.first)
    assert picture.today + 1 == picture.last


@pytest.mark.parametrize("plain", [False, True])
async def test_the_years_span_is_chosen_by_the_arrows(
    lived: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch, *, plain: bool
) -> None:
    """From everything to a year to three months and back, with colours and without any."""
    if plain:
        monkeypatch.setenv("NO_COLOR", "1")
    app = make_app(lived, clock)
    async with app.run_test(size=(130, 45)) as pilot:
        await settle(pilot)
        await press(pilot, "y")
        assert await shows(pilot, "everything: ")
        await press(pilot, "left", "left")
        assert await shows(pilot, "three months: ")
        await press(pilot, "right")
        assert await shows(pilot, "a year: ")
        text = screen_text(app)

    assert "Vocabulary in hand" in text
    assert "Cold tempo by family" in text
    assert "today" in text
    assert "Minutes practised" in text
