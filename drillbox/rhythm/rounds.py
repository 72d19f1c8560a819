"""How a line goes down the kit: which drum has which of its strokes."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.rhythm.stroke import Voice

__all__ = ["down_the_drums"]

_PAIR = 2


def down_the_drums(drums: Sequence[Voice], strokes: int) -> tuple[Voice, ...]:
    """Return the drum of each stroke of a line that goes from the first drum to the last.

    A stroke to a drum as far as the drums suffice. Where there are more strokes than drums, two to
    each, so that with alternating hands every drum begins with the same hand and no arm crosses the
    other. Pairs that are over stay on the first drum (common practice, no source).
    """
    if strokes <= len(drums):
        return tuple(drums[:strokes])
    pairs = [drum for drum in drums for _ in range(_PAIR)]
    pairs_over = max(0, ceil((strokes - len(pairs)) / _PAIR))
    return tuple([drums[0]] * _PAIR * pairs_over + pairs)[:strokes]
