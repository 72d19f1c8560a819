"""What the stand plays to the player: a card, or the last take, without a window."""

from __future__ import annotations

import sys
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import pytest

from drillbox.app.listening import Heard, Opinion
from drillbox.app.sitting import Phase
from drillbox.app.stand_words import (
    AS_PLAYED,
    AT_TEMPO,
    HALF_SPEED,
    PLAY_FIRST,
    SLOW_LISTENING,
    listening_line,
)
from drillbox.memory import Grade
from drillbox.rhythm import Hand
from drillbox.sound import HALF, RATE, SLOW

sys.path.insert(0, str(Path(__file__).parent))
from bare_stand import BareStand, NotingMetronome, metronome
from heard_takes import MARKS, clean_ear, listen_back, stand_at_pads, told
from rehearsal import HitPads

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


@pytest.fixture(autouse=True)
def measured(monkeypatch: pytest.MonkeyPatch) -> list[Heard]:
    """Return what was given to be measured; whatever it is, it was clean."""
    return clean_ear(monkeypatch)


@pytest.fixture
def stand(box: Box, clock: ManualClock) -> BareStand:
    """Return a stand that listens to pads."""
    return stand_at_pads(box, clock, HitPads(clock.seconds))


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
