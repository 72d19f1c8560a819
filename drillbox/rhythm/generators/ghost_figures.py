"""Figures: which partials are played on which cells of a bar, how loud, and which embellished.

Partials are counted from 0 within their *cell*: one beat (the usual), half a bar, or a whole bar. A
set of partials on every beat of the bar is the ghost-note vocabulary; there are 2^n - 1 non-empty
sets of n partials.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import combinations
from typing import TYPE_CHECKING

from drillbox.errors import UsageError
from drillbox.rhythm.pattern import Pattern
from drillbox.rhythm.stroke import TICKS, Level, Ornament, Stroke, Voice

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

    from drillbox.rhythm.meter import Meter

__all__ = ["Figure", "bar_of", "covering", "figures", "partial_sets"]


@dataclass(frozen=True, slots=True)
class Figure:
    """A set of partials on some cells of a bar.

    Parameters
    ----------
    slots
        Partials per beat.
    partials
        The set, from 0 within the cell, in order.
    cell
        Beats in a cell.
    cells
        The cells that have it, from 0; empty for all of the bar.
    level
        How loud.
    ornament, embellished
        The ornament, and the partials of the set that have it.
    """

    slots: int
    partials: tuple[int, ...]
    cell: int = 1
    cells: tuple[int, ...] = ()
    level: Level = Level.GHOST
    ornament: Ornament = Ornament.NONE
    embellished: tuple[int, ...] = ()

    def places(self, meter: Meter) -> Iterator[tuple[int, int]]:
        """Yield beat (from 0) and cell partial of every stroke in one bar."""
        count, rest = divmod(meter.beats, self.cell)
        if rest or any(cell >= count for cell in self.cells):
            raise UsageError(
                f"a bar of {meter} has no such cells of {self.cell} beats",
                fix="choose cells that fill the bar",
            )
        for cell in self.cells or range(count):
            for partial in self.partials:
                yield cell * self.cell + partial // self.slots, partial

    def strokes(self, meter: Meter, voice: Voice) -> Iterator[tuple[int, Stroke]]:
        """Yield every stroke in one bar after its cell partial."""
        for beat, partial in self.places(meter):
            ornament = self.ornament if partial in self.embellished else Ornament.NONE
            slot = beat * self.slots + partial % self.slots
            yield partial, _stroke(slot, self.slots, voice, self.level, ornament)


@lru_cache(maxsize=4096)
def _stroke(slot: int, slots: int, voice: Voice, level: Level, ornament: Ornament) -> Stroke:
    """Return a stroke; thousands of cards share a few hundred."""
    return Stroke(Fraction(slot, slots), voice, level, ornament)


def partial_sets(
    partials: Sequence[int], counts: Collection[int] | None = None
) -> Iterator[tuple[int, ...]]:
    """Yield every non-empty set of partials, by size and then by place.

    Parameters
    ----------
    partials
        What to choose from, in order.
    counts
        Only sets of these sizes; all where it is None.
    """
    for count in range(1, len(partials) + 1):
        if counts is None or count in counts:
            yield from combinations(partials, count)


def covering(partials: tuple[int, ...], which: str = "all") -> Iterator[tuple[int, ...]]:
    """Yield which partials of a set to embellish.

    Parameters
    ----------
    partials
        The set.
    which
        ``all`` of them together, ``one`` after the other, or ``some``: every non-empty part of the
        set.
    """
    if which == "all":
        yield partials
    else:
        yield from partial_sets(partials, {1} if which == "one" else None)


def figures(
    slots: int,
    *,
    cell: int = 1,
    counts: Collection[int] | None = None,
    level: Level = Level.GHOST,
    ornament: Ornament = Ornament.NONE,
    which: str = "all",
) -> Iterator[Figure]:
    """Yield every figure of a grid on every cell of the bar.

    Parameters
    ----------
    slots
        Partials per beat.
    cell
        Beats in a cell.
    counts
        Sizes of the sets; None for all.
    level
        How loud.
    ornament, which
        The ornament and, as in `covering`, which partials have it.
    """
    for partials in partial_sets(range(slots * cell), counts):
        choices = covering(partials, which) if ornament is not Ornament.NONE else [()]
        for embellished in choices:
            yield Figure(
                slots, partials, cell, level=level, ornament=ornament, embellished=embellished
            )


def bar_of(meter: Meter, parts: Sequence[Figure], voice: Voice = Voice.SNARE) -> Pattern:
    """Return one bar with figures and nothing else; later figures yield where two strokes meet.

    Beats without a stroke have the first figure's grid.
    """
    grids = [parts[0].slots] * meter.beats
    strokes: dict[int, Stroke] = {}
    for part in parts:
        for _, stroke in part.strokes(meter, voice):
            grids[stroke.tick // TICKS] = part.slots
            strokes.setdefault(stroke.tick, stroke)
    return Pattern(meter, tuple(grids), tuple(strokes.values()))
