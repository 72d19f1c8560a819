"""The engine on a device that is pumped by hand: what is heard, and what the screen is told."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from sounding import BEAT, FOUR, clicks_at_120, heard

from drillbox.sound import (
    ManualDevice,
    Metronome,
    Mix,
    Position,
    Timeline,
    click_program,
)

if TYPE_CHECKING:
    from drillbox.sound.devices import Feed
    from drillbox.sound.program import Hit
    from drillbox.sound.tones import Samples


def test_the_stream_is_the_program_bit_for_bit() -> None:
    """The engine adds nothing and takes nothing away, whatever the block."""
    for block in (64, 255, 960, 4096):
        device = ManualDevice()
        with Metronome(device) as metronome:
            metronome.start(clicks_at_120())
            played = device.pump(10 * BEAT, block=block)
        assert np.array_equal(clicks_at_120().block(0, 10 * BEAT), played)


def test_silence_before_and_after() -> None:
    """The one stream runs all the time.

    It is silent until started and after a stop, past a fade of 5 ms.
    """
    device = ManualDevice()
    metronome = Metronome(device)
    assert not device.pump(1000).any()
    assert metronome.position() is None
    metronome.start(clicks_at_120())
    device.pump(BEAT + 100)
    metronome.stop()
    assert device.pump(240).any()
    assert not device.pump(BEAT).any()
    assert metronome.position() is None
    metronome.close()
    metronome.close()
    assert 0 == len(device.pump(10))


def test_pause_holds_the_place_and_resume_goes_on_from_it() -> None:
    """Paused after a beat and a half, the next click comes half a beat after going on."""
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120())
        device.pump(BEAT + BEAT // 2)
        states = [metronome.running]
        metronome.pause()
        states.append(metronome.running)
        assert not device.pump(5 * BEAT)[240:].any()
        assert (1, 0.5) == (
            heard(metronome).beat,
            round(heard(metronome).fraction, 3),
        )
        metronome.resume()
        states.append(metronome.running)
        assert [True, False, True] == states
        assert [BEAT // 2] == list(np.flatnonzero(device.pump(BEAT))[:1])


def test_start_then_pause_between_two_blocks_loses_neither() -> None:
    """Both wishes come before the stream looks again.

    It stands paused at frame 0 of the new take.
    """
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120())
        device.pump(3 * BEAT)
        metronome.start(clicks_at_120())
        metronome.pause()
        device.pump(2 * BEAT)
        assert 0 == heard(metronome).frame
        metronome.resume()
        assert np.array_equal(clicks_at_120().block(0, 5000), device.pump(5000))


def test_position_is_less_the_latency_and_never_goes_back() -> None:
    """With 4,800 frames on the way to the ear and 50 ms set, 7,200 frames are not yet heard."""
    device = ManualDevice(latency_frames=4800)
    with Metronome(device, latency_ms=50) as metronome:
        metronome.start(clicks_at_120())
        frames = []
        for _ in range(100):
            device.pump(441)
            frames.append(heard(metronome).frame)
        assert 44_100 - 7200 == frames[-1]
        assert frames == sorted(frames)
        assert 0 == frames[0]
        metronome.latency_ms = 500
        assert frames[-1] == heard(metronome).frame


def test_position_tells_bar_beat_and_end() -> None:
    """One bar counted in, one bar played, done."""
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120(bars=1, count_in_bars=1))
        device.pump(BEAT * 5 // 2)
        assert (True, 0, 2) == (
            heard(metronome).counting_in,
            heard(metronome).bar,
            heard(metronome).beat,
        )
        device.pump(BEAT * 3)
        assert (False, 0, 1) == (
            heard(metronome).counting_in,
            heard(metronome).bar,
            heard(metronome).beat,
        )
        assert not heard(metronome).done
        device.pump(BEAT * 3)
        assert heard(metronome).done


def test_a_new_take_starts_over() -> None:
    """The next start puts the position back to the first frame, before any block of it was made."""
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120())
        device.pump(3 * BEAT)
        metronome.start(clicks_at_120())
        assert 0 == heard(metronome).frame


def test_tempo_changes_between_takes_and_at_the_next_bar_line() -> None:
    """Asked for in bar one, 100 bpm begins with bar two.

    Beats of 28,800 frames, and the new take keeps its own.
    """
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120(bars=None))
        first = device.pump(BEAT)
        metronome.change_tempo(100)
        assert 120.0 == heard(metronome).bpm
        played = np.concatenate([first, device.pump(7 * BEAT, block=256)])
        sounding = np.flatnonzero(played)
        found = sounding[np.diff(sounding, prepend=-9999) > 1000]
        assert [0, 24_000, 48_000, 72_000, 96_000, 124_800, 153_600, 182_400] == list(found)
        assert 100.0 == heard(metronome).bpm
        metronome.start(click_program(FOUR, 60, bars=1))
        assert 48_000 == np.flatnonzero(device.pump(50_000)[5000:])[0] + 5000


@dataclass
class Broken:
    """A program that fails after its first block."""

    inner: Mix = field(default_factory=clicks_at_120)

    frames_total = None

    def block(self, start: int, frames: int) -> Samples:
        """Raise from the second block on."""
        if start:
            raise ZeroDivisionError(f"no such sound as {start}")
        return self.inner.block(start, frames)

    def position(self, frame: int) -> Position:
        """Go on counting."""
        return self.inner.position(frame)

    def with_tempo_after(self, frame: int, bpm: object) -> Broken:
        """Stay the same."""
        return self


def test_a_program_that_fails_is_muted_and_reported_and_the_stream_lives() -> None:
    """The screen goes on counting, reads one sentence, and the next take sounds."""
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.start(Broken())
        device.pump(960)
        assert "" == metronome.fault
        assert not device.pump(BEAT, block=960).any()
        assert (
            "The sound of this take failed (no such sound as 960); go on without it."
            == metronome.fault
        )
        assert BEAT + 960 == heard(metronome).frame
        metronome.start(clicks_at_120())
        assert "" == metronome.fault
        assert device.pump(960).any()


def test_pausing_inside_a_sound_is_a_fade_and_not_a_step() -> None:
    """Held at the loudest moment of a click, the sound is led to silence.

    No sample jumps more than the tone's own.
    """
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120())
        played = [device.pump(40)]
        metronome.pause()
        played.append(device.pump(960))
        metronome.resume()
        played.append(device.pump(960))
    own = np.abs(np.diff(clicks_at_120().block(0, 960))).max()
    assert np.abs(np.diff(np.concatenate(played))).max() <= own * 1.05


def test_manual_device_without_a_feed_gives_nothing() -> None:
    """A device is a `Feed`'s taker; before it is started there is nothing to take."""

    class Ones:
        """A feed of ones."""

        def pull(self, frames: int) -> Samples:
            """Return ones."""
            return np.ones(frames, dtype=np.float32)

        def skip(self, frames: int) -> None:
            """Pass."""

        def hear(self, samples: Samples) -> None:
            """Pass."""

    device, feed = ManualDevice(), Ones()
    assert 0 == len(device.pump(5))
    taker: Feed = feed
    device.start(taker)
    assert [1.0] * 5 == device.pump(5, block=2).tolist()


def test_the_sound_cards_thread_finds_its_bars_ready() -> None:
    """While a screen watches, no block has to work out a bar.

    It was done in passing, two bars ahead.
    """

    @dataclass(frozen=True)
    class Watched:
        """A track that writes down which bars were asked for."""

        asked: list[int] = field(default_factory=list)
        ring = 0

        def hits(self, bar: int) -> tuple[Hit, ...]:
            """Write it down."""
            self.asked.append(bar)
            return ()

        def over(self, timeline: Timeline) -> Watched:
            """Stay the same."""
            return self

    device, track = ManualDevice(), Watched()
    with Metronome(device) as metronome:
        metronome.start(Mix(Timeline.steady(FOUR, 240, count_in_bars=1), (track,)))
        for _ in range(300):
            before = len(track.asked)
            device.pump(1600)
            assert before == len(track.asked)
            heard(metronome)
    assert list(range(-1, 12)) == track.asked
