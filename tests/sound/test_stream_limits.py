"""The stream at its limits: recordings, buffers, latency, stalls, pads."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from sounding import FOUR, clicks_at_120

from drillbox.rhythm import parse
from drillbox.sound import (
    RATE,
    ManualDevice,
    Metronome,
    Recorder,
    SilentClock,
    click_program,
    heard_back,
)
from drillbox.sound.metronome import _Stall
from drillbox.sound.pad_input import MidiPads, NoPads
from drillbox.sound.transport import Stamp, Transport


def test_a_recording_is_as_long_as_its_take_and_a_second() -> None:
    """Ten minutes at most; what is heard later is let go; nothing is kept before it was heard."""
    recorder = Recorder(1, 100)
    recorder.put(np.ones(50, np.float32), 0)
    assert (50 / RATE, False) == (recorder.seconds, recorder.whole)
    recorder.put(np.full(RATE, 2.0, np.float32), 100)
    assert (RATE + 100, True) == (len(recorder.samples()), recorder.whole)
    assert [1.0, 0.0, 2.0] == [float(recorder.samples()[n]) for n in (49, 50, 100)]
    recorder.put(np.full(9, 7.0, np.float32), RATE + 95)
    assert 7.0 == recorder.samples()[RATE + 99]
    recorder.put(np.full(9, 9.0, np.float32), RATE + 100)
    assert RATE + 100 == len(recorder.samples())
    endless = Recorder(1, None)
    endless.put(np.ones(1, np.float32), 600 * RATE - 1)
    assert endless.whole


def test_a_device_that_takes_half_a_second_too_much_runs_away() -> None:
    """Half a second over what it holds, all at once, is a runaway; a frame less is not."""
    for extra, expected in ((0, False), (1, True)):
        transport = Transport(lambda: 0.0, 1000)
        transport.pull(100)
        transport.pull(1000 + RATE // 2 + extra)
        assert expected == transport.runaway
    assert not transport.pull(10).any()


def test_a_buffer_runs_dry_just_after_its_frames() -> None:
    """A thousand frames last a thousand frames of time, with a thousandth of tolerance."""
    for frames, dry in ((1000, 0), (1001, 0), (1003, 1)):
        now = [0.0]
        transport = Transport(lambda now=now: now[0], 1000)  # type: ignore[misc]
        transport.pull(100)
        now[0] = frames / RATE
        transport.pull(100)
        assert dry == transport.underruns
    without = Transport(lambda: 0.0, 0)
    without.pull(10**6)
    without.pull(10**6)
    assert not without.runaway


def test_what_is_heard_is_kept_of_its_own_take() -> None:
    """The loudest is told once; a block of another take, or of silence, is not recorded."""
    device = ManualDevice(room=lambda played: played * 0 + 0.25)
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120(), record=True)
        device.pump(480)
        recorder = metronome.recorder
        assert recorder is not None
        assert 480 / RATE == recorder.seconds
        assert (0.25, 0.0) == (metronome.take_peak(), metronome.take_peak())
        metronome.pause()
        device.pump(480)
        assert 480 / RATE == recorder.seconds
        metronome.start(clicks_at_120())
        device.pump(480)
        assert metronome.recorder is None
        assert metronome.listens


def test_the_ear_is_later_than_the_stream() -> None:
    """A second of the clock is a second of the take less the latency, its own and the player's."""
    device = ManualDevice(latency_frames=4800)
    with Metronome(device, latency_ms=50) as metronome:
        metronome.start(clicks_at_120())
        for _ in range(100):
            device.pump(480)
        assert 1.0 - 0.15 == pytest.approx(metronome.take_seconds(device.now()))
        assert 2.0 - 0.15 == pytest.approx(metronome.take_seconds(device.now() + 1.0))


def test_a_stall_is_a_second_in_which_the_screen_kept_asking() -> None:
    """Asked every 0.1 s a dozen looks say so; asked once an hour each counts a tenth."""
    stall, stamp = _Stall(), Stamp()
    found = [stall.lasts(stamp, 0.1 * n) for n in range(13)]
    assert [False] * 10 == found[:10]
    assert found[12]
    slow = _Stall()
    assert [False] * 10 == [slow.lasts(stamp, 3600.0 * n) for n in range(10)]
    assert not slow.lasts(Stamp(frame=1), 3600.0 * 11)


def test_the_silent_clock_skips_whole_frames_once() -> None:
    """Ticks between two frames skip nothing; closed it counts no more."""
    now, skipped = [0.0], []

    class Feed:
        """Notes what is skipped."""

        def skip(self, frames: int) -> None:
            """Note it."""
            skipped.append(frames)

    clock = SilentClock(lambda: now[0])
    clock.tick()
    clock.start(Feed())  # type: ignore[arg-type]
    for seconds in (0.0, 1.5 / RATE, 1.9 / RATE, 3.0 / RATE + 1e-9, 1.0):
        now[0] = seconds
        clock.tick()
    assert [1, 2, RATE - 3] == skipped
    clock.close()
    now[0] = 9.0
    clock.tick()
    assert 3 == len(skipped)


def test_a_take_heard_back_is_made_louder_within_reason() -> None:
    """To a peak of 0.7, by thirty times at most; a recording's bars lie one after the other."""
    pattern = parse("meter: 2/4\nsnare: >1 >2")
    for peak, heard in ((0.1, 0.7), (0.001, 0.03), (0.9, 0.7)):
        samples = np.zeros(2 * RATE, np.float32)
        samples[RATE // 2] = peak
        samples[RATE // 2 + 1] = peak
        mix = heard_back(samples, 0.0, pattern, 120, passes=1, share=Fraction(1))
        (hit,) = mix.tracks[1].hits(0)
        assert heard == pytest.approx(float(hit.sound.max()), rel=0.01)
        assert () == mix.tracks[1].hits(-1) == mix.tracks[1].hits(1)
    slow = heard_back(samples, 0.0, pattern, 15, passes=1)
    assert 60 / 10 * 2 * RATE == slow.frames_total


def test_only_hits_count() -> None:
    """The softest hit has velocity 1; 0 is a release; what was taken is not taken again."""

    class Message:
        """A MIDI message."""

        type, note = "note_on", 38

        def __init__(self, velocity: int) -> None:
            self.velocity = velocity

    calls: list[object] = []

    class Port:
        """A port that is let go."""

        def close(self) -> None:
            """Note it."""
            calls.append(self)

    def open_port(_name: str, *, callback: object) -> Port:
        calls.append(callback)
        return Port()

    pads = MidiPads("Kit", open_port, lambda: 2.5)
    for velocity in (0, 1, 127):
        calls[0](Message(velocity))  # type: ignore[operator]
    assert [(2.5, 38, 1), (2.5, 38, 127)] == list(pads.take())
    assert () == pads.take() == NoPads().take()
    pads.close()
    assert 2 == len(calls)
    assert [True, False] == [pads.listens, NoPads().listens]


def test_a_metronome_counts_one_bar_in_unless_told() -> None:
    """A bar of count-in, then for ever."""
    program = click_program(FOUR, 120)
    assert program.frames_total is None
    assert program.position(2 * RATE - 1).counting_in
    assert not program.position(2 * RATE).counting_in
