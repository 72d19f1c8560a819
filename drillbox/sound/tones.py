"""The sounds of the click, synthesised here and nowhere taken from.

Each is a sine with its octave above it under a falling exponential: short enough to stay apart at
thirty-second notes, bright enough to be heard through a practice pad. The first beat is loudest;
the subdivisions are a dry tick above 3 kHz, softest of all, where no ghost note sounds: a click on
every partial must not cover what is played there. Frequencies are equal-tempered
pitches over A4 = 440 Hz (ISO 16).

Conventions: mono float32, full scale 1.0. The first sample is already sounding, so that the onset
of a tone is the frame at which it is placed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from drillbox.sound.click import Click
from drillbox.sound.levels import decibels
from drillbox.sound.timeline import RATE

if TYPE_CHECKING:
    from collections.abc import Mapping

Samples: TypeAlias = NDArray[np.float32]
"""Mono sound, shape ``(frames,)``, full scale 1.0."""


@dataclass(frozen=True, slots=True)
class Tone:
    """Pitch in Hz, peak in dB relative to full scale, time in which it falls to 1/e, and rises."""

    hertz: float
    peak_db: float
    decay_seconds: float = 0.008
    rise_seconds: float = 0.0


TONES: Mapping[Click, Tone] = {
    Click.COUNT_IN: Tone(1318.51, -9.0),  # E6
    Click.FIRST: Tone(1567.98, -6.5, 0.010),  # G6
    Click.PULSE: Tone(1046.50, -10.5),  # C6
    Click.SUBDIVISION: Tone(4186.01, -18.5, 0.003, rise_seconds=0.0005),  # C8
}

_LENGTH_SECONDS = 0.040
_RELEASE_SECONDS = 0.008


@cache
def tone(kind: Click) -> Samples:
    """Return the sound of one kind of click."""
    spec = TONES[kind]
    frames = round(_LENGTH_SECONDS * RATE)
    seconds = (np.arange(frames) + 1) / RATE
    phase = 2 * np.pi * spec.hertz * seconds
    wave = (np.sin(phase) + 0.35 * np.sin(2 * phase)) * np.exp(-seconds / spec.decay_seconds)
    rise = round(spec.rise_seconds * RATE)
    wave[:rise] *= np.sin(np.linspace(0, np.pi / 2, rise + 1)[1:])
    release = round(_RELEASE_SECONDS * RATE)
    wave[-release:] *= np.linspace(1.0, 0.0, release)
    return np.asarray(wave * (decibels(spec.peak_db) / np.abs(wave).max()), dtype=np.float32)
