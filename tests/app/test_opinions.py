"""How long a take is listened to, and what is said of one that the ear cannot measure."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import pytest

from drillbox import ear
from drillbox.app.listening import (
    KIT_ALONG,
    LAST_RING_SECONDS,
    MICROPHONE_GONE,
    RAMPED,
    SILENT_INPUT,
    Heard,
    Listening,
    Opinion,
    opinion_of,
)
from drillbox.box.settings import Settings
from drillbox.errors import RecordingError
from drillbox.memory import Grade
from drillbox.rhythm import Hand, parse
from drillbox.sound import RATE, Mix, PatternTrack, Timeline

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.app.desk import Desk
    from drillbox.box.views import CardView

PATTERN = parse("snare: >2 >4 (1e)\n")
BPM, PASSES, START = 120, 3, 2.5
PLAYED_SECONDS = 2.5 + 3 * 2.0
"""Three bars of four at 120 last two seconds each."""
CUTS = (-7.5, -2.5, 2.5, 7.5)


def heard(seconds: float, *, loud: float = 0.1, tempi: int = 1, **changes: Any) -> Heard:
    """Return a take of which so much was recorded."""
    timeline = Timeline.steady(PATTERN.meter, BPM, bars=PASSES, count_in_bars=1, pass_bars=1)
    program = SimpleNamespace(timeline=SimpleNamespace(tempi=timeline.tempi * tempi), tracks=())
    fields: dict[str, Any] = {
        "samples": np.full(round(seconds * RATE), loud, dtype=np.float32),
        "program": cast("Mix", program),
    }
    fields |= changes
    return Heard("c" * 16, "e of 1", PATTERN, BPM, PASSES, START, Hand.RIGHT, **fields)


@pytest.fixture
def measured(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """Return what was given to be measured; the ear refuses it all."""
    given: list[Any] = []

    def refuse(*one: Any, **others: Any) -> None:
        given.append((one, others))
        raise RecordingError("nothing fits", fix="Play it again.")

    for name in ("measure", "measure_notes"):
        monkeypatch.setattr(ear, name, refuse)
    return given


@pytest.mark.parametrize(
    ("seconds", "whole"),
    [
        (PLAYED_SECONDS - LAST_RING_SECONDS, True),
        (PLAYED_SECONDS - LAST_RING_SECONDS - 0.01, False),
    ],
)
def test_a_recording_must_hold_all_that_was_played(
    measured: list[Any], seconds: float, *, whole: bool
) -> None:
    """All passes from the first beat on, but for the last stroke's ring: else it broke off."""
    said = opinion_of(heard(seconds), CUTS).sentence

    assert whole == (said != MICROPHONE_GONE)
    assert whole == bool(measured)


@pytest.mark.parametrize(("loud", "silent"), [(0.0, True), (0.9e-5, True), (2e-5, False)])
@pytest.mark.parametrize("sign", [1, -1])
def test_silence_is_an_input_that_is_muted(
    measured: list[Any], loud: float, sign: int, *, silent: bool
) -> None:
    """A hundred decibels under full scale there is noise in any room; on either side of nothing."""
    said = opinion_of(heard(9.0, loud=sign * loud), CUTS).sentence

    assert silent == (said == SILENT_INPUT)
    assert silent != bool(measured)


@pytest.mark.parametrize("late", [0.03, None])
@pytest.mark.parametrize(("with_kit", "passes"), [(True, 6), (True, 3), (False, 6)])
def test_a_kit_that_is_in_the_recording_is_said(
    measured: list[Any],
    monkeypatch: pytest.MonkeyPatch,
    late: float | None,
    passes: int,
    *,
    with_kit: bool,
) -> None:
    """It is looked for at its strokes in the first four bars, and only where there was one.

    A take that holds none of it is measured; so is one whose kit strikes nothing.
    """
    timeline = Timeline.steady(PATTERN.meter, BPM, bars=passes, count_in_bars=1, pass_bars=1)
    looked_for: list[tuple[Any, ...]] = []

    def round_trip(*asked: Any) -> float | None:
        looked_for.append(asked)
        return late

    monkeypatch.setattr(ear, "round_trip", round_trip)
    for pattern in (PATTERN, replace(PATTERN, strokes=())):
        kit = Mix(timeline, (PatternTrack(pattern, timeline), object()))  # type: ignore[arg-type]
        one = replace(heard(2.5 + 2 * passes, program=kit, with_kit=with_kit), passes=passes)
        said = opinion_of(one, CUTS).sentence
        assert (said == KIT_ALONG) == (with_kit and late is not None and bool(pattern.strokes))

    assert with_kit == bool(looked_for)
    for played, samples, at, rate in looked_for:
        beats = [
            float(stroke.at) + 4 * bar
            for bar in range(min(passes, 4))
            for stroke in PATTERN.strokes
        ]
        assert [2.0 + beat * 0.5 for beat in sorted(beats)] == pytest.approx(at, abs=1e-4)
        assert (len(samples), RATE) == (len(played), rate)


def test_what_was_played_is_what_is_asked_for(measured: list[Any]) -> None:
    """The pattern at its tempo, from its first beat on, and the player's own cuts."""
    opinion_of(heard(9.0), CUTS)
    opinion_of(heard(9.0, samples=None, notes=("a note",), pad_keys="31=snare"), CUTS)
    (by_ear, how), (by_pads, as_well) = measured
    voices = ear.PadVoices.read("31=snare")
    asked = ear.AskedTake(PATTERN, BPM, PASSES, START, Hand.RIGHT)

    assert (RATE, asked, {"cuts": CUTS}) == (*by_ear[1:], how)
    assert (("a note",), asked, voices, {"cuts": CUTS}) == (*by_pads, as_well)


