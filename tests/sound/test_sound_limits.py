"""Sound at its limits: levels, tones, takes that cannot be, fades, buffers, recordings, tracks."""

from __future__ import annotations

import math
import wave
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest
from sounding import FOUR, render

from drillbox.errors import UsageError
from drillbox.rhythm import Level, Voice, parse, parse_meter, strikes
from drillbox.sound import (
    RATE,
    SLOW,
    Balance,
    Click,
    ClickPlan,
    ClickStyle,
    Gap,
    QuietDown,
    Recorded,
    TempoAt,
    Timeline,
    listen_first,
    play_along,
    practice_track,
    write_wav,
)
from drillbox.sound.click import pulse_positions
from drillbox.sound.export import Chain, announcement
from drillbox.sound.kit import choked, stroke_sound
from drillbox.sound.levels import FULL_DB, decibels, velocity_db
from drillbox.sound.program import _within_full_scale
from drillbox.sound.strikes import soundings
from drillbox.sound.tones import TONES, tone

if TYPE_CHECKING:
    from pathlib import Path

GROOVE = parse("hat: beat &\nsnare: >2 >4 (1e)\nbass: 1 3")


def test_the_kit_is_balanced_as_it_was_decided() -> None:
    """Root mean square of the first 50 ms at velocity 127, in dB (judgement, by ear).

    The bass drum is the loudest, then floor tom, snare, tom, rim, crash, hat and ride, the foot.
    """
    expected = {
        Voice.BASS: -13.5, Voice.FLOOR: -17.0, Voice.SNARE: -17.5, Voice.TOM: -18.0,
        Voice.RIM: -20.0, Voice.CRASH: -24.0, Voice.HAT: -25.0, Voice.RIDE: -25.0,
        Voice.PEDAL: -28.0,
    }  # fmt: skip
    assert expected == FULL_DB
    assert sorted(expected.values(), reverse=True) == list(expected.values())


def test_decibels_and_velocities() -> None:
    """20 dB are a factor of ten; half the velocity is 40 log10(2) = 12.04 dB less (DLS Level 1)."""
    assert [1.0, 10.0, 0.1, 2.0] == pytest.approx(
        [decibels(x) for x in (0.0, 20.0, -20.0, 20 * math.log10(2))]
    )
    assert [0.0, -40 * math.log10(2)] == pytest.approx([velocity_db(v) for v in (127, 63.5)])


@pytest.mark.parametrize(
    ("kind", "hertz", "peak_db", "decay"),
    [
        (Click.COUNT_IN, 1318.51, -9.0, 0.008),
        (Click.FIRST, 1567.98, -6.5, 0.010),
        (Click.PULSE, 1046.50, -10.5, 0.008),
        (Click.SUBDIVISION, 4186.01, -18.5, 0.003),
    ],
)
def test_a_click_is_a_short_falling_tone(
    kind: Click, hertz: float, peak_db: float, decay: float
) -> None:
    """Forty milliseconds, its peak where it was decided, falling to 1/e in its own time.

    Its strongest partial is the pitch, the octave above it 9 dB (0.35) below; it ends in silence.
    """
    sound = tone(kind).astype(np.float64)
    assert 1920 == len(sound)
    assert peak_db == pytest.approx(20 * math.log10(np.abs(sound).max()), abs=0.01)
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), 1 << 17))
    bins = np.fft.rfftfreq(1 << 17, 1 / RATE)
    strongest = bins[spectrum.argmax()]
    assert hertz == pytest.approx(strongest, rel=0.02)
    octave = spectrum[(bins > 1.9 * hertz) & (bins < 2.1 * hertz)].max()
    assert 0.35 == pytest.approx(octave / spectrum.max(), abs=0.04)
    assert decay == TONES[kind].decay_seconds
    size = np.abs(sound)
    later = 1 + np.flatnonzero((size[1:-1] > size[:-2]) & (size[1:-1] >= size[2:]))
    first, last = later[(later > 0.002 * RATE)][0], later[later < 0.014 * RATE][-1]
    fallen = size[last] / size[first]
    assert math.exp(-(last - first) / RATE / decay) == pytest.approx(fallen, rel=0.7)
    assert 0.0 == sound[-1]
    assert np.abs(sound[-384:]).max() <= np.abs(sound[:-384]).max()


