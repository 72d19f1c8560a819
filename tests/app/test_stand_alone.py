"""What the stand offers, hands-free and beside other windows, and whatever is pressed."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest
from conftest import MORNING, SMALL_DECK
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from drillbox.app.sitting import Phase
from drillbox.app.stand_keys import BEFORE_A_TAKE, STAND_KEYS
from drillbox.app.stand_words import (
    ALL_SAVED,
    HANDS_FREE_OFF,
    HANDS_FREE_ON,
    LEFT_ALONE,
    QUESTION,
    slid_off,
)
from drillbox.app.widgets.grade_zones import Proposal
from drillbox.base.clock import ManualClock
from drillbox.box import Box
from drillbox.deckfile import parse_deck
from drillbox.errors import NotSavedError
from drillbox.memory import Grade
from drillbox.rhythm import Hand

sys.path.insert(0, str(Path(__file__).parent))
from bare_stand import KEYS, BareStand, bare_stand, grades, metronome

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.fixture
def stand(box: Box, clock: ManualClock) -> BareStand:
    """Return a stand with the first card up."""
    return bare_stand(box, clock)


# which keys are offered


def offered(stand: BareStand) -> set[str]:
    """Return the actions that the footer offers."""
    actions = {key.action.split("(")[0] for key in STAND_KEYS}
    return {action for action in actions if stand.offers(action)}


def test_each_moment_offers_its_own_keys(stand: BareStand) -> None:
    """Before a take what changes it, within it too; after it grades, parts and the way back."""
    always = {"grade", "app.keys", "leave"}
    before = {*always, *BEFORE_A_TAKE, "play", "pedal"}
    told = [offered(stand)]
    stand.play_passes(1.5)
    told.append(offered(stand))
    stand.action_play()
    told.append(offered(stand))
    stand.play_whole()
    told.append(offered(stand))

    assert [before, before, before, {*always, "part", "take_back"}] == told


def test_in_a_rest_a_foot_is_heard_and_no_part_of_the_keyboard(
    box: Box, clock: ManualClock
) -> None:
    """Space, enter and the page keys are the foot's then; letters grade as ever."""
    box.change_settings(at=clock.now(), hands_free=True)
    stand = bare_stand(box, clock)
    stand.play_whole()

    assert {"grade", "app.keys", "leave", "take_back", "play", "pedal"} == offered(stand)


# hands-free


@pytest.fixture
def alone(clock: ManualClock, new_id: Callable[[], str]) -> BareStand:
    """Return a hands-free stand in a box of one card, which follows itself."""
    box = Box.open(":memory:", clock=clock, new_id=new_id)
    deck = (
        '[deck]\nid = "one"\ntitle = "One"\nedition = 1\ngoal = 90\n\n[groove]\nsnare = ">2 >4"\n\n'
        '[[card]]\nid = "only"\ntitle = "e of every beat"\nsnare = "(e)"\n'
    )
    box.put_deck(parse_deck(deck, name="one"), at=clock.now())
    box.change_settings(at=clock.now(), hands_free=True)
    return bare_stand(box, clock)


def test_hands_free_is_one_key_on_and_off(stand: BareStand, box: Box) -> None:
    """It is said and kept, and ends a rest that runs."""
    stand.action_hands_free()
    on = (stand.said, box.settings.hands_free)
    stand.play_whole()
    resting = stand._rest is not None
    stand.action_hands_free()

    assert (HANDS_FREE_ON, True) == on
    assert resting
    assert f"{HANDS_FREE_OFF} {QUESTION}" == stand.face.asked_last.question
    assert (False, None) == (box.settings.hands_free, stand._rest)


def test_a_day_runs_itself_and_a_foot_may_grade_it(alone: BareStand) -> None:
    """Eight seconds to tap; then the verdict stands and the same card's next take begins."""
    alone.play_whole()
    alone.later(0.0)
    asked = [alone.face.asked_last]
    for _ in range(2):
        alone.later(3.0)
        alone.action_play()
        alone.action_pedal()
        alone.action_pedal()
        alone.action_pedal()
        alone.action_pedal()
        alone.later(0.0)
        asked.append(alone.face.asked_last)
    alone.later(1.95)
    waiting = alone.sitting.phase
    alone.later(0.05)
    (take,) = alone._desk.box.day(alone._desk.clock.now()).takes

    assert [f"{QUESTION} In {left} s: " for left in (8, 5, 2)] == [
        one.question.rpartition(": ")[0] + ": " for one in asked
    ]
    assert [
        Proposal(Grade.STEADY, "foot"),
        Proposal(Grade.CLEAN, "foot"),
        Proposal(Grade.SHAKY, "foot"),
    ] == [one.proposal for one in asked]
    assert asked[-1].question.endswith(": shaky.")
    assert (Phase.GRADING, Phase.PLAYING) == (waiting, alone.sitting.phase)
    assert ("self", Grade.SHAKY) == (take.source, Grade(take.grade))
    assert metronome(alone).running


