"""What a sitting takes from the plan: a tempo check, what was promised, and what left the box."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drillbox.app.sitting import Phase
from drillbox.memory import Grade

sys.path.insert(0, str(Path(__file__).parent))
from scripted_box import bring_to, phase_of, play, scripted, sitting_over

if TYPE_CHECKING:
    from scripted_box import ScriptedBox

    from drillbox.base.clock import ManualClock

STEADY, CLEAN = Grade.STEADY, Grade.CLEAN


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
        bring_to(sitting, phase)
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
