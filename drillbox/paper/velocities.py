"""Telling ghosts, plain strokes and accents apart by their velocities.

General MIDI fixes no velocities, so a file's own are taken as they come: sorted, cut at the widest
gaps into two or three clusters, and the clusters named from soft to loud. Velocities as drillbox
writes them are taken for exactly what they are.
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import TYPE_CHECKING

from drillbox.paper.music_in_file import Cluster
from drillbox.rhythm import Level

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["clusters", "level_of"]

_GAP = 16
"""Velocities between two clusters at least (judgement; a player's own spread is about 10)."""
_SOFT, _LOUD = 50, 100
"""Below is a ghost, from there an accent, where the clusters do not tell (judgement)."""


def clusters(velocities: Sequence[int]) -> tuple[Cluster, ...]:
    """Return the levels of some velocities, from soft to loud."""
    counted = Counter(velocities)
    own = {level.velocity: level for level in Level}
    if counted.keys() <= own.keys():
        return tuple(
            Cluster(own[velocity], velocity, velocity, counted[velocity])
            for velocity in sorted(counted)
        )
    runs: list[list[int]] = []
    for velocity in sorted(counted):
        if runs and velocity - runs[-1][-1] < _GAP:
            runs[-1].append(velocity)
        else:
            runs.append([velocity])
    while len(runs) > 3:
        gaps = [after[0] - before[-1] for before, after in pairwise(runs)]
        closest = gaps.index(min(gaps))
        runs[closest : closest + 2] = [runs[closest] + runs[closest + 1]]
    levels = _named(
        [sum(v * counted[v] for v in run) / sum(counted[v] for v in run) for run in runs]
    )
    return tuple(
        Cluster(level, run[0], run[-1], sum(counted[v] for v in run))
        for level, run in zip(levels, runs, strict=True)
    )


def _named(centres: Sequence[float]) -> list[Level]:
    """Return the levels of clusters by their centres."""
    if len(centres) == 3:
        return [Level.GHOST, Level.PLAIN, Level.ACCENT]
    if len(centres) == 1:
        return [Level.GHOST if centres[0] < _SOFT else Level.PLAIN]
    low, high = centres
    if low >= _SOFT:
        return [Level.PLAIN, Level.ACCENT]
    return [Level.GHOST, Level.ACCENT if high >= _LOUD else Level.PLAIN]


def level_of(found: Sequence[Cluster], velocity: int) -> Level:
    """Return the level whose cluster a velocity belongs to, or is nearest to."""
    near = min(found, key=lambda c: max(c.low - velocity, velocity - c.high, 0))
    return near.level
