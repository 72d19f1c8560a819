"""The parts of the hearing by themselves: onsets, maps, starts, fine times, evidence, verdicts."""

from __future__ import annotations

from statistics import fmean
from typing import TYPE_CHECKING

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from drillbox.ear import AskedTake, find_start, measure, passes_played
from drillbox.ear.aligning import TempoMap, coarse_map, fitted_map, onset_strength
from drillbox.ear.deciding import (
    HEARD,
    MISSED,
    UNHEARD,
    Findings,
    _judge,
    _mark_covered,
    _moved,
    taken_apart,
)
from drillbox.ear.energies import Spectrum
from drillbox.ear.expected import expected_strokes
from drillbox.ear.extras import _clear
from drillbox.ear.fine_timing import fine_times
from drillbox.ear.looks import COLUMNS, better, evidence, shared_gains
from drillbox.ear.slots import slots_of
from drillbox.errors import RecordingError
from drillbox.rhythm import Level, Part, Pattern, parse

if TYPE_CHECKING:
    from drillbox.ear import Measurement
    from drillbox.ear.aligning import Times
    from drillbox.ear.energies import Energies, Samples

RATE = 44100
HOP = 0.00145
SNARE = parse("snare: >2 >4 (1a) (3e)\n")


def floats(*values: float) -> Times:
    """Return numbers as an array."""
    return np.array(values, np.float64)


# --- maps of tempo


@examples(20)
@given(st.floats(-2, 9), st.floats(0.9, 1.1), st.floats(-1e-3, 1e-3), st.floats(1, 60))
def test_a_map_is_an_offset_a_stretch_and_a_slide_that_is_nought_at_both_ends(
    offset: float, stretch: float, bend: float, length: float
) -> None:
    """A parabola through the first beat and the end of the steady take."""
    laid = TempoMap(offset, stretch, bend, length)
    first, middle, last = laid(floats(0.0, length / 2, length))

    assert offset == pytest.approx(first)
    assert offset + stretch * length == pytest.approx(last)
    assert offset + stretch * length / 2 - bend * length**2 / 4 == pytest.approx(middle)


@pytest.mark.parametrize("seed", range(4))
def test_a_fitted_map_is_reweighted_least_squares_with_a_pull_to_the_map_before(seed: int) -> None:
    """Beside numpy's least squares, the pull as three more rows.

    Weights after Cauchy at two robust standard deviations (1.48 MAD, 2 ms at least), five rounds.
    """
    rng = np.random.default_rng(seed)
    length = 20.0
    nominal = np.sort(rng.uniform(0, length, 30))
    weight = rng.uniform(0.5, 3, 30)
    before = TempoMap(1.0, 1.01, 5e-4, length)
    at = TempoMap(1.04, 1.02, 3e-4, length)(nominal) + rng.normal(0, 0.01, 30)
    at[3] += 0.3
    basis = np.stack([np.ones(30), nominal, nominal * (nominal - length)], axis=1)
    pull = np.sqrt([1e-6, 1e-4, 1e-2 * length**4 / 16])
    answer = floats(1.0, 1.01, 5e-4)
    for _ in range(5):
        rest = at - basis @ answer
        scale = max(1.48 * float(np.median(np.abs(rest))), 0.002)
        root = np.sqrt(weight / (1 + (rest / (2 * scale)) ** 2))
        rows = np.vstack([basis * root[:, None], np.diag(pull) * scale])
        right = np.concatenate([root * at, pull * scale * floats(1.0, 1.01, 0.0)])
        answer = np.linalg.lstsq(rows, right)[0]
    found = fitted_map(nominal, at, weight, before)

    assert list(answer) == pytest.approx([found.offset, found.stretch, found.bend], rel=1e-6)
    assert length == found.length
    assert before is fitted_map(nominal[:3], at[:3], weight[:3], before)
    assert before is not fitted_map(nominal[:4], at[:4], weight[:4], before)


