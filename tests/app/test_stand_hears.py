"""What the stand makes of what it hears, without a window."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drillbox.app.listening import CLIPPED, Heard, Opinion
from drillbox.app.screens.listening_screen import Opined
from drillbox.app.sitting import Phase
from drillbox.app.stand_words import (
    LEFT_ALONE,
    LISTENING_BACK,
    QUESTION,
    heard_question,
    kept_with_grade,
)
from drillbox.app.widgets.grade_zones import Proposal
from drillbox.memory import Grade
from drillbox.rhythm import Hand

sys.path.insert(0, str(Path(__file__).parent))
from bare_stand import BareStand, bare_stand
from heard_takes import MARKS, clean_ear, last_take, listen_back, stand_at_pads, told
from rehearsal import HitPads

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


@pytest.fixture(autouse=True)
def measured(monkeypatch: pytest.MonkeyPatch) -> list[Heard]:
    """Return what was given to be measured; whatever it is, it was clean."""
    return clean_ear(monkeypatch)


@pytest.fixture
def pads(clock: ManualClock) -> HitPads:
    """Return pads that a test hits."""
    return HitPads(clock.seconds)


@pytest.fixture
def stand(box: Box, clock: ManualClock, pads: HitPads) -> BareStand:
    """Return a stand that listens to pads."""
    return stand_at_pads(box, clock, pads)


def test_a_take_is_measured_once_when_it_is_over(
    stand: BareStand, measured: list[Heard], box: Box
) -> None:
    """Until then the stand says that it listens back; then what was heard, and the proposal."""
    shape, card, bpm = stand.sitting.shape, stand.sitting.card, stand.sitting.bpm
    stand.play_passes(1.5)
    early = len(stand.work)
    stand.later(60.0)
    stand.later(0.0)
    stand._show_phase()
    waiting = (len(stand.work), stand.face.heard_last, stand.face.asked_last)
    listen_back(stand)
    (heard,) = measured

    assert (0, 1) == (early, waiting[0])
    assert ((LISTENING_BACK, None), QUESTION, None) == (
        waiting[1], waiting[2].question, waiting[2].proposal,
    )  # fmt: skip
    assert (card.card_id, card.title, card.pattern) == (heard.card_id, heard.title, heard.pattern)
    assert (bpm, shape.passes, Hand.RIGHT) == (heard.bpm, heard.passes, heard.leading)
    assert ("midi", None) == (heard.source, heard.samples)
    asked = stand.face.asked_last
    assert heard_question(told(Grade.CLEAN)) == asked.question
    assert Proposal(Grade.CLEAN, "heard") == asked.proposal
    assert ("The a comes late.\n12 of 12 heard", MARKS) == stand.face.heard_last
    assert () == box.day(stand._desk.clock.now()).takes


def test_one_key_takes_what_was_heard(
    stand: BareStand, measured: list[Heard], box: Box, clock: ManualClock
) -> None:
    """It is offered where there is a proposal and no rest, and the log says who graded."""
    stand.action_accept()
    stand.play_whole()
    stand.later(0.0)
    stand.action_accept()
    before = (stand.offers("accept"), box.day(clock.now()).takes)
    listen_back(stand)
    offered = stand.offers("accept")
    stand.action_accept()
    first = last_take(box, clock)
    said = stand.said
    stand.play_whole()
    stand.later(0.0)
    listen_back(stand)
    stand._deaf_until = clock.seconds() + 0.1
    stand.action_accept()

    assert (False, ()) == before
    assert offered
    assert ("clean", "midi", {"played": 12}) == first
    assert said.startswith("clean, as heard: saved.")
    assert 1 == len(box.day(clock.now()).takes)


def test_the_players_own_word_counts_and_keeps_the_numbers(
    stand: BareStand, measured: list[Heard], box: Box, clock: ManualClock
) -> None:
    """Another grade than was heard is the player's; what was measured stands beside it."""
    stand.play_whole()
    stand.later(0.0)
    listen_back(stand)
    stand.action_grade("s")

    assert ("shaky", "self", {"played": 12}) == last_take(box, clock)
    assert stand.said.startswith("shaky: saved.")
    assert ("", None) == stand.face.heard_last
    assert not stand.work