@pytest.mark.parametrize("bpm", [10, 600])
def test_the_slowest_and_the_fastest_take(bpm: int) -> None:
    """10 and 600 bpm are sounded; one beyond is not, nor at a later tempo."""
    assert 60 / bpm == pytest.approx(float(Timeline.steady(FOUR, bpm).seconds_at(Fraction(1))))
    beyond = bpm + (1 if bpm > 100 else -1)
    with pytest.raises(UsageError, match=f"{beyond} bpm is out of range"):
        Timeline.steady(FOUR, beyond)
    with pytest.raises(UsageError, match=f"{beyond} bpm is out of range"):
        Timeline.steady(FOUR, 90).with_tempo(2, beyond)
    with pytest.raises(UsageError, match=f"{beyond} bpm is out of range"):
        Timeline.ramp(FOUR, bpm, step=beyond - bpm, every_bars=1, bars=3)


@pytest.mark.parametrize(
    ("tempi", "named"),
    [
        ((), {}), ((1,), {}), ((0, 0), {}), ((0, 3, 2), {}),
        ((0,), {"bars": 0}), ((0,), {"count_in_bars": -1}), ((0,), {"pass_bars": 0}),
    ],
)  # fmt: skip
def test_what_is_no_timeline(tempi: tuple[int, ...], named: dict[str, int]) -> None:
    """Tempi begin at bar 0 or before and rise; one bar, one pass and no count-in are the least."""
    given = tuple(TempoAt(bar, Fraction(90)) for bar in tempi)
    with pytest.raises(UsageError):
        Timeline(FOUR, given, **named)  # type: ignore[arg-type]
    least = Timeline(FOUR, (TempoAt(-1, Fraction(90)),), bars=1, count_in_bars=0, pass_bars=1)
    assert 1 == least.bars


def test_a_count_in_may_have_its_own_tempo() -> None:
    """A bar at 60 counted in, then 120: four seconds, then half a second a beat."""
    tempi = (TempoAt(-1, Fraction(60)), TempoAt(0, Fraction(120)))
    timeline = Timeline(FOUR, tempi, bars=2, count_in_bars=1)
    assert [0, 4, Fraction(9, 2), 8] == [
        timeline.seconds_at(Fraction(beat)) for beat in (-4, 0, 1, 8)
    ]
    assert Fraction(8) == timeline.seconds_total
    assert 8 * RATE == timeline.frames_total()
    assert [-2, 0, 2] == [timeline.beat_at(Fraction(second)) for second in (2, 4, 5)]
    assert (None, None) == (
        Timeline.steady(FOUR, 60).seconds_total, Timeline.steady(FOUR, 60).frames_total(),
    )  # fmt: skip


def test_a_position_at_its_edges() -> None:
    """Before the take it is its first frame, after it its last; inside it is told in beats."""
    timeline = Timeline.steady(FOUR, 60, bars=1, count_in_bars=1)
    first, begin, end, past = (
        timeline.position(frame) for frame in (-5, 4 * RATE, 8 * RATE - 1, 8 * RATE)
    )
    assert (0, True, 0, 0) == (first.frame, first.counting_in, first.bar, first.beat)
    assert (False, 0, 0, False) == (begin.counting_in, begin.bar, begin.beat, begin.done)
    assert (3, False, True) == (end.beat, end.done, past.done)
    assert (8 * RATE - 1, 3) == (past.frame, past.beat)
    assert 60.0 == past.bpm
    assert [-1, 0, 0] == [
        timeline.bar_of(frame) for frame in (4 * RATE - 1, 4 * RATE, 8 * RATE - 1)
    ]


@pytest.mark.parametrize(
    ("named", "fits"),
    [
        ({"subdivision": 16}, True), ({"subdivision": 17}, False), ({"subdivision": 0}, False),
        ({"displaced": Fraction(99, 100)}, True), ({"displaced": Fraction(1)}, False),
        ({"displaced": Fraction(-1, 9)}, False), ({"subdivision": 2, "only": (1,)}, False),
        ({"grids": (4,), "only": (1,)}, False),
        ({"grids": (4,), "displaced": Fraction(1, 2)}, False),
        ({"only": (0,), "displaced": Fraction(1, 2)}, True),
    ],
)  # fmt: skip
def test_what_a_click_may_be(named: dict[str, object], *, fits: bool) -> None:
    """Sixteen a beat, late by less than a beat, and chosen places are not subdivided."""
    if fits:
        ClickStyle(**named)  # type: ignore[arg-type]
    else:
        with pytest.raises(UsageError):
            ClickStyle(**named)  # type: ignore[arg-type]


