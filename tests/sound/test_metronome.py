"""The engine on a device that is pumped by hand: what is heard, and what the screen is told."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from drillbox.rhythm import parse_meter
from drillbox.sound import ManualDevice, Metronome, Mix, Position, SilentClock, click_program
from drillbox.sound.metronome import DEVICE_GONE, DEVICE_RUNS_AWAY

if TYPE_CHECKING:
    from drillbox.sound.devices import Feed
    from drillbox.sound.tones import Samples

FOUR = parse_meter("4/4")
BEAT = 24_000


def program(bars: int | None = 4, count_in_bars: int = 0) -> Mix:
    """Return clicks at 120 bpm: one every 24,000 frames."""
    return click_program(FOUR, 120, bars=bars, count_in_bars=count_in_bars)


def heard(metronome: Metronome) -> Position:
    """Return the position of something that plays."""
    position = metronome.position()
    assert position is not None
    return position


def test_the_stream_is_the_program_bit_for_bit() -> None:
    """At full volume the engine adds nothing and takes nothing away, whatever the block."""
    for block in (64, 255, 960, 4096):
        device = ManualDevice()
        with Metronome(device) as metronome:
            metronome.start(program())
            played = device.pump(10 * BEAT, block=block)
        assert np.array_equal(program().block(0, 10 * BEAT), played)


def test_silence_before_and_after() -> None:
    """The one stream runs all the time; it is silent until started and after a stop, past a fade of 5 ms."""
    device = ManualDevice()
    metronome = Metronome(device)
    assert not device.pump(1000).any()
    assert metronome.position() is None
    metronome.start(program())
    device.pump(BEAT + 100)
    metronome.stop()
    assert device.pump(240).any()
    assert not device.pump(BEAT).any()
    assert metronome.position() is None
    metronome.close()
    metronome.close()
    assert 0 == len(device.pump(10))


def test_pause_holds_the_place_and_resume_goes_on_from_it() -> None:
    """Paused after a beat and a half, the next click comes half a beat after going on, however long it took."""
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.start(program())
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
    """Both wishes come before the stream looks again: it stands paused at frame 0 of the new take."""
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.start(program())
        device.pump(3 * BEAT)
        metronome.start(program())
        metronome.pause()
        device.pump(2 * BEAT)
        assert 0 == heard(metronome).frame
        metronome.resume()
        assert np.array_equal(program().block(0, 5000), device.pump(5000))


def test_position_is_less_the_latency_and_never_goes_back() -> None:
    """With 4,800 frames on the way to the ear and 50 ms set by the player, 7,200 frames are not yet heard."""
    device = ManualDevice(latency_frames=4800)
    with Metronome(device, latency_ms=50) as metronome:
        metronome.start(program())
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
        metronome.start(program(bars=1, count_in_bars=1))
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
        metronome.start(program())
        device.pump(3 * BEAT)
        metronome.start(program())
        assert 0 == heard(metronome).frame


def test_tempo_changes_between_takes_and_at_the_next_bar_line() -> None:
    """Asked for in bar one, 100 bpm begins with bar two: beats of 28,800 frames, and the new take keeps its own."""
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.start(program(bars=None))
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


def test_volume_scales_the_stream_without_a_step() -> None:
    """Half volume halves every sample; the change itself is a ramp over one block."""
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.set_volume(0.5)
        device.pump(480)
        metronome.start(program())
        assert np.array_equal(program().block(0, BEAT) * np.float32(0.5), device.pump(BEAT))
        metronome.set_volume(7)
        device.pump(BEAT)
        assert np.array_equal(program().block(2 * BEAT, BEAT), device.pump(BEAT))


@dataclass
class Broken:
    """A program that fails after its first block."""

    inner: Mix = field(default_factory=program)

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

    def balanced(self, balance: object) -> Broken:
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
        metronome.start(program())
        assert "" == metronome.fault
        assert device.pump(960).any()


class Clock:
    """Monotonic seconds set by hand."""

    def __init__(self) -> None:
        self.seconds = 100.0

    def __call__(self) -> float:
        """Read the clock."""
        return self.seconds


def test_the_silent_clock_counts_the_same_beats() -> None:
    """Without sound the position after 2.25 s at 120 bpm is beat 4.5, pauses included, and the take ends."""
    clock = Clock()
    with Metronome(SilentClock(clock)) as metronome:
        assert not metronome.audible
        clock.seconds += 3
        metronome.start(program(bars=2))
        clock.seconds += 1.25
        assert (2, 0.5) == (
            heard(metronome).beat,
            round(heard(metronome).fraction, 3),
        )
        metronome.pause()
        clock.seconds += 60
        metronome.resume()
        clock.seconds += 1
        assert (1, 0, 0.5) == (
            heard(metronome).bar,
            heard(metronome).beat,
            round(heard(metronome).fraction, 3),
        )
        clock.seconds += 10
        assert heard(metronome).done
        metronome.start(program())
        assert 0 == heard(metronome).frame


class Card(ManualDevice):
    """A sound card that holds 2,880 frames ahead and whose clock is set by hand."""

    def __init__(self, clock: Clock) -> None:
        super().__init__()
        self.buffer_frames = 2880
        self.clock = clock

    def now(self) -> float:
        """Return the clock's seconds, not the count of frames."""
        return self.clock()