@pytest.mark.parametrize("late", [-0.19, -0.05, 0.0, 0.07, 0.19])
@pytest.mark.parametrize("slower", [-0.034, 0.0, 0.034])
def test_a_pattern_is_laid_over_its_onsets(late: float, slower: float) -> None:
    """Up to 0.2 s and 3.6 % off: to a hundredth of a second, and a fraction of a per cent."""
    nominal = np.array([s.seconds for s in expected_strokes(SNARE, 90, 5)])
    weight = np.array([[0.0, 1.0][s.level == "accent"] for s in expected_strokes(SNARE, 90, 5)])
    length = 5 * SNARE.seconds(90)
    true = TempoMap(1.0 + late, 1 + slower, 0.0, length)
    columns = np.round(true(nominal) / HOP).astype(int)
    flux, loud = np.zeros(int(20 / HOP)), np.zeros(int(20 / HOP))
    flux[columns], loud[columns] = 1.0, 0.1 + 0.9 * weight
    found = coarse_map(flux, loud, HOP, nominal=nominal, weight=weight, start=1.0, length=length)

    assert true(nominal) == pytest.approx(found(nominal), abs=0.025)
    assert length == found.length
    silent = coarse_map(
        0 * flux, 0 * loud, HOP, nominal=nominal, weight=weight, start=1.0, length=length
    )
    assert pytest.approx(1.0, abs=0.21) == silent.offset


def test_an_onset_is_how_much_the_bands_rise_and_how_loud_what_rises_is() -> None:
    """Beside the same written out, column by column."""
    rng = np.random.default_rng(5)
    energy = rng.lognormal(-9, 2, (4, 80)).astype(np.float32)
    floor = np.percentile(energy, 10, axis=1).astype(np.float32)
    flux, loud = onset_strength(Spectrum(energy, floor, HOP))
    level = np.log10(energy / floor[:, None] + 1)
    total = 10 * np.log10(energy.sum(axis=0))
    top = np.percentile(total, 99.5)
    for t in range(3, 75):
        rises = [
            max(float(level[band, t] - max(level[band, t - 2], level[band, t - 3])), 0.0)
            for band in range(4)
        ]
        near = float(np.clip(1 + (max(total[t : t + 6]) - top) / 25, 0, 1)) ** 2
        assert fmean(rises) == pytest.approx(flux[t], rel=1e-4)
        assert fmean(rises) * near == pytest.approx(loud[t], rel=1e-4, abs=1e-7)
    assert [0.0] * 3 == list(flux[:3])


# --- where a take begins


def bursts(*at: float, seconds: float = 16.0, gains: tuple[float, ...] = ()) -> Samples:
    """Return short noises at times in a quiet room."""
    rng = np.random.default_rng(6)
    samples = rng.normal(0, 1e-4, int(seconds * RATE))
    for number, moment in enumerate(at):
        crack = rng.normal(0, 0.3, 1800) * np.exp(-np.arange(1800) / 350)
        first = round(moment * RATE)
        if first + crack.size < samples.size:
            samples[first : first + crack.size] += crack * (gains[number] if gains else 1.0)
    return samples.astype(np.float32)


def struck(
    pattern: Pattern, bpm: float, passes: int, start: float, *, without: tuple[int, ...] = ()
) -> list[float]:
    """Return when strokes come, without those of some passes."""
    each = len(expected_strokes(pattern, bpm, 1))
    return [
        start + s.seconds
        for s in expected_strokes(pattern, bpm, passes)
        if s.index // each not in without
    ]


FIGURE = parse("snare: >1 >1a >2& >3e >4 (4a)\n")


@pytest.mark.parametrize("start", [0.4, 1.13, 3.02])
def test_a_take_is_found_where_its_first_pass_begins(start: float) -> None:
    """To three hundredths of a second; four passes are counted to the last loud stroke."""
    samples = bursts(*struck(FIGURE, 120, 4, start), seconds=15)
    found = find_start(samples, RATE, FIGURE, 120)

    assert start == pytest.approx(found, abs=0.03)
    assert 4 == passes_played(samples, RATE, FIGURE, 120, found)


def test_one_pass_may_go_wrong_and_two_may_not() -> None:
    """A take with its second pass left out began before it; after two it began anew."""
    one = bursts(*struck(FIGURE, 120, 6, 0.5, without=(1,)))
    two = bursts(*struck(FIGURE, 120, 6, 0.5, without=(1, 2)))

    assert 0.5 == pytest.approx(find_start(one, RATE, FIGURE, 120), abs=0.03)
    assert 6.5 == pytest.approx(find_start(two, RATE, FIGURE, 120), abs=0.03)


