"""Whole logs as the memory reads them, in columns."""

from __future__ import annotations

import numpy as np

from drillbox.memory.replay_columns import Takes


def some_takes(seed: int, cards: int, takes: int) -> Takes:
    """Return a log in the order of time: some of it on one day, some with the clock set back.

    And some without the player's level.
    """
    rng = np.random.default_rng(seed)
    at = 20000.0 + np.sort(rng.uniform(0.0, 300.0, takes)) - (rng.random(takes) < 0.05) * 2.0
    level = np.cumsum(rng.normal(0.0, 0.005, takes))
    level[rng.random(takes) < 0.1] = np.nan
    return Takes.of(
        rng.integers(0, cards, takes),
        at,
        739163 + np.floor(at).astype(np.int64),
        rng.uniform(4.0, 250.0, takes),
        rng.integers(-2, 3, takes),
        level,
        level + 0.001,
        rng.random(takes) < 0.3,
    )