def serve(device: Card, clock: Clock, *, blocks: int, late: float = 0.0) -> Samples:
    """Take blocks of 20 ms, each asked for `late` seconds behind its time, and return what was played."""
    played = []
    for _ in range(blocks):
        clock.seconds += 0.020 + late
        played.append(device.pump(960))
    return np.concatenate(played)


def test_underruns_are_counted_and_jitter_is_not() -> None:
    """A block 50 ms late is covered by 60 ms of buffer; one 90 ms late is a gap, counted once."""
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        serve(device, clock, blocks=20)
        serve(device, clock, blocks=1, late=0.030)
        serve(device, clock, blocks=20, late=-0.0015)
        assert 0 == metronome.underruns
        serve(device, clock, blocks=1, late=0.090)
        serve(device, clock, blocks=20)
        assert 1 == metronome.underruns


def test_a_burst_is_no_credit_against_a_later_gap() -> None:
    """A device that took blocks early holds no more than its buffer: 90 ms without one is still a gap."""
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        serve(device, clock, blocks=20, late=-0.010)
        serve(device, clock, blocks=1, late=0.090)
        assert metronome.underruns == 1


def test_a_tempo_change_leaves_alone_what_is_on_its_way() -> None:
    """Asked for 20 ms before a bar line, with 60 ms in the device: it comes a bar later, not half heard."""
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        metronome.start(program(bars=None))
        serve(device, clock, blocks=99)
        metronome.change_tempo(60)
        played = serve(device, clock, blocks=300)
    sounding = np.flatnonzero(played)
    found = [int(frame) - 960 for frame in sounding[np.diff(sounding, prepend=-9999) > 1000]]
    assert [0, BEAT, 2 * BEAT, 3 * BEAT, 4 * BEAT, 6 * BEAT, 8 * BEAT, 10 * BEAT] == found


def test_a_sound_card_a_little_slow_is_not_late() -> None:
    """Two hundred parts in a million over ten minutes (the order of real crystals) are no under-run."""
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        serve(device, clock, blocks=30_000, late=0.020 * 200e-6)
        assert 0 == metronome.underruns


def test_a_sound_card_a_little_fast_does_not_run_away() -> None:
    """Five hundred parts in a million over twenty minutes, more than real crystals, is no sink."""
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        serve(device, clock, blocks=60_000, late=0.020 * -500e-6)
        metronome.position()
        assert metronome.notice == ""


def test_pausing_inside_a_sound_is_a_fade_and_not_a_step() -> None:
    """Held at the loudest moment of a click, the sound is led to silence: no sample jumps more than the tone's own."""
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.start(program())
        played = [device.pump(40)]
        metronome.pause()
        played.append(device.pump(960))
        metronome.resume()
        played.append(device.pump(960))
    own = np.abs(np.diff(program().block(0, 960))).max()
    assert np.abs(np.diff(np.concatenate(played))).max() <= own * 1.05


def test_between_two_blocks_the_position_goes_on_by_the_clock() -> None:
    """Half a block after the last one the playhead is half a block on, and it waits at the block's end."""
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        metronome.start(program())
        serve(device, clock, blocks=10)
        clock.seconds += 0.010
        assert 9 * 960 + 480 == heard(metronome).frame
        clock.seconds += 0.050
        assert 10 * 960 == heard(metronome).frame


def test_a_sound_card_that_goes_away_is_replaced_by_the_silent_clock() -> None:
    """Headphones pulled out in mid-take: within about a second the click is shown instead, and goes on."""
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        metronome.start(program(bars=None))
        serve(device, clock, blocks=50)
        for _ in range(40):
            clock.seconds += 1 / 30
            before = heard(metronome).frame
        assert DEVICE_GONE == metronome.notice
        assert not metronome.audible
        clock.seconds += 1
        assert before + 48_000 == heard(metronome).frame


def test_an_output_that_runs_away_is_replaced_before_the_take_is_lost() -> None:
    """A sink that throws sound away takes a minute in a moment: the take has moved by less than a second."""
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        metronome.start(program(bars=None))
        serve(device, clock, blocks=50)
        clock.seconds += 0.001
        device.pump(60 * 48_000, block=960)
        assert heard(metronome).frame < 2 * 48_000
        assert DEVICE_RUNS_AWAY == metronome.notice
        before = heard(metronome).frame
        clock.seconds += 1
        # The block that was being played counts as played.
        assert before + 48_000 + 960 == heard(metronome).frame


def test_a_process_that_was_stopped_keeps_its_sound() -> None:
    """An hour's halt between two looks at the position is not a lost device."""
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        metronome.start(program(bars=None))
        serve(device, clock, blocks=50)
        heard(metronome)
        clock.seconds += 3600
        heard(metronome)
        serve(device, clock, blocks=2)
        heard(metronome)
        assert metronome.audible
        assert "" == metronome.notice


def test_manual_device_without_a_feed_gives_nothing() -> None:
    """A device is a `Feed`'s taker; before it is started there is nothing to take."""

    class Ones:
        """A feed of ones."""

        def pull(self, frames: int) -> Samples:
            """Return ones."""
            return np.ones(frames, dtype=np.float32)

        def skip(self, frames: int) -> None:
            """Pass."""

    device, feed = ManualDevice(), Ones()
    assert 0 == len(device.pump(5))
    taker: Feed = feed
    device.start(taker)
    assert [1.0] * 5 == device.pump(5, block=2).tolist()