def test_passes_are_counted_to_the_last_loud_stroke() -> None:
    """One at least; a soft noise long after is no pass; one 17 dB softer than the others is."""
    times = [*struck(FIGURE, 120, 3, 0.5), 11.9]
    samples = bursts(*times, gains=(1.0,) * (len(times) - 1) + (0.004,))

    assert 3 == passes_played(samples, RATE, FIGURE, 120, 0.5)
    assert 1 == passes_played(bursts(), RATE, FIGURE, 120, 15.9)
    each = len(FIGURE.strokes)
    fading = bursts(
        *struck(FIGURE, 120, 4, 0.5), gains=(1.0,) * (3 * each) + (10 ** (-17 / 20),) * each
    )
    assert 4 == passes_played(fading, RATE, FIGURE, 120, 0.5)
    half = bursts(*struck(FIGURE, 120, 3, 0.5), 0.5 + 6.0, 0.5 + 6.375)
    assert 3 == passes_played(half, RATE, FIGURE, 120, 0.5)


def test_a_recording_shorter_than_its_pattern_is_refused() -> None:
    """To its last stroke it must last, and a hundredth of a second."""
    last = FIGURE.seconds(120) - 60 / 120 / 4
    with pytest.raises(RecordingError, match=r"1\.9 s long, and the pattern at 120 bpm takes 2\.0"):
        find_start(bursts(seconds=last), RATE, FIGURE, 120)
    samples = bursts(*struck(FIGURE, 120, 1, 0.0), seconds=last + 0.02)
    assert 0.0 <= find_start(samples, RATE, FIGURE, 120) < 0.03


# --- fine times


def rising(at: Times, gain: Times, seed: int = 0) -> Samples:
    """Return strokes that begin between the samples, each so loud, all of one sound."""
    rng = np.random.default_rng(seed)
    t = np.arange(int((at.max() + 0.5) * RATE)) / RATE
    samples = rng.normal(0, 1e-5, t.size)
    tones = [(rng.uniform(1500, 7000), rng.uniform(0, 6)) for _ in range(24)]
    for moment, loud in zip(at, gain, strict=True):
        part = slice(int(moment * RATE) - 1, int(moment * RATE) + 3000)
        since = t[part] - moment
        envelope = np.where(since > 0, np.minimum(since / 0.0008, 1) * np.exp(-since / 0.01), 0)
        samples[part] += (
            loud * envelope * sum(np.sin(6.283 * hertz * since + turn) for hertz, turn in tones)
        )
    return (samples * 0.02).astype(np.float32)


def test_strokes_are_found_to_a_tenth_of_a_millisecond_loud_or_soft() -> None:
    """Steps of a tenth: differences between strokes are right to one, 30 dB apart or not."""
    rng = np.random.default_rng(7)
    true = np.arange(16) * 0.21 + 0.3 + rng.uniform(-0.01, 0.01, 16)
    gain = np.where(np.arange(16) % 2, 1.0, 10**-1.5)
    rough = true + rng.uniform(-0.003, 0.003, 16)
    kinds = [np.flatnonzero(gain == 1.0), np.flatnonzero(gain < 1.0)]
    off = fine_times(rising(true, gain), RATE, rough, kinds) - true

    assert float(np.median(off)) == pytest.approx(0.0, abs=0.0005)
    assert float(np.ptp(off[kinds[0]])) < 0.00021
    assert float(np.ptp(off[kinds[1]])) < 0.00021
    assert float(np.median(off[kinds[0]])) == pytest.approx(
        float(np.median(off[kinds[1]])), abs=0.00011
    )


def test_two_of_a_kind_and_what_is_of_none_keep_their_times() -> None:
    """Three strokes have a usual rise, two have none."""
    true = floats(0.3, 0.51, 0.72, 0.93, 1.14, 1.35)
    rough = true + 0.002
    samples = rising(true, np.ones(6))
    found = fine_times(samples, RATE, rough, [np.array([0, 1]), np.array([2, 3, 4])])

    assert list(rough[[0, 1, 5]]) == list(found[[0, 1, 5]])
    assert list(true[2:5]) == pytest.approx(list(found[2:5]), abs=0.0004)


# --- evidence


def windows(seed: int, *shape: int) -> tuple[Energies, Energies]:
    """Return what rings and a template, in lognormal numbers."""
    rng = np.random.default_rng(seed)
    anyway = rng.lognormal(-9, 0.3, (*shape, 10, COLUMNS)).astype(np.float32)
    return anyway, rng.lognormal(-7, 1, (10, COLUMNS)).astype(np.float32)


