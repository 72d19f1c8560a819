"""What the stand makes of what it hears, and what it plays to the player, without a window."""

from __future__ import annotations

import sys
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import pytest

from drillbox.app.listening import Heard, Opinion
from drillbox.app.screens import listening_screen
from drillbox.app.screens.listening_screen import CLIPPED, Opined
from drillbox.app.sitting import Phase
from drillbox.app.stand_words import (
    AS_PLAYED,
    AT_TEMPO,
    HALF_SPEED,
    LEFT_ALONE,
    LISTENING_BACK,
    PLAY_FIRST,
    QUESTION,
    SLOW_LISTENING,
    heard_question,
    kept_with_grade,
    listening_line,
)
from drillbox.app.widgets.grade_zones import Proposal
from drillbox.memory import Grade
from drillbox.rhythm import Hand
from drillbox.sound import HALF, RATE, SLOW

sys.path.insert(0, str(Path(__file__).parent))
from bare_stand import BareStand, NotingMetronome, bare_stand, metronome
from rehearsal import HitPads

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box

MARKS = object()
"""Stands for the marks of a measured take."""


def told(grade: Grade | None, sentence: str = "The a comes late.") -> Opinion:
    """Return an opinion whose measurement writes down one number."""
    told = SimpleNamespace(
        sentence=sentence,
        numbers="12 of 12 heard",
        grade=grade,
        sure=0.8,
        measured=SimpleNamespace(),
        source="midi",
        log_values={"played": 12},
    )
    return cast("Opinion", told)


@pytest.fixture(autouse=True)
def marks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw no marks: here it is who is shown which."""
    monkeypatch.setattr(listening_screen, "heard_marks", lambda _: MARKS)


@pytest.fixture
def pads(clock: ManualClock) -> HitPads:
    """Return pads that a test hits."""
    return HitPads(clock.seconds)


@pytest.fixture
def stand(box: Box, clock: ManualClock, pads: HitPads) -> BareStand:
    """Return a stand that listens to pads."""
    box.change_settings(at=clock.now(), listening="pads")
    return bare_stand(box, clock, pads=lambda: pads)


@pytest.fixture
def measured(monkeypatch: pytest.MonkeyPatch) -> list[Heard]:
    """Return what was given to be measured; whatever it is, it was clean."""
    heard: list[Heard] = []

    def opinion_of(one: Heard, cuts: tuple[float, ...]) -> Opinion:
        assert 4 == len(cuts)
        heard.append(one)
        return told(Grade.CLEAN)

    monkeypatch.setattr(listening_screen, "opinion_of", opinion_of)
    return heard


def listen_back(stand: BareStand) -> None:
    """Have what is to be measured measured, and told to the stand."""
    while stand.work:
        stand.work.pop(0)()
    while stand.posted:
        stand.on_opined(stand.posted.pop(0))


def last_take(box: Box, clock: ManualClock) -> tuple[str, str, object]:
    """Return the last take's grade, where it came from and its numbers."""
    take = box.day(clock.now()).takes[-1]
    return Grade(take.grade).label, take.source, take.measured


# what listens to the player


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

    assert Proposal(Grade.SHAKY, "your foot") == asked.proposal
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


# what the player listens to


def test_a_card_is_heard_slow_then_at_tempo_then_not_at_all(stand: BareStand) -> None:
    """One key goes round; what the next press does is said where the pass would be."""
    bpm, pattern = stand.sitting.bpm, stand.sitting.card.pattern
    seen = []
    for _ in range(3):
        stand.action_listen()
        stand.later(0.5)
        seen.append((stand.face.pane, metronome(stand).running))
        if stand._listening:
            assert listening_line(stand._listening) == stand.face.followed_last.instead
            assert (bpm, pattern) == stand.face.begun_last
            assert not stand.part("FitFooter").visible
    slow, fast = (program.timeline.tempi[0].bpm for program in metronome(stand).given)

    assert [("play", True), ("play", True), ("ready", False)] == seen
    assert [bpm * SLOW, bpm] == [slow, fast]
    assert {SLOW_LISTENING, AT_TEMPO} >= {stand._listening} - {""}
    assert stand.part("FitFooter").visible


def test_listening_ends_by_itself_and_by_a_take(stand: BareStand) -> None:
    """After its last bar the take waits again; space starts the take and forgets the listening."""
    stand.action_listen()
    stand.later(120.0)
    over = (stand._listening, stand.face.pane, metronome(stand).sounds)
    stand.action_listen()
    stand.action_play()
    stand.later(0.1)

    assert ("", "ready", None) == over
    assert ("", Phase.PLAYING) == (stand._listening, stand.sitting.phase)
    assert "" == stand.face.followed_last.instead


