"""What every key does at the stand, and when, without a window."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drillbox.app.screens.stand import HINT_SECONDS
from drillbox.app.screens.stand_takes import DEAF_SECONDS, STRAY_SECONDS
from drillbox.app.sitting import Phase
from drillbox.app.stand_words import (
    DEVICE_CHANGED,
    FIRST_WORDS,
    NOTHING_TO_UNDO,
    PLAY_FIRST,
    QUESTION,
    RAMP_OFF,
    RAMP_ON,
)
from drillbox.app.widgets.grade_zones import GRADE_KEYS, PARTS, Graded
from drillbox.box.setting_kinds import BACKINGS, CLICKS
from drillbox.memory import Grade
from drillbox.report.strides import stride
from drillbox.rhythm import Hand

sys.path.insert(0, str(Path(__file__).parent))
from bare_stand import KEYS, BareStand, bare_stand, grades, metronome

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


@pytest.fixture
def stand(box: Box, clock: ManualClock) -> BareStand:
    """Return a stand with the first card up."""
    return bare_stand(box, clock)


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
