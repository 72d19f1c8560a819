"""The least point of a smooth cost of a few numbers, by Newton's method on differences.

The cost is asked at many points at once, so a round costs little more than one asking: the place
itself, a step each way along each axis, and a step along each two. They give slope and curvature;
where the cost bends downwards, the step takes the bend's size and goes down all the same.

Reference: J. Nocedal and S. J. Wright, *Numerical Optimization*, 2nd ed. (2006), chapter 3, on
Newton's method with the Hessian's eigenvalues modified, and chapter 8 on differences.
"""

from __future__ import annotations

from itertools import combinations
from math import inf
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

APART = 0.1
"""How far from the place the points lie."""
FARTHEST, NEAREST = 0.7, 0.05
"""The longest step along an axis; and a step so short ends the search, for the next would be
shorter by far."""
MOST_ROUNDS = 20


def minimum(costs: Callable[[Floats], Floats], start: Floats, *, bend: float) -> Floats:
    """Return where a cost is least, as far as it is found going down from a start.

    Parameters
    ----------
    costs
        Returns the cost of each of some points: (points, numbers) to (points,).
    start
        Where to begin.
    bend
        The least curvature that is believed: with less a step would lead too far.
    """
    axes = APART * np.eye(len(start))
    pairs = list(combinations(range(len(start)), 2))
    points = np.vstack([0.0 * start, *axes, *-axes, *(axes[i] + axes[j] for i, j in pairs)])
    best, least, step = start, inf, 0.0 * start
    for _ in range(MOST_ROUNDS):
        cost = costs(best + step + points)
        if cost[0] < least and np.isfinite(cost).all():
            best, least = best + step, float(cost[0])
            step = _step(cost, pairs, bend)
            if np.abs(step).max() < NEAREST:
                return best + step
        else:
            step = 0.5 * step
            if np.abs(step).max() < NEAREST:
                break
    return best


def _step(cost: Floats, pairs: list[tuple[int, int]], bend: float) -> Floats:
    """Return the step from the place to where slope and curvature let expect the least cost."""
    n = (len(cost) - 1 - len(pairs)) // 2
    here, up, down, both = cost[0], cost[1 : n + 1], cost[n + 1 : 2 * n + 1], cost[2 * n + 1 :]
    slope = (up - down) / (2.0 * APART)
    curvature = np.diag(up + down - 2.0 * here)
    for (i, j), corner in zip(pairs, both, strict=True):
        curvature[i, j] = curvature[j, i] = corner - up[i] - up[j] + here
    sizes, ways = np.linalg.eigh(curvature / APART**2)
    step = -ways @ ((ways.T @ slope) / np.maximum(np.abs(sizes), bend))
    result: Floats = np.clip(step, -FARTHEST, FARTHEST)
    return result
