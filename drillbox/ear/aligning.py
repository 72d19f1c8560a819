"""Where a take lies in its recording: its offset, its tempo, how the tempo slid.

The pattern is known, so the whole of it is laid over the recording's onsets at every offset and
tempo that can be meant, loud strokes on loud onsets; the phase of a single subdivision would be
ambiguous, accents break the tie. What is found is refined stroke by stroke later.

Conventions: seconds; nominal times count from the pattern's first beat.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drillbox.ear.energies import Spectrum

    Times = NDArray[np.float64]

OFFSET_REACH, TEMPO_REACH, BEND_REACH = 0.2, 0.042, 0.012
"""How far a take may lie off: seconds, share of the tempo, share of slide within the take."""
_SIGMA = 0.018
_BACK = (2, 3)
"""Columns back to which a rise is measured."""
_MOST_STROKES, _ROWS = 800, 10
"""Of a longer take so many strokes are laid over the onsets, in so many rows."""
_MOST_AT_ONCE = 300_000
"""So many places of strokes are looked at together: a few arrays that stay near the processor."""
_SOFT_SHARE = 0.3
"""How much any onset counts under a stroke, beside a loud one under a stroke meant loud."""


@dataclass(frozen=True, slots=True)
class TempoMap:
    """Time of the recording as a function of nominal time: ``a + b x + c x (x - length)``.

    Attributes
    ----------
    offset
        Seconds of the recording at which the first beat falls.
    stretch
        Length of a nominal second; over 1 is slower.
    bend
        Slide of the tempo, per second.
    length
        Nominal seconds of the take.
    """

    offset: float
    stretch: float
    bend: float
    length: float

    def __call__(self, nominal: Times) -> Times:
        """Return where nominal times fall in the recording."""
        slide = self.bend * nominal * (nominal - self.length)
        return np.asarray(self.offset + self.stretch * nominal + slide)


def onset_strength(spectrum: Spectrum) -> tuple[Times, Times]:
    """Return how much each column rises, and how loud what rises is.

    Returns
    -------
    tuple of two arrays of shape (columns,)
        The mean rise over the bands in units of ten dB; the same weighted by level, 0 to 1 at
        60 dB range.
    """
    level = np.log10(spectrum.energy / spectrum.floor[:, None] + 1)
    before = np.maximum(np.roll(level, _BACK[0], 1), np.roll(level, _BACK[1], 1))
    rise = np.maximum(level - before, 0)
    rise[:, : _BACK[1]] = 0
    flux = rise.mean(axis=0).astype(np.float64)
    total = 10 * np.log10(spectrum.energy.sum(axis=0))
    top = np.percentile(total, 99.5)
    ahead = np.max(np.stack([np.roll(total, -shift) for shift in range(6)]), axis=0)
    return flux, flux * np.clip(1 + (ahead - top) / 25, 0, 1) ** 2


def coarse_map(
    flux: Times,
    loud: Times,
    hop: float,
    *,
    nominal: Times,
    weight: Times,
    start: float,
    length: float,
) -> TempoMap:
    """Return the map under which the expected strokes meet the onsets best.

    Parameters
    ----------
    flux, loud
        As `onset_strength` gives them.
    hop
        Seconds a column.
    nominal, weight
        When strokes should come, and how loud each is meant, 0 to 1.
    start, length
        Where the first beat nominally falls, and how long the take lasts.
    """
    soft, hard = _smoothed(flux, hop), _smoothed(loud, hop)
    nominal, weight = _sample(nominal), _sample(weight)
    layers = [
        (nominal[weight == one], one * hard + _SOFT_SHARE * soft) for one in np.unique(weight)
    ]
    best, best_score = TempoMap(start, 1, 0, length), -np.inf
    steps = max(int(2 * TEMPO_REACH * length / 0.03), 8)
    stretches = 1 + np.linspace(-TEMPO_REACH, TEMPO_REACH, steps | 1)
    offsets = start + np.arange(-OFFSET_REACH, OFFSET_REACH + 1e-9, 0.01)
    bends = np.linspace(-BEND_REACH, BEND_REACH, 7) / max(length, 1)
    # A take off by much is possible, not usual: it must fit better to be believed.
    usual = 1 - 0.1 * np.abs(offsets - start) / OFFSET_REACH
    at_once = max(_MOST_AT_ONCE // (offsets.size * max(nominal.size, 1)), 1)
    for bend in bends:
        for some in np.split(stretches, range(at_once, stretches.size, at_once)):
            score = np.zeros((some.size, offsets.size))
            for strokes, strength in layers:
                slide = bend * strokes * (strokes - length)
                columns = (some[:, None] * strokes + slide) / hop
                at = (columns[:, None, :] + (offsets / hop)[:, None]).astype(np.int32)
                score += strength.take(at, mode="clip").sum(axis=2)
            score *= usual
            score *= 1 - 0.1 * np.abs(some - 1)[:, None] / TEMPO_REACH
            place = np.unravel_index(int(np.argmax(score)), score.shape)
            if score[place] > best_score:
                best_score = score[place]
                best = TempoMap(
                    float(offsets[place[1]]), float(some[place[0]]), float(bend), length
                )
    return best


def _sample(strokes: Times) -> Times:
    """Return strokes of all parts of a take, few enough for a search: rows of neighbours."""
    if strokes.size <= _MOST_STROKES:
        return strokes
    each = _MOST_STROKES // _ROWS
    begins = np.linspace(0, strokes.size - each, _ROWS).astype(np.int64)
    return np.concatenate([strokes[begin : begin + each] for begin in begins])


def _smoothed(strength: Times, hop: float) -> Times:
    reach = int(3 * _SIGMA / hop)
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) * hop / _SIGMA) ** 2)
    peak = np.where(
        strength >= np.maximum(np.roll(strength, 1), np.roll(strength, -1)), strength, 0
    )
    if not (peak > 0).any():
        return peak
    return np.convolve(np.minimum(peak, 3 * np.percentile(peak[peak > 0], 90)), kernel, "same")


def fitted_map(
    nominal: Times, at: Times, weight: Times, before: TempoMap, *, rounds: int = 5
) -> TempoMap:
    """Return the map through strokes that were found, by reweighted least squares (Cauchy)."""
    length = before.length
    if nominal.size < 4:
        return before
    basis = np.stack([np.ones_like(nominal), nominal, nominal * (nominal - length)], axis=1)
    pull = np.diag([1e-6, 1e-4, 1e-2 * length**4 / 16])
    prior = np.array([before.offset, before.stretch, 0.0])
    answer = np.array([before.offset, before.stretch, before.bend])
    for _ in range(rounds):
        rest = at - basis @ answer
        scale = max(1.48 * float(np.median(np.abs(rest))), 0.002)
        trust = weight / (1 + (rest / (2 * scale)) ** 2)
        normal = basis.T @ (basis * trust[:, None]) + pull * scale**2
        answer = np.linalg.solve(normal, basis.T @ (trust * at) + pull @ prior * scale**2)
    return TempoMap(float(answer[0]), float(answer[1]), float(answer[2]), length)
