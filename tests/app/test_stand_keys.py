"""What every key does at the stand, and when, without a window."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from conftest import MORNING, SMALL_DECK
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from drillbox.app.screens.stand import DEAF_SECONDS, HINT_SECONDS, STRAY_SECONDS
from drillbox.app.sitting import Phase
from drillbox.app.stand_keys import BEFORE_A_TAKE, STAND_KEYS
from drillbox.app.stand_words import (
    ALL_SAVED,
    DEVICE_CHANGED,
    FIRST_WORDS,
    HANDS_FREE_OFF,
    HANDS_FREE_ON,
    LEFT_ALONE,
    NOTHING_TO_UNDO,
    PLAY_FIRST,
    QUESTION,
    RAMP_OFF,
    RAMP_ON,
)
from drillbox.app.widgets.grade_zones import GRADE_KEYS, PARTS, Graded, Proposal
from drillbox.base.clock import ManualClock
from drillbox.box import Box
from drillbox.box.setting_kinds import BACKINGS, CLICKS
from drillbox.deckfile import parse_deck
from drillbox.errors import NotSavedError
from drillbox.memory import Grade
from drillbox.report.strides import stride
from drillbox.rhythm import Hand

sys.path.insert(0, str(Path(__file__).parent))
from bare_stand import BareStand, NotingMetronome, bare_stand

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.fixture
def stand(box: Box, clock: ManualClock) -> BareStand:
    """Return a stand with the first card up."""
    return bare_stand(box, clock)


def grades(box: Box, clock: ManualClock) -> list[str]:
    """Return what was graded today."""
    return [Grade(take.grade).label for take in box.day(clock.now()).takes]


def metronome(stand: BareStand) -> NotingMetronome:
    """Return the stand's metronome."""
    found = stand._desk.metronome
    assert isinstance(found, NotingMetronome)
    return found


KEYS: dict[str, Callable[[BareStand], None]] = {
    "play": BareStand.action_play,
    "grade": lambda stand: stand.action_grade("f"),
    "part": lambda stand: stand.action_part("right"),
    "zone": lambda stand: stand.on_graded(Graded(Grade.CLEAN)),
    "pedal": BareStand.action_pedal,
    "undo": BareStand.action_undo,
    "take back": BareStand.action_take_back,
    "skip": BareStand.action_skip,
    "ramp": BareStand.action_ramp,
    "click": BareStand.action_click,
    "backing": BareStand.action_backing,
    "hands-free": BareStand.action_hands_free,
    "listen": BareStand.action_listen,
}


def seen(stand: BareStand) -> object:
    """Return all of a stand that a key can change."""
    sitting, face, box = stand.sitting, stand.face, stand._desk.box
    graded = tuple(take.take_id for take in box.day(stand._desk.clock.now()).takes)
    rest = stand._rest and stand._rest.verdict
    return (
        (sitting.phase, sitting.card.card_id, sitting.bpm, sitting.take_number, graded, rest),
        (face.pane, face.noted_last, vars(face.ready_last).copy(), stand._settings, stand._ramp),
        (stand._listening, len(metronome(stand).given)),
    )


# before a take


def test_the_stand_opens_on_the_days_first_card(
    stand: BareStand, box: Box, clock: ManualClock
) -> None:
    """Its title, its pattern by the leading hand, why it is up, what is next, and all the time."""
    first, *_ = box.plan(at=clock.now()).items
    card, told = box.card(first.card_id, at=clock.now()), stand.face.ready_last
    stand.later(0.0)

    assert card.title == stand.line("#title")
    assert (card.pattern, Hand.RIGHT) == stand.face.put_up_last
    assert (first.bpm, first.why) == (told.bpm, told.why)
    assert "take 1 of" in told.take
    assert told.following.startswith("next: ")
    assert card.title not in told.following
    assert ("ready", FIRST_WORDS) == (stand.face.pane, stand.said)
    assert "15:00 left" == stand.line("#clock")
    assert {"_frame": 1 / 30, "_look_around": 1.0} == {
        name: timer.seconds for name, timer in stand.timers.items()
    }
    assert stand.part("FitFooter").visible
    assert not metronome(stand).running


def test_only_who_never_played_is_told_what_the_letters_mean(box: Box, clock: ManualClock) -> None:
    """A day with takes before it opens without a word; what is wrong with the sound comes first."""
    box.record(box.find("e"), bpm=60, grade=Grade.STEADY, at=clock.now(), seconds=40.0)
    stand = bare_stand(box, clock)
    assert "" == stand.said
    metronome(stand).notice = "no device"
    stand.on_mount()

    assert "no device" == stand.said


