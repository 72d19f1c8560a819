"""A recording as energies in a few bands, every millisecond and a half.

A stroke shows in all bands at once; a single band, or the whole signal, hides a ghost behind
whatever rings loudest (a reference of ours: many bands instead of one raised the share of ghosts
found on hard takes from .68 to .90).

Conventions: samples are mono float32 of shape (frames,); energies have shape (bands, columns),
column *t* is centred on ``t * hop`` seconds of the recording, and is never below `SILENCE`.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]
    Energies = NDArray[np.float32]

HOP_SECONDS = 0.00145
WINDOW_SECONDS = 0.008
LOW_HZ, HIGH_HZ, BANDS = 200.0, 9000.0, 10
SILENCE = 1e-12
"""Power of a band that is quite silent (-120 dB of full scale), so that logarithms exist."""

_CHUNK = 4096


@dataclass(frozen=True, slots=True)
class Spectrum:
    """Energies with their time step.

    Attributes
    ----------
    energy
        Power, shape (bands, columns).
    floor
        Power that is always there, shape (bands,): the tenth percentile of each band.
    hop
        Seconds a column.
    """

    energy: Energies
    floor: Energies
    hop: float

    def column(self, seconds: float) -> int:
        """Return the column nearest to a time."""
        return round(seconds / self.hop)


def spectrum(samples: Samples, rate: int) -> Spectrum:
    """Return the band energies of a recording.

    Parameters
    ----------
    samples
        Mono, shape (frames,).
    rate
        Samples a second; bands over half of it are left out.
    """
    hop = max(round(HOP_SECONDS * rate), 1)
    size = max(round(WINDOW_SECONDS * rate), 16)
    length = 1 << (size - 1).bit_length()
    window = np.hanning(size).astype(np.float32)
    window /= np.sqrt(np.sum(window**2))
    weights = _band_weights(rate, length)
    half = size // 2
    padded = np.concatenate([np.zeros(half, np.float32), samples, np.zeros(size, np.float32)])
    views = np.lib.stride_tricks.sliding_window_view(padded, size)[::hop]
    columns = samples.size // hop + 1
    energy = np.empty((weights.shape[1], columns), np.float32)
    for first in range(0, columns, _CHUNK):
        part = np.fft.rfft(views[first : min(first + _CHUNK, columns)] * window, length)
        power = part.real**2 + part.imag**2
        energy[:, first : first + power.shape[0]] = (power @ weights).T
    np.maximum(energy, SILENCE, out=energy)
    floor = np.percentile(energy, 10, axis=1).astype(np.float32)
    return Spectrum(energy, floor, hop / rate)


def _band_weights(rate: int, length: int) -> Energies:
    """Return a matrix (bins, bands) that sums bins into log-spaced bands with soft edges."""
    bins = np.arange(length // 2 + 1) * rate / length
    edges = np.geomspace(LOW_HZ, HIGH_HZ, BANDS + 1)
    edges = edges[edges <= rate / 2]
    rows = []
    step = rate / length
    for low, high in itertools.pairwise(edges):
        inside = np.clip((bins - low) / step + 0.5, 0, 1) * np.clip(
            (high - bins) / step + 0.5, 0, 1
        )
        rows.append(inside / length)
    return np.asarray(rows, np.float32).T.copy()
