"""Where in a recording a take begins, and how often the pattern is played, where nobody says.

Conventions: seconds of the recording.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from drillbox.ear.aligning import onset_strength
from drillbox.ear.energies import spectrum
from drillbox.ear.expected import expected_strokes
from drillbox.errors import RecordingError
from drillbox.rhythm import Level, Part

if TYPE_CHECKING:
    from drillbox.ear.energies import Samples
    from drillbox.ear.looks import Floats
    from drillbox.rhythm import Pattern

_WIDTH_SECONDS = 0.02
_STEP_SECONDS = 0.01
_AS_GOOD = 0.6
"""A pass that fits this share as well as most belongs to the take."""
_LOUD = 0.1
_WEIGHT = {Level.GHOST: 0.3, Level.TAP: 0.5, Level.PLAIN: 0.7, Level.ACCENT: 1.0}


def find_start(samples: Samples, rate: int, pattern: Pattern, bpm: float) -> float:
    """Return the first place at which the pattern fits the onsets about as well as anywhere.

    Parameters
    ----------
    samples, rate
        The recording.
    pattern, bpm
        What is played, at about what tempo.

    Raises
    ------
    RecordingError
        If the recording ends before the pattern could have been played once.
    """
    there, length = len(samples) / rate, pattern.seconds(bpm)
    one, its_weight = _struck(pattern, bpm, 1)
    if there < float(one.max(initial=0.0)) + _STEP_SECONDS:
        raise RecordingError(
            f"the recording is {there:.1f} s long, and the pattern at {bpm:g} bpm takes"
            f" {length:.1f} s",
            fix="record it once more, to its end",
        )
    seen = spectrum(samples, rate)
    flux, loud = onset_strength(seen)
    strength = _smoothed(np.sqrt(flux * loud), seen.hop)
    passes = min(max(int(12 / length), 1), max(int(there / length), 1))
    nominal, weight = _struck(pattern, bpm, passes)
    latest = max(there - 0.8 * passes * length, _STEP_SECONDS)
    starts = np.arange(0.0, latest, _STEP_SECONDS)
    best = float(starts[int(np.argmax(_fits(strength, seen.hop, starts, nominal, weight)))])
    row = np.arange(best % length - length, there - length, length)
    row = row[row >= -_STEP_SECONDS]
    if not row.size:  # cut off after the last stroke: there is one pass, and no other to look at
        return best
    # A pass before may lie off a little, for tempi are never quite as written.
    near = row[:, None] + np.arange(-6, 7) * _STEP_SECONDS
    each = _fits(strength, seen.hop, near.ravel(), one, its_weight).reshape(near.shape)
    good = each.max(axis=1) >= _AS_GOOD * np.median(each.max(axis=1))
    place = int(np.argmax(each.max(axis=1)))
    # One pass may have gone wrong; two in a row are not of the take any more.
    while good[max(place - 2, 0) : place].any():
        place = max(place - 2, 0) + int(np.argmax(good[max(place - 2, 0) : place]))
    return max(float(near[place, int(np.argmax(each[place]))]), 0.0)


def _fits(strength: Floats, hop: float, starts: Floats, nominal: Floats, weight: Floats) -> Floats:
    """Return how well strokes at nominal times meet the onsets, from each start."""
    column = ((starts[:, None] + nominal) / hop).astype(np.int64)
    inside = (column >= 0) & (column < strength.size)
    met = strength[np.clip(column, 0, strength.size - 1)]
    return np.asarray((np.where(inside, met, 0) * weight).sum(axis=1))


def passes_played(samples: Samples, rate: int, pattern: Pattern, bpm: float, start: float) -> int:
    """Return how many passes there are from the start to the last loud onset."""
    seen = spectrum(samples, rate)
    _, loud = onset_strength(seen)
    struck = np.flatnonzero(loud > _LOUD * np.percentile(loud, 99.5))
    last = float(struck[-1]) * seen.hop if struck.size else len(samples) / rate
    length = pattern.seconds(bpm)
    final = float(_struck(pattern, bpm, 1)[0].max(initial=0.0))
    half = pattern.meter.beat_seconds(bpm) / 2
    return max(int((last + half - start - final) / length) + 1, 1)


def _struck(pattern: Pattern, bpm: float, passes: int) -> tuple[Floats, Floats]:
    strokes = [s for s in expected_strokes(pattern, bpm, passes) if s.part is not Part.GRACE]
    weight = [_WEIGHT[s.level] * (0.6 if s.voice.is_cymbal else 1) for s in strokes]
    return np.array([s.seconds for s in strokes]), np.array(weight)


def _smoothed(strength: Floats, hop: float) -> Floats:
    reach = int(3 * _WIDTH_SECONDS / hop)
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) * hop / _WIDTH_SECONDS) ** 2)
    return np.convolve(strength, kernel, "same")