def test_clicks_that_come_and_go() -> None:
    """Two bars on, one off; three in full, then 6 dB less a bar for two, then silence."""
    assert [0.0, 0.0, None, 0.0, 0.0, None] == [Gap(2, 1).db(bar) for bar in range(6)]
    assert [0.0, 0.0, 0.0, -6.0, -12.0, None, None] == [QuietDown(3, 2).db(bar) for bar in range(7)]
    plan = ClickPlan(Timeline.steady(FOUR, 60, bars=1, count_in_bars=1), ClickStyle(bars=Gap(0, 1)))
    assert 4 == len(plan.bar_events(-1))
    assert () == plan.bar_events(0)


def test_pulses_and_subdivisions_of_odd_bars() -> None:
    """7/8 is felt as 2 2 3; a click on three a beat fills a bar of 3/4 with nine."""
    assert tuple(map(Fraction, (0, 2, 4))) == pulse_positions(parse_meter("7/8"))
    timeline = Timeline.steady(parse_meter("3/4"), 60, bars=1)
    events = ClickPlan(timeline, ClickStyle(subdivision=3)).bar_events(0)
    assert [Fraction(k, 3) for k in range(9)] == [event.beat for event in events]
    assert [Click.FIRST, Click.SUBDIVISION, Click.SUBDIVISION, Click.PULSE] == [
        event.kind for event in events[:4]
    ]
    slow = ClickPlan(timeline, ClickStyle(subdivision=Fraction(1, 2))).bar_events(0)
    assert [0, 1, 2] == [event.beat for event in slow]


def test_a_listener_hears_two_passes_at_the_whole_tempo() -> None:
    """Unless asked otherwise; slowly is two thirds, and never below the slowest take."""
    heard = listen_first(GROOVE, 120)
    assert 2 * 2 * RATE == heard.frames_total
    assert 3 * RATE == listen_first(GROOVE, 120, passes=1, share=SLOW).frames_total
    assert Fraction(2, 3) == SLOW
    assert 24 * RATE == listen_first(GROOVE, 20, passes=1, share=Fraction(1, 9)).frames_total
    assert 1 == len(heard.tracks)
    assert 2 == len(play_along(GROOVE, Timeline.steady(FOUR, 120, bars=1)).tracks)


def test_a_balance_moves_its_own_part() -> None:
    """Kit 6 dB down halves it, ghosts apart, a voice without is silent, the click has its own."""

    def gains(balance: Balance) -> list[float]:
        mix = play_along(GROOVE, Timeline.steady(FOUR, 120, bars=1), balance=balance)
        return [round(hit.gain, 9) for hit in mix.tracks[1].hits(0)]

    usual = gains(Balance())
    assert [round(g * decibels(-6.0), 9) for g in usual] == pytest.approx(gains(Balance(kit_db=-6)))
    raised = gains(Balance(ghosts_db=6))
    louder = [n for n, (a, b) in enumerate(zip(usual, raised, strict=True)) if a != b]
    assert 1 == len(louder)
    assert decibels(6.0) == pytest.approx(raised[louder[0]] / usual[louder[0]], rel=1e-6)
    assert len(usual) - 8 == len(gains(Balance(without=frozenset({Voice.HAT}))))
    mix = play_along(GROOVE, Timeline.steady(FOUR, 120, bars=1), balance=Balance(click_db=-20))
    assert {0.1} == {round(hit.gain, 6) for hit in mix.tracks[0].hits(0)}


def test_a_grace_lies_below_its_stroke() -> None:
    """Six dB under a ghost, and never above a ghost's own level."""
    for text, below in (("(f1)", 6.0), (">f1", 24.0)):
        pattern = parse(f"meter: 1/4\nsnare: {text}")
        grace, main = strikes(pattern)
        (soft,) = soundings(grace, pattern.strokes[0], Fraction(1, 4))
        (loud,) = soundings(main, pattern.strokes[0], Fraction(1, 4))
        assert below == pytest.approx(loud.db - soft.db, abs=1.0)
        assert (Level.GHOST, Fraction(-28, 1000)) == (soft.level, soft.after)
        assert Fraction(0) == loud.after


def test_loud_sums_are_bent_and_quiet_ones_left() -> None:
    """Up to 0.8 samples stay as they are; above they rise ever more slowly to 0.98."""
    quiet = np.array([0.8, -0.8, 0.1], np.float32)
    assert quiet is _within_full_scale(quiet)
    bent = _within_full_scale(np.array([0.81, 0.9, 2.0, -50.0, 0.5], np.float32))
    expected = [0.8 + 0.18 * math.tanh((x - 0.8) / 0.18) for x in (0.81, 0.9, 2.0)]
    assert [*expected, -0.98, 0.5] == pytest.approx(bent.tolist(), abs=1e-6)
    assert 0 == len(_within_full_scale(np.zeros(0, np.float32)))