def test_a_left_handed_player_reads_the_left_hand(box: Box, clock: ManualClock) -> None:
    """The drawing is told who leads."""
    box.change_settings(at=clock.now(), leading="L")

    assert Hand.LEFT is bare_stand(box, clock).face.leading


def test_a_letter_before_the_take_says_what_it_would_do(
    stand: BareStand, box: Box, clock: ManualClock
) -> None:
    """Nothing is saved; what it says is what the zone shows after the take."""
    now, told = stand.sitting.bpm, {}
    for key, grade in GRADE_KEYS.items():
        stand.action_grade(key)
        told[grade] = stand.said
    stand.play_whole()

    for grade, words in told.items():
        tempo = stand.face.asked_last.tempi[grade]
        assert f"{grade.label} would be:" in words
        assert f" {tempo} bpm." in words
        assert (tempo > now, tempo < now) == ("up to" in words, "down to" in words)
    assert [] == grades(box, clock)


def test_the_tempo_moves_by_one_before_a_take_and_not_within_it(stand: BareStand) -> None:
    """Up and down; the take is played as it stands on the screen."""
    first = stand.sitting.bpm
    for step in (1, 1, -1):
        stand.action_nudge(step)
    told = stand.face.ready_last.bpm
    stand.action_play()
    stand.action_nudge(1)

    assert (first + 1, first + 1) == (told, stand.sitting.bpm)
    assert stand.face.begun_last is not None
    assert first + 1 == stand.face.begun_last[0]
    assert [first + 1] == [tempo.bpm for tempo in metronome(stand).given[-1].timeline.tempi]


def test_a_card_that_is_put_off_is_named_and_comes_back_by_undo(stand: BareStand) -> None:
    """Another card is up at once; u brings the first one back; with nothing more it says so."""
    title = stand.sitting.card.title
    stand.action_skip()
    gone = stand.said
    other = stand.line("#title")
    stand.action_undo()
    back = (stand.line("#title"), stand.said)
    stand.action_undo()

    assert f"“{title}” is off for today; u brings it back." == gone
    assert other not in {title, ""}
    assert (title, f"“{title}” is back on the stand.") == back
    assert NOTHING_TO_UNDO == stand.said


def test_a_ramp_is_one_key_on_and_off(stand: BareStand) -> None:
    """The next takes climb, then they hold their tempo again."""
    told, tempi = [], []
    for _ in range(3):
        stand.action_play()
        tempi.append(len(metronome(stand).given[-1].timeline.tempi) > 1)
        stand.action_play()
        stand.action_ramp()
        told.append(stand.said)

    assert [False, True, False] == tempi
    assert [RAMP_ON, RAMP_OFF, RAMP_ON] == told


@pytest.mark.parametrize(("key", "names"), [("click", CLICKS), ("backing", BACKINGS)])
def test_click_and_backing_go_round(
    stand: BareStand, box: Box, key: str, names: tuple[str, ...]
) -> None:
    """Each is said, kept as a setting, and after the last comes the first."""
    kept = []
    for _ in names:
        KEYS[key](stand)
        now = getattr(box.settings, key)
        assert f"{key}: {now}" == stand.said
        kept.append(now)

    assert [*names[1:], names[0]] == kept


@pytest.mark.parametrize("key", ["click", "backing"])
def test_another_sound_within_a_take_goes_on_where_the_take_is(stand: BareStand, key: str) -> None:
    """It is heard at once, the take does not begin again; before a take nothing sounds."""
    KEYS[key](stand)
    assert metronome(stand).sounds is None
    stand.play_passes(1)
    before, at = metronome(stand).sounds, metronome(stand).position()
    KEYS[key](stand)
    after = metronome(stand).sounds

    assert before is not None
    assert after is not None
    assert before != after
    assert at == metronome(stand).position()
    assert 1 == len(metronome(stand).given)
    assert Phase.PLAYING is stand.sitting.phase


# within a take


def test_a_take_runs_from_its_count_in_to_the_question(stand: BareStand) -> None:
    """No footer while it runs, the pass that sounds, then the question with all five tempi."""
    shape, bpm = stand.sitting.shape, stand.sitting.bpm
    stand.action_play()
    running = (stand.face.pane, stand.part("FitFooter").visible, metronome(stand).running)
    stand.later(0.1)
    counting = stand.face.followed_last
    stand.later(0.0)
    stand.later(60.0)
    asked = stand.face.asked_last

    assert ("play", False, True) == running
    assert ("", shape.passes) == (counting.instead, counting.passes)
    assert counting.position.counting_in
    assert stand.face.begun_last == (bpm, stand.sitting.card.pattern)
    assert ("grade", QUESTION, True, None) == (
        stand.face.pane, asked.question, asked.by_parts, asked.proposal,
    )  # fmt: skip
    assert bpm == asked.tempi[Grade.STEADY]
    assert sorted(asked.tempi.values()) == [asked.tempi[grade] for grade in sorted(Grade)]
    assert stand.part("FitFooter").visible
    assert ("", None) == stand.face.heard_last


