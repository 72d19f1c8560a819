"""The kit: what its files are, how loud its strokes are, and what an ornament is made of."""

from __future__ import annotations

import math
import wave
from fractions import Fraction
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from scipy.io import wavfile
from sounding import level_db

from drillbox.rhythm import Level, Meter, Ornament, Pattern, Stroke, Voice, strikes
from drillbox.sound.kit import REFERENCE_FRAMES, stroke_sound
from drillbox.sound.levels import VELOCITY, velocity_db
from drillbox.sound.strikes import Sounding, soundings

FOLDER = Path(str(files("drillbox.sound"))) / "strokes"
SLOTS = st.fractions(min_value=Fraction(1, 20), max_value=Fraction(1, 2), max_denominator=1000)


def heard(ornament: Ornament, level: Level, slot: Fraction) -> list[Sounding]:
    """Return all that is heard of one stroke whose partial lasts `slot` seconds."""
    stroke = Stroke(Fraction(0), Voice.SNARE, level, ornament)
    pattern = Pattern(Meter(1, 4), (4,), (stroke,))
    struck = strikes(pattern)
    return [each for strike in struck for each in soundings(strike, stroke, slot)]


def test_the_kit_is_small_and_licensed() -> None:
    """All strokes together stay well under a megabyte.

    And the licence of their source lies beside them.
    """
    sizes = [path.stat().st_size for path in FOLDER.glob("*.wav")]
    assert 13 == len(sizes)
    assert sum(sizes) < 700_000
    assert "Permission is hereby granted" in (FOLDER / "LICENCE.txt").read_text()


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.wav")), ids=lambda path: path.stem)
def test_each_stroke_begins_at_once_and_ends_in_silence(path: Path) -> None:
    """Mono, 16 bits, 48 kHz.

    The first sample above 2 % of the peak is the first of the file, the last is nothing.
    """
    with wave.open(str(path)) as file:
        assert (1, 2, 48_000) == (file.getnchannels(), file.getsampwidth(), file.getframerate())
    _, samples = wavfile.read(path)
    loud = np.abs(samples.astype(float))
    assert loud[0] > 0.017 * loud.max()
    assert loud[-48:].max() < 0.001 * loud.max()
    assert abs(samples.mean()) < 0.002 * loud.max()


@pytest.mark.parametrize("voice", Voice)
def test_every_voice_sounds_at_every_level(voice: Voice) -> None:
    """After loading, the first 50 ms of each have unit level, so that a gain is a level."""
    for level in Level:
        assert pytest.approx(0.0, abs=0.01) == level_db(
            stroke_sound(voice, level)[:REFERENCE_FRAMES]
        )


def test_ghosts_are_duller_and_shorter_than_accents() -> None:
    """Not an accent turned down.

    More of a ghost's sound lies below 2 kHz, and it is over sooner.
    """

    def share_below_2k(level: Level) -> float:
        power = np.abs(np.fft.rfft(stroke_sound(Voice.SNARE, level), 48_000)) ** 2
        return float(power[:2000].sum() / power.sum())

    ghost, accent = share_below_2k(Level.GHOST), share_below_2k(Level.ACCENT)
    assert ghost > accent

    def seconds_of_99_percent(level: Level) -> float:
        energy = np.cumsum(stroke_sound(Voice.SNARE, level).astype(float) ** 2)
        return float(np.searchsorted(energy, 0.99 * energy[-1]) / 48_000)

    assert seconds_of_99_percent(Level.GHOST) < 0.95 * seconds_of_99_percent(Level.ACCENT)


def test_velocities_are_where_drummers_put_them() -> None:
    """Ghosts 15-40, taps 60-75, accents 100-120 (common practice, no source)."""
    assert 15 <= VELOCITY[Level.GHOST] <= 40
    assert 60 <= VELOCITY[Level.PLAIN] <= 75
    assert 100 <= VELOCITY[Level.ACCENT] <= 120


def test_the_velocity_curve_is_that_of_downloadable_sounds() -> None:
    """DLS Level 1.

    Attenuation 20 log10(127^2 / velocity^2) dB; 64 is 11.9 dB down (values from memory).
    """
    assert [pytest.approx(20 * math.log10(127**2 / v**2)) for v in (1, 40, 100, 127)] == [
        -velocity_db(v) for v in (1, 40, 100, 127)
    ]
    assert pytest.approx(-11.9, abs=0.05) == velocity_db(64)


@examples(60)
@given(SLOTS)
def test_a_double_is_two_even_strokes(slot: Fraction) -> None:
    """The second falls half-way to the next slot, as loud as the first."""
    first, second = heard(Ornament.DOUBLE, Level.PLAIN, slot)
    assert (Fraction(0), slot / 2) == (first.after, second.after)
    assert (first.db, first.level) == (second.db, second.level)


@examples(60)
@given(SLOTS)
def test_a_buzz_is_many_falling_bounces(slot: Fraction) -> None:
    """Bounces 22 to 34 ms apart, closing up.

    Each .82 to .95 of the last, all before the next slot, ten at most.
    """
    bounces = heard(Ornament.BUZZ, Level.GHOST, slot)
    gaps = [later.after - sooner.after for sooner, later in pairwise(bounces)]
    falls = [10 ** ((later.db - sooner.db) / 20) for sooner, later in pairwise(bounces)]
    assert 3 <= len(bounces) <= 10
    assert bounces[-1].after < slot
    assert all(Fraction(22, 1000) <= gap <= Fraction(34, 1000) for gap in gaps)
    assert gaps == sorted(gaps, reverse=True)
    assert all(0.82 <= fall <= 0.95 for fall in falls)


def test_a_buzz_at_a_practice_tempo_has_six_bounces_or_more() -> None:
    """A sixteenth at 90 bpm lasts 167 ms: room for a roll, not for two taps."""
    assert 6 <= len(heard(Ornament.BUZZ, Level.PLAIN, Fraction(60, 90 * 4))) <= 10


@examples(60)
@given(SLOTS, st.sampled_from(Level))
def test_grace_notes_come_before_the_stroke_and_below_it(slot: Fraction, level: Level) -> None:
    """A flam has one, a drag two; the stroke itself is in time.

    They start within half a slot before it.
    """
    for ornament, count in ((Ornament.FLAM, 1), (Ornament.DRAG, 2)):
        *graces, main = heard(ornament, level, slot)
        assert count == len(graces)
        assert (Fraction(0), level) == (main.after, main.level)
        assert all(-slot / 2 <= grace.after < 0 for grace in graces)
        assert all(grace.db <= main.db - 6.0 for grace in graces)
        assert [grace.after for grace in graces] == sorted(grace.after for grace in graces)


def test_a_plain_stroke_is_one_strike() -> None:
    """Nothing is added to what has no ornament."""
    (only,) = heard(Ornament.NONE, Level.ACCENT, Fraction(1, 8))
    assert (Fraction(0), Level.ACCENT) == (only.after, only.level)
