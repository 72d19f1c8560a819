"""Time at the stand, its rests and the order of its cards, without a screen."""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING, cast

import pytest

from drillbox.app.day_order import MOST_IN_A_ROW, DayOrder, Visit
from drillbox.app.hands_free import READING_SECONDS, REST_SECONDS, Rest
from drillbox.app.stand_time import LEFT_ALONE_SECONDS, StandTime
from drillbox.memory import Grade
from drillbox.plan.candidates import Item, Part
from drillbox.plan.takes import CHANGE_SECONDS
from drillbox.store.rows import LONGEST_TAKE

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box.views import CardView


# the day's minutes


def test_time_runs_until_it_is_stopped_and_goes_on_from_there(clock: ManualClock) -> None:
    """What was spent before and what runs now come off the minutes; a pause does not."""
    time = StandTime(clock, minutes=15, spent=60.0)
    told = [time.left]
    for step in (time.touch, time.stop, time.stop, time.go_on, time.touch):
        clock.forward(seconds=30.0)
        step()
        told.append(time.left)

    assert [840.0, 810.0, 780.0, 780.0, 780.0, 750.0] == told
    assert 90.0 == time.unbilled


def test_the_minutes_that_are_left_end_at_nought(clock: ManualClock) -> None:
    """A last take may run past the end; nothing is owed then."""
    time = StandTime(clock, minutes=1, spent=30.0)
    clock.forward(seconds=30.0)
    assert 0.0 == time.left
    clock.forward(seconds=30.0)

    assert 0.0 == time.left


def test_a_bill_takes_what_ran_since_the_last_one(clock: ManualClock) -> None:
    """To a tenth of a second; after it nothing is unbilled, and time runs on, paused or not."""
    time = StandTime(clock, minutes=15, spent=0.0)
    clock.forward(seconds=12.34)
    assert 12.3 == time.bill()
    assert 0.0 == time.unbilled
    assert pytest.approx(887.7) == time.left
    clock.forward(seconds=20.0)
    time.stop()
    clock.forward(seconds=5.0)

    assert 20.0 == time.bill()
    clock.forward(seconds=7.0)
    assert pytest.approx(7.0) == time.unbilled
    assert pytest.approx(860.7) == time.left


def test_no_take_is_billed_longer_than_the_log_takes(clock: ManualClock) -> None:
    """A stand open for days is still one take that can be kept."""
    time = StandTime(clock, minutes=15, spent=0.0)
    clock.forward(seconds=2 * LONGEST_TAKE)

    assert LONGEST_TAKE == time.bill()


def test_a_stand_is_left_alone_after_two_minutes_without_a_touch(clock: ManualClock) -> None:
    """Not a moment before; not while its time stands still; a touch counts anew."""
    time = StandTime(clock, minutes=15, spent=0.0)
    clock.forward(seconds=LEFT_ALONE_SECONDS - 0.5)
    told = [time.left_alone]
    clock.forward(seconds=0.5)
    told.append(time.left_alone)
    time.touch()
    told.append(time.left_alone)
    clock.forward(seconds=LEFT_ALONE_SECONDS)
    told.append(time.left_alone)
    time.stop()
    told.append(time.left_alone)

    assert 120.0 == LEFT_ALONE_SECONDS
    assert [False, True, False, True, False] == told


def test_time_that_nobody_was_there_is_given_back(clock: ManualClock) -> None:
    """The time stops as of the last touch, never before the last bill."""
    time = StandTime(clock, minutes=15, spent=0.0)
    clock.forward(seconds=30.0)
    time.touch()
    clock.forward(seconds=200.0)
    time.stop_when_last_touched()
    clock.forward(seconds=10.0)
    assert (30.0, 870.0) == (time.unbilled, time.left)

    time.bill()
    clock.forward(seconds=5.0)
    time.stop_when_last_touched()
    assert 0.0 == time.unbilled


def test_a_take_that_is_taken_back_waits_for_its_grade_again(clock: ManualClock) -> None:
    """Its seconds are unbilled again, what is left stays; a stopped time runs again."""
    time = StandTime(clock, minutes=15, spent=100.0)
    clock.forward(seconds=40.0)
    billed = time.bill()
    time.stop()
    clock.forward(seconds=9.0)
    time.take_back(billed)
    assert (40.0, 760.0) == (time.unbilled, time.left)
    clock.forward(seconds=10.0)
    assert (50.0, 750.0) == (time.unbilled, time.left)
    time.take_back(500.0)

    assert 550.0 == time.unbilled
    assert 350.0 == time.left


# hands-free


def test_a_rest_is_as_long_as_it_says_and_longer_only_to_be_read() -> None:
    """What is heard early takes nothing from the rest; what is heard late has time to be read."""
    rest = Rest(100.0)
    assert [8.0, 3.0, 0.0, 0.0] == [rest.seconds_left(now) for now in (100, 105, 108, 110)]
    rest.propose(Grade.CLEAN, 101.0)
    assert REST_SECONDS - 1.0 == rest.seconds_left(101.0)
    rest.propose(Grade.CLEAN, 107.0)

    assert READING_SECONDS == rest.seconds_left(107.0)