def test_a_letter_within_the_first_pass_is_no_grade(
    stand: BareStand, box: Box, clock: ManualClock
) -> None:
    """For three seconds it says what to do instead; after a whole pass the letter grades."""
    stand.action_play()
    stand.action_grade("f")
    stand.later(HINT_SECONDS - 0.1)
    hint = stand.face.followed_last.instead
    stand.later(0.1)
    over = stand.face.followed_last.instead
    early = grades(box, clock)
    stand.later(8.0)
    stand.action_grade("f")

    assert 3.0 == HINT_SECONDS
    assert (PLAY_FIRST, "", []) == (hint, over, early)
    assert ["clean"] == grades(box, clock)
    assert not metronome(stand).running


def test_space_pauses_a_take_and_begins_it_again(stand: BareStand) -> None:
    """The sound stops; before a whole pass nothing is asked; time stands still meanwhile."""
    stand.action_play()
    stand.later(2.0)
    stand.action_play()
    left = stand.sitting.seconds_left
    paused = (stand.face.pane, stand.face.ready_last.take, metronome(stand).running)
    stand.later(500.0)
    waited = stand.sitting.seconds_left
    stand.action_play()

    assert ("ready", "paused, time stopped: space starts the take", False) == paused
    assert left == waited
    assert 2 == len(metronome(stand).given)
    assert (Phase.PLAYING, "play") == (stand.sitting.phase, stand.face.pane)


@pytest.mark.parametrize(("passes", "told"), [(1, "grade one pass,"), (2, "grade 2 passes,")])
def test_a_take_paused_after_whole_passes_may_be_graded(
    stand: BareStand, box: Box, clock: ManualClock, passes: int, told: str
) -> None:
    """The question says how many passes were heard, and no part of the keyboard is taken."""
    stand.play_passes(passes + 0.5)
    stand.action_play()
    asked, pane = stand.face.asked_last, stand.face.pane
    stand.action_grade("s")

    assert ("grade", False) == (pane, asked.by_parts)
    assert told in asked.question
    assert ["shaky"] == grades(box, clock)


def test_the_setup_closed_over_a_take_changes_the_next_one(
    stand: BareStand, box: Box, clock: ManualClock
) -> None:
    """What was changed there is drawn before a take, and not within one; a question stays."""

    def choose(leading: str) -> Hand | None:
        stand.face.forget()
        box.change_settings(at=clock.now(), leading=leading)
        stand.on_screen_resume()
        return stand.face.leading

    before = [choose("L"), choose("R")]
    stand.action_play()
    within = choose("L")
    stand.later(60.0)
    asked = (choose("R"), stand.face.pane)
    shown = stand.looked_at_keys
    choose("R")  # nothing has changed

    assert [Hand.LEFT, Hand.RIGHT] == before
    assert within is None
    assert (None, "grade") == asked
    assert shown == stand.looked_at_keys


def test_a_sound_opened_anew_within_a_take_pauses_it(stand: BareStand) -> None:
    """It is said, and space plays the take again; a take that sounds on is left alone."""
    stand.play_passes(0.5)
    stand.on_screen_resume()
    still = stand.sitting.phase
    stand._desk.reopen_devices()
    stand.on_screen_resume()

    assert (Phase.PLAYING, Phase.PAUSED) == (still, stand.sitting.phase)
    assert (DEVICE_CHANGED, "ready") == (stand.said, stand.face.pane)


# the grade


@pytest.mark.parametrize("how", ["letter", "part", "zone"])
def test_a_grade_comes_by_its_letter_its_part_or_its_zone(
    box: Box, clock: ManualClock, how: str
) -> None:
    """All three save the same, the next take is up, and what came of it is said."""
    stand = bare_stand(box, clock)
    for grade in Grade:
        card = stand.sitting.card.card_id
        stand.play_whole()
        clock.forward(seconds=STRAY_SECONDS)
        if how == "letter":
            stand.action_grade(next(key for key, one in GRADE_KEYS.items() if one is grade))
        elif how == "part":
            stand.action_part(next(part for part, one in PARTS.items() if one is grade))
        else:
            stand.on_graded(Graded(grade))
        progress = stride(box, card, at=clock.now())

        assert f"{grade.label}: saved. {progress}" == stand.said
        assert ("ready", False) == (stand.face.pane, metronome(stand).running)
        stand.later(DEAF_SECONDS)
    assert [(grade, "self", None) for grade in Grade] == [
        (take.grade, take.source, take.measured) for take in box.day(clock.now()).takes
    ]


