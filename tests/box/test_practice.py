"""The practice day: tempo checks, cards chosen, the time kept free, the days ahead."""

from __future__ import annotations

from datetime import date, timedelta
from math import floor, log2
from typing import TYPE_CHECKING

import pytest

from drillbox.box.dues import Due
from drillbox.box.first_tempi import CHECKED_CARDS
from drillbox.box.practice import (
    CHECK_TAKES,
    TAKES_CHOSEN,
    WRAP_UP_SECONDS,
    _candidate,
    checked_bpm,
)
from drillbox.memory import Grade, prior
from drillbox.plan import Candidate, Part, aim_bpm, take_shape

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


OFF = "2026-03-02..2026-03-06"


@pytest.mark.parametrize(
    ("bpm", "grade", "expected"),
    [
        (70, Grade.FELL_APART, 70),
        (70, Grade.SHAKY, 70),
        (70, Grade.STEADY, 70),
        (70, Grade.CLEAN, 80),
        (70, Grade.AUTOMATIC, 90),
        (48, Grade.CLEAN, 58),
        (73, Grade.CLEAN, 85),
    ],
)
def test_a_check_goes_up_by_ten_or_twenty(bpm: float, grade: Grade, expected: int) -> None:
    """Clean ten, automatic twenty, on the marks of a metronome; else the tempo stays."""
    assert expected == checked_bpm(bpm, grade)


def test_twenty_seconds_are_kept_for_the_wrap_up(box: Box, clock: ManualClock) -> None:
    """What a day leaves: its minutes less what was played, what has elapsed, and twenty seconds."""
    at = clock.now()
    assert 15 * 60 - 20 == box.plan(at=at).left_seconds
    assert 10 * 60 - 20 - 30 == box.plan(at=at, minutes=10, elapsed=30.0).left_seconds
    box.record(box.find("e"), bpm=70, grade=Grade.STEADY, at=at, seconds=45)
    assert 15 * 60 - 20 - 45 == box.plan(at=at).left_seconds
    assert WRAP_UP_SECONDS == 20.0


def test_a_check_begins_where_each_card_is_expected(box: Box, clock: ManualClock) -> None:
    """On the nearest mark, one take each, and a change of card each, as far as the minutes go."""
    check = box.tempo_check(at=clock.now(), minutes=15)
    assert {card.card_id for card in box.cards(at=clock.now())} == {i.card_id for i in check.items}
    for item in check.items:
        card = box.card(item.card_id, at=clock.now())
        one = take_shape(card.pattern.seconds(60.0), card.pattern.bars, item.bpm).seconds
        assert (70, 1, Part.WORK) == (item.bpm, item.takes, item.part)
        assert one + 6.0 == pytest.approx(item.seconds)
        assert item.why == "Tempo check: 70 first, then up until it is no longer easy."
    assert check.admits
    assert (0.0, 880.0) == (check.upkeep_seconds, check.left_seconds)
    one = check.items[0].seconds
    for count in (1, 2):
        minutes = (20.0 + count * one) / 60.0 + 1e-9
        assert count == len(box.tempo_check(at=clock.now(), minutes=minutes).items)
    almost = (20.0 + one) / 60.0 - 0.001
    assert () == box.tempo_check(at=clock.now(), minutes=almost).items
    first = check.items[0].card_id
    rest = box.tempo_check(at=clock.now(), without={first}).items
    assert [i.card_id for i in check.items[1:]] == [i.card_id for i in rest]
    assert CHECKED_CARDS == 12


def test_an_easy_card_goes_on_up_until_four_takes(box: Box, clock: ManualClock) -> None:
    """Clean at 70 comes again at 80, first of all; the fourth take is the last; steady ends it."""
    card, bpm = box.find("e"), 60
    for number in range(1, CHECK_TAKES + 1):
        box.record(card, bpm=bpm, grade=Grade.CLEAN, at=clock.now(), seconds=45)
        clock.forward(seconds=50)
        first = box.tempo_check(at=clock.now()).items[0]
        goes_on = number < CHECK_TAKES
        assert goes_on == (first.card_id == card)
        if goes_on:
            assert bpm + 10 == first.bpm
            assert f"Tempo check: that was easy, so {bpm + 10} now." == first.why
        bpm += 10
    other = box.find("a")
    box.record(other, bpm=70, grade=Grade.STEADY, at=clock.now(), seconds=45)
    assert {card, other}.isdisjoint(i.card_id for i in box.tempo_check(at=clock.now()).items)
    assert CHECK_TAKES == 4


