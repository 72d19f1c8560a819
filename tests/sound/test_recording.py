"""What the microphone hears of a take: on the take's own frames, in memory only."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import miniaudio
import numpy as np
import pytest
from sounding import BEAT, clicks_at_120

from drillbox.sound import RATE, TAIL_SECONDS, ManualDevice, Metronome, open_metronome
from drillbox.sound.metronome import (
    NO_DEVICE,
    NO_MICROPHONE,
    NOBODY_LISTENS,
    OTHER_MICROPHONE,
)
from drillbox.sound.miniaudio_device import MiniaudioDevice, MiniaudioDuplex

if TYPE_CHECKING:
    from drillbox.sound.tones import Samples


def echo(late: int = 0) -> ManualDevice:
    """Return a device whose microphone hears its own loudspeaker, so many frames late."""
    way = np.zeros(late, dtype=np.float32)

    def room(played: Samples) -> Samples:
        nonlocal way
        way = np.concatenate([way, played])
        heard, way = way[: len(played)], way[len(played) :]
        return heard

    return ManualDevice(room=room)


@pytest.mark.parametrize("block", [64, 255, 960, 4096])
def test_a_recording_lies_on_the_frames_of_its_take(block: int) -> None:
    """Whatever came before, sample n was heard while frame n was played, less the way."""
    device = echo(late=1000)
    with Metronome(device) as metronome:
        device.pump(777)
        metronome.start(clicks_at_120(), record=True)
        device.pump(4 * BEAT, block=block)
        assert metronome.recorder is not None
        heard = metronome.recorder.samples()

    assert np.array_equal(clicks_at_120().block(0, 4 * BEAT - 1000), heard[1000:])
    assert 4 * BEAT == len(heard)


def test_a_take_is_recorded_to_its_tail_and_no_further() -> None:
    """The last stroke rings; after a second nothing more is kept, however long nobody grades."""
    device = echo()
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120(bars=1), record=True)
        recorder = metronome.recorder
        assert recorder is not None
        device.pump(4 * BEAT, block=960)
        states = [recorder.whole]
        device.pump(10 * BEAT, block=960)
        states.append(recorder.whole)

    assert [False, True] == states
    assert 2.0 + TAIL_SECONDS == recorder.seconds
    assert recorder.seconds * RATE == len(recorder.samples())


def test_the_next_start_lets_the_recording_go() -> None:
    """Listening to a pattern records nothing, and what was recorded before is gone."""
    device = echo()
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120(), record=True)
        device.pump(BEAT)
        metronome.start(clicks_at_120())
        device.pump(BEAT)

        assert metronome.recorder is None


def test_no_microphone_records_nothing() -> None:
    """Asked to record, a device without a microphone plays as ever."""
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120(), record=True)

        assert device.pump(BEAT).any()
        assert (False, None) == (metronome.listens, metronome.recorder)


def test_the_peak_is_what_was_loudest_since_it_was_asked() -> None:
    """A meter that looks thirty times a second misses no stroke between two looks."""
    levels = iter([0.1, 0.7, 0.2, 0.3])
    device = ManualDevice(room=lambda played: np.full(len(played), next(levels), np.float32))
    with Metronome(device) as metronome:
        device.pump(300, block=100)
        first = metronome.take_peak()
        device.pump(100)

        assert [0.7, 0.3, 0.0] == pytest.approx(
            [first, metronome.take_peak(), metronome.take_peak()]
        )


def test_numbers_that_are_none_do_not_come_through() -> None:
    """A driver's nonsense is silence in the recording."""
    device = ManualDevice(room=lambda played: np.full(len(played), np.nan, np.float32))
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120(), record=True)
        device.pump(BEAT)
        assert metronome.recorder is not None

        assert not metronome.recorder.samples().any()
        assert 0.0 == metronome.take_peak()


def test_a_moment_has_its_place_in_the_take() -> None:
    """Where the ear was when a pad was struck: the clock less the latency, count-in included."""
    device = ManualDevice(latency_frames=480)
    with Metronome(device) as metronome:
        device.pump(960)
        metronome.start(clicks_at_120())
        device.pump(2 * BEAT, block=BEAT)
        struck = device.now() - 0.25

        assert 1.0 - 0.25 - 0.01 == pytest.approx(metronome.take_seconds(struck))


def test_the_duplex_stream_runs_on_one_clock() -> None:
    """The library's null backend plays and records in one callback, and hears silence."""
    with Metronome(MiniaudioDuplex(backends=(miniaudio.Backend.NULL,))) as metronome:
        metronome.start(clicks_at_120(), record=True)
        recorder = metronome.recorder
        assert recorder is not None
        began = time.monotonic()
        while recorder.seconds < 0.2 and time.monotonic() < began + 20:
            time.sleep(1 / 60)
            metronome.position()

        assert recorder.seconds >= 0.2
        assert not recorder.samples().any()
        assert ("", True) == (metronome.fault, metronome.listens)


def _null_playback(*_: object, **__: object) -> MiniaudioDevice:
    return MiniaudioDevice(backends=(miniaudio.Backend.NULL,))


def _no_microphone(*_: object, **__: object) -> None:
    raise miniaudio.MiniaudioError("failed to init device", -401)


def test_without_a_microphone_the_click_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """No microphone, or no permission: playback opens in its place, and one sentence says so."""
    monkeypatch.setattr("drillbox.sound.miniaudio_device.MiniaudioDuplex", _no_microphone)
    monkeypatch.setattr("drillbox.sound.miniaudio_device.MiniaudioDevice", _null_playback)
    with open_metronome(microphone="") as metronome:
        assert (NO_MICROPHONE, False, True) == (
            metronome.notice,
            metronome.listens,
            metronome.audible,
        )


def test_without_any_device_both_are_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither output nor microphone: the click is shown, nobody listens, two short sentences."""
    monkeypatch.setattr("drillbox.sound.miniaudio_device.MiniaudioDuplex", _no_microphone)
    monkeypatch.setattr("drillbox.sound.miniaudio_device.MiniaudioDevice", _no_microphone)
    with open_metronome(microphone="") as metronome:
        assert f"{NO_DEVICE} {NOBODY_LISTENS}" == metronome.notice


def test_another_microphone_takes_the_place_of_one_that_is_gone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The interface is at home: the system's own microphone listens, and one sentence says so."""

    def duplex(*_: object, microphone: str, **__: object) -> MiniaudioDuplex:
        return MiniaudioDuplex(microphone=microphone, backends=(miniaudio.Backend.NULL,))

    monkeypatch.setattr("drillbox.sound.miniaudio_device.MiniaudioDuplex", duplex)
    with open_metronome(microphone="Interface") as metronome:
        assert (OTHER_MICROPHONE.format("Interface"), True) == (
            metronome.notice,
            metronome.listens,
        )
