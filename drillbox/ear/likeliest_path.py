"""The likeliest way through all slots of a take: each takes one of its candidates, or none.

Conventions: seconds of the recording; slots in order of time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.ear.looks import Columns, Floats

_APART = 0.018
"""Two strokes lie at least this far apart."""
_MOST_CANDIDATES = 6
_PATHS = 10


class Candidate(NamedTuple):
    """A column at which a slot's stroke may stand."""

    at: float
    score: float
    evidence: float
    gain: float
    column: int


def peaks(
    times: Floats, score: Floats, found: Floats, gain: Floats, columns: Columns
) -> list[Candidate]:
    """Return a slot's best candidates in order of time."""
    peak = (score >= np.roll(score, 1)) & (score > np.roll(score, -1)) & np.isfinite(score)
    places = np.flatnonzero(peak)
    places = places[np.argsort(-score[places])][:_MOST_CANDIDATES]
    return [
        Candidate(
            float(times[i]), float(score[i]), float(found[i]), float(gain[i]), int(columns[i])
        )
        for i in sorted(places)
    ]


class _Path(NamedTuple):
    score: float
    last: float
    before: _Path | None
    pick: int


def likeliest(
    candidates: Sequence[Sequence[Candidate]], needed: Floats, *, apart: float = _APART
) -> list[int]:
    """Return which candidate each slot takes, -1 for none (Viterbi 1967).

    A candidate costs the evidence that its slot needs, and must come so many
    seconds after the one before or later.
    """
    paths = [_Path(0.0, -np.inf, None, -1)]
    for row, threshold in zip(candidates, needed, strict=True):
        longer = [_Path(path.score, path.last, path, -1) for path in paths]
        for pick, candidate in enumerate(row):
            before = [path for path in paths if candidate.at - path.last >= apart]
            if before:
                best = max(before, key=lambda path: path.score)
                score = best.score + candidate.score - threshold
                longer.append(_Path(score, candidate.at, best, pick))
        paths = _undominated(longer)
    path: _Path | None = max(paths, key=lambda each: each.score)
    picks = []
    while path is not None and path.before is not None:
        picks.append(path.pick)
        path = path.before
    return picks[::-1]


def _undominated(paths: list[_Path]) -> list[_Path]:
    """Drop paths that neither score better nor end earlier than another."""
    kept: list[_Path] = []
    for path in sorted(paths, key=lambda each: -each.score):
        if not kept or path.last < kept[-1].last:
            kept.append(path)
    return kept[:_PATHS]
