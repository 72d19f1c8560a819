"""What is kept of one practice day alone, and what is said of a take played long ago."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from drillbox.box.kept_for_a_day import MINUTES, ON_THE_STAND
from drillbox.box.practice import by_card
from drillbox.errors import UnknownCardError, UsageError
from drillbox.memory import Grade

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


def test_a_longer_day_is_today_s_alone(box: Box, clock: ManualClock) -> None:
    """Until five in the morning, when the practice day turns; tomorrow's is as usual."""
    usual = box.settings.minutes
    assert usual == box.minutes_today(at=clock.now())
    box.choose_minutes_today(usual + 10, at=clock.now())
    late = clock.now().replace(hour=4, minute=59) + timedelta(days=1)
    for at, minutes in ((late, usual + 10), (late + timedelta(minutes=1), usual)):
        assert minutes == box.minutes_today(at=at)
        assert 60 * minutes - 20 == box.plan(at=at, minutes=box.minutes_today(at=at)).left_seconds
    for wrong in (4, 61):
        with pytest.raises(UsageError):
            box.choose_minutes_today(wrong, at=clock.now())
    assert usual + 10 == box.minutes_today(at=late)


def test_the_card_on_the_stand_is_today_s(box: Box, clock: ManualClock) -> None:
    """The last one put there; none before, and none on another day. Again is no new entry."""
    first, other = box.find("e"), box.find("a")
    assert not box.on_the_stand(at=clock.now())
    for card in (first, other):
        box.put_on_the_stand(card, at=clock.now())
        assert card == box.on_the_stand(at=clock.now())
    kept = box.archive.settings()[ON_THE_STAND]
    box.put_on_the_stand(other, at=clock.now() + timedelta(hours=1))
    assert kept == box.archive.settings()[ON_THE_STAND]
    assert not box.on_the_stand(at=clock.now() + timedelta(days=1))


@pytest.mark.parametrize("minutes", [4, 61, 0, "20", None, 12.5])
def test_what_another_program_kept_and_makes_no_sense_is_passed_over(
    box: Box, clock: ManualClock, minutes: object
) -> None:
    """Of the length of a day, and of the card."""
    today = box.now(clock.now()).day
    box.archive.put_setting(MINUTES, {"day": today, "minutes": minutes}, clock.now())
    box.archive.put_setting(ON_THE_STAND, {"day": today, "card": 7}, clock.now())
    assert box.settings.minutes == box.minutes_today(at=clock.now())
    assert not box.on_the_stand(at=clock.now())


def test_all_visits_to_a_card_are_one(box: Box, clock: ManualClock) -> None:
    """Where it begins, with all its takes and seconds; the cards in the order of their first."""
    items = box.plan(at=clock.now()).items
    first, second = items[0], items[1]
    again = replace(first, bpm=first.bpm + 10, takes=2, seconds=50.0, why="again")
    assert (first, second) == by_card([first, second])
    whole = replace(first, takes=first.takes + 4, seconds=first.seconds + 100.0)
    assert (whole, second) == by_card([first, again, second, again])


@pytest.mark.parametrize("ago", [0, 30, 31, 365])
def test_a_day_long_ago_is_asked_about(box: Box, clock: ManualClock, ago: int) -> None:
    """Up to thirty days are not: a stretch of practice is often entered late."""
    at = clock.now() - timedelta(days=ago)
    said = box.implausible(box.find("e"), 72, at, entered=clock.now())
    day = f"{at:%a} {at.day} {at:%b} {at.year}"
    assert (f"{day} is {ago} days ago." if ago > 30 else None) == said


def test_some_words_of_titles_are_told_apart(box: Box, clock: ManualClock) -> None:
    """The one title that has them all is offered; of several, which they are."""
    with pytest.raises(UnknownCardError, match=r"did you mean 'a of every beat, doubled'\?"):
        box.find("doubled beat")
    with pytest.raises(UnknownCardError, match="say which: ") as caught:
        box.find("beat of")
    for title in ("e of every beat", "a of every beat, doubled"):
        assert repr(title) in str(caught.value.fix)
    with pytest.raises(UnknownCardError, match="no card '0000' in the box; 'drillbox cards'"):
        box.card("0000", at=clock.now())


def test_today_is_compared_with_the_next_practice_day(box: Box, clock: ManualClock) -> None:
    """Tomorrow, or after the holiday: the day is named."""
    card = box.find("e")
    assert box.compared(card, at=clock.now()).startswith("Never played; ")
    box.record(card, bpm=80, grade=Grade.CLEAN, at=clock.now() - timedelta(days=2), seconds=40)
    assert "tomorrow about" in box.compared(card, at=clock.now())
    box.change_settings(at=clock.now(), holidays="2026-03-03..2026-03-05")
    assert "Friday about" in box.compared(card, at=clock.now())