def test_only_the_middle_is_stray_right_after_the_last_pass(
    box: Box, clock: ManualClock, stand: BareStand
) -> None:
    """A space was meant to pause; a second later it is steady. The other parts count at once."""
    stand.play_whole()
    stand.action_part("middle")
    clock.forward(seconds=STRAY_SECONDS - 0.1)
    stand.action_part("middle")
    stray = grades(box, clock)
    clock.forward(seconds=0.1)
    stand.action_part("middle")
    stand.later(1.0)
    stand.play_whole()
    stand.action_part("left")

    assert 1.0 == STRAY_SECONDS
    assert [] == stray
    assert ["steady", "shaky"] == grades(box, clock)


def test_after_a_grade_the_stand_is_deaf_for_a_moment(box: Box, clock: ManualClock) -> None:
    """A fist hits several keys: for 0.4 seconds none of them does anything, then each does."""
    for press in KEYS.values():
        stand = bare_stand(box, clock)
        stand.play_whole()
        stand.action_grade("f")
        before = seen(stand)
        clock.forward(seconds=0.39)
        press(stand)
        deaf = seen(stand)
        clock.forward(seconds=0.011)
        press(stand)

        assert before == deaf
        assert before != seen(stand)
        box.undo(at=clock.now())


def test_an_undo_asks_for_the_grade_again_and_says_what_it_replaced(
    stand: BareStand, box: Box, clock: ManualClock
) -> None:
    """The same take, the same tempo, no new playing; the second grade says whose place it took."""
    stand.grade_whole("f")
    (take,) = box.day(clock.now()).takes
    stand.action_undo()
    asked = (stand.face.pane, stand.said, stand.sitting.bpm, stand.sitting.take_number)
    taken_back = grades(box, clock)
    stand.action_grade("s")

    assert ("grade", f"Took back clean at {take.bpm:.0f}.", round(take.bpm), 1) == asked
    assert f"Took back clean at {take.bpm:.0f}. {QUESTION}" == stand.face.asked_last.question
    assert [] == taken_back
    assert ["shaky"] == grades(box, clock)
    assert stand.said.startswith("shaky in place of clean: saved.")


def test_an_undo_of_nothing_leaves_a_running_take_alone(stand: BareStand) -> None:
    """The click goes on, and so does the question after it."""
    stand.play_passes(0.5)
    stand.action_undo()
    within = (metronome(stand).running, stand.sitting.phase, stand.said)
    stand.later(60.0)
    stand.action_take_back()

    assert (True, Phase.PLAYING, NOTHING_TO_UNDO) == within
    assert f"{NOTHING_TO_UNDO} {QUESTION}" == stand.face.asked_last.question


@pytest.mark.parametrize("key", ["undo", "skip", "leave"])
def test_what_ends_a_take_ends_its_sound(stand: BareStand, key: str) -> None:
    """Nothing clicks on behind the next card, or behind Today."""
    stand.grade_whole()
    stand.play_passes(0.5)
    {**KEYS, "leave": BareStand.action_leave}[key](stand)

    assert metronome(stand).sounds is None


def test_a_stand_that_is_left_remembers_its_card(stand: BareStand) -> None:
    """Today finds it there; the day is not over; unmounted it is silent."""
    stand.action_skip()
    stand.action_play()
    stand.action_leave()

    assert stand.sitting.card.card_id == stand._desk.left_at
    assert [False] == stand.closed_with
    stand.action_play()
    stand.on_unmount()
    assert metronome(stand).sounds is None


def test_a_day_played_to_its_end_closes_the_stand(box: Box, clock: ManualClock) -> None:
    """With True, once, and with nothing on it."""
    stand = bare_stand(box, clock)
    while not stand.closed_with and len(grades(box, clock)) < 40:
        stand.grade_whole("d")

    assert ([True], Phase.OVER) == (stand.closed_with, stand.sitting.phase)
    assert 900.0 >= sum(take.seconds for take in box.day(clock.now()).takes) > 600.0


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
        Proposal(Grade.STEADY, "your foot"),
        Proposal(Grade.CLEAN, "your foot"),
        Proposal(Grade.SHAKY, "your foot"),
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
