"""A practice day at the stand, take by take, over plans that are written down here."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drillbox.app.day_order import MOST_IN_A_ROW
from drillbox.app.sitting import Phase, Sitting
from drillbox.base.tempi import ASKED
from drillbox.memory import Grade
from drillbox.plan import take_shape
from drillbox.plan.takes import CHANGE_SECONDS

sys.path.insert(0, str(Path(__file__).parent))
from scripted_box import PATTERN, SECONDS, phase_of, play, scripted, sitting_over, up

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock

STEADY, CLEAN, SHAKY = Grade.STEADY, Grade.CLEAN, Grade.SHAKY


def at_the_question(sitting: Sitting) -> Sitting:
    """Play the take that is up."""
    sitting.start()
    sitting.clock.forward(seconds=30.0)  # type: ignore[attr-defined]
    sitting.finished_playing()
    return sitting


# a take


def test_a_take_may_be_graded_when_it_is_over_or_one_pass_has_sounded(clock: ManualClock) -> None:
    """Before that a grade does nothing and says so; on a day that is over there is none."""
    sitting, box = scripted(clock, a=1)
    told = []
    for step in ("", "start", "pass", "pause", "start", "over"):
        if step == "start":
            sitting.start()
        elif step == "pass":
            sitting.passes_heard = 1
        elif step == "pause":
            sitting.pause()
        elif step == "over":
            sitting.finished_playing()
        told.append((sitting.phase, sitting.can_grade))
        if not sitting.can_grade:
            assert not sitting.grade(CLEAN)
            assert [] == box.log
    over = sitting.grade(CLEAN)

    assert [
        (Phase.READY, False),
        (Phase.PLAYING, False),
        (Phase.PLAYING, True),
        (Phase.PAUSED, True),
        (Phase.PLAYING, False),  # it began again
        (Phase.GRADING, True),
    ] == told
    assert over
    assert (Phase.OVER, False, False) == (sitting.phase, sitting.can_grade, sitting.grade(CLEAN))
    assert 1 == len(box.log)


def test_only_what_plays_can_be_over_and_only_what_waits_can_start(clock: ManualClock) -> None:
    """A start at the question, an end before a take, a pause when all is over: nothing."""
    sitting, _ = scripted(clock, a=1)
    sitting.finished_playing()
    assert Phase.READY is phase_of(sitting)
    at_the_question(sitting).start()
    assert Phase.GRADING is phase_of(sitting)
    sitting.passes_heard = 3
    sitting.start()
    assert 3 == sitting.passes_heard
    sitting.grade(CLEAN)
    for move in (sitting.start, sitting.pause, sitting.skip, sitting.finished_playing):
        move()
        assert Phase.OVER is phase_of(sitting)
    with pytest.raises(LookupError, match="over"):
        _ = sitting.card


def test_a_grade_is_saved_with_what_was_played(clock: ManualClock) -> None:
    """Card, tempo, grade, moment, the seconds since the grade before, and who gave it."""
    sitting, box = scripted(clock, a=2)
    sitting.nudge(3)
    clock.forward(seconds=12.0)
    play(sitting, CLEAN)
    at_the_question(sitting).grade(SHAKY, source="midi", measured={"played": 4})
    first, second = box.log

    assert ("a" * 16, 83.0, CLEAN, 42.0, "self", None) == (
        first.card_id, first.bpm, first.grade, first.seconds, first.source, first.measures,
    )  # fmt: skip
    assert (SHAKY, 30.0, "midi") == (second.grade, second.seconds, second.source)
    assert second.measures is not None
    assert clock.now() == second.at


def test_the_tempo_is_moved_within_what_may_be_asked_and_only_before_a_take(
    clock: ManualClock,
) -> None:
    """Neither under the slowest nor over the fastest of all."""
    sitting, _ = scripted(clock, a=1)
    sitting.nudge(-1)
    assert (79, 80) == (sitting.bpm, sitting.asked_bpm)
    sitting.nudge(-1000)
    slowest = sitting.bpm
    sitting.nudge(1000)
    assert (ASKED.least, ASKED.most) == (slowest, sitting.bpm)
    sitting.start()
    sitting.nudge(-1)
    assert ASKED.most == sitting.bpm


def test_a_take_is_as_long_as_the_plan_says_at_its_tempo(clock: ManualClock) -> None:
    """Of this pattern, at the tempo on the stand."""
    sitting, _ = scripted(clock, a=1)
    sitting.nudge(20)

    assert take_shape(PATTERN.seconds(60.0), PATTERN.bars, 100) == sitting.shape


# the takes of a card


def test_the_tempo_follows_the_grade_within_a_visit(clock: ManualClock) -> None:
    """What a zone promised is what comes; the first take has no grade before it."""
    sitting, _ = scripted(clock, a=4, b=1)
    told = []
    for grade in (CLEAN, SHAKY):
        before, promised = sitting.bpm, sitting.tempo_after(grade)
        told.append((sitting.last_grade, sitting.bpm_before == before))
        play(sitting, grade)
        assert ("a", promised) == (sitting.card.card_id[0], sitting.bpm)
        assert before == sitting.bpm_before
    told.append((sitting.last_grade, False))

    assert [(None, True), (CLEAN, False), (SHAKY, False)] == told
    assert 80 == sitting.bpm


def test_no_take_of_a_visit_is_faster_than_its_ceiling(clock: ManualClock) -> None:
    """One that stands above it already stays there."""
    sitting, box = scripted(clock, a=9)
    box.ceiling = 82.0
    sitting.skip()
    sitting.undo()
    again = sitting_over(box)

    assert 82 == again.tempo_after(Grade.AUTOMATIC)
    again.nudge(10)
    assert 90 == again.tempo_after(Grade.AUTOMATIC)


def test_after_three_takes_in_a_row_another_card_comes_between(clock: ManualClock) -> None:
    """Then the first goes on, at the tempo that its last grade led to, and counts on."""
    sitting, _ = scripted(clock, a=5, b=2)
    seen = []
    for grade in (CLEAN, CLEAN, CLEAN, STEADY, STEADY, STEADY):
        seen.append((*up(sitting), sitting.takes))
        play(sitting, grade)

    assert 3 == MOST_IN_A_ROW
    assert [
        ("a", 1, 80, 5), ("a", 2, 85, 5), ("a", 3, 90, 5), ("b", 1, 80, 2), ("b", 2, 80, 2),
    ] == seen[:5]  # fmt: skip
    assert ("a", 4) == seen[5][:2]


def test_what_was_said_of_the_number_of_takes_stands(clock: ManualClock) -> None:
    """Where a later plan wants fewer it is not taken back, where more it is raised."""
    for later, said in ((4, 5), (5, 5), (9, 9)):
        sitting, box = scripted(clock, a=5, b=1)
        told = [sitting.takes]
        for _ in range(3):
            play(sitting, STEADY)
        box.wanted["a"] = later
        play(sitting, STEADY)
        told.append(sitting.takes)

        assert ([5, said], ("a", 4)) == (told, up(sitting)[:2])
        sitting.take_number = 12
        assert 12 == sitting.takes


def test_a_take_that_no_longer_fits_gives_way(clock: ManualClock) -> None:
    """To a second: what is left, less one take of each card promised and not met, must hold it."""
    whole = sitting_over(scripted(clock, a=2)[1]).shape.seconds
    for spare, expected in ((0.0, "a"), (-0.2, "over")):
        sitting, _ = scripted(clock, a=3)
        play(sitting, STEADY, seconds=900.0 - whole - spare)
        assert expected == ("over" if phase_of(sitting) is Phase.OVER else sitting.card.card_id[0])
    owed = SECONDS + CHANGE_SECONDS
    for spare, expected in ((0.2, "a"), (-0.2, "b")):
        sitting, _ = scripted(clock, a=3, b=1)
        play(sitting, STEADY, seconds=900.0 - owed - whole - spare)
        assert expected == sitting.card.card_id[0]


def test_a_card_chosen_by_the_player_comes_first(clock: ManualClock) -> None:
    """In the plan or not; without a choice the plan's own first."""
    assert "a" == scripted(clock, a=1, b=1)[0].card.card_id[0]
    assert "b" == scripted(clock, a=1, b=1, first="b")[0].card.card_id[0]
    sitting, _ = scripted(clock, a=1, b=1, first="f")
    assert ("f", 2) == (sitting.card.card_id[0], sitting.takes)


def test_a_card_whose_take_still_waits_to_be_saved_counts_on(clock: ManualClock) -> None:
    """Chosen again it is at its second take, which follows no grade of this sitting."""
    sitting, box = scripted(clock, a=2, b=1)
    box.refuses = True
    play(sitting, STEADY)
    box.refuses = False
    later = Sitting(sitting.box, clock, minutes=15, unsaved=sitting.unsaved, first="a" * 16)

    assert ("a", 2, 80) == up(later)
    assert later.last_grade is None


def test_a_pause_lasts_over_a_card_that_is_put_off(clock: ManualClock) -> None:
    """What was heard of the first card grades nothing of the next."""
    sitting, _ = scripted(clock, a=1, b=1)
    sitting.start()
    sitting.passes_heard = 2
    sitting.pause()
    sitting.skip()

    assert ("b", Phase.PAUSED, False) == (
        sitting.card.card_id[0], phase_of(sitting), sitting.can_grade,
    )  # fmt: skip