def test_before_another_card_there_is_a_rest_to_read_it(box: Box, clock: ManualClock) -> None:
    """The seconds are counted under the card; a pedal, or their end, starts the take."""
    box.change_settings(at=clock.now(), hands_free=True)
    stand = bare_stand(box, clock)
    first = stand.sitting.card.card_id
    stand.play_whole()
    stand.action_grade("d")
    stand.later(3.0)
    reading = (stand.face.pane, stand.face.ready_last.take, metronome(stand).running)
    stand.later(4.9)
    still = stand.sitting.phase
    stand.later(0.1)

    assert first != stand.sitting.card.card_id
    assert ("ready", "rest 5, then the count-in", False) == reading
    assert (Phase.READY, Phase.PLAYING) == (still, stand.sitting.phase)
    assert stand._rest is None


def test_a_pedal_starts_a_take_where_nothing_rests(stand: BareStand) -> None:
    """Before a take and after a pause; within one it does nothing."""
    stand.action_pedal()
    began = stand.sitting.phase
    stand.action_pedal()
    within = (stand.sitting.phase, len(metronome(stand).given))
    stand.action_play()
    stand.action_pedal()

    assert (Phase.PLAYING, (Phase.PLAYING, 1)) == (began, within)
    assert (Phase.PLAYING, 2) == (stand.sitting.phase, len(metronome(stand).given))


# what others do meanwhile


