"""Small signals whose answer is known: bands, hum, clicks, loopback, levels, places, ways."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_takes import RATE, noise

from drillbox.ear.clicks import remove_click
from drillbox.ear.energies import BANDS, HIGH_HZ, LOW_HZ, SILENCE, spectrum
from drillbox.ear.expected import Expected, expected_strokes
from drillbox.ear.likeliest_path import Candidate, likeliest, peaks
from drillbox.ear.looks import Kind
from drillbox.ear.loopback import round_trip
from drillbox.ear.mains import without_hum
from drillbox.ear.slots import kind_of, slots_of
from drillbox.rhythm import Hand, Level, Part, Voice, parse

if TYPE_CHECKING:
    from drillbox.ear.energies import Samples
    from drillbox.ear.looks import Floats

T10 = np.arange(10 * RATE) / RATE


def floats(*values: float) -> Floats:
    """Return numbers as an array."""
    return np.array(values, np.float64)


def power_at(samples: Samples, hertz: float, rate: int) -> float:
    """Return the amplitude of one frequency, by a sum with the frequency itself."""
    turn = np.exp(-2j * np.pi * hertz * np.arange(samples.size) / rate)
    return float(2 * abs(np.mean(samples * turn)))


# --- bands


@pytest.mark.parametrize("rate", [16000, 18000, 44100])
def test_a_column_is_the_power_of_eight_milliseconds_about_its_time(rate: int) -> None:
    """Beside a sum written out: a raised cosine of 8 ms, edges from 200 Hz to 9 kHz, 1.45 ms apart.

    Every bin counts for the band in which it lies, in proportion where an edge cuts it.
    """
    rng = np.random.default_rng(3)
    samples = rng.normal(0, 0.1, rate // 2).astype(np.float32)
    found = spectrum(samples, rate)
    hop, size = round(0.00145 * rate), round(0.008 * rate)
    length = 1 << (size - 1).bit_length()
    window = np.hanning(size) / np.sqrt(np.sum(np.hanning(size) ** 2))
    edges = [edge for edge in np.geomspace(200, 9000, 11) if edge <= rate / 2]
    step = rate / length

    assert hop / rate == pytest.approx(found.hop)
    assert (len(edges) - 1, samples.size // hop + 1) == found.energy.shape
    padded = np.concatenate([np.zeros(size // 2), samples, np.zeros(size)])
    for column in (0, 1, 100, found.energy.shape[1] - 1):
        piece = padded[column * hop : column * hop + size] * window
        power = np.abs(np.fft.rfft(piece, length)) ** 2 / length
        for band, (low, high) in enumerate(pairwise(edges)):
            shares = [
                float(
                    np.clip((at - low) / step + 0.5, 0, 1) * np.clip((high - at) / step + 0.5, 0, 1)
                )
                for at in np.arange(power.size) * step
            ]
            assert max(float(power @ shares), 1e-12) == pytest.approx(
                float(found.energy[band, column]), rel=1e-3, abs=1e-11
            )
    assert list(np.percentile(found.energy, 10, axis=1)) == pytest.approx(list(found.floor))
    assert (10, 200.0, 9000.0) == (BANDS, LOW_HZ, HIGH_HZ)


def test_a_short_burst_is_loudest_in_its_own_column_and_silence_has_a_floor() -> None:
    """A crack of one sample stands in the column nearest to it; elsewhere is -120 dB."""
    samples = np.zeros(RATE, np.float32)
    samples[22050] = 1.0
    found = spectrum(samples, RATE)

    assert {found.column(0.5)} == set(np.argmax(found.energy, axis=1))
    assert SILENCE == pytest.approx(float(found.energy[:, found.column(0.6)].max()))
    assert SILENCE == pytest.approx(float(found.floor.min()))
    assert [0, 1, 345] == [found.column(s * found.hop) for s in (0.49, 0.51, 345.0)]


def test_a_tone_is_in_one_band() -> None:
    """1.1 kHz lies well inside the fifth of ten bands a constant ratio wide."""
    tone = np.sin(2 * np.pi * 1100 * T10[:RATE]).astype(np.float32)
    energy = spectrum(tone, RATE).energy[:, 300]
    edges = np.geomspace(200, 9000, 11)
    own = int(np.searchsorted(edges, 1100)) - 1

    assert own == int(np.argmax(energy))
    assert 0.9 < energy[own] / energy.sum()


# --- hum

LOW_RATE = 8000
"""Hum ends at 1.3 kHz: a low rate shows it as well, and sooner."""


def lines(seconds: float, hertz: float, harmonics: tuple[int, ...]) -> Samples:
    """Return a tone's multiples, each at 0.02."""
    t = np.arange(int(seconds * LOW_RATE)) / LOW_RATE
    waves = [0.02 * np.sin(2 * np.pi * hertz * n * t + n) for n in harmonics]
    return np.asarray(np.sum(waves, axis=0), np.float32)