@pytest.mark.parametrize("played", [80, 84])
def test_a_check_that_came_to_the_top_goes_to_the_next_card(
    box: Box, clock: ManualClock, played: int
) -> None:
    """However easy it was: the same tempo once more would tell nothing new."""
    card = box.find("a-doubled")
    box.goals.set_climbing([card], climbs=False, at=clock.now())
    box.record(card, bpm=played, grade=Grade.AUTOMATIC, at=clock.now(), seconds=45)

    assert card not in {item.card_id for item in box.tempo_check(at=clock.now()).items}


def test_a_check_goes_no_faster_than_the_top_tempo(box: Box, clock: ManualClock) -> None:
    """A card to be kept is checked at its goal at most; one played before is not checked again."""
    card = box.find("a-doubled")
    box.goals.set_climbing([card], climbs=False, at=clock.now())
    box.record(card, bpm=75, grade=Grade.AUTOMATIC, at=clock.now(), seconds=45)
    first = box.tempo_check(at=clock.now()).items[0]
    assert (card, 80, 80.0) == (first.card_id, first.bpm, first.ceiling_bpm)
    # Its own first take, before anything was played, is capped as well.
    other = box.find("e")
    box.set_goal(other, bpm=45.5, at=clock.now())
    box.goals.set_climbing([other], climbs=False, at=clock.now())
    found = {i.card_id: i.bpm for i in box.tempo_check(at=clock.now()).items}
    assert floor(45.5) == found[other]


def test_a_card_chosen_is_played_as_the_plan_would(box: Box, clock: ManualClock) -> None:
    """Three takes of what is new or below its goal, one of what holds; at the tempo to aim at."""
    card = box.find("e")
    new = box.chosen(card, at=clock.now())
    sd2 = box.parameters.first_sd**2
    aimed = aim_bpm(log2(72.0), sd2, box.parameters.sigma, 400.0)
    assert (aimed, 3, Part.WORK) == (new.bpm, new.takes, new.part)
    shape = take_shape(4.0, 1, new.bpm)
    assert 6.0 + 3 * shape.seconds == pytest.approx(new.seconds)
    assert new.why == (
        f"Chosen by you: three takes, starting at {aimed}; the day's plan goes on after it."
    )
    for day in range(8):
        at = clock.now() + timedelta(days=2 * day)
        box.record(card, bpm=100, grade=Grade.CLEAN, at=at, seconds=40)
    held = box.chosen(card, at=at)
    outlook = box.outlook(card, at=at)
    assert outlook.cold_bpm > 90
    seen = (log2(outlook.cold_bpm), outlook.sd**2, box.parameters.sigma, held.ceiling_bpm)
    known = aim_bpm(*seen, over_goal=log2(outlook.cold_bpm / 90.0))
    assert (known, 1) == (held.bpm, held.takes)
    assert held.why.startswith("Chosen by you: one take, ")
    far = at + timedelta(days=3000)
    assert box.outlook(card, at=far).cold_bpm < 90
    assert 3 == box.chosen(card, at=far).takes
    assert TAKES_CHOSEN == 3


def test_what_is_apart_is_chosen_as_a_meeting(box: Box, clock: ManualClock) -> None:
    """A card begun that has not come together is aimed at as a new one is."""
    card = box.find("e")
    box.record(card, bpm=70, grade=Grade.FELL_APART, at=clock.now(), seconds=40)
    later = clock.now() + timedelta(days=1)
    outlook = box.outlook(card, at=later)
    args = (log2(outlook.cold_bpm), outlook.sd**2, box.parameters.sigma, 400.0)
    assert aim_bpm(*args) == box.chosen(card, at=later).bpm
    assert aim_bpm(*args, over_goal=0.0) > aim_bpm(*args)


def test_a_visit_asked_for_again_is_one_take(box: Box) -> None:
    """At the tempo given, rounded, as long as its take is there, and it says why."""
    item = box.item_for(box.find("e"), bpm=71.6)
    assert (72, 1, "You took its grade back.") == (item.bpm, item.takes, item.why)
    assert take_shape(4.0, 1, 71.6).seconds == pytest.approx(item.seconds)


def test_the_next_practice_is_the_next_practice_day(box: Box, clock: ManualClock) -> None:
    """Tomorrow; by a rule of days, the next of them; after a holiday, its end."""
    monday = box.now(clock.now()).day
    assert date(2026, 3, 2) == date.fromordinal(monday)
    for day, changes in (
        (1, {}),
        (4, {"holidays": "2026-03-03..2026-03-05"}),
        (3, {"holidays": "", "days": "mon thu"}),
    ):
        box.change_settings(at=clock.now(), **changes)
        assert monday + day == box.next_practice(at=clock.now())[0]
        assert monday + day == box.next_day(at=clock.now())
        assert box.off_until(at=clock.now()) is None
    for day, changes in ((1, {"days": "tue"}), (5, {"days": "every day", "holidays": OFF})):
        box.change_settings(at=clock.now(), **changes)
        assert monday + day == box.off_until(at=clock.now())