@examples(20)
@given(st.floats(-6, 11), st.integers(0, 99))
def test_a_stroke_speaks_for_itself_with_the_gain_it_was_struck_with(db: float, seed: int) -> None:
    """Its gain comes back; nothing struck speaks against a stroke; twelve decibels are the most."""
    anyway, template = windows(seed, 3)
    gain = np.float32(10 ** (db / 10))
    proof, found = evidence(anyway + gain * template, anyway, template)
    nothing, _ = evidence(anyway, anyway, template)
    loud, most = evidence(anyway + np.float32(40) * template, anyway, template)

    assert [float(gain)] * 3 == pytest.approx(list(found), rel=0.1)
    assert (nothing < 0).all()
    assert (proof > nothing).all()
    assert [10**1.2] * 3 == pytest.approx(list(most), rel=1e-5)
    assert (loud > 0).all()


def test_one_account_is_better_by_a_heavy_tailed_log_likelihood() -> None:
    """Beside the sum written out: Student's t with four degrees, low bands at six tenths."""
    rng = np.random.default_rng(8)
    energy, one, other = (
        rng.lognormal(-8, 1, (2, 10, COLUMNS)).astype(np.float32) for _ in range(3)
    )

    def cost(account: Energies, row: int) -> float:
        return sum(
            0.35 * (0.6 + 0.4 * band / 9) * 2.5 * float(np.log1p(off**2 / (4 * 0.5**2 * 1.25)))
            for band in range(10)
            for off in np.log(energy[row, band] / account[row, band])
        )

    expected = [cost(one, row) - cost(other, row) for row in range(2)]
    assert expected == pytest.approx(list(better(energy, one, other)), rel=1e-3)


def test_gains_of_strokes_together_come_back() -> None:
    """Two sounds that are not alike, one 9 dB louder than usual, one 6 dB softer."""
    anyway, first = windows(1, 4)
    _, second = windows(2)
    first[5:] *= 1e-3
    second[:5] *= 1e-3
    energy = anyway + np.float32(8) * first + np.float32(0.25) * second
    gains = shared_gains(energy, anyway, np.stack([first, second])[None].repeat(4, axis=0))

    assert [8.0] * 4 == pytest.approx(list(gains[:, 0]), rel=0.05)
    assert [0.25] * 4 == pytest.approx(list(gains[:, 1]), rel=0.05)


def test_strokes_together_are_taken_apart() -> None:
    """Each where it was struck, and only what was struck is proved."""
    anyway, first = windows(3, 3)
    _, second = windows(4)
    first[5:] *= 1e-3
    second[:5] *= 1e-3
    energy = anyway + first
    energy[1] += second
    energy[2] += _moved(second, 4)
    shift, gain, proof = taken_apart(energy, anyway, np.stack([first, second]))

    assert [0, 0, 0] == list(shift[:, 0])
    assert [0, 4] == list(shift[1:, 1])
    assert [1.0] * 3 == pytest.approx(list(gain[:, 0]), rel=0.1)
    assert proof[0, 1] < 2 < min(proof[1, 1], proof[2, 1], *proof[:, 0])


@pytest.mark.parametrize("shift", [-9, -1, 0, 1, 13])
def test_a_template_moved_later_begins_in_silence_and_earlier_goes_on(shift: int) -> None:
    """Column by column; what is moved in is nothing, or the last column again."""
    template = np.arange(2 * COLUMNS, dtype=np.float32).reshape(1, 2, COLUMNS) + 1
    moved = _moved(template, shift)
    for column in range(COLUMNS):
        source = column - shift
        wanted = [0.0, 0.0] if source < 0 else list(template[0, :, min(source, COLUMNS - 1)])
        assert wanted == list(moved[0, :, column])


# --- what became of each stroke


def test_of_strokes_together_the_weaker_is_covered() -> None:
    """By level, then metal under skin, then from the top of the drawing down."""
    pattern = parse("hat: >1 2 3\nsnare: 1 (2) _3 >4\ntom: 1\nbass: 2 3\n")
    slots = slots_of(expected_strokes(pattern, 90, 1))
    found = Findings(
        np.full(10, UNHEARD),
        np.full(10, np.nan),
        np.zeros(10, int),
        np.ones(10),
        np.zeros(10, bool),
    )
    _mark_covered(slots, found)
    covered = {
        (float(s.place), str(s.voice)) for g in slots.members for s in g if found.covered[s.index]
    }

    assert {
        (0.0, "snare"),
        (0.0, "tom"),
        (1.0, "hat"),
        (1.0, "snare"),
        (2.0, "snare"),
        (2.0, "hat"),
    } == covered


