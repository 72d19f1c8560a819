"""What the stand promises before, in and after a take is what happens."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from textual.widgets import ContentSwitcher, Static

from drillbox.app.screens.stand import Stand
from drillbox.app.screens.stand_takes import STRAY_SECONDS
from drillbox.app.sitting import Phase, Sitting
from drillbox.app.stand_time import LEFT_ALONE_SECONDS
from drillbox.app.stand_words import moved_line
from drillbox.app.unsaved import Unsaved
from drillbox.app.widgets.grade_zones import Zone
from drillbox.memory import Grade

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import make_app, press, said, screen_text, settle, to_the_question

if TYPE_CHECKING:
    from drillbox.app.app import DrillboxApp
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


def zone(app: DrillboxApp, grade: Grade) -> Zone:
    """Return the zone of a grade."""
    return next(one for one in app.screen.query(Zone) if one.grade is grade)


def played_yesterday(box: Box, clock: ManualClock, *, bpm: float) -> str:
    """Return a card that came off yesterday, so that a visit of today has several takes."""
    card = box.find("e")
    box.record(card, bpm=bpm, grade=Grade.STEADY, at=clock.now(), seconds=40.0)
    clock.forward(seconds=86_400.0)
    return card


def sitting_at(box: Box, clock: ManualClock, *, bpm: int, first: str) -> Sitting:
    """Return a sitting whose first card is at the question, at a tempo."""
    sitting = Sitting(box, clock, minutes=15, unsaved=Unsaved(box, clock), first=first)
    sitting.bpm = bpm
    return asked(sitting, clock)


def asked(sitting: Sitting, clock: ManualClock) -> Sitting:
    """Play the take on the stand to its end."""
    sitting.start()
    clock.forward(seconds=35.0)
    sitting.finished_playing()
    return sitting


async def test_a_zone_shows_the_tempo_that_follows(box: Box, clock: ManualClock) -> None:
    """Clean leads up to a mark: the zone says to which, and the next take of the visit is there."""
    played_yesterday(box, clock, bpm=56)
    box.change_settings(at=clock.now(), fresh_rhythms="0")  # nothing comes in between
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await to_the_question(pilot, clock)
        promised = re.search(r"up to (\d+)", str(zone(app, Grade.CLEAN).render()))
        await press(pilot, "f")

        assert promised is not None
        assert "take 2 of" in screen_text(app)
        assert f"to {promised[1]}." in screen_text(app)


def test_a_later_take_of_a_visit_says_why_its_tempo_moved(box: Box, clock: ManualClock) -> None:
    """The plan's reason was for the first one; after it, what counts is the last grade."""
    card = played_yesterday(box, clock, bpm=60)
    sitting = sitting_at(box, clock, bpm=56, first=card)
    first = sitting.last_grade
    sitting.grade(Grade.CLEAN)
    assert sitting.visit is not None
    sitting.visit = replace(sitting.visit, played=0)

    assert first is None
    assert (Grade.CLEAN, 56) == (sitting.last_grade, sitting.bpm_before)
    assert "After clean: up to 65." == moved_line(Grade.CLEAN, 65, 56)
    assert "After steady: 65 again." == moved_line(Grade.STEADY, 65, 65)


def test_the_metronome_goes_on_past_the_goal(box: Box, clock: ManualClock) -> None:
    """A goal is a floor: a clean take at it is followed by a faster one in the same visit."""
    card = played_yesterday(box, clock, bpm=80)
    goal = round(box.card(card, at=clock.now()).goal_bpm)
    sitting = sitting_at(box, clock, bpm=goal, first=card)
    promised = sitting.tempo_after(Grade.CLEAN)
    sitting.grade(Grade.CLEAN)

    assert goal + 5 == promised
    assert (card, promised) == (sitting.card.card_id, sitting.bpm)


def test_a_kept_card_is_asked_for_no_faster_than_its_goal(box: Box, clock: ManualClock) -> None:
    """Where the player keeps cards at their goals, the zones stop there too."""
    card = box.find("e")
    goal = round(box.card(card, at=clock.now()).goal_bpm)
    box.goals.set_climbing([card], climbs=False, at=clock.now())
    sitting = sitting_at(box, clock, bpm=goal, first=card)

    assert {goal} == {sitting.tempo_after(grade) for grade in (Grade.CLEAN, Grade.AUTOMATIC)}


async def test_while_paused_space_means_one_thing(box: Box, clock: ManualClock) -> None:
    """It plays the take again; no zone claims it, and the letters grade what was played."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "space")
        clock.forward(seconds=20)
        await settle(pilot)
        await press(pilot, "space")
        paused = screen_text(app)
        await press(pilot, "space")
        pane = app.screen.query_one(ContentSwitcher).current

        assert "space plays the take again" in paused
        assert "─ space ─" not in paused
        assert "play" == pane
        assert () == box.day(clock.now()).takes


async def test_a_space_that_comes_too_late_grades_nothing(box: Box, clock: ManualClock) -> None:
    """Meant to pause the last pass, it is not taken for steady; a second later it is."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await to_the_question(pilot, clock)
        await press(pilot, "space")
        too_late = box.day(clock.now()).takes
        clock.forward(seconds=STRAY_SECONDS)
        await press(pilot, "space")

        assert () == too_late
        assert [Grade.STEADY] == [take.grade for take in box.day(clock.now()).takes]


async def test_time_that_is_given_back_is_explained(box: Box, clock: ManualClock) -> None:
    """The clock of a stand that was left alone goes up, and the stand says why."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        clock.forward(seconds=LEFT_ALONE_SECONDS)
        assert isinstance(app.screen, Stand)
        app.screen._frame()  # both in the same one

        assert "given back to the day" in said(app)
        assert "15:00 left" == str(app.screen.query_one("#clock", Static).content)


def test_cards_left_out_come_back_in_turn(box: Box, clock: ManualClock) -> None:
    """Two are put off, and undo brings both back, the last one first."""
    sitting = Sitting(box, clock, minutes=15, unsaved=Unsaved(box, clock))
    first = sitting.card.card_id
    sitting.skip()
    second = sitting.card.card_id
    sitting.skip()
    sitting.undo()
    back = [sitting.card.card_id]
    sitting.undo()
    back.append(sitting.card.card_id)

    assert [second, first] == back


def test_the_number_of_takes_does_not_shrink_while_a_card_is_played(
    box: Box, clock: ManualClock
) -> None:
    """The plan is made anew after each take; what was said of a card's takes still stands."""
    sitting = Sitting(box, clock, minutes=15, unsaved=Unsaved(box, clock))
    said: dict[str, list[tuple[int, int]]] = {}
    while sitting.phase is not Phase.OVER:
        said.setdefault(sitting.card.card_id, []).append((sitting.take_number, sitting.takes))
        asked(sitting, clock).grade(Grade.CLEAN)

    assert any(len(lines) > 1 for lines in said.values())
    for lines in said.values():
        totals = [of for _, of in lines]
        assert sorted(totals) == totals
        assert all(number <= of for number, of in lines)