def test_a_take_that_cannot_be_measured_is_the_players_to_grade(
    measured: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Why is said in a sentence, there is no grade, and nothing is raised whatever goes wrong."""
    ramped = opinion_of(heard(9.0, tempi=2), CUTS)
    no_pad = opinion_of(heard(9.0, samples=None), CUTS)
    refused = opinion_of(heard(9.0), CUTS)
    monkeypatch.setattr(ear, "measure", lambda *_, **__: 1 / 0)
    failed = opinion_of(heard(9.0), CUTS)

    assert RAMPED == ramped.sentence
    assert "No pad was hit in this take: grade it yourself." == no_pad.sentence
    assert "Nothing can be said of this take: nothing fits." == refused.sentence
    assert "The ear failed on this take (division by zero): grade it yourself." == failed.sentence
    for one in (ramped, no_pad, refused, failed):
        assert (None, 0.0, None, "") == (one.grade, one.sure, one.measured, one.numbers)
    assert 1 == len(measured)


@pytest.mark.parametrize(
    ("grade", "absent", "said"),
    [
        (Grade.CLEAN, (), "Even."),
        (None, (), "No grade proposed: too few strokes. Even."),
        (Grade.CLEAN, ("hat", "bass"), "Even. Not in this recording, so left out: hat, bass."),
        (None, ("hat",), "No grade proposed: too few strokes. Even."),
    ],
)
def test_a_measured_take_says_what_was_left_out(
    monkeypatch: pytest.MonkeyPatch, grade: Grade | None, absent: tuple[str, ...], said: str
) -> None:
    """The reason first where no grade is proposed; else the voices that no microphone heard."""
    found: Any = SimpleNamespace(
        proposal=SimpleNamespace(grade=None if grade is None else int(grade), sure=0.75),
        left_out=("too few strokes", "more"),
        absent=absent,
    )
    monkeypatch.setattr(ear, "measure", lambda *_, **__: found)
    monkeypatch.setattr(ear, "sentence", lambda _: "Even.")
    monkeypatch.setattr("drillbox.app.listening.heard_numbers", lambda _: "9 of 9 heard")
    opinion = opinion_of(heard(9.0), CUTS)

    assert (said, "9 of 9 heard", grade) == (opinion.sentence, opinion.numbers, opinion.grade)
    assert (0.75, found, "audio") == (opinion.sure, opinion.measured, opinion.source)


def test_an_opinion_without_numbers_is_not_logged() -> None:
    """The log has numbers of measured takes alone."""
    assert Opinion("Why not.").log_values is None


# listening to its end


@pytest.mark.parametrize("source", ["microphone", "off"])
def test_a_take_that_goes_on_with_another_sound_is_measured_against_that(source: str) -> None:
    """Where it is listened to at all; the passes that sounded before a grade are what was heard."""
    first, other = (heard(1.0).program for _ in range(2))
    vars(other)["timeline"] = Timeline.steady(
        PATTERN.meter, BPM, bars=PASSES, count_in_bars=1, pass_bars=1
    )
    recorder = SimpleNamespace(samples=lambda: np.zeros(9, dtype=np.float32))
    metronome = SimpleNamespace(listens=True, recorder=recorder)
    desk = cast("Desk", SimpleNamespace(metronome=metronome))
    listening = Listening(desk, Settings(listening=source))
    listening.begin(first)
    listening.swap(other)
    card = cast("CardView", SimpleNamespace(card_id="c" * 16, title="e of 1", pattern=PATTERN))
    taken = listening.hurry(card, BPM, 2)

    assert (source == "off") == (taken is None)
    if taken is not None:
        assert (other, 2, taken) == (taken.program, taken.passes, listening.last)
    assert listening.hurry(card, BPM, 2) is None


@pytest.mark.parametrize(
    ("seconds", "whole", "running", "expected"),
    [
        (10.53, False, True, True),
        (10.51, False, True, False),
        (0.0, True, True, True),
        (0.0, False, False, True),
    ],
)
def test_a_take_is_waited_for_until_its_last_sound_has_come_round(
    seconds: float, *, whole: bool, running: bool, expected: bool
) -> None:
    """Its length, what the microphone is late by, and 0.4 seconds to ring; or no more will come."""
    recorder = SimpleNamespace(seconds=seconds, whole=whole)
    metronome = SimpleNamespace(listens=True, running=running, recorder=recorder)
    settings = Settings(listening="microphone", round_trip_ms=120)
    listening = Listening(cast("Desk", SimpleNamespace(metronome=metronome)), settings)
    program = cast("Mix", SimpleNamespace(timeline=SimpleNamespace(seconds_total=10.0)))

    assert expected == listening._all_in(program)


def test_what_was_heard_is_kept_for_the_same_take_asked_again_once() -> None:
    """Another card, another tempo, or a second undo is another take."""

    def after(*asked: tuple[str, int]) -> bool:
        listening = Listening(cast("Desk", None), Settings())
        listening.last = cast("Heard", SimpleNamespace(card_id="e", bpm=80))
        for card_id, bpm in asked:
            listening.ask_again(card_id, bpm)
        return listening.last is not None

    told = [after(("e", 80)), after(("a", 80)), after(("e", 85)), after(("e", 80), ("e", 80))]
    assert [True, False, False, False] == told


def test_an_opinion_of_an_earlier_take_is_not_the_last_ones() -> None:
    """It comes too late to be asked about, and leaves the running one alone."""
    make: Callable[[], Any] = SimpleNamespace
    listening = Listening(cast("Desk", None), Settings())
    earlier, listening.last = make(), make()
    late, now = cast("Opinion", make()), cast("Opinion", make())

    assert not listening.told(earlier, late)
    assert listening.opinion is None
    assert listening.told(listening.last, now)
    assert now is listening.opinion