@pytest.mark.parametrize("whole", [True, False])
def test_a_grade_that_was_quicker_than_the_ear_gets_its_numbers_later(
    stand: BareStand, measured: list[Heard], box: Box, clock: ManualClock, *, whole: bool
) -> None:
    """Of a take that was over, and of one as far as it went; it is said once they are kept."""
    if whole:
        stand.play_whole()
        stand.later(0.0)
        passes = stand.sitting.shape.passes
    else:
        stand.play_passes(2.5)
        passes = 2
    stand.action_grade("d")
    before = last_take(box, clock)
    listen_back(stand)

    assert ("steady", "self", None) == before
    assert ("steady", "self", {"played": 12}) == last_take(box, clock)
    assert passes == measured[0].passes
    assert kept_with_grade(told(Grade.CLEAN)) == stand.said
    assert "ready" == stand.face.pane


def test_what_comes_while_the_next_take_runs_is_kept_in_silence(
    stand: BareStand, measured: list[Heard], box: Box, clock: ManualClock
) -> None:
    """The running take is not asked about, and its own opinion is still to come."""
    stand.play_whole()
    stand.later(0.0)
    stand.action_grade("d")
    stand.later(1.0)
    stand.play_passes(0.5)
    listen_back(stand)

    assert ("steady", "self", {"played": 12}) == last_take(box, clock)
    assert ("play", "") == (stand.face.pane, stand.said)
    assert stand._ear.opinion is None


def test_the_stand_left_before_the_measure_still_gets_it(
    stand: BareStand, measured: list[Heard], box: Box, clock: ManualClock
) -> None:
    """The thread finds nobody to tell and pays by itself; a take never graded is owed nothing."""
    stand.play_passes(2.5)
    stand.action_grade("d")
    stand.action_leave()
    (work,) = stand.work
    work()
    stand.posted.clear()

    assert ("steady", "self", {"played": 12}) == last_take(box, clock)
    assert not stand._pay(measured[0], told(Grade.CLEAN))


def test_an_opinion_without_numbers_or_without_a_grade_says_only_what_it_says(
    stand: BareStand, box: Box, clock: ManualClock
) -> None:
    """No proposal, the plain question, no marks; nothing is owed to the log."""
    stand.play_whole()
    stand.later(0.0)
    heard = stand._ear.last
    assert heard is not None
    stand.on_opined(Opined(heard, Opinion("No pad was hit.")))
    asked = stand.face.asked_last
    stand.action_accept()

    assert ("No pad was hit.", None) == stand.face.heard_last
    assert (QUESTION, None) == (asked.question, asked.proposal)
    assert not stand.offers("accept")
    assert () == box.day(clock.now()).takes
    stand._owed[heard] = "a" * 32
    assert not stand._pay(heard, Opinion("No pad was hit."))
    assert {} == stand._owed


def test_a_grade_taken_back_is_asked_for_with_what_was_heard(
    stand: BareStand, measured: list[Heard], box: Box, clock: ManualClock
) -> None:
    """Undo brings the proposal back with the question."""
    stand.play_whole()
    stand.later(0.0)
    listen_back(stand)
    stand.action_accept()
    stand.later(1.0)
    stand.action_undo()
    again = stand.face.asked_last
    stand.action_accept()

    assert Proposal(Grade.CLEAN, "heard") == again.proposal
    assert ("clean", "midi", {"played": 12}) == last_take(box, clock)


def test_a_rest_waits_for_the_ear_and_then_lets_its_word_stand(
    stand: BareStand, measured: list[Heard], box: Box, clock: ManualClock
) -> None:
    """However long it listens; a tap of the foot would have overruled it."""
    box.change_settings(at=clock.now(), hands_free=True)
    stand.play_whole()
    stand.later(20.0)
    waiting = (stand.face.asked_last.question, stand.sitting.phase)
    listen_back(stand)
    stand.later(3.9)
    asked = stand.face.asked_last
    offered = stand.offers("accept")
    stand.later(0.1)

    assert (LISTENING_BACK, Phase.GRADING) == waiting
    assert f"{QUESTION} In 0 s: clean." == asked.question
    assert Proposal(Grade.CLEAN, "heard") == asked.proposal
    assert not offered
    assert ("clean", "midi", {"played": 12}) == last_take(box, clock)


