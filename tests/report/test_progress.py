"""The player's year.

Counts that agree with the box, charts that show their numbers, a month away in one sentence.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from drillbox.memory import Grade, State
from drillbox.report.in_hand import coming_back, look_back
from drillbox.report.time_away import after_time_away
from drillbox.report.year import IN_HAND_TITLE, year_sections

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


@pytest.fixture
def practised(box: Box, clock: ManualClock) -> Box:
    """Return the box after twelve days of practice: two cards at their goals, one on the way."""
    e, a, blend = box.find("e"), box.find("a"), box.find("e-a")
    for day in range(12):
        box.record(e, bpm=92 + day, grade=Grade.CLEAN, at=clock.now(), seconds=40)
        box.record(a, bpm=90 + day, grade=Grade.STEADY, at=clock.now(), seconds=50)
        if day > 5:
            box.record(blend, bpm=60, grade=Grade.SHAKY, at=clock.now(), seconds=60)
        clock.forward(days=1)
    clock.forward(days=-1)
    return box


def test_what_is_in_hand_today_is_what_holds_today(practised: Box, clock: ManualClock) -> None:
    """The last column of the chart is the shelf's own count, at the day's end."""
    done = look_back(practised, at=clock.now())
    holding = [card for card in practised.cards(at=clock.now()) if card.state is State.HOLDING]

    assert len(holding) == done.in_hand[-1] == 2
    assert 0 == done.in_hand[0] or done.in_hand[0] <= 2
    assert 12 == len(done.in_hand) == len(done.minutes)


def test_a_card_that_slips_later_today_is_still_in_hand(box: Box, clock: ManualClock) -> None:
    """The curve ends where the line under it says, at any hour of the day on which a card slips."""
    e = box.find("e")
    for _ in range(2):
        box.record(e, bpm=96, grade=Grade.CLEAN, at=clock.now(), seconds=60)
        clock.forward(days=2)
    returns = box.card(e, at=clock.now()).returns
    assert returns is not None
    clock.set(returns - timedelta(minutes=5))
    assert box.card(e, at=clock.now()).holds
    assert 1 == look_back(box, at=clock.now()).in_hand[-1]

    clock.set(returns + timedelta(minutes=5))
    assert not box.card(e, at=clock.now()).holds
    assert 0 == look_back(box, at=clock.now()).in_hand[-1]


def test_every_minute_is_counted_once(practised: Box, clock: ManualClock) -> None:
    """The calendar's minutes are the log's seconds, by practice day."""
    done = look_back(practised, at=clock.now())
    seconds = sum(take.seconds for take in practised.archive.takes())

    assert seconds == pytest.approx(60 * sum(done.minutes.values()))
    assert done.minutes[practised.now(clock.now()).day] == pytest.approx(150 / 60)


def test_the_record_is_the_fastest_cold_take_that_came_off(
    practised: Box, clock: ManualClock
) -> None:
    """A shaky take is no record, a warm one neither."""
    practised.record(practised.find("e"), bpm=200, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    (record,) = look_back(practised, at=clock.now()).records

    assert (103.0, "e of every beat") == (record.bpm, record.title)


def test_slips_are_counted_on_their_days(practised: Box, clock: ManualClock) -> None:
    """Each held card slips once or not at all within the days looked at."""
    cards = practised.cards(at=clock.now())
    counts = coming_back(cards, today=practised.now(clock.now()).day, days=3650)

    assert sum(card.returns is not None for card in cards) == sum(counts)


def test_a_month_away_is_told_in_one_sentence(practised: Box, clock: ManualClock) -> None:
    """After a usual gap nothing is said; after thirty days what held and what was lost."""
    assert "" == after_time_away(practised, at=clock.now())
    clock.forward(days=30)
    sentence = after_time_away(practised, at=clock.now())

    assert sentence.startswith("30 days away: ")
    assert "of 2 cards that held" in sentence


def test_where_nothing_held_nothing_is_counted(box: Box, clock: ManualClock) -> None:
    """A month after a first try there is no loss to tell, and no debt."""
    box.record(box.find("e"), bpm=60, grade=Grade.FELL_APART, at=clock.now(), seconds=40)
    clock.forward(days=30)
    told = "30 days away. No debt: these are the minutes that bring back most."

    assert told == after_time_away(box, at=clock.now())


def test_the_year_fits_its_width_and_says_when_it_is_empty(
    practised: Box, box: Box, clock: ManualClock
) -> None:
    """No line is wider than asked for; a box without takes has one friendly section."""
    for width in (60, 80, 150):
        for _, body in year_sections(practised, at=clock.now(), width=width):
            assert max(map(len, body.splitlines())) <= width
    for card in box.cards(at=clock.now()):
        for take in box.history(card.card_id):
            box.archive.retract(take.take_id, clock.now())
    assert ["No take yet"] == [title for title, _ in year_sections(box, at=clock.now(), width=80)]


def test_a_chart_that_began_in_another_year_says_which(practised: Box, clock: ManualClock) -> None:
    """Five years on "2 Mar" alone would be read as this year's."""
    began = date.fromordinal(look_back(practised, at=clock.now()).first)
    near = dict(year_sections(practised, at=clock.now(), width=80))[IN_HAND_TITLE]
    clock.forward(days=5 * 365)
    far = dict(year_sections(practised, at=clock.now(), width=80))[IN_HAND_TITLE]

    assert f"{began.day} {began:%b} {began.year} " in far
    assert f"{began.year}" not in near
