"""How a loud stroke rings on, column by column, learned where nothing follows it for a while.

The ring of a drum does not fall evenly: modes close to each other beat, a room answers, the tail
falls more slowly than the beginning. A swell that comes after every backbeat would be taken for a
ghost after the backbeat; where the take shows it after backbeats that no ghost follows, it is known
for what it is.

Conventions: energies have shape (columns, bands); a curve holds nepers of power by columns since
the stroke began.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.ear.energies import Energies
    from drillbox.ear.looks import Columns, Floats

LOOK_BACK = (3, 7)
"""Columns before a stroke that tell what rings: the window of a column must not reach it."""
LONGEST = 260
"""Columns of a curve."""
RING_MARGIN = 1.3
"""The geometric mean of an energy lies below its mean by about this."""
_CLEAR = 18
"""Columns before the next stroke in which its beginning may already show."""
_EARLY = slice(8, 30)
"""Columns of the early ring, by which strokes are brought to one level."""
_FEWEST = 4
_SHRINK = 3.0
"""A swell seen n times is believed to n / (n + 3)."""
_SMOOTH = 24
_OVER_FLOOR = 0.5


@dataclass(frozen=True, slots=True)
class Decays:
    """What rings on at each column of a recording.

    Attributes
    ----------
    curves
        Nepers of power since the beginning, shape (groups, LONGEST, bands); the first is an even
        fall.
    group
        Which curve holds at each column, shape (columns,).
    since
        Columns since that curve's stroke began, shape (columns,).
    means
        Of each curve, its mean over the columns that tell what rings, `LOOK_BACK` before each.
    """

    curves: Energies
    group: Columns
    since: Columns
    means: Energies


def even_decays(fall: Floats, columns: int) -> Decays:
    """Return an even fall everywhere, in nepers a column, of shape (bands,)."""
    curves = (-np.arange(LONGEST)[:, None] * fall)[None].astype(np.float32)
    # An even fall is the same from anywhere; the middle of its curve has room on both sides.
    still = np.full(columns, LONGEST // 2)
    return Decays(curves, np.zeros(columns, int), still, _means(curves))


def _means(curves: Energies) -> Energies:
    near, far = LOOK_BACK
    place = np.clip(np.arange(LONGEST)[:, None] - np.arange(near, far + 1), 0, None)
    return np.asarray(curves[:, place].mean(axis=2), np.float32)


def learned_decays(
    energy: Energies,
    floor: Energies,
    fall: Floats,
    *,
    begins: Columns,
    groups: Sequence[tuple[int, ...] | None],
) -> Decays:
    """Return how the loud strokes of a take ring on.

    Parameters
    ----------
    energy, floor, fall
        The recording, what is always there, and the even fall of each band.
    begins
        Columns of all strokes in order of time, ghosts included.
    groups
        What was struck by each: equal for strokes that ring alike; None for one that is too soft
        to be followed.
    """
    flat = even_decays(fall, energy.shape[0])
    curves, group, since = [flat.curves[0]], flat.group.copy(), flat.since.copy()
    after = np.append(begins[1:], begins[-1:] + LONGEST)
    free = np.clip(after - begins - _CLEAR, 0, LONGEST)
    numbers: dict[tuple[int, ...], int] = {}
    for loud in sorted({each for each in groups if each is not None}):
        own = np.array([i for i, each in enumerate(groups) if each == loud], int)
        curve = _curve(energy, floor, fall, begins[own], free[own])
        if curve is not None:
            numbers[loud] = len(curves)
            curves.append(curve)
    columns = energy.shape[0]
    struck = [(begin, each) for begin, each in zip(begins, groups, strict=True) if each is not None]
    for (begin, each), (following, _) in pairwise([*struck, (columns, ())]):
        if each in numbers:
            # The beginning itself must not be taken for what rings.
            first = max(begin + _EARLY.start, 0)
            span = slice(first, max(min(following, begin + LONGEST - 16, columns), first))
            group[span] = numbers[each]
            since[span] = np.arange(span.start, span.stop) - begin
    every = np.stack(curves)
    return Decays(every, group, since, _means(every))


def _curve(
    energy: Energies, floor: Energies, fall: Floats, begins: Columns, free: Columns
) -> Energies | None:
    """Return the usual ring after strokes, each seen as far as nothing follows; None if unseen."""
    place = np.clip(begins[:, None] + np.arange(LONGEST), 0, energy.shape[0] - 1)
    logs = np.log(energy[place]).astype(np.float64)
    early = logs[:, _EARLY].mean(axis=1, keepdims=True)
    seen = (np.arange(LONGEST) < free[:, None]) & (free[:, None] >= _EARLY.stop)
    count = seen.sum(axis=0)
    last = int(np.flatnonzero(count >= _FEWEST)[-1]) + 1 if (count >= _FEWEST).any() else 0
    if last < _EARLY.stop + _SMOOTH:
        return None
    some = seen[:, :last, None]
    level = np.median(early[seen[:, 0]], axis=0)
    usual = np.where(some, (logs - early)[:, :last], 0).sum(axis=0) / count[:last, None] + level
    power = np.exp(usual) * RING_MARGIN - floor
    loud = power > _OVER_FLOOR * floor
    curve = np.empty((LONGEST, energy.shape[1]))
    steps = np.arange(LONGEST)
    for band in range(energy.shape[1]):
        quiet = np.flatnonzero(~loud[_EARLY.start :, band])
        end = _EARLY.start + int(quiet[0]) if quiet.size else last
        rows = np.log(np.maximum(power[:end, band], 1e-30))
        even = _smoothed(rows, _SMOOTH)
        belief = count[:end] / (count[:end] + _SHRINK)
        curve[:end, band] = even + belief * (_smoothed(rows, 1) - even)
        curve[end:, band] = curve[end - 1, band] - fall[band] * (steps[end:] - end + 1)
    return curve.astype(np.float32)


def _smoothed(values: Floats, reach: int) -> Floats:
    """Return running straight-line means over as many neighbours on both sides."""
    reach = min(reach, max((values.size - 1) // 2, 0))
    total = np.concatenate([np.zeros(1), np.cumsum(values)])
    place = np.arange(values.size)
    near = np.minimum(np.minimum(place, values.size - 1 - place), reach)
    return np.asarray((total[place + near + 1] - total[place - near]) / (2 * near + 1))
