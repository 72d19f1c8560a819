"""A practice day at the stand, take by take, over plans that are written down here."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drillbox.app.course import MOST_IN_A_ROW
from drillbox.app.sitting import Phase, Sitting
from drillbox.app.stand_time import LEFT_ALONE_SECONDS
from drillbox.base.tempi import ASKED
from drillbox.memory import Grade
from drillbox.plan import take_shape
from drillbox.plan.takes import CHANGE_SECONDS

sys.path.insert(0, str(Path(__file__).parent))
from scripted_box import PATTERN, SECONDS, play, scripted, sitting_over

if TYPE_CHECKING:
    from scripted_box import ScriptedBox

    from drillbox.base.clock import ManualClock

STEADY, CLEAN, SHAKY = Grade.STEADY, Grade.CLEAN, Grade.SHAKY


def up(sitting: Sitting) -> tuple[str, int, int]:
    """Return the card on the stand, which take of it waits, and its tempo."""
    return sitting.card.card_id[0], sitting.take_number, sitting.bpm


def phase_of(sitting: Sitting) -> Phase:
    """Return what the stand is doing now; a type checker would hold on to what it was."""
    return sitting.phase


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
    assert 79 == sitting.bpm
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
    if phase is not Phase.READY:
        sitting.start()
    if phase is Phase.GRADING:
        sitting.finished_playing()
    if phase is Phase.PAUSED:
        sitting.pause()
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


# a tempo check


def test_a_tempo_check_goes_up_in_large_steps_and_then_the_day_begins(clock: ManualClock) -> None:
    """Ten after clean, twenty after automatic, as far as the ceiling; nobody knows how many."""
    sitting, box = scripted(clock, a=1, b=1, checks="de")
    steps = [sitting.tempo_after(grade) for grade in Grade]
    box.ceiling = 95.0
    capped = sitting_over(box)
    cards = [(capped.card.card_id[0], capped.takes)]
    top = [capped.tempo_after(grade) for grade in (CLEAN, Grade.AUTOMATIC)]
    capped.nudge(20)
    over = capped.tempo_after(Grade.AUTOMATIC)
    following = capped.following
    while phase_of(capped) is not Phase.OVER:
        play(capped, STEADY)
        if phase_of(capped) is not Phase.OVER:
            cards.append((capped.card.card_id[0], capped.takes))

    assert [70, 74, 80, 90, 100] == [steps[0], 74, *steps[2:]]
    assert ([90, 95], 100) == (top, over)
    assert following is not None
    assert "e" == following.card.card_id[0]
    assert [("d", 0), ("e", 0), ("a", 1), ("b", 1)] == cards


def test_what_the_check_leaves_of_the_day_is_promised_as_any_plan_is(clock: ManualClock) -> None:
    """A card that a later plan puts in front comes after those of the first one."""
    sitting, box = scripted(clock, a=1, b=1, checks="d")
    play(sitting, STEADY)
    play(sitting, STEADY)
    box.wanted = {"a": 1, "c": 1, "b": 1}
    box.seconds_of["c"] = 1.0
    sitting.unsaved.retry()
    sitting.skip()

    assert "c" == sitting.card.card_id[0]


def test_a_check_takes_cards_that_just_fit(clock: ManualClock) -> None:
    """To the second."""
    for seconds, expected in ((900.0, "d"), (900.1, "e")):
        _, box = scripted(clock, checks="de", a=1)
        box.seconds_of["d"] = seconds
        assert expected == sitting_over(box).card.card_id[0]


# what was promised


@pytest.mark.parametrize(("known", "bpm"), [("", 70), ("b", 80)])
def test_a_promised_card_that_later_plans_leave_out_still_comes(
    clock: ManualClock, known: str, bpm: int
) -> None:
    """A new one at the tempo that is guessed now, a known one as it was promised."""
    _, box = scripted(clock, a=1, b=1, c=1)
    box.known = known
    sitting = sitting_over(box)
    box.wanted["e"], box.crowded, box.bpm = 1, "b", 70
    cards = []
    while phase_of(sitting) is not Phase.OVER:
        cards.append((sitting.card.card_id[0], sitting.bpm))
        play(sitting, STEADY)

    assert {("a", 80), ("b", bpm), ("c", 70), ("e", 70)} == set(cards)


def test_a_promised_card_that_nothing_asks_for_any_more_is_let_go(clock: ManualClock) -> None:
    """The day ends without it."""
    sitting, box = scripted(clock, a=1, b=1)
    box.wanted["b"] = 0
    play(sitting, STEADY)

    assert Phase.OVER is phase_of(sitting)


@pytest.mark.parametrize(("other", "then"), [({"c": 1}, "c"), ({}, "over")])
def test_a_card_left_alone_in_the_plan_goes_on_three_takes_at_a_time(
    clock: ManualClock, other: dict[str, int], then: str
) -> None:
    """After them comes whatever a plan without it has, and else the day is over."""
    sitting, box = scripted(clock, a=9, b=1)
    box.wanted |= other
    box.crowded = "c"
    cards = []
    for _ in range(7):
        cards.append(sitting.card.card_id[0])
        play(sitting, STEADY)

    assert list("aaabaaa") == cards
    assert then == ("over" if phase_of(sitting) is Phase.OVER else sitting.card.card_id[0])


# what happens to the box meanwhile


def test_a_card_that_left_slides_off_where_no_take_is_running(clock: ManualClock) -> None:
    """Ready or paused; within a take and at its question it stays."""
    for phase in (Phase.READY, Phase.PAUSED, Phase.PLAYING, Phase.GRADING):
        sitting, box = scripted(clock, a=3, b=1)
        if phase is not Phase.READY:
            sitting.start()
        if phase is Phase.PAUSED:
            sitting.pause()
        if phase is Phase.GRADING:
            sitting.finished_playing()
        stays = sitting.look_around()
        box.gone = {"a"}
        slides = phase in {Phase.READY, Phase.PAUSED}

        assert not stays
        assert (slides, "b" if slides else "a") == (sitting.look_around(), sitting.card.card_id[0])
        assert ("the a" if slides else "") == sitting.left_the_box
        if phase is Phase.PAUSED:
            assert Phase.PAUSED is phase_of(sitting)


def test_a_card_that_left_within_its_take_slides_off_after_its_grade(clock: ManualClock) -> None:
    """It is named once, and not with the next grade."""
    sitting, box = scripted(clock, a=3, b=3)
    sitting.start()
    box.gone = {"a"}
    clock.forward(seconds=30.0)
    sitting.finished_playing()
    sitting.grade(CLEAN)
    told = [(sitting.left_the_box, sitting.card.card_id[0])]
    play(sitting, CLEAN)
    told.append((sitting.left_the_box, sitting.card.card_id[0]))

    assert [("the a", "b"), ("", "b")] == told


def test_a_box_that_refuses_leaves_the_day_as_it_was_planned(clock: ManualClock) -> None:
    """Grades wait, cards follow as they were promised, nothing counts as gone, undo works."""
    sitting, box = scripted(clock, a=2, b=1, c=1)
    box.refuses = True
    cards = []
    while phase_of(sitting) is not Phase.OVER:
        cards.append(sitting.card.card_id[0])
        assert not sitting.look_around()
        assert not play(sitting, STEADY)
        assert "" == sitting.left_the_box
    back = sitting.undo()

    assert ["a", "a", "b", "c"] == cards
    assert ("Took back steady at 80.", "c") == (back, sitting.card.card_id[0])
    assert 3 == len(sitting.unsaved.takes)


def test_a_card_put_off_while_the_box_refuses_does_not_come_back(clock: ManualClock) -> None:
    """The plan from memory leaves it out too."""
    sitting, box = scripted(clock, a=1, b=1, c=1)
    box.refuses = True
    sitting.skip()
    assert "b" == sitting.card.card_id[0]
    sitting.skip()
    assert "c" == sitting.card.card_id[0]
    sitting.skip()

    assert Phase.OVER is phase_of(sitting)


def over(box: ScriptedBox) -> bool:
    """Return whether a new sitting has nothing to play."""
    return sitting_over(box).phase is Phase.OVER


def test_a_visit_that_lasts_longer_than_the_day_is_not_put_up(clock: ManualClock) -> None:
    """One that just fits is; the next that fits comes first."""
    _, box = scripted(clock, a=1, b=1)
    box.seconds_of = {"a": 900.1, "b": 900.0}
    assert "b" == sitting_over(box).card.card_id[0]
    box.seconds_of["b"] = 900.1
    assert over(box)
