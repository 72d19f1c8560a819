"""Take mains hum out of a recording: lines at 50 or 60 Hz and their multiples.

Hum is the same note for the whole recording and a stroke is none, so a long transform shows it as
lines far above their neighbours; they are brought down to these. Left in, it overstated how far
ghosts lie under accents by 6 dB in a trial.

Conventions: samples mono float32.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from drillbox.ear.energies import Samples
    from drillbox.ear.looks import Floats

_MAINS_HZ = (50.0, 60.0)
_HIGHEST_HZ = 1300.0
_HALF_WIDTH_HZ = 0.35
_NEIGHBOURS_HZ = 4.0
_STANDS_OUT = 30.0
"""Power of a line over the median of its neighbours; the chance maximum of noise is about 10."""
_FEWEST_LINES = 3
_BLOCK_SECONDS = 24


def without_hum(samples: Samples, rate: int) -> Samples:
    """Return the recording without its mains hum; the same array where there is none."""
    block = _BLOCK_SECONDS * rate
    starts = list(range(0, max(samples.size - block // 2, 1), block))
    parts = [
        _cleaned(samples[start : end or samples.size], rate)
        for start, end in zip(starts, [*starts[1:], 0], strict=True)
    ]
    if all(part is None for part in parts):
        return samples
    ends = [*starts[1:], samples.size]
    whole = [
        samples[start:end] if part is None else part
        for part, start, end in zip(parts, starts, ends, strict=True)
    ]
    return np.concatenate(whole).astype(np.float32, copy=False)


def _cleaned(samples: Samples, rate: int) -> Samples | None:
    """Return a block without its hum, or None where there is none."""
    if samples.size < 4 * rate:
        return None
    size = 1 << (samples.size - 1).bit_length()
    spectrum = np.fft.rfft(samples, size)
    per_hz = size / rate
    power = np.abs(spectrum[: int((_HIGHEST_HZ + 10) * per_hz)]) ** 2
    lines = max((_lines(power, per_hz, mains) for mains in _MAINS_HZ), key=len)
    if len(lines) < _FEWEST_LINES:
        return None
    # Cutting short makes a line broad: its skirts are taken down as well, while they stand out.
    for centre, usual in lines:
        reach = int(_NEIGHBOURS_HZ / 2 * per_hz)
        around = slice(max(centre - reach, 0), centre + reach + 1)
        here = spectrum[around]
        loud = np.abs(here) ** 2
        here *= np.sqrt(np.minimum(1, 2 * usual / np.maximum(loud, 1e-30)))
    return np.fft.irfft(spectrum, size)[: samples.size].astype(np.float32)


def _lines(power: Floats, per_hz: float, mains: float) -> list[tuple[int, float]]:
    """Return the bins of the hum's lines, each with the usual power beside it."""
    found = []
    for number in range(1, int(_HIGHEST_HZ / mains) + 1):
        middle = number * mains * per_hz
        near = slice(
            int(middle - _HALF_WIDTH_HZ * per_hz), int(middle + _HALF_WIDTH_HZ * per_hz) + 2
        )
        wide = slice(
            max(int(middle - _NEIGHBOURS_HZ * per_hz), 0), int(middle + _NEIGHBOURS_HZ * per_hz) + 1
        )
        usual = float(np.median(power[wide]))
        top = near.start + int(np.argmax(power[near]))
        if power[top] > _STANDS_OUT * usual:
            found.append((top, usual))
    return found