def test_a_rest_with_nothing_heard_is_steady_and_nobodys_word() -> None:
    """Only what was heard can stand as heard."""
    rest = Rest(0.0)
    assert (Grade.STEADY, False) == (rest.verdict, rest.as_heard)
    rest.tap()

    assert (Grade.CLEAN, False) == (rest.verdict, rest.as_heard)


# which card comes next


def visit(card_id: str, seconds: float = 60.0, takes: int = 2) -> Visit:
    """Return a visit to a card."""
    item = Item(card_id, 80, takes, seconds, "because", Part.WORK)
    return Visit(item, cast("CardView", SimpleNamespace(card_id=card_id)), 0, takes)


def course_of(played: str, promised: str) -> DayOrder:
    """Return a course of cards with one letter."""
    course = DayOrder(played)
    course.promise(map(visit, promised))
    return course


def goes_on(
    course: DayOrder, coming: list[Visit], *, left: float = 900.0, without: str = ""
) -> Visit | None:
    """Return what follows."""
    return course.following(coming, without=without, seconds_left=left)


@pytest.mark.parametrize(
    ("played", "enough"),
    [("", False), ("aa", False), ("aaa", True), ("baaa", True), ("aaaba", False), ("aba", False)],
)
def test_three_takes_in_a_row_are_enough(played: str, *, enough: bool) -> None:
    """Only the newest takes count, and only where the day has another card."""
    assert 3 == MOST_IN_A_ROW
    assert enough == course_of(played, "ab").last_has_enough
    assert not course_of(played, "a").last_has_enough


def test_a_course_remembers_takes_and_forgets_what_is_taken_back() -> None:
    """The last take, how many of each, and after taking back the one before."""
    course = course_of("ab", "abc")
    course.played("a")
    assert ("a", 2, 1, 0) == (course.last, *map(course.takes_of, "abc"))
    course.took_back()
    assert ("b", 1) == (course.last, course.takes_of("a"))
    course.took_back()
    course.took_back()
    course.took_back()

    assert "" == course.last


def test_the_days_first_promise_is_the_one_that_holds() -> None:
    """Later plans change nothing of it; of two visits to a card the first; a card may leave."""
    first, second = visit("a", 30.0, 1), visit("a", 90.0, 3)
    course = DayOrder("")
    course.promise([first, visit("b"), second])
    course.promise([visit("c")])
    assert ["a", "b"] == list(course.promised)
    assert first is course.promised["a"]
    course.keep_only({"b", "c"})

    assert ["b"] == list(course.promised)


def test_one_take_of_each_card_not_met_is_owed() -> None:
    """A take's share of its visit, with the change to the card; what was played is paid."""
    course = course_of("a", "abc")

    assert 6.0 == CHANGE_SECONDS
    assert 2 * (60.0 / 2 + 6.0) == course.owed_seconds("")
    assert 36.0 == course.owed_seconds("c")
    assert 0 == course.owed_seconds("bc")


def test_the_plans_next_visit_that_fits_goes_on() -> None:
    """One that lasts exactly as long as there is time fits; one that is not to come is passed."""
    course = course_of("ab", "ab")
    coming = [visit("a", 60.0), visit("b", 50.0)]

    assert coming[0] is goes_on(course, coming, left=60.0)
    assert coming[1] is goes_on(course, coming, left=59.9)
    assert coming[1] is goes_on(course, coming, without="a")
    assert None is goes_on(course, coming, left=49.9)


def test_after_enough_takes_another_card_comes_between() -> None:
    """With none planned it is a promised one."""
    course = course_of("aaa", "ab")
    planned = [visit("a"), visit("c")]
    course.played("b")
    assert planned[0] is goes_on(course, planned)
    course = course_of("baaa", "ab")
    assert planned[1] is goes_on(course, planned)
    course = course_of("aaa", "ab")

    assert course.promised["b"] is goes_on(course, planned[:1])


def test_a_promised_card_comes_before_one_that_was_not_and_before_time_runs_out() -> None:
    """A stranger waits; a card met before waits only where the promise would not fit after it."""
    course = course_of("a", "ab")
    stranger, again = visit("c"), visit("a", 60.0)
    promised = course.promised["b"]

    assert promised is goes_on(course, [stranger])
    assert again is goes_on(course, [again], left=96.0)
    assert promised is goes_on(course, [again], left=95.9)
    assert promised is goes_on(course, [stranger], left=36.0)
    assert None is goes_on(course, [stranger], left=35.9)


def test_a_promised_card_is_played_as_the_newest_plan_has_it() -> None:
    """Its tempo may have moved since the morning."""
    course = course_of("a", "ab")
    newest = visit("b", 45.0, 1)

    assert newest is goes_on(course, [visit("c"), newest])
