"""The engine against the clock.

Playheads between blocks, under-runs, devices that go away or run away.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from sounding import BEAT, clicks_at_120, heard

from drillbox.sound import (
    ManualDevice,
    Metronome,
    SilentClock,
)
from drillbox.sound.metronome import DEVICE_GONE, DEVICE_RUNS_AWAY

if TYPE_CHECKING:
    from drillbox.sound.tones import Samples


class Clock:
    """Monotonic seconds set by hand."""

    def __init__(self) -> None:
        self.seconds = 100.0

    def __call__(self) -> float:
        """Read the clock."""
        return self.seconds


def test_the_silent_clock_counts_the_same_beats() -> None:
    """Without sound the position after 2.25 s at 120 bpm is beat 4.5, pauses included.

    And the take ends.
    """
    clock = Clock()
    with Metronome(SilentClock(clock)) as metronome:
        assert not metronome.audible
        clock.seconds += 3
        metronome.start(clicks_at_120(bars=2))
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
        metronome.start(clicks_at_120())
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
    """Take blocks of 20 ms, each asked for `late` seconds behind its time.

    And return what was played.
    """
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
    """A device that took blocks early holds no more than its buffer.

    90 ms without one is still a gap.
    """
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        serve(device, clock, blocks=20, late=-0.010)
        serve(device, clock, blocks=1, late=0.090)
        assert metronome.underruns == 1


def test_a_tempo_change_leaves_alone_what_is_on_its_way() -> None:
    """Asked for 20 ms before a bar line, with 60 ms in the device.

    It comes a bar later, not half heard.
    """
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120(bars=None))
        serve(device, clock, blocks=99)
        metronome.change_tempo(60)
        played = serve(device, clock, blocks=300)
    sounding = np.flatnonzero(played)
    found = [int(frame) - 960 for frame in sounding[np.diff(sounding, prepend=-9999) > 1000]]
    assert [0, BEAT, 2 * BEAT, 3 * BEAT, 4 * BEAT, 6 * BEAT, 8 * BEAT, 10 * BEAT] == found


def test_a_sound_card_a_little_slow_is_not_late() -> None:
    """Two hundred parts in a million over ten minutes, as real crystals, are no under-run."""
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


def test_between_two_blocks_the_position_goes_on_by_the_clock() -> None:
    """Half a block after the last one the playhead is half a block on.

    And it waits at the block's end.
    """
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120())
        serve(device, clock, blocks=10)
        clock.seconds += 0.010
        assert 9 * 960 + 480 == heard(metronome).frame
        clock.seconds += 0.050
        assert 10 * 960 == heard(metronome).frame


def test_a_sound_card_that_goes_away_is_replaced_by_the_silent_clock() -> None:
    """Headphones pulled out in mid-take.

    Within about a second the click is shown instead, and goes on.
    """
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120(bars=None))
        serve(device, clock, blocks=50)
        for _ in range(40):
            clock.seconds += 1 / 30
            before = heard(metronome).frame
        assert DEVICE_GONE == metronome.notice
        assert not metronome.audible
        clock.seconds += 1
        assert before + 48_000 == heard(metronome).frame


def test_an_output_that_runs_away_is_replaced_before_the_take_is_lost() -> None:
    """A sink that throws sound away takes a minute in a moment.

    The take has moved by less than a second.
    """
    clock = Clock()
    device = Card(clock)
    with Metronome(device) as metronome:
        metronome.start(clicks_at_120(bars=None))
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
        metronome.start(clicks_at_120(bars=None))
        serve(device, clock, blocks=50)
        heard(metronome)
        clock.seconds += 3600
        heard(metronome)
        serve(device, clock, blocks=2)
        heard(metronome)
        assert metronome.audible
        assert "" == metronome.notice