def test_a_foot_that_taps_has_not_left_the_stand(
    stand: BareStand, box: Box, clock: ManualClock
) -> None:
    """However long the ear takes, two whole minutes count from the last tap."""
    box.change_settings(at=clock.now(), hands_free=True)
    stand.play_whole()
    stand.later(110.0)
    stand.action_pedal()
    stand.later(110.0)
    there = stand.said
    stand.later(10.0)

    assert ("", LEFT_ALONE) == (there, stand.said)


def test_a_foot_overrules_the_ear(
    stand: BareStand, measured: list[Heard], box: Box, clock: ManualClock
) -> None:
    """The grade is then the player's own."""
    box.change_settings(at=clock.now(), hands_free=True)
    stand.play_whole()
    stand.later(0.0)
    listen_back(stand)
    stand.action_pedal()
    stand.action_pedal()
    stand.later(0.0)
    asked = stand.face.asked_last
    stand.later(8.0)

    assert Proposal(Grade.SHAKY, "foot") == asked.proposal
    assert ("shaky", "self", {"played": 12}) == last_take(box, clock)


def test_a_paused_take_is_heard_as_far_as_it_went(stand: BareStand, measured: list[Heard]) -> None:
    """Whole passes only; before one has sounded nothing is measured."""
    stand.play_passes(0.5)
    stand.action_play()
    stand.later(0.0)
    nothing = len(stand.work)
    stand.play_passes(2.5)
    stand.action_play()
    stand.later(0.0)
    listen_back(stand)

    assert 0 == nothing
    assert [2] == [heard.passes for heard in measured]
    assert Proposal(Grade.CLEAN, "heard") == stand.face.asked_last.proposal


def test_the_meter_is_shown_where_there_is_a_microphone(stand: BareStand) -> None:
    """Full bars say too loud from 0.99 on; without a microphone there is no meter."""
    stand.later(0.0)
    assert "#meter" not in stand.parts
    shown = []
    for level in (0.0, CLIPPED - 0.01, CLIPPED, None):
        stand._ear.level = lambda level=level: level  # type: ignore[method-assign, misc]
        stand.later(0.0)
        shown.append((stand.line("#meter"), "-shown" in stand.part("#meter").classes))

    assert 0.99 == CLIPPED
    assert [
        ("hears □□□□□□□□", True),
        ("hears ■■■■■■■■", True),
        ("too loud", True),
        ("", False),
    ] == shown


def test_pads_that_are_not_there_are_named_at_once_and_when_they_are_chosen(
    box: Box, clock: ManualClock, pads: HitPads
) -> None:
    """Where somebody should listen and cannot, it is said before the first take."""
    pads.listens, pads.notice = False, "No pads are there."
    stand = bare_stand(box, clock, pads=lambda: pads)
    before = stand.said
    box.change_settings(at=clock.now(), listening="pads")
    stand.on_screen_resume()
    chosen = stand.said
    stand.play_whole()
    stand.later(0.0)

    assert "No pads" not in before
    assert "No pads are there." == chosen
    assert "No pads are there." == bare_stand(box, clock, pads=lambda: pads).said
    assert not stand.work


def test_a_take_whose_sound_was_opened_anew_is_not_measured(
    stand: BareStand, measured: list[Heard], box: Box, clock: ManualClock
) -> None:
    """It may still be graded after a whole pass; what was heard of it is not trusted."""
    stand.play_passes(1.5)
    stand._desk.reopen_devices()
    stand.on_screen_resume()
    stand.action_grade("d")

    assert not stand.work
    assert ("steady", "self", None) == last_take(box, clock)