@pytest.mark.parametrize("ago", [4, 5])
def test_before_a_holiday_what_could_wait_is_played(box: Box, clock: ManualClock, ago: int) -> None:
    """A card over its goal waits on an ordinary Monday, and is played before three weeks away."""
    card = box.find("e")
    for days in (ago + 6, ago + 3, ago):
        at = clock.now() - timedelta(days=days)
        box.record(card, bpm=95, grade=Grade.CLEAN, at=at, seconds=45)

    def played() -> bool:
        return card in {item.card_id for item in box.plan(at=clock.now(), minutes=4).items}

    assert not played()
    box.change_settings(at=clock.now(), holidays="2026-03-03..2026-03-23")
    assert played()
    box.change_settings(at=clock.now(), holidays="2026-04-03..2026-04-23")
    assert not played()


def test_a_rare_practice_is_forecast_on_its_days(box: Box, clock: ManualClock) -> None:
    """As many numbers as days; whoever never practises brings nothing to its goal."""
    for card in box.cards(at=clock.now()):
        for n in range(4):
            at = clock.now() - timedelta(days=4 - n)
            box.record(card.card_id, bpm=80, grade=Grade.CLEAN, at=at, seconds=40)
    daily = box.ahead(at=clock.now(), minutes=15, days=21)
    box.change_settings(at=clock.now(), holidays="2026-03-02..2026-04-30")
    away = box.ahead(at=clock.now(), minutes=15, days=21)
    assert (21, 21) == (len(daily), len(away))
    assert daily[-1] == 4 > away[-1]


def test_a_limit_of_fresh_rhythms_is_the_plans(box: Box, clock: ManualClock) -> None:
    """One fresh rhythm a day: one card; any number: all four."""
    for fresh, expected in (("1", 1), ("any", 4), ("2", 2)):
        box.change_settings(at=clock.now(), fresh_rhythms=fresh)
        assert expected == len({item.card_id for item in box.plan(at=clock.now()).items})


def test_a_rhythm_has_the_higher_of_its_goal_and_what_is_asked(box: Box) -> None:
    """An assignment of 100 by a day raises a goal of 90; one of 70 leaves it."""
    entry = box.entries()[box.find("e")]
    belief, day = prior(box.parameters), date(2026, 3, 9)

    def make(due: Due | None) -> Candidate:
        return _candidate(entry, belief, due, climbs=True, top_bpm=300.0, look=0)

    for asked, goal in ((100.0, 100.0), (70.0, 90.0)):
        candidate = make(Due(day, asked))
        assert (goal, asked, day.toordinal()) == (
            candidate.goal_bpm, candidate.wanted_bpm, candidate.deadline,
        )  # fmt: skip
    free = make(None)
    assert (90.0, 0.0, None, 300.0) == (
        free.goal_bpm, free.wanted_bpm, free.deadline, free.ceiling_bpm,
    )  # fmt: skip
    assert (("first-ghosts",), 0, False) == (free.decks, free.order, free.rested)


def test_a_check_says_the_tempo_at_which_it_begins(box: Box, clock: ManualClock) -> None:
    """Also where the top tempo is below what is expected: the sentence has the capped tempo."""
    card = box.find("e")
    box.set_goal(card, bpm=45.5, at=clock.now())
    box.goals.set_climbing([card], climbs=False, at=clock.now())
    first = {item.card_id: item.why for item in box.tempo_check(at=clock.now()).items}
    box.record(card, bpm=40, grade=Grade.AUTOMATIC, at=clock.now(), seconds=45)
    again = box.tempo_check(at=clock.now()).items[0]

    assert "Tempo check: 45 first, its top tempo for now." == first[card]
    assert (card, 45) == (again.card_id, again.bpm)
    assert "Tempo check: that was easy, so 45 now." == again.why


def test_decks_that_are_all_put_away_are_told_from_none(box: Box) -> None:
    """One that is out is enough; without any deck none is put away."""
    seen = [box.all_put_away]
    box.archive_deck("first-ghosts", archived=True)
    seen.append(box.all_put_away)
    box.remove_deck("first-ghosts")
    seen.append(box.all_put_away)

    assert [False, True, False] == seen
