"""The click as it is heard: every claim is checked on the rendered samples."""

from __future__ import annotations

import random
from fractions import Fraction

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from sounding import onsets, render
from strategies import clicks_per_beat, meters, tempi

from drillbox.rhythm import Level, Meter, Voice, parse_meter
from drillbox.sound import Click, ClickStyle, TempoAt, Timeline, click_over, click_program
from drillbox.sound.kit import stroke_sound
from drillbox.sound.levels import FULL_DB, decibels, velocity_db
from drillbox.sound.tones import TONES, Samples, tone

FOUR = parse_meter("4/4")


@examples(25)
@given(meters(), tempi, clicks_per_beat)
def test_each_onset_is_on_its_exact_frame(meter: Meter, bpm: Fraction, per_beat: int) -> None:
    """Click k is heard from round(k * 60 * rate / (bpm * pulse * clicks a beat)), to the sample."""
    step = 60 * Fraction(48_000) / (bpm * meter.pulse * per_beat)
    program = click_program(
        meter, bpm, bars=2, count_in_bars=0, style=ClickStyle(subdivision=per_beat)
    )
    # Where clicks come faster than they ring the silence between them is gone: check their sums
    # instead.
    expected = [round(k * step) for k in range(2 * meter.beats * per_beat)]
    if step > len(tone(Click.FIRST)) + 50:
        assert expected == onsets(render(program))
    else:
        assert expected == [hit.frame for bar in (0, 1) for hit in program.tracks[0].hits(bar)]


def test_no_drift_in_ten_minutes() -> None:
    """At 97 bpm, 970 clicks on, the last is where the fraction says, after ten minutes."""
    program = click_program(FOUR, 97, bars=243, count_in_bars=0)
    found = onsets(render(program))
    assert [round(Fraction(60 * 48_000 * k, 97)) for k in range(4 * 243)] == found
    assert round(Fraction(60 * 48_000 * 972, 97)) == program.frames_total
    assert found[970] == 48_000 * 600


def test_block_size_does_not_matter() -> None:
    """Blocks of 64 frames, random blocks and a single one give the same samples, bit for bit."""
    chance = random.Random(4)
    program = click_program(parse_meter("7/8"), 173, bars=4, style=ClickStyle(subdivision=2))
    whole = render(program)
    assert np.array_equal(whole, render(program, [64]))
    assert np.array_equal(whole, render(program, [chance.randint(1, 1999) for _ in range(997)]))


def test_blocks_may_be_asked_for_in_any_order() -> None:
    """A program is a function of the frame.

    The last second first gives what it gives when it comes last.
    """
    late_first = click_program(FOUR, 120, bars=4).block(432_000, 48_000)
    assert np.array_equal(render(click_program(FOUR, 120, bars=4))[432_000:480_000], late_first)


def test_first_beat_is_louder_and_higher() -> None:
    """One is 4 dB above the other pulses and 8 dB above subdivisions, at documented pitches."""
    peaks = {kind: float(np.abs(tone(kind)).max()) for kind in Click}
    assert pytest.approx(4.0, abs=0.01) == 20 * np.log10(peaks[Click.FIRST] / peaks[Click.PULSE])
    assert pytest.approx(8.0, abs=0.01) == 20 * np.log10(
        peaks[Click.PULSE] / peaks[Click.SUBDIVISION]
    )
    for kind in Click:
        spectrum = np.abs(np.fft.rfft(tone(kind), 48_000))
        assert TONES[kind].hertz == pytest.approx(int(spectrum.argmax()), rel=0.03)


def test_accents_stand_on_the_bar_lines_of_a_rendered_take() -> None:
    """In 3/4 every third click is the loudest, and no peak passes -6 dBFS."""
    program = click_program(parse_meter("3/4"), 120, bars=3, count_in_bars=0)
    samples = render(program)
    peaks = [float(np.abs(samples[frame : frame + 2000]).max()) for frame in onsets(samples)]
    accented = [peak > max(peaks) * 0.99 for peak in peaks]
    assert [True, False, False] * 3 == accented
    assert max(peaks) <= decibels(-6.0)


