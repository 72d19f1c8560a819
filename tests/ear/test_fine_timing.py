"""When a stroke began, where a softer one came with it or noise hides its rise."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from made_takes import RATE

from drillbox.ear.fine_timing import fine_times

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drillbox.ear.energies import Samples

COUNT = 12
LOUD = np.arange(COUNT) * 0.5 + 0.3
"""Accents, each with a soft stroke some milliseconds before or after it."""
BETWEEN = LOUD + 0.25
"""The soft stroke by itself."""
APART = np.random.default_rng(5).uniform(-0.009, 0.009, COUNT)


def burst(low: float, high: float, seed: int) -> Samples:
    """Return a stroke of tones in a band that dies within some 50 ms."""
    rng = np.random.default_rng(seed)
    t = np.arange(3000) / RATE
    tones = sum(
        np.sin(2 * np.pi * rng.uniform(low, high) * t + rng.uniform(0, 6)) for _ in range(24)
    )
    return np.asarray(tones * np.minimum(t / 0.0008, 1) * np.exp(-t / 0.012) * 0.02, np.float32)


def recorded(strokes: list[tuple[NDArray[Any], NDArray[Any]]], noise: float) -> Samples:
    """Return strokes, each at its times, in white noise."""
    samples = np.random.default_rng(2).normal(0, noise, int(7 * RATE)).astype(np.float32)
    for times, sound in strokes:
        for frame in np.round(times * RATE).astype(int):
            samples[frame : frame + sound.size] += sound
    return samples


def test_an_accent_is_timed_by_itself_where_a_soft_stroke_came_before_it() -> None:
    """Within half a millisecond of each other; by the first that sounded they would lie 9 apart."""
    drum, hat = burst(600, 5000, 0), 0.12 * burst(5000, 12000, 1)
    samples = recorded([(LOUD, drum), (LOUD + APART, hat), (BETWEEN, hat)], 1e-5)
    rough = np.concatenate([LOUD + np.minimum(APART, 0), BETWEEN])
    groups = [np.arange(COUNT), np.arange(COUNT, 2 * COUNT)]
    known = fine_times(samples, RATE, rough, groups, [[groups[1]], []])[:COUNT] - LOUD
    unknown = fine_times(samples, RATE, rough, groups)[:COUNT] - LOUD

    assert 0.0005 > np.ptp(known)
    assert 0.003 < np.ptp(unknown)


def test_in_noise_a_stroke_keeps_near_where_all_bands_put_it() -> None:
    """As loud as the noise it is not moved by more than two milliseconds, where 5 were in reach."""
    drum = burst(600, 5000, 0)
    samples = recorded([(LOUD, drum)], 0.08)
    rng = np.random.default_rng(3)
    rough = LOUD + rng.uniform(-0.0004, 0.0004, COUNT)
    moved = fine_times(samples, RATE, rough, [np.arange(COUNT)]) - rough

    assert 0.002 > np.max(np.abs(moved - np.median(moved)))
