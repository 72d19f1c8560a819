"""A pattern on the kit as it is heard.

Places, levels, seams and balance, on the rendered samples.
"""

from __future__ import annotations

import random
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from scipy.ndimage import maximum_filter1d, uniform_filter1d
from scipy.signal import butter, find_peaks, sosfiltfilt
from sounding import level_db, onsets, render
from strategies import patterns, tempi

from drillbox.rhythm import Ornament, Voice, parse
from drillbox.sound import (
    Balance,
    ClickStyle,
    ManualDevice,
    Metronome,
    Timeline,
    listen_first,
    play_along,
)
from drillbox.sound.export import Recorded
from drillbox.sound.kit import REFERENCE_FRAMES
from drillbox.sound.pattern_track import PatternTrack

if TYPE_CHECKING:
    from drillbox.rhythm import Pattern
    from drillbox.sound.tones import Samples

GROOVE = parse("hat: 1 &\nbass: 1 3\nsnare: >2 >4 (1a) (z3e) (/2&)\n")
MUTED = float("-inf")


def alone(text: str, bpm: Fraction | float, passes: int = 1) -> Samples:
    """Return a pattern on the kit alone."""
    return render(listen_first(parse(text), bpm, passes=passes))


@examples(25)
@given(tempi, st.integers(0, 900))
def test_every_stroke_is_on_its_exact_frame(bpm: Fraction, passes: int) -> None:
    """The stroke at beat b of pass k starts at round((4 k + b) * 60 * rate / bpm)."""
    pattern = parse("snare: 1 2e 3& 4a\n")
    track = PatternTrack(pattern, Timeline.steady(pattern.meter, bpm))
    beats = [Fraction(0), Fraction(5, 4), Fraction(5, 2), Fraction(15, 4)]
    expected = [round((4 * passes + beat) * 60 * 48_000 / bpm) for beat in beats]
    assert expected == [hit.frame for hit in track.hits(passes)]


@examples(40)
@given(patterns(max_bars=2), tempi, st.integers(0, 50))
def test_any_pattern_has_its_strokes_in_place(pattern: Pattern, bpm: Fraction, passes: int) -> None:
    """Whatever is written, each stroke's main strike is on the exact frame of its beat.

    Only graces come before it.
    """
    timeline = Timeline.steady(pattern.meter, bpm, count_in_bars=1)
    track = PatternTrack(pattern, timeline)
    beat_frames = 60 * 48_000 / (bpm * pattern.meter.pulse)
    begin = pattern.meter.beats + passes * pattern.beats
    expected = {round((begin + stroke.at) * beat_frames) for stroke in pattern.strokes}
    hits = [
        hit
        for bar in range(passes * pattern.bars, (passes + 1) * pattern.bars)
        for hit in track.hits(bar)
    ]
    assert expected <= {hit.frame for hit in hits}
    assert all(len(hit.sound) <= track.ring for hit in hits)
    if all(stroke.ornament is Ornament.NONE for stroke in pattern.strokes):
        assert len(pattern.strokes) == len(hits)


def test_short_strokes_are_heard_at_their_frames() -> None:
    """Sticks on the rim, far enough apart to be silent between.

    First sounding samples are the exact frames.
    """
    found = onsets(alone("rim: 1 2e 3& 4a\n", 55))
    step = Fraction(60 * 48_000, 55)
    assert [
        round(step * beat) for beat in (0, Fraction(5, 4), Fraction(5, 2), Fraction(15, 4))
    ] == found


def test_an_outside_detector_finds_the_strokes_where_they_were_put() -> None:
    """A flux detector made of scipy filters alone.

    Which knows nothing of the kit, agrees within 3 ms.
    """
    pattern = parse("grid: 16 8t 16 16\nsnare: >1 >2l >3a >4&\nhat: 1 2 3 4\n")
    lead = 9600
    samples = np.pad(render(listen_first(pattern, 84, passes=4)).astype(np.float64), (lead, 0))
    high = sosfiltfilt(butter(4, 2000, "high", fs=48_000, output="sos"), samples)
    energy = np.log10(uniform_filter1d(high**2, 96) + 1e-7)
    rise = np.maximum(energy[240:] - energy[:-240], 0)
    peaks = np.flatnonzero((rise == maximum_filter1d(rise, 4800)) & (rise > 0.8)) + 120
    beats = {stroke.at + 4 * turn for turn in range(4) for stroke in pattern.strokes}
    expected = sorted(lead + float(beat * 60 * 48_000 / 84) for beat in beats)
    assert len(expected) == len(peaks)
    errors = peaks - np.array(expected)
    assert np.abs(errors - np.median(errors)).max() < 0.003 * 48_000


def test_a_loop_of_a_thousand_bars_has_its_exact_length() -> None:
    """Bar 1,000 starts where the fraction says.

    And its samples are bar 0's wherever the two round alike.
    """
    bpm = Fraction(123)
    program = listen_first(GROOVE, bpm, passes=1002)
    bar = Fraction(240 * 48_000) / bpm
    assert round(1002 * bar) == program.frames_total
    # 41 bars of 240/123 s are 3,840,000 frames exactly: bars 41 apart are the same samples.
    assert (41 * bar).denominator == 1
    early, late = round(2 * bar), round((2 + 41 * 24) * bar)
    assert np.array_equal(program.block(early, 90_000), program.block(late, 90_000))