def test_an_open_hat_is_choked_in_twenty_milliseconds() -> None:
    """Kept whole up to there, then led to silence; longer than the sound it is the whole sound."""
    whole = stroke_sound(Voice.HAT, Level.PLAIN, rings=True)
    cut = choked(RATE // 10)
    assert RATE // 10 == len(cut)
    fade = RATE // 50
    assert np.array_equal(whole[: len(cut) - fade], cut[:-fade])
    assert 0.0 == cut[-1]
    ramp = np.linspace(1, 0, fade, dtype=np.float32)
    assert np.allclose(whole[len(cut) - fade : len(cut)] * ramp, cut[-fade:])
    assert len(whole) == len(choked(10 * len(whole)))
    assert 5 == len(choked(5))


@pytest.mark.parametrize(
    ("number", "seconds", "low", "high"),
    [(1, 0.25, 0, 1), (9, 2.25, 0, 9), (10, 0.60, 1, 0), (23, 1.95, 2, 3)],
)
def test_a_number_is_told_in_tens_and_ones(
    number: int, seconds: float, low: int, high: int
) -> None:
    """0.6 s of a low tone (330 Hz) a ten, 0.25 s of a high one (660) a one, then 0.75 s of breath.

    Each fills two thirds of its time, 16 dB under full scale.
    """
    sound = announcement(number).samples
    assert round((seconds + 0.75) * RATE) == pytest.approx(len(sound), abs=2)
    assert decibels(-16.0) == pytest.approx(float(np.abs(sound).max()), rel=0.01)
    # It swells over ten milliseconds, or it would tick.
    peak = decibels(-16.0)
    assert np.abs(sound[: RATE // 1000]).max() <= 0.1 * peak
    assert np.abs(sound[: RATE // 100]).max() > 0.5 * peak
    on = np.abs(sound) > 1e-4
    edges = np.flatnonzero(np.diff(on.astype(int), prepend=0) == 1)
    begins = edges[np.diff(edges, prepend=-RATE) > 0.05 * RATE]
    assert low + high == len(begins)
    assert 2 / 3 * seconds == pytest.approx(np.count_nonzero(on) / RATE, rel=0.05)
    for place, begin in enumerate(begins):
        part = sound[begin : begin + 6000]
        crossings = np.count_nonzero(np.diff(np.signbit(part)))
        assert crossings * RATE / (2 * len(part)) == pytest.approx(
            330 if place < low else 660, rel=0.05
        )


def test_a_track_is_number_take_and_rest_in_turn() -> None:
    """Four seconds of rest after each; what rings on is added; any stretch may be asked for."""
    one, two = Recorded(np.full(1000, 0.5, np.float32), ring=10), Recorded(np.ones(500, np.float32))
    track = practice_track([one, two])
    numbers = [announcement(n).frames_total for n in (1, 2)]
    assert sum(numbers) + 1500 + 2 * 4 * RATE == track.frames_total
    whole = render(track)
    start = numbers[0]
    assert np.all(whole[start : start + 1000] == 0.5)
    assert not whole[start + 1000 : start + 1000 + 4 * RATE].any()
    second = start + 1000 + 4 * RATE + numbers[1]
    assert np.all(whole[second : second + 500] == 1.0)
    assert 10 == track.ring
    assert 0 == Chain([]).ring == Chain([]).frames_total
    assert np.array_equal(whole[start - 7 : start + 9], track.block(start - 7, 16))
    assert [0, 0, 0.5] == one.block(-2, 3).tolist()
    assert [0.5, 0.0, 0.0] == one.block(999, 3).tolist()
    assert [0.0] == one.block(1000, 1).tolist()


def test_full_scale_is_the_largest_number_of_sixteen_bits(tmp_path: Path) -> None:
    """1 is 32767, beyond it is cut, and halves are rounded to even."""
    samples = np.array([1.0, -1.0, 3.0, -3.0, 0.0, 0.5 / 32767, 1.5 / 32767], np.float32)
    write_wav(tmp_path / "x.wav", Recorded(samples, ring=2))
    with wave.open(str(tmp_path / "x.wav")) as file:
        found = np.frombuffer(file.readframes(99), "<i2").tolist()
    assert [32767, -32767, 32767, -32767, 0, 0, 2, 0, 0] == found
