"""What a sitting takes back, and the time that a day has left."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drillbox.app.sitting import Phase, Sitting
from drillbox.app.stand_time import LEFT_ALONE_SECONDS
from drillbox.memory import Grade

sys.path.insert(0, str(Path(__file__).parent))
from scripted_box import bring_to, phase_of, play, scripted, sitting_over, up

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock

STEADY, CLEAN, SHAKY = Grade.STEADY, Grade.CLEAN, Grade.SHAKY


# undo


def test_undo_asks_for_the_same_take_again(clock: ManualClock) -> None:
    """The same number, the same tempo, its time given back; the new grade says what it replaces."""
    sitting, box = scripted(clock, a=3, b=1)
    play(sitting, STEADY)
    play(sitting, CLEAN)
    left = sitting.seconds_left
    said = sitting.undo()
    again = (*up(sitting), sitting.phase, sitting.last_grade, sitting.seconds_left)
    sitting.grade(SHAKY)

    assert "Took back clean at 80." == said
    assert ("a", 2, 80, Phase.GRADING, STEADY, left) == again
    assert CLEAN is sitting.in_place_of
    assert ("a", 3) == up(sitting)[:2]  # two takes in a row, not three
    assert [(STEADY, 30.0), (SHAKY, 30.0)] == [(take.grade, take.seconds) for take in box.log]
    play(sitting, STEADY)
    assert sitting.in_place_of is None


def test_undo_goes_back_beyond_this_sitting(clock: ManualClock) -> None:
    """A take of this morning is asked for again as one take at its tempo; then there is nothing."""
    sitting, box = scripted(clock, a=3, b=1)
    play(sitting, STEADY)
    sitting.nudge(7)
    play(sitting, STEADY)
    later = sitting_over(box)
    said = [later.undo()]
    seen = [(*up(later), later.phase)]
    said.append(later.undo())
    seen.append((*up(later), later.phase))
    said.append(later.undo())

    assert ["Took back steady at 87.", "Took back steady at 80.", ""] == said
    assert [("a", 2, 87, Phase.GRADING), ("a", 1, 80, Phase.GRADING)] == seen


def test_undo_of_another_windows_take_is_no_take_of_this_one(clock: ManualClock) -> None:
    """The last of the log is taken back, whatever was graded here: that card, at that tempo."""
    for changes in ({"card_id": "b" * 16}, {"bpm": 91.0}):
        sitting, box = scripted(clock, a=3, b=1)
        play(sitting, STEADY)
        box.log.append(replace(box.log[-1], **changes))
        sitting.undo()
        expected = (str(changes.get("card_id", "a"))[0], round(float(changes.get("bpm", 80))))
        assert expected == (sitting.card.card_id[0], sitting.bpm)


def test_a_grade_of_a_card_that_left_is_only_taken_back(clock: ManualClock) -> None:
    """Nobody asks for it again; the day goes on with the next card."""
    sitting, box = scripted(clock, a=1, b=1)
    play(sitting, STEADY)
    sitting.skip()
    sitting = sitting_over(box)
    box.gone = {"a"}
    sitting.undo()

    assert ("b", Phase.READY) == (sitting.card.card_id[0], sitting.phase)
    assert [] == box.log


def test_cards_put_off_come_back_before_grades_do(clock: ManualClock) -> None:
    """The last one first; a grade ends that, for what was put off before it stays off."""
    sitting, _ = scripted(clock, a=1, b=1, c=1)
    sitting.skip()
    sitting.skip()
    back = [sitting.undo(), sitting.undo()]
    sitting.skip()
    play(sitting, STEADY)

    assert ["“the b” is back on the stand.", "“the a” is back on the stand."] == back
    assert "c" == sitting.card.card_id[0]
    assert "Took back steady at 80." == sitting.undo()
    assert "b" == sitting.card.card_id[0]


def test_a_card_put_off_is_planned_no_more_today(clock: ManualClock) -> None:
    """Until it is brought back."""
    sitting, box = scripted(clock, a=1, b=1, c=1)
    sitting.skip()
    play(sitting, STEADY)
    without = box.asked[-1][1]
    sitting.skip()

    assert frozenset("a") == without
    assert Phase.OVER is phase_of(sitting)
    sitting.undo()
    assert frozenset("a") == box.asked[-1][1]
    assert "c" == sitting.card.card_id[0]


# time


def test_what_was_played_before_is_off_the_day(clock: ManualClock) -> None:
    """What the log has, and what waits to get there."""
    sitting, box = scripted(clock, a=9, b=9)
    play(sitting, STEADY, seconds=100.0)
    box.refuses = True
    assert not play(sitting, STEADY, seconds=50.0)
    box.refuses = False
    unsaved = sitting.unsaved
    later = Sitting(sitting.box, clock, minutes=15, unsaved=unsaved)

    assert 750.0 == sitting.seconds_left == later.seconds_left
    assert {"a"} == box.asked[-1][1]
    assert 50.0 == box.asked[-1][0]
    assert "b" == later.card.card_id[0]


def test_a_pause_stops_the_time_once(clock: ManualClock) -> None:
    """Going on starts it again, and the take from its count-in."""
    sitting, _ = scripted(clock, a=1)
    clock.forward(seconds=10.0)
    sitting.pause()
    clock.forward(seconds=10.0)
    sitting.pause()
    clock.forward(seconds=10.0)
    sitting.start()
    clock.forward(seconds=10.0)

    assert 880.0 == sitting.seconds_left


@pytest.mark.parametrize(
    ("phase", "rests", "then"),
    [
        (Phase.READY, True, Phase.PAUSED),
        (Phase.GRADING, True, Phase.GRADING),
        (Phase.PLAYING, False, Phase.PLAYING),
        (Phase.PAUSED, False, Phase.PAUSED),
    ],
)
def test_only_a_stand_that_waits_can_be_left_alone(
    clock: ManualClock, phase: Phase, then: Phase, *, rests: bool
) -> None:
    """A grade is still awaited then; the minutes since the last key are given back."""
    sitting, _ = scripted(clock, a=1)
    bring_to(sitting, phase)
    clock.forward(seconds=LEFT_ALONE_SECONDS - 1)
    early = sitting.rest_if_left_alone()
    clock.forward(seconds=1.0)

    assert not early
    assert (rests, then) == (sitting.rest_if_left_alone(), sitting.phase)
    assert (900.0 if rests or phase is Phase.PAUSED else 780.0) == sitting.seconds_left
    assert not sitting.rest_if_left_alone()


@pytest.mark.parametrize("key", ["start", "end", "nudge", "skip", "undo", "grade", "touch"])
def test_every_key_is_a_sign_of_life(clock: ManualClock, key: str) -> None:
    """After any of them two whole minutes pass before the stand counts as left."""
    sitting, _ = scripted(clock, a=3, b=3)
    if key in {"end", "grade"}:
        sitting.start()
    if key == "grade":
        sitting.finished_playing()
    clock.forward(seconds=100.0)
    {
        "start": sitting.start,
        "end": sitting.finished_playing,
        "nudge": lambda: sitting.nudge(1),
        "skip": sitting.skip,
        "undo": sitting.undo,
        "grade": lambda: sitting.grade(STEADY),
        "touch": sitting.touch,
    }[key]()
    if key == "start":
        sitting.phase = Phase.READY
    clock.forward(seconds=100.0)

    assert not sitting.rest_if_left_alone()
    clock.forward(seconds=20.0)
    assert sitting.rest_if_left_alone()