def test_what_would_almost_surely_have_been_heard_was_missed() -> None:
    """Beside the odds written out: hidden against left out, 19 of 20 played to begin with.

    Only strokes that nine in ten times would be heard tell how often this player leaves out.
    """
    heard, chances = 30, [0.99, 0.95, 0.91, 0.90, 0.5, float("nan"), 0.999]
    count = heard + len(chances)
    found = Findings(
        np.array([HEARD] * heard + [UNHEARD] * len(chances)),
        np.zeros(count),
        np.zeros(count, int),
        np.ones(count),
        np.zeros(count, bool),
    )
    _judge(found, np.array([np.nan] * heard + chances))
    clear = sum(chance > 0.9 for chance in chances)
    played = (heard + 19) / (heard + clear + 20)

    expected = [
        MISSED if chance == chance and played * (1 - chance) < 1 - played else UNHEARD  # noqa: PLR0124 - nan
        for chance in chances
    ]
    assert expected == list(found.state[heard:])
    assert {HEARD} == set(found.state[:heard])
    assert {MISSED, UNHEARD} == set(expected)


@given(
    st.lists(st.floats(0, 4), max_size=6),
    st.lists(st.floats(0, 4), max_size=9),
    st.floats(0.01, 0.5),
    st.floats(0.01, 0.5),
)
def test_what_keeps_clear_of_strokes(
    of: list[float], times: list[float], before: float, after: float
) -> None:
    """Beside every pair: farther after each stroke, and farther before each, than said."""
    found = _clear(floats(*times), np.sort(floats(*of)), before, after)
    expected = [
        all(not (at - after <= stroke <= at or at < stroke <= at + before) for stroke in of)
        for at in times
    ]
    edge = [
        any(min(abs(at - after - s), abs(at + before - s), abs(at - s)) < 1e-9 for s in of)
        for at in times
    ]

    assert [e for e, on in zip(expected, edge, strict=True) if not on] == [
        bool(f) for f, on in zip(found, edge, strict=True) if not on
    ]


# --- whole takes of noises


def noises(
    pattern: Pattern, *, without: tuple[int, ...] = (), more: tuple[float, ...] = ()
) -> Measurement:
    """Return five passes of short noises at 90, some left out, some more, as they are measured."""
    strokes = [s for s in expected_strokes(pattern, 90, 5) if s.index not in without]
    loud = tuple(0.1 if s.level is Level.GHOST else 1.0 for s in strokes)
    times = [0.8 + s.seconds for s in strokes]
    samples = bursts(*times, *more, seconds=15.5, gains=(*loud, *(0.5 for _ in more)))
    return measure(samples, RATE, AskedTake(pattern, 90, 5, 0.8))


def test_grace_notes_are_found_one_after_another_before_their_stroke() -> None:
    """Of drags and flams, softer by 20 dB, most are heard, and most of these within 5 ms."""
    found = noises(parse("snare: >d2 >f4 (1a) (3e)\n"))
    graces = [f for f in found.facts if f.expected.part is Part.GRACE]
    off = [f.at - 0.8 - f.expected.seconds for f in graces if f.at is not None]

    assert 15 == len(graces)
    assert 10 <= len(off)
    assert 0.005 > float(np.median(np.abs(off)))
    assert 0.03 > max(map(abs, off))
    assert not any(f.timed for f in graces)
    assert {"heard"} == {f.state for f in found.facts if f.expected.part is not Part.GRACE}


def test_what_is_left_out_is_missed_and_what_is_more_is_extra() -> None:
    """Two ghosts not played, two noises that nobody wrote, one of them after the last stroke."""
    beat = 60 / 90
    more = (0.8 + 6.5 * beat, 0.8 + 19 * beat + 0.2)
    found = noises(SNARE, without=(4, 14), more=more)

    assert [4, 14] == [f.expected.index for f in found.facts if f.state == "missed"]
    assert list(more) == pytest.approx([extra.at for extra in found.extra], abs=0.004)
    levels = [f.level_db for f in found.facts if f.expected.level is Level.ACCENT]
    usual = float(np.median([level for level in levels if level is not None]))
    assert [usual - 6] * 2 == pytest.approx([e.level_db for e in found.extra], abs=3)


def test_an_echo_of_a_stroke_is_not_extra() -> None:
    """A bounce 45 ms after a backbeat is the stick's, no stroke too many."""
    found = noises(SNARE, more=(0.8 + 60 / 90 + 0.045,))

    assert () == found.extra
    assert 0 == found.numbers.missed
