"""How loud each stroke is: the peak of the recording above 80 Hz just after it begins.

Conventions: dB of full scale, of amplitude; `high` is the recording as `above_rumble` gives it,
which is worked out once a take.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from drillbox.ear.energies import Samples
    from drillbox.ear.looks import Floats

_LOWEST_HZ = 80.0
_PEAK_SECONDS = 0.018
_GUARD_SECONDS = 0.002
_SILENT_DB = -120.0


def above_rumble(samples: Samples, rate: int) -> Floats:
    """Return the recording without what is slower than a drum's tone."""
    width = max(int(rate / _LOWEST_HZ / 2) | 1, 3)
    return without_slow(samples.astype(np.float64), width)


def without_slow(samples: Floats, width: int) -> Floats:
    """Return samples without what two running means over an odd number of them keep."""
    return samples - _running_mean(_running_mean(samples, width), width)


def stroke_levels(high: Floats, rate: int, at: Floats) -> Floats:
    """Return the level of strokes at times.

    Nearly half of what rings just before a stroke is taken off its peak: the two add up with any
    sign.
    """
    span = np.arange(-int(0.001 * rate), int(_PEAK_SECONDS * rate))
    guard = int(_GUARD_SECONDS * rate)
    before = np.arange(-guard - span.size, -guard)
    place = np.round(at * rate).astype(np.int64)[:, None]
    last = high.size - 1
    peak = np.abs(high[np.clip(place + span, 0, last)]).max(axis=1)
    ring = np.abs(high[np.clip(place + before, 0, last)]).max(axis=1)
    return decibels(np.maximum(peak - 0.45 * ring, 0.3 * peak))


def noise_level(high: Floats, rate: int) -> float:
    """Return the level of what is always there: the quietest fiftieth of the recording.

    More of it would count what rings between the strokes.
    """
    size = max(int(0.02 * rate), 1)
    count = high.size // size
    if not count:
        return _SILENT_DB
    power = (high[: count * size].reshape(count, size) ** 2).mean(axis=1)
    return float(decibels(np.sqrt(np.percentile(power, 2)) * np.ones(1))[0])


def decibels(amplitude: Floats) -> Floats:
    """Return amplitudes in dB of full scale, never below -120."""
    return 20 * np.log10(np.maximum(amplitude, 10 ** (_SILENT_DB / 20)))


def _running_mean(samples: Floats, width: int) -> Floats:
    """Return the mean of an odd number of samples around each; past the ends lies silence."""
    half = width // 2
    total = np.cumsum(np.pad(samples, (half + 1, half)))
    return np.asarray((total[width:] - total[:-width]) / width)
