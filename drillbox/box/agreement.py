"""Whether what is kept of cards and what a replay says of them are the same numbers.

Two machines may round the last bits differently, so a difference is one that could be heard of.
"""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from drillbox.store import BeliefRow

    Floats = NDArray[np.float64]

LAST_BITS = 1e-9
"""Numbers that differ by no more than this share, or by no more than this, are the same."""
_BYTES = 8


def differing(kept: Sequence[BeliefRow], anew: Sequence[BeliefRow]) -> frozenset[str]:
    """Return the cards of which any number differs between two rows.

    Parameters
    ----------
    kept, anew
        A row of each card, in the same order, its days whole numbers of eight bytes.
    """
    mine, theirs = (list(map(_numbers, rows)) for rows in (kept, anew))
    long = [k for k in range(len(kept)) if len(mine[k]) == len(theirs[k])]
    a, b = (np.frombuffer(b"".join(rows[k] for k in long), "<f8") for rows in (mine, theirs))
    ends = np.cumsum([len(mine[k]) // _BYTES for k in long])
    wrong = np.searchsorted(ends, np.flatnonzero(~_same(a, b)), "right").tolist()
    same = set(long) - {long[place] for place in wrong}
    return frozenset(row.card_id for k, row in enumerate(kept) if k not in same)


def _same(a: Floats, b: Floats) -> NDArray[np.bool_]:
    same: NDArray[np.bool_] = (a == b) | (np.isnan(a) & np.isnan(b))
    both = np.isfinite(a) & np.isfinite(b)
    size = np.maximum(np.abs(a[both]), np.abs(b[both]))
    same[both] |= np.abs(a[both] - b[both]) <= LAST_BITS * np.maximum(1.0, size)
    return same


def _numbers(row: BeliefRow) -> bytes:
    return struct.pack(f"<{len(row.body)}d", *row.body) + row.days
