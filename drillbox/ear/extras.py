"""Strokes that nobody asked for.

Only what stands out as a stroke does, and is no echo, bounce or click, is called extra: a false
reproach costs more trust than a missed one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from drillbox.ear.deciding import HEARD
from drillbox.ear.looks import evidence
from drillbox.ear.loudness import stroke_levels
from drillbox.rhythm import Level, Part

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drillbox.ear.deciding import Findings
    from drillbox.ear.hearing import Hearing
    from drillbox.ear.looks import Floats, View
    from drillbox.ear.slots import Slots

_NEAR, _AFTER = 0.035, 0.055
"""Seconds before and after a known stroke in which nothing is called extra."""
_ELSEWHERE = 0.07
"""Seconds around the place of a stroke that was not found: it may be this one, come too far off."""
_NEAR_CLICK = 0.025
_EVIDENCE = 25.0
_UNDER_GHOSTS_DB = 4.0
_BUZZ_SECONDS = 0.3
_APART = 0.03


def extra_strokes(
    high: Floats,
    rate: int,
    *,
    seen: View,
    slots: Slots,
    hearing: Hearing,
    findings: Findings,
    clicks: Floats,
) -> list[tuple[float, float]]:
    """Return time and level of each extra stroke."""
    heard = np.sort(findings.at[findings.state == HEARD])
    if not heard.size:
        return []
    first, last = float(hearing.centre[0]) - 0.05, float(hearing.centre[-1]) + 0.25
    columns = np.arange(int(max(first, 0) / seen.hop), int(last / seen.hop))
    columns = columns[columns < seen.energy.shape[0]]
    times = columns * seen.hop
    clear = _clear(times, heard, _NEAR, _AFTER) & _clear(times, clicks, _NEAR_CLICK, 0.09)
    for group in slots.members:
        stroke = group[-1]
        if stroke.part is Part.BUZZ and findings.state[stroke.index] == HEARD:
            at = findings.at[stroke.index]
            clear &= (times < at) | (times > at + _BUZZ_SECONDS)
    lost = np.array([any(findings.state[s.index] != HEARD for s in g) for g in slots.members])
    clear &= _clear(times, np.sort(hearing.centre[lost]), _ELSEWHERE, _ELSEWHERE)
    columns, times = columns[clear], times[clear]
    if not columns.size:
        return []
    energy, anyway = seen.windows(columns)
    best = np.max([evidence(energy, anyway, template)[0] for template in hearing.templates], axis=0)
    peaks = [
        i
        for i in np.flatnonzero(best > _EVIDENCE)
        if best[i] == best[np.abs(times - times[i]) < _APART].max()
    ]
    levels = stroke_levels(high, rate, times[peaks])
    quiet = _quietest(high, rate, slots, findings) - _UNDER_GHOSTS_DB
    return [
        (float(times[i]), float(level))
        for i, level in zip(peaks, levels, strict=True)
        if level > quiet
    ]


def _clear(times: Floats, of: Floats, before: float, after: float) -> NDArray[np.bool_]:
    """Return which times keep clear of others."""
    if not of.size:
        return np.ones(times.size, bool)
    place = np.searchsorted(of, times)
    since = times - np.where(place > 0, of[np.maximum(place - 1, 0)], -np.inf)
    until = np.where(place < of.size, of[np.minimum(place, of.size - 1)], np.inf) - times
    return np.asarray((since > after) & (until > before))


def _quietest(high: Floats, rate: int, slots: Slots, findings: Findings) -> float:
    """Return the usual level of the quietest kind of stroke."""
    groups: dict[Level, list[float]] = {}
    for group in slots.members:
        for stroke in group:
            if findings.state[stroke.index] == HEARD and not findings.covered[stroke.index]:
                groups.setdefault(stroke.level, []).append(float(findings.at[stroke.index]))
    levels = [float(np.median(stroke_levels(high, rate, np.array(g)))) for g in groups.values()]
    return min(levels, default=-60.0)
