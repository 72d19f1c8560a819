"""What a stroke of each kind looks like, and how much the energies at a place speak for it.

At any column two accounts are compared: what rings there anyway, carried on from just before by
the fall of this take's own loud strokes; and that plus a stroke, its template times a free gain.
The evidence is a log likelihood ratio, summed over bands and columns: the logarithm of an energy
scatters about its expectation with heavy tails (Student's t), so that no single cell decides.

Conventions: windows have shape (..., bands, COLUMNS); column `AHEAD` of a window is where the
stroke begins.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from drillbox.ear.decays import LONGEST, LOOK_BACK, RING_MARGIN, even_decays

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drillbox.ear.decays import Decays
    from drillbox.ear.energies import Energies, Spectrum
    from drillbox.rhythm import Level, Part, Voice

    Floats = NDArray[np.float64]
    Columns = NDArray[np.int64]


AHEAD, COLUMNS = 2, 20
_FLOOR_MARGIN = np.float32(1.5)
"""The tenth percentile of an energy lies below its mean by about this."""
_MOST_GAIN = 10**1.2
_SCATTER = 0.5
"""Nepers of power by which an energy strays from its template, one stroke to the next."""
_FREEDOM = 4.0
_OVERLAP = 0.35
"""Independent cells per cell: windows overlap in time."""
_LOW_BANDS = 0.6
"""A low band holds fewer independent values than a high one, so it weighs less."""


class Kind(NamedTuple):
    """Strokes that look alike: of one voice and level; a buzz and a grace look their own way."""

    voice: Voice
    level: Level
    part: Part


@dataclass(frozen=True, slots=True)
class View:
    """A spectrum, ready for windows at any column.

    Attributes
    ----------
    energy
        Power, shape (columns, bands).
    floor
        What is always there, shape (bands,).
    ringing
        What rang just before each column, over the floor, shape (columns, bands).
    decays
        How what rings falls from there on.
    hop
        Seconds a column.
    """

    energy: Energies
    floor: Energies
    ringing: Energies
    decays: Decays
    hop: float

    def windows(self, column: Columns, earlier: Columns | int = 0) -> tuple[Energies, Energies]:
        """Return energies and what would ring anyway around columns, each (..., bands, COLUMNS).

        What rings is taken from just before the column, or from so many columns earlier.
        """
        step = np.arange(COLUMNS)
        last = self.energy.shape[0] - 1
        place = np.clip(column[..., None] - AHEAD + step, 0, last)
        energy = np.moveaxis(self.energy[place], -1, -2)
        before = np.clip(column - earlier, 0, last)
        ring = self.ringing[before]
        group, since = self.decays.group[before], self.decays.since[before]
        curves, means = self.decays.curves, self.decays.means
        after = np.clip(since[..., None] - AHEAD + step, 0, LONGEST - 1)
        change = curves[group[..., None], after] - means[group, since][..., None, :]
        anyway = self.floor[:, None] + ring[..., None] * np.moveaxis(np.exp(change), -1, -2)
        return energy, anyway

    def column(self, seconds: Floats) -> Columns:
        """Return the columns nearest to times."""
        return np.round(seconds / self.hop).astype(np.int64)


def view(spectrum: Spectrum, fall: Floats) -> View:
    """Return a view of a spectrum, with an even fall of its bands in nepers a column."""
    logs = np.log(spectrum.energy.T).astype(np.float64)
    total = np.concatenate([np.zeros((1, logs.shape[1])), np.cumsum(logs, axis=0)])
    near, far = LOOK_BACK
    place = np.arange(logs.shape[0])
    high = np.clip(place - near + 1, 1, None)
    low = np.clip(place - far, 0, high - 1)
    before = np.exp((total[high] - total[low]) / (high - low)[:, None]).astype(np.float32)
    ringing = np.maximum(before * RING_MARGIN - spectrum.floor, 0)
    return View(
        np.ascontiguousarray(spectrum.energy.T),
        spectrum.floor * _FLOOR_MARGIN,
        ringing,
        even_decays(fall, logs.shape[0]),
        spectrum.hop,
    )


def bands_fall(spectrum: Spectrum, begins: Columns, ends: Columns) -> Floats:
    """Return how fast each band falls after strokes, in nepers of power a column.

    Parameters
    ----------
    begins, ends
        Columns of loud strokes and of what follows them.
    """
    columns = spectrum.energy.shape[1]
    rows = []
    for begin, end in zip(begins, ends, strict=True):
        last = min(end - 15, begin + 70, columns)
        if last - begin < 32:
            continue
        logs = np.log(spectrum.energy[:, begin + 12 : last])
        x = np.arange(logs.shape[1]) - (logs.shape[1] - 1) / 2
        slope = -(logs @ x) / (x @ x)
        clear = logs[:, :5].mean(axis=1) > np.log(spectrum.floor) + 1.5
        rows.append(np.where(clear, slope, np.nan))
    falls: Floats = np.full(spectrum.energy.shape[0], 0.08)
    for band, seen in enumerate(np.array(rows).T if rows else ()):
        known = seen[np.isfinite(seen)]
        if known.size >= 3:
            falls[band] = np.median(known)
    return np.asarray(np.clip(falls, 0.01, 0.3))


def evidence(energy: Energies, anyway: Energies, template: Energies) -> tuple[Floats, Floats]:
    """Return the log likelihood ratio for a stroke and the gain of its template, shape (...).

    Notes
    -----
    The gain is the Itakura-Saito divergence's, by four multiplicative steps (Fevotte, Bertin &
    Durrieu 2009, from memory), within 12 dB of the template.
    """
    gain = np.ones(energy.shape[:-2], np.float32)
    model = anyway + template
    for _ in range(4):
        wanted = (energy * template / model**2).sum(axis=(-2, -1))
        given = (template / model).sum(axis=(-2, -1))
        gain = np.clip(gain * wanted / given, 1 / _MOST_GAIN, _MOST_GAIN).astype(np.float32)
        model = anyway + gain[..., None, None] * template
    return better(energy, anyway, model), gain.astype(np.float64)


def better(energy: Energies, without: Energies, model: Energies) -> Floats:
    """Return how much better one account explains energies than another, log likelihood ratio."""
    cells = _surprise(np.log(energy / without)) - _surprise(np.log(energy / model))
    weight = _OVERLAP * np.linspace(_LOW_BANDS, 1, energy.shape[-2], dtype=np.float32)
    return np.asarray(cells.sum(axis=-1) @ weight, np.float64)


def _surprise(off: Energies) -> Energies:
    half = (_FREEDOM + 1) / 2
    return np.asarray(half * np.log1p(off * off / (_FREEDOM * _SCATTER**2 * 1.25)), np.float32)


def shared_gains(energy: Energies, anyway: Energies, templates: Energies) -> Floats:
    """Return the gains of several templates at once, shape (..., members).

    Parameters
    ----------
    energy, anyway
        Windows, shape (..., bands, COLUMNS).
    templates
        Shape (..., members, bands, COLUMNS).
    """
    gain = np.ones(templates.shape[:-2], np.float32)
    for _ in range(8):
        model = anyway + (gain[..., None, None] * templates).sum(axis=-3)
        ratio = (energy / model**2)[..., None, :, :]
        wanted = (ratio * templates).sum(axis=(-2, -1))
        given = (templates / model[..., None, :, :]).sum(axis=(-2, -1))
        gain = np.clip(gain * wanted / given, 1e-3, 2 * _MOST_GAIN).astype(np.float32)
    return gain.astype(np.float64)