def test_seams_have_no_step() -> None:
    """Across every seam the samples are those of one long pattern: what rings rings on."""
    crash = "crash: >1\nsnare: (4a)\n"
    looped = alone(crash, 140, passes=4)
    written_out = alone("crash: >1 | >1 | >1 | >1\nsnare: (4a) | (4a) | (4a) | (4a)\n", 140)
    assert np.array_equal(looped, written_out)
    bar = round(Fraction(240 * 48_000, 140))
    steps = np.abs(np.diff(looped))
    # The crash's own attack lies at the seam; just before it there must be nothing sharper than
    # elsewhere.
    assert steps[bar - 480 : bar - 1].max() <= np.quantile(steps[bar // 2 : bar], 0.999) * 2


def test_block_size_does_not_matter() -> None:
    """Blocks of 64 frames equal random blocks of 1 to 1,999 frames equal one block, bit for bit."""
    chance = random.Random(5)
    timeline = Timeline.steady(GROOVE.meter, 133, bars=3, count_in_bars=1)
    whole = render(play_along(GROOVE, timeline))
    assert np.array_equal(whole, render(play_along(GROOVE, timeline), [64]))
    sizes = [chance.randint(1, 1999) for _ in range(997)]
    assert np.array_equal(whole, render(play_along(GROOVE, timeline), sizes))


def test_the_engine_plays_what_the_file_would_hold() -> None:
    """Live and offline are the same samples."""
    timeline = Timeline.steady(GROOVE.meter, 120, bars=2, count_in_bars=1)
    device = ManualDevice()
    with Metronome(device) as metronome:
        metronome.start(play_along(GROOVE, timeline))
        assert np.array_equal(render(play_along(GROOVE, timeline)), device.pump(288_000, block=256))


def test_an_accent_is_24_db_above_a_ghost_and_8_above_a_tap() -> None:
    """As documented, measured over the first 50 ms of each."""
    samples = alone("snare: >1 2 (3)\n", 60)
    levels = [level_db(samples[at : at + REFERENCE_FRAMES]) for at in (0, 48_000, 96_000)]
    assert pytest.approx(24.1, abs=0.1) == levels[0] - levels[2]
    assert pytest.approx(7.7, abs=0.1) == levels[0] - levels[1]


def test_ghosts_are_quiet_yet_there() -> None:
    """Under accents and hat a ghost is still 40 dB above the rounding of a 16-bit file."""
    samples = alone("snare: (1)\n", 60)
    assert level_db(samples[:REFERENCE_FRAMES]) > -98 + 40


def test_a_flam_and_a_drag_start_early_and_land_in_time() -> None:
    """On beat two at 60 bpm: graces 28 and 56 ms before frame 48,000, the stroke on it."""
    pattern = parse("snare: f2 d3\n")
    track = PatternTrack(pattern, Timeline.steady(pattern.meter, 60))
    assert [48_000 - 1344, 48_000, 96_000 - 2688, 96_000 - 1344, 96_000] == [
        hit.frame for hit in track.hits(0)
    ]
    assert onsets(alone("snare: f2\n", 60))[0] == 48_000 - 1344


def test_a_double_fills_the_slot_of_its_own_beat() -> None:
    """In a beat of triplets at 60 bpm a slot lasts 16,000 frames, in one of sixteenths 12,000.

    Two even strokes in each.
    """
    pattern = parse("grid: 8t 16 16 16\nsnare: /1 /2\n")
    track = PatternTrack(pattern, Timeline.steady(pattern.meter, 60))
    assert [0, 8_000, 48_000, 54_000] == [hit.frame for hit in track.hits(0)]


def test_a_grace_note_before_the_first_frame_is_left_out() -> None:
    """Without a count-in there is no time before beat one; the next pass has its grace note."""
    pattern = parse("snare: f1\n")
    track = PatternTrack(pattern, Timeline.steady(pattern.meter, 60))
    assert [0] == [hit.frame for hit in track.hits(0)]
    assert [192_000 - 1344, 192_000] == [hit.frame for hit in track.hits(1)]


def test_a_buzz_is_a_texture_and_not_noise() -> None:
    """Its bounces stand 5 dB and more out of the envelope, 22 to 34 ms apart; a tap only falls."""

    def swells(text: str) -> list[int]:
        power = uniform_filter1d(alone(text, 60)[:12_000].astype(np.float64) ** 2, 240)
        peaks, _ = find_peaks(10 * np.log10(power + 1e-12), prominence=5.0, distance=480)
        return [int(peak) for peak in peaks]

    buzz = swells("snare: z1\n")
    assert 8 == len(buzz)
    assert all(0.020 < gap / 48_000 < 0.036 for gap in np.diff(buzz))
    assert 1 >= len(swells("snare: 1\n"))


def test_everything_but_the_snare() -> None:
    """Left to the player, the snare is gone and the rest is as it was."""
    timeline = Timeline.steady(GROOVE.meter, 100, bars=1)
    balance = Balance(click_db=MUTED, without=frozenset({Voice.SNARE}))
    left = render(play_along(GROOVE, timeline, balance=balance))
    rest = parse("hat: 1 &\nbass: 1 3\n")
    assert np.array_equal(render(listen_first(rest, 100, passes=1)), left)


def test_click_alone_and_kit_alone() -> None:
    """Muting one part leaves the other to the sample."""
    timeline = Timeline.steady(GROOVE.meter, 100, bars=2, count_in_bars=1)
    click = render(play_along(GROOVE, timeline, balance=Balance(kit_db=MUTED)))
    kit = render(play_along(GROOVE, timeline, balance=Balance(click_db=MUTED)))
    both = render(play_along(GROOVE, timeline))
    assert np.allclose(both, click + kit, atol=1e-6)
    assert not kit[: round(Fraction(240 * 48_000, 100)) - 5000].any()
    grid = render(
        play_along(GROOVE, timeline, style=ClickStyle(subdivision=4), balance=Balance(kit_db=MUTED))
    )
    assert np.array_equal(grid, click)


def test_ghosts_can_be_raised_for_study() -> None:
    """Twelve dB more on the ghosts leaves accents where they were."""
    pattern = parse("snare: >1 (3)\n")
    plain = render(listen_first(pattern, 60, passes=1))
    study = render(listen_first(pattern, 60, passes=1, balance=Balance(ghosts_db=12)))
    assert np.array_equal(plain[:48_000], study[:48_000])
    gain = level_db(study[96_000:98_400]) - level_db(plain[96_000:98_400])
    assert pytest.approx(12.0, abs=0.01) == gain


def test_tempo_changes_carry_the_pattern_along() -> None:
    """From 120 to 90 at a bar line: the strokes keep to the beats of the new tempo."""
    pattern = parse("rim: 1 3\n")
    program = listen_first(pattern, 120, passes=2).with_tempo_after(10, 90)
    assert [0, 48_000, 96_000, 160_000] == onsets(render(program))


def test_swing_moves_the_written_offbeat() -> None:
    """Straight eighths on paper, triplets in the ear: the & of one at 60 bpm sounds at 2/3 s."""
    program = listen_first(parse("swing: 8 2:1\nrim: 1 1&\n"), 60, passes=1)
    assert [0, 32_000] == onsets(render(program))


def test_listen_slowly() -> None:
    """At two thirds of 90 bpm a bar lasts four seconds.

    At an absurd share the tempo stays in range.
    """
    slow = listen_first(GROOVE, 90, passes=1, share=Fraction(2, 3))
    assert 4 * 48_000 == slow.frames_total
    assert 10.0 == listen_first(GROOVE, 12, passes=1, share=Fraction(1, 2)).position(0).bpm


def test_nothing_ever_passes_full_scale() -> None:
    """Everything at once, accented, 12 dB too loud, stays below 1.0.

    At the usual balance it is left as it is.
    """
    pattern = parse(
        "hat: >beat\ncrash: >beat\nsnare: >beat\ntom: >beat\nfloor: >beat\nbass: >beat\n"
    )
    timeline = Timeline.steady(pattern.meter, 120, bars=1)
    loud = render(play_along(pattern, timeline, balance=Balance(kit_db=12, click_db=12)))
    assert 0.9 < np.abs(loud).max() <= 0.981
    track = PatternTrack(GROOVE, Timeline.steady(GROOVE.meter, 120, bars=1))
    summed = np.zeros(200_000, dtype=np.float32)
    for hit in track.hits(0):
        summed[hit.frame : hit.frame + len(hit.sound)] += hit.sound * np.float32(hit.gain)
    usual = Recorded(render(listen_first(GROOVE, 120, passes=1)))
    assert np.array_equal(summed[:96_000], usual.block(0, 96_000))
    assert np.abs(summed).max() < 0.8


def test_an_open_hat_rings_until_it_is_closed() -> None:
    """On the & of one at 60 bpm it sounds until the next stroke, of the hat or of the pedal.

    Just before the close it is heard, 20 ms after it is not: what follows is the closed hat alone.
    """
    for closer in ("hat: o1 1&", "hat: o1\npedal: 1&"):
        sound = alone(f"meter: 1/4\n{closer}\n", 60)
        closed = alone(f"meter: 1/4\n{closer.replace('o1', '1')}\n", 60)
        before, after = slice(22_000, 23_000), slice(24_960, 25_960)

        assert np.abs(sound[before]).max() > max(1e-4, 3 * np.abs(closed[before]).max())
        assert np.allclose(sound[after], closed[after], atol=1e-4)


def test_taps_lie_between_ghosts_and_plain_strokes() -> None:
    """Eleven dB under an accent, three under a plain stroke: what lies low is heard to."""
    levels = [level_db(alone(f"rim: {sign}\n", 60)[:2400]) for sign in ("(1)", "_1", "1", ">1")]

    assert sorted(levels) == levels
    assert pytest.approx(10.8, abs=0.1) == levels[3] - levels[1]