@pytest.mark.parametrize(
    ("kind", "semitones"),
    [
        (Click.COUNT_IN, 19),
        (Click.PULSE, 15),
        (Click.FIRST, 22),
        (Click.SUBDIVISION, 39),
    ],
)
def test_pitches_are_equal_tempered_over_a_440(kind: Click, semitones: int) -> None:
    """ISO 16 puts A4 at 440 Hz.

    E6, C6, G6 and G5 lie 19, 15, 22 and 10 equal semitones above it.
    """
    assert pytest.approx(440 * 2 ** (semitones / 12), abs=0.01) == TONES[kind].hertz


def test_count_in_of_one_bar_then_the_take() -> None:
    """At 120 in 4/4 with a bar counted in, sound starts at once and the take lasts two bars.

    Four seconds.
    """
    program = click_program(FOUR, 120, bars=1, count_in_bars=1)
    assert [24_000 * k for k in range(8)] == onsets(render(program))
    assert 192_000 == program.frames_total


def test_tempo_change_inside_a_take_is_heard_at_the_bar_line() -> None:
    """One bar at 120, one at 100: beats 24,000 and then 28,800 frames apart."""
    timeline = Timeline(FOUR, (TempoAt(0, Fraction(120)), TempoAt(1, Fraction(100))), bars=2)
    expected = [0, 24_000, 48_000, 72_000, 96_000, 124_800, 153_600, 182_400]
    assert expected == onsets(render(click_over(timeline)))


@examples(15)
@given(st.integers(0, 400_000), tempi)
def test_a_later_tempo_leaves_every_earlier_sample_alone(frame: int, bpm: Fraction) -> None:
    """`with_tempo_after` renders the same samples up to the next bar line.

    So the stream can go on with it.
    """
    program = click_program(FOUR, 110, bars=8)
    changed = program.with_tempo_after(frame, bpm)
    assert np.array_equal(program.block(0, frame), changed.block(0, frame))
    bar = program.timeline.bar_of(frame) + 1
    start = changed.timeline.seconds_at(Fraction(4 * bar))
    assert start == program.timeline.seconds_at(Fraction(4 * bar)) >= Fraction(frame, 48_000)
    assert 240 / bpm == changed.timeline.seconds_at(Fraction(4 * bar + 4)) - start


def test_what_rings_on_after_the_end_is_given_and_then_silence() -> None:
    """The last click's ring may be asked for past the end; nothing follows it."""
    program = click_program(FOUR, 300, bars=1, count_in_bars=0, style=ClickStyle(subdivision=8))
    total = program.frames_total
    assert total is not None
    assert program.block(total, 100).any()
    assert not program.block(total + program.ring, 10_000).any()


def test_the_tick_leaves_the_ghost_note_its_band() -> None:
    """A click on every partial must not cover the ghosts: measured in bands, at usual levels.

    From 300 to 1500 Hz, where a ghost has its tone, the tick is 10 dB below it or more; above 3 kHz
    it stands 10 dB over it, so that it is heard all the same.
    """
    ghost = stroke_sound(Voice.SNARE, Level.GHOST) * decibels(
        FULL_DB[Voice.SNARE] + velocity_db(Level.GHOST.velocity)
    )
    tick = tone(Click.SUBDIVISION)

    assert band_db(tick, 300, 1500) <= band_db(ghost, 300, 1500) - 10
    assert band_db(tick, 3000, 12_000) >= band_db(ghost, 3000, 12_000) + 10


def band_db(sound: Samples, low: int, high: int) -> float:
    """Return the energy of a sound between two frequencies in Hz, in dB."""
    spectrum = np.abs(np.fft.rfft(sound[:48_000], 48_000)) ** 2
    return float(10 * np.log10(spectrum[low:high].sum()))