def test_only_a_take_that_waits_can_be_listened_to(stand: BareStand) -> None:
    """Within one, paused or at the question the key does nothing."""
    stand.play_passes(1.5)
    stand.action_listen()
    within = len(metronome(stand).given)
    stand.action_play()
    stand.action_listen()
    paused = len(metronome(stand).given)
    stand.play_whole()
    stand.action_listen()

    assert (1, 1, 2) == (within, paused, len(metronome(stand).given))
    assert "" == stand._listening


def test_listening_counts_as_being_there(stand: BareStand) -> None:
    """Who listens has not left the stand."""
    stand.later(100.0)
    stand.action_listen()
    stand.later(100.0)

    assert Phase.READY is stand.sitting.phase


@pytest.fixture
def recorded(stand: BareStand, measured: list[Heard]) -> Heard:
    """Return a graded take whose sound is there, with another card on the stand."""
    stand.play_whole()
    stand.later(0.0)
    last = stand._ear.last
    assert last is not None
    sound = cast("Any", np.zeros(int(30 * RATE), np.float32))
    heard = Heard(
        card_id=last.card_id,
        title=last.title,
        pattern=last.pattern,
        bpm=last.bpm,
        passes=2,
        start=last.start,
        leading=last.leading,
        samples=sound,
        program=last.program,
    )
    stand.work.clear()
    stand.action_grade("d")
    stand.later(1.0)
    stand._ear.last, stand._ear.opinion = heard, None
    return heard


def test_a_take_is_heard_back_at_half_speed_then_as_it_was(
    stand: BareStand, recorded: Heard
) -> None:
    """Its own title, pattern and tempo are shown; then the card that is up by now again."""
    up = stand.sitting.card
    assert up.card_id != recorded.card_id
    stand.action_mirror()
    shown = (stand.line("#title"), stand.face.put_up_last, stand.face.begun_last)
    lengths = [len_of(metronome(stand))]
    listening = [stand._listening]
    plain = stand.face.heard_last
    stand._ear.opinion = told(Grade.CLEAN)
    stand.action_mirror()
    lengths.append(len_of(metronome(stand)))
    listening.append(stand._listening)
    marked = stand.face.heard_last
    stand.action_mirror()

    assert [HALF_SPEED, AS_PLAYED] == listening
    assert (recorded.title, (recorded.pattern, Hand.RIGHT), (recorded.bpm, recorded.pattern)) == (
        shown
    )
    assert Fraction(1, 2) == HALF
    assert 1.8 < lengths[0] / lengths[1] < 2.2
    assert (("", None), ("", MARKS)) == (plain, marked)
    assert (up.title, "ready", "") == (
        stand.line("#title"), stand.face.pane, stand._listening,
    )  # fmt: skip


def test_a_take_heard_back_that_could_not_be_measured_has_no_marks(
    stand: BareStand, recorded: Heard
) -> None:
    """What was said of it was why; its drawing is plain."""
    stand._ear.opinion = Opinion("Nothing can be said of this take.")
    stand.action_mirror()

    assert recorded.title == stand.line("#title")
    assert ("", None) == stand.face.heard_last


def len_of(plays: NotingMetronome) -> int:
    """Return how many frames the last program has."""
    return plays.given[-1].frames_total or 0


def test_a_take_that_was_recorded_can_be_heard_and_kept(
    stand: BareStand, recorded: Heard, tmp_path: Path
) -> None:
    """The keys are offered between takes; the file is named; without sound there are no keys."""
    offers = [(stand.offers("mirror"), stand.offers("keep"))]
    stand._desk.kept_takes = tmp_path / "kept"
    stand.action_keep()
    said = stand.said
    (file,) = (tmp_path / "kept").iterdir()
    stand.play_whole()
    stand._ear.last = recorded
    offers.append((stand.offers("mirror"), stand.offers("keep")))
    stand.action_grade("d")
    stand._ear.last = None
    offers.append((stand.offers("mirror"), stand.offers("keep")))

    assert [(True, True), (False, False), (False, False)] == offers
    assert f"Kept: {file}" == said
    assert f"{recorded.card_id}-{recorded.bpm}bpm-2x.wav" in file.name


def test_a_take_from_pads_has_no_sound_to_hear_back(
    stand: BareStand, measured: list[Heard]
) -> None:
    """It was listened to, but neither key is offered."""
    stand.play_whole()
    stand.later(0.0)
    listen_back(stand)
    stand.action_grade("d")

    assert stand._ear.last is not None
    assert not stand._can_be_heard_back
    assert (False, False) == (stand.offers("mirror"), stand.offers("keep"))
    with pytest.raises(LookupError, match="no take"):
        stand._heard_back()


def test_a_letter_in_a_listening_leaves_the_line_after_its_hint(stand: BareStand) -> None:
    """A grade key while listening says what it would do, and nothing is graded."""
    stand.action_listen()
    stand._hint_until = stand._desk.clock.seconds() + 1.0
    stand.later(0.5)
    hint = stand.face.followed_last.instead
    stand.later(0.5)

    assert PLAY_FIRST == hint
    assert listening_line(SLOW_LISTENING) == stand.face.followed_last.instead