def without(samples: Samples) -> Samples:
    """Return a recording at the low rate without its hum."""
    return without_hum(samples, LOW_RATE)


@pytest.mark.parametrize("mains", [50.0, 60.0])
def test_hum_goes_and_a_click_keeps_its_peak(mains: float) -> None:
    """Each harmonic up to 1.25 kHz falls by 15 dB or more; a click of 20 ms stays as it was."""
    harmonics = tuple(range(1, int(1250 / mains) + 1))
    hum = lines(10, mains, harmonics)
    quiet = noise(10, -60, rate=LOW_RATE)
    quiet[40_000:40_160] += noise(0.02, -10, 5, rate=LOW_RATE)
    left = without(quiet + hum)
    inside = slice(LOW_RATE // 4, -LOW_RATE // 4)

    for n in harmonics:
        before, after = (power_at(s[inside], n * mains, LOW_RATE) for s in (quiet + hum, left))
        assert 10 ** (-15 / 20) * before > after
    peak = np.abs(quiet[40_000:40_160]).max()
    assert peak == pytest.approx(float(np.abs(left[40_000:40_160]).max()), rel=0.03)
    assert left.dtype == np.float32


def test_nothing_is_taken_out_beside_the_lines() -> None:
    """Of what goes, 999 parts of a thousand lie within three hertz of a line that hums."""
    samples = noise(10, -40, rate=LOW_RATE) + lines(10, 50, (2, 3, 5))
    gone = samples - without(samples)
    power = np.abs(np.fft.rfft(gone)) ** 2
    hertz = np.arange(power.size) / 10
    near = np.min(np.abs(hertz[:, None] - floats(100, 150, 250)), axis=1) < 3

    assert 0.001 > power[~near].sum() / power[near].sum()
    assert 0 < power[near].sum()


def test_what_is_no_hum_comes_back_untouched() -> None:
    """Two lines, lines of other tones or above 1.3 kHz, noise, less than four seconds."""
    floor = noise(10, -50, rate=LOW_RATE)
    hum = floor + lines(10, 50, (1, 3, 5))
    untouched = (
        floor,
        floor + lines(10, 50, (1, 3)),
        floor + lines(10, 55.5, (1, 2, 3, 4)),
        floor + lines(10, 50, (27, 28, 29, 30)),
        hum[: 4 * LOW_RATE - 1],
    )

    for samples in untouched:
        assert samples is without(samples)
    for samples in (hum, hum[: 4 * LOW_RATE], floor + lines(10, 50, (24, 25, 26))):
        assert samples is not without(samples)


def test_hum_of_a_long_recording_goes_block_by_block() -> None:
    """Where only the second block of 24 s hums, the first comes back sample by sample."""
    rest = noise(48, -50, rate=LOW_RATE)
    hum = lines(48, 50, (1, 2, 3, 4, 5))
    hum[: 24 * LOW_RATE] = 0
    left = without(rest + hum)

    assert rest.size == left.size
    assert np.array_equal(rest[: 24 * LOW_RATE], left[: 24 * LOW_RATE])
    inside = slice(25 * LOW_RATE, 47 * LOW_RATE)
    assert 10**-1.5 > np.mean((left - rest)[inside] ** 2) / np.mean(hum[inside] ** 2)
    assert left.size == without((rest + hum)[: 33 * LOW_RATE]).size + 15 * LOW_RATE


# --- clicks


CLICK = (0.1 * np.sin(2 * np.pi * 1200 * T10[:1764]) * np.exp(-T10[:1764] / 0.006)).astype(
    np.float32
)


def clicking(late: float = 0.016, beats: int = 24, gain: float = 1.0) -> Samples:
    """Return quiet noise with a click every half second from half a second on, so late."""
    samples = noise(0.5 * beats + 1.5, -75)
    for beat in range(beats):
        first = round((0.5 + 0.5 * beat + late) * RATE)
        samples[first : first + CLICK.size] += gain * CLICK
    return samples


@pytest.mark.parametrize("late", [-0.15, -0.02, 0.0, 0.03, 0.08])
def test_a_click_is_found_where_it_is_and_taken_out(late: float) -> None:
    """From 0.2 s early to 0.1 s late, begun up to 6 ms before; 14 dB or more of each are gone."""
    samples = clicking(late)
    found = remove_click(samples, RATE, 0.5, 0.5)
    true = 0.5 + 0.5 * np.arange(24) + late

    before = [float(min(true[true > at] - at)) for at in found.at if 0.4 < at < 11.7]
    assert 20 < len(before)
    assert 0.0061 > max(before)
    for beat in range(1, 22):
        first = round(true[beat] * RATE)
        place = slice(first, first + 600)
        left = np.mean(found.samples[place] ** 2) / np.mean(samples[place] ** 2)
        assert 10**-1.4 > left


def test_a_click_louder_or_softer_by_a_third_is_fitted() -> None:
    """Each pulse's own gain is taken, within a third; one twice as loud is not twice taken out."""
    samples = clicking()
    first = round((0.5 + 0.5 * 8 + 0.016) * RATE)
    for gain, most in ((1.25, 0.04), (0.8, 0.04), (2.0, 0.6)):
        one = samples.copy()
        one[first : first + CLICK.size] += np.float32(gain - 1) * CLICK
        left = remove_click(one, RATE, 0.5, 0.5).samples[first : first + 600]
        share = float(np.sum(left**2) / np.sum((gain * CLICK[:600]) ** 2))
        assert most > share
        assert gain < 2 or share > 0.05


def test_six_pulses_are_the_fewest_and_a_click_must_be_heard_in_rests() -> None:
    """Of five nothing is said; a click that stands only where strokes are is none."""
    six = clicking(beats=6)[: int(3.2 * RATE)]
    strokes = np.arange(0.5, 12.5, 0.5, dtype=np.float64)

    assert [6, 0] == [
        remove_click(six[: int(end * RATE)], RATE, 0.5, 0.5).at.size for end in (3.2, 3.18)
    ]
    assert 0 == remove_click(clicking(), RATE, 0.5, 0.5, strokes).at.size
    assert 0 < remove_click(clicking(), RATE, 0.5, 0.5, strokes[4:]).at.size
    ended = clicking()[: int(12.4 * RATE)]
    assert [0, 24] == [
        remove_click(ended, RATE, 0.5, 0.5, strokes[:-rests]).at.size for rests in (2, 3)
    ]
    loud_on_strokes = clicking()
    loud_on_strokes[: int(2.4 * RATE)] = noise(2.4, -75, 4)
    assert 0 == remove_click(loud_on_strokes, RATE, 0.5, 0.5, strokes[4:]).at.size
    beside = strokes + 0.13
    assert 0 < remove_click(clicking(), RATE, 0.5, 0.5, beside).at.size
    assert 0 == remove_click(clicking(), RATE, 0.5, 0.5, strokes + 0.11).at.size


# --- the way from program to microphone


def test_a_delay_is_the_mean_of_the_clicks_that_agree() -> None:
    """Sixty in a hundred within 1.5 ms of the middle one, two at least; half a second at most."""
    rng = np.random.default_rng(8)
    played = np.zeros(6 * RATE, np.float32)
    times = [0.5 * n for n in range(8)]
    clicks = [(0.3 * rng.normal(size=2000)).astype(np.float32) for _ in times]
    for at, click in zip(times, clicks, strict=True):
        played[int(at * RATE) : int(at * RATE) + 2000] = click

    def heard(*late_ms: float | None) -> float | None:
        samples = noise(6, -70, 9)
        for at, click, late in zip(times, clicks, late_ms, strict=True):
            if late is not None:
                first = round((at + late / 1000) * RATE)
                samples[first : first + 2000] += 0.2 * click
        return round_trip(played, samples, times, RATE)

    assert 0.042 == pytest.approx(heard(*[42.0] * 8), abs=1e-5)
    assert 0.042 == pytest.approx(heard(*[41.0, 43.0] * 4), abs=2e-5)
    assert 0.042 == pytest.approx(heard(*[42.0] * 5, 90.0, 90.0, 90.0), abs=1e-5)
    assert heard(*[42.0] * 4, 90.0, 90.0, 150.0, 150.0) is None
    assert heard(*[42.0] * 4, None, None, None, None) is None
    assert 0.042 == pytest.approx(heard(*[42.0] * 5, None, None, None), abs=1e-5)
    assert 0.042 == pytest.approx(heard(*[42.0] * 5, 42.4, 43.6, 43.6), abs=1e-4)
    assert 0.49 == pytest.approx(heard(*[490.0] * 8), abs=1e-4)
    assert heard(*[510.0] * 8) is None
    assert round_trip(played, np.zeros_like(played), times, RATE) is None
    assert round_trip(played, played, [5.99, 6.5], RATE) is None
    assert round_trip(np.zeros_like(played), played, times, RATE) is None
    assert round_trip(played, played, times[:1], RATE) is None
    assert 0.0 == round_trip(played, played, times[:2], RATE)


def test_what_is_alike_by_less_than_three_tenths_is_no_click() -> None:
    """A click in noise of its own power correlates by .7; ten times its power by .3."""
    rng = np.random.default_rng(8)
    click = rng.normal(size=1764)
    played = np.zeros(RATE, np.float32)
    played[4410 : 4410 + 1764] = 0.1 * click
    twice = np.tile(played, 2)

    def alike(share: float) -> float | None:
        other = rng.normal(size=twice.size)
        for first in (4410, 4410 + RATE):
            piece = other[first : first + 1764]
            piece -= click * (piece @ click) / (click @ click)
            piece *= np.sqrt((click @ click) / (piece @ piece))
        samples = (share * twice / 0.1 + np.sqrt(1 - share**2) * other).astype(np.float32)
        return round_trip(twice, samples, [0.1, 1.1], RATE)

    assert 0.0 == alike(0.36)
    assert alike(0.24) is None


# --- places, kinds, ways


def test_slots_are_the_places_where_sticks_come_down_together() -> None:
    """In time; kinds of voice and level, a buzz and a grace by themselves; a place once a pass."""
    pattern = parse("hat: 1 2\nsnare: >f2 (z3) (/4)\nbass: 1\n")
    strokes = expected_strokes(pattern, 60, 2)
    slots = slots_of(strokes)
    grace = float(slots.nominal[1])

    assert [0.0, grace, 1.0, 2.0, 3.0, 3.125] == pytest.approx(list(slots.nominal[:6]))
    assert 12 == slots.nominal.size
    assert [0, 1, 2, 3, 4, 5] * 2 == list(slots.partial)
    assert 0.95 < grace < 1.0
    assert [("hat", "bass"), ("snare",), ("hat", "snare"), ("snare",), ("snare",), ("snare",)] == [
        tuple(s.voice for s in group) for group in slots.members[:6]
    ]
    assert set(slots.kinds) == {
        Kind(Voice.HAT, Level.PLAIN, Part.STROKE),
        Kind(Voice.BASS, Level.PLAIN, Part.STROKE),
        Kind(Voice.SNARE, Level.ACCENT, Part.STROKE),
        Kind(Voice.SNARE, Level.GHOST, Part.GRACE),
        Kind(Voice.SNARE, Level.GHOST, Part.BUZZ),
        Kind(Voice.SNARE, Level.GHOST, Part.STROKE),
    }
    assert sorted(slots.kinds) == list(slots.kinds)
    for group, kinds in zip(slots.members, slots.of_slot, strict=True):
        assert [kind_of(s) for s in group] == [slots.kinds[k] for k in kinds]
    ghost = slots.kinds.index(Kind(Voice.SNARE, Level.GHOST, Part.STROKE))
    hat = slots.kinds.index(Kind(Voice.HAT, Level.PLAIN, Part.STROKE))
    assert [4, 5, 10, 11] == list(slots.only(ghost)) == list(slots.having(ghost))
    assert [] == list(slots.only(hat))
    assert [0, 2, 6, 8] == list(slots.having(hat))
    assert [False, True, False, False, False, False] == list(slots.graces()[:6])
    assert [0.5, 0.0, 1.0, 0.0, 0.0, 0.0] == list(slots.loudness()[:6])
    lead = slots.lead()
    assert [0.0, 0.0, 1.0 - grace + 0.015, 0.0, 0.0, 0.0] == pytest.approx(list(lead[:6]))


def test_a_stroke_after_a_drag_leads_by_both_its_graces() -> None:
    """From the first grace, and a breath; the first slot of a take may be a grace as well."""
    pattern = parse("snare: >d1 >2\n")
    slots = slots_of(expected_strokes(pattern, 60, 1))

    assert [True, True, False, False] == list(slots.graces())
    assert [0, 0, slots.nominal[2] - slots.nominal[0] + 0.015, 0] == pytest.approx(
        list(slots.lead())
    )


@pytest.mark.parametrize(
    ("voice", "level", "loud"),
    [
        (Voice.SNARE, Level.GHOST, 0.0),
        (Voice.SNARE, Level.TAP, 0.25),
        (Voice.SNARE, Level.PLAIN, 0.5),
        (Voice.SNARE, Level.ACCENT, 1.0),
        (Voice.RIDE, Level.ACCENT, 0.5),
        (Voice.BASS, Level.PLAIN, 0.5),
    ],
)
def test_how_loud_a_slot_is_meant(voice: Voice, level: Level, loud: float) -> None:
    """Half as much on a cymbal; the loudest of what falls together."""
    one = Expected(0, 0.0, Fraction(0), voice, level, Hand.RIGHT, Part.STROKE)
    ghost = Expected(1, 0.0, Fraction(0), Voice.TOM, Level.GHOST, Hand.LEFT, Part.STROKE)

    assert [loud] == list(slots_of([one]).loudness())
    assert [loud] == list(slots_of([one, ghost]).loudness())


@given(st.lists(st.sampled_from([0.0, 1.0, 2.0, 3.0, -np.inf]), min_size=3, max_size=30))
def test_candidates_are_the_six_highest_peaks_in_order_of_time(score: list[float]) -> None:
    """A peak is no lower than what is before it and higher than what is after, in a ring."""
    scores = np.array(score)
    places = np.arange(scores.size)
    found = peaks(places / 10, scores, scores + 50, places.astype(np.float64) + 0.5, places)
    own = [
        i
        for i in range(scores.size)
        if np.isfinite(scores[i])
        and scores[i] >= scores[i - 1]
        and scores[i] > scores[(i + 1) % scores.size]
    ]

    assert min(len(own), 6) == len(found)
    assert sorted(c.column for c in found) == [c.column for c in found]
    assert {c.column for c in found} <= set(own)
    left = set(own) - {c.column for c in found}
    assert all(scores[i] <= min(c.score for c in found) for i in left)
    for candidate in found:
        i = candidate.column
        assert (i / 10, scores[i], scores[i] + 50, i + 0.5, i) == candidate


def test_strokes_of_a_way_lie_18_ms_apart_unless_said_otherwise() -> None:
    """Exactly so far is enough; of two as good ways the first is taken; none is possible."""

    def way(apart: float) -> list[int]:
        rows = [[Candidate(1.0, 9.0, 9, 1, 0)], [Candidate(1.0 + apart, 8.0, 8, 1, 0)]]
        return likeliest(rows, np.full(2, 5.0))

    assert [0, 0] == way(0.0181)
    assert [0, -1] == way(0.0179)
    rows = [[Candidate(1.0, 9.0, 9, 1, 0)], [Candidate(1.5, 8.0, 8, 1, 0)]]
    assert [0, 0] == likeliest(rows, np.full(2, 5.0), apart=0.5)
    assert [0, -1] == likeliest(rows, np.full(2, 5.0), apart=0.51)
    assert [0, -1] == likeliest(rows, np.array([5.0, 8.1]))
    assert [] == likeliest([], np.zeros(0))
    assert [-1] == likeliest([[]], np.zeros(1))


def test_a_way_gives_up_a_good_stroke_for_two_better_ones() -> None:
    """Beside all ways: taking the later candidate first would cost the stroke after it."""
    rows = [
        [Candidate(1.0, 6.0, 6, 1, 0), Candidate(1.1, 8.0, 8, 1, 1)],
        [Candidate(1.05, 9.0, 9, 1, 2)],
    ]

    assert [0, 0] == likeliest(rows, np.zeros(2))


def test_passes_follow_each_other_without_a_gap() -> None:
    """Indices run on; every stroke falls at its pass's beats; graces before them."""
    pattern = parse("meter: 7/8\nsnare: >1 (3) >f5\nbass: 1\n")
    strokes = expected_strokes(pattern, 120, 3, leading=Hand.LEFT)
    once = len(strokes) // 3
    beat = pattern.meter.beat_seconds(120)

    assert list(range(3 * once)) == [s.index for s in strokes]
    for stroke in strokes:
        turn = stroke.index // once
        at = (turn * pattern.beats + float(stroke.place)) * beat
        early = 0.028 if stroke.part is Part.GRACE else 0.0
        assert at - early == pytest.approx(stroke.seconds, abs=0.002)
    assert Hand.LEFT is strokes[0].hand