def test_a_take_that_is_not_saved_is_said_until_it_is(
    stand: BareStand, box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The key to save again is offered; it says what came of it; by itself it is tried too."""

    def refuse(*_: object, **__: object) -> None:
        raise NotSavedError("not saved: the disk is full", fix="free some space")

    keep = Box.keep
    monkeypatch.setattr(Box, "keep", refuse)
    stand.grade_whole("f")
    told = [stand.face.noted_last]
    offer = stand.offers("retry")
    stand.action_retry()
    told.append(stand.face.noted_last)
    stand.action_undo()
    told.append(stand.face.noted_last)
    stand.action_grade("d")
    monkeypatch.setattr(Box, "keep", keep)
    stand.action_retry()
    saved = (stand.face.noted_last, grades(box, clock))
    monkeypatch.setattr(Box, "keep", refuse)
    stand.later(1.0)
    stand.grade_whole("f")
    monkeypatch.setattr(Box, "keep", keep)
    looked = stand.looked_at_keys
    stand.later(60.0)
    stand._look_around()

    assert (True, False) == (offer, stand.offers("retry"))
    assert [True, True, False] == [bad for _, bad in told]
    assert all(words.startswith("NOT SAVED yet, 1 take:") for words, _ in told[:2])
    assert "saved. " not in told[0][0]
    assert "Took back clean" in told[2][0]
    assert ((ALL_SAVED, False), ["steady"]) == saved
    assert ["steady", "clean"] == grades(box, clock)
    assert (ALL_SAVED, False) == stand.face.noted_last
    assert looked < stand.looked_at_keys
    looked = stand.looked_at_keys
    stand._look_around()
    assert looked == stand.looked_at_keys


def test_a_card_that_left_the_box_slides_off_between_takes(stand: BareStand, box: Box) -> None:
    """What is listened to stays until it is over; with no other card the day is."""
    title = stand.sitting.card.title
    stand.action_listen()
    box.remove_deck("first-ghosts")
    stand._look_around()
    listening = stand.line("#title")
    stand.action_listen()
    stand.action_listen()
    stand._look_around()

    assert title == listening
    assert [True] == stand.closed_with


def test_a_card_that_left_the_box_is_named_over_the_next_one(box: Box, clock: ManualClock) -> None:
    """Before its take and after its grade alike; a card that is there says nothing."""
    other = SMALL_DECK.replace("first-ghosts", "others").replace("beat &", "beat e & a")
    for graded in (False, True):
        box.put_deck(parse_deck(other, name="others.toml"), at=clock.now())
        box.put_deck(parse_deck(SMALL_DECK, name="first-ghosts.toml"), at=clock.now())
        first = next(one.card_id for one in box.cards(at=clock.now()) if "others" in one.deck_ids)
        stand = bare_stand(box, clock, first=first)
        title = stand.sitting.card.title
        stand._look_around()
        quiet = stand.said
        if graded:
            stand.play_whole()
        box.remove_deck("others")
        if graded:
            stand.action_grade("d")
        else:
            stand._look_around()

        assert slid_off(title) not in quiet
        assert slid_off(title) == stand.said
        assert first != stand.sitting.card.card_id
        assert stand.sitting.card.title == stand.line("#title")
        assert "ready" == stand.face.pane


def test_gaps_in_the_sound_are_counted_and_a_fault_is_named(stand: BareStand) -> None:
    """Each number of gaps is said once; a fault in place of it."""
    sound = SimpleNamespace(underruns=0, fault="")
    stand._desk = cast("Any", SimpleNamespace(metronome=sound, unsaved=stand._desk.unsaved))
    told = []
    gone = "The sound card is gone."
    for gaps, fault in ((0, ""), (1, ""), (1, ""), (3, ""), (4, gone), (4, "")):
        stand._notice("")
        sound.underruns, sound.fault = gaps, fault
        stand._show_clock()
        told.append(stand.said)

    assert [
        "", "sound: 1 gap so far", "", "sound: 3 gaps so far", gone, "",
    ] == told  # fmt: skip


def test_a_stand_left_alone_says_that_the_time_is_given_back(stand: BareStand) -> None:
    """Two minutes without a key: the clock goes back up, and the take is paused."""
    stand.later(119.0)
    before = (stand.sitting.phase, stand.line("#clock"))
    stand.later(1.0)

    assert (Phase.READY, "13:01 left") == before
    assert (LEFT_ALONE, "15:00 left") == (stand.said, stand.line("#clock"))
    assert "paused" in stand.face.ready_last.take
    assert Phase.PAUSED is stand.sitting.phase


# any keys


@given(
    st.lists(
        st.sampled_from([*sorted(KEYS), "frame", "whole", "second", "pass"]),
        min_size=4,
        max_size=24,
    )
)
@examples(40)
def test_whatever_is_pressed_the_stand_shows_what_it_is_at(pressed: list[str]) -> None:
    """The pane, the footer, the sound and the log agree with each other after every key."""
    clock = ManualClock(MORNING)
    with Box.open(":memory:", clock=clock) as box:
        box.put_deck(parse_deck(SMALL_DECK, name="small"), at=clock.now())
        stand = bare_stand(box, clock)
        stand.later(0.0)
        for key in pressed:
            if key in KEYS:
                KEYS[key](stand)
            else:
                stand.later({"frame": 0.0, "whole": 60.0, "second": 1.0, "pass": 9.0}[key])
            if stand.closed_with:
                break
            _agrees(stand)


def _agrees(stand: BareStand) -> None:
    """Check that what is shown, sounded and kept is what the sitting is at."""
    sitting, face, plays = stand.sitting, stand.face, metronome(stand)
    listening = bool(stand._listening)
    running = sitting.phase is Phase.PLAYING or listening
    pane = "play" if running else "grade" if sitting.can_grade else "ready"

    assert pane == face.pane
    assert running != stand.part("FitFooter").visible
    assert sitting.card.title == stand.line("#title")
    assert (sitting.card.pattern, Hand.RIGHT) == face.put_up_last
    if running:
        assert plays.sounds is not None
    elif sitting.phase is not Phase.GRADING:
        assert plays.sounds is None
    if pane == "ready":
        assert sitting.bpm == face.ready_last.bpm
    if pane == "grade":
        assert {grade: sitting.tempo_after(grade) for grade in Grade} == face.asked_last.tempi
        assert (sitting.phase is Phase.GRADING) == face.asked_last.by_parts
    if sitting.phase is Phase.GRADING:
        assert stand._settings.hands_free or stand._rest is None
    assert not (listening and sitting.phase is not Phase.READY)
    assert stand._settings == stand._desk.box.settings
    seconds = int(stand.line("#clock").split(":")[0]) * 60
    assert 0 <= seconds <= 15 * 60
