"""Places of a take at which one or more sticks come down together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from drillbox.ear.looks import Kind
from drillbox.rhythm import Level, Part

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from numpy.typing import NDArray

    from drillbox.ear.expected import Expected

_LOOKS_APART = (Part.BUZZ, Part.GRACE)
_BREATH = 0.015
_LOUDNESS = {Level.GHOST: 0.0, Level.TAP: 0.25, Level.PLAIN: 0.5, Level.ACCENT: 1.0}


@dataclass(frozen=True, slots=True)
class Slots:
    """The places in order of time.

    Attributes
    ----------
    nominal
        Seconds from the first beat, shape (slots,).
    partial
        Number of the place within its pass, shape (slots,).
    members
        Of each slot, the expected strokes.
    kinds
        All kinds of stroke there are.
    of_slot
        Of each slot, its members' kinds as numbers.
    """

    nominal: NDArray[np.float64]
    partial: NDArray[np.int64]
    members: tuple[tuple[Expected, ...], ...]
    kinds: tuple[Kind, ...]
    of_slot: tuple[tuple[int, ...], ...]

    def loudness(self) -> NDArray[np.float64]:
        """Return how loud each slot is meant, 0 (ghosts alone) to 1 (an accent)."""
        return np.array([max(map(_loudness, group)) for group in self.members])

    def loudest(self) -> NDArray[np.bool_]:
        """Return which slots are meant as loud as any."""
        loudness = self.loudness()
        return np.asarray(loudness >= loudness.max())

    def graces(self) -> NDArray[np.bool_]:
        """Return which slots are grace notes."""
        return np.array([group[0].part is Part.GRACE for group in self.members])

    def lead(self) -> NDArray[np.float64]:
        """Return how long before each slot its first grace note stands, and a breath; else 0."""
        lead = np.zeros(self.nominal.size)
        graces = self.graces()
        for slot in range(1, lead.size):
            before = slot
            while before > 0 and graces[before - 1] and not graces[slot]:
                before -= 1
            if before < slot:
                lead[slot] = self.nominal[slot] - self.nominal[before] + _BREATH
        return lead

    def only(self, number: int) -> NDArray[np.int64]:
        """Return the slots at which a kind is struck by itself."""
        return np.array([i for i, kinds in enumerate(self.of_slot) if kinds == (number,)], int)

    def having(self, number: int) -> NDArray[np.int64]:
        """Return the slots at which a kind is struck, by itself or not."""
        return np.array([i for i, kinds in enumerate(self.of_slot) if number in kinds], int)


def slots_of(strokes: Sequence[Expected]) -> Slots:
    """Gather the strokes that should come together."""
    groups: dict[float, list[Expected]] = {}
    for stroke in strokes:
        groups.setdefault(round(stroke.seconds, 6), []).append(stroke)
    members = tuple(tuple(group) for _, group in sorted(groups.items()))
    kinds = tuple(sorted({kind_of(stroke) for stroke in strokes}))
    places = sorted({_partial(group[0]) for group in members})
    return Slots(
        np.array(sorted(groups)),
        np.array([places.index(_partial(group[0])) for group in members], int),
        members,
        kinds,
        tuple(tuple(kinds.index(kind_of(s)) for s in group) for group in members),
    )


def kind_of(stroke: Expected) -> Kind:
    """Return what a stroke looks like."""
    how = stroke.part if stroke.part in _LOOKS_APART else Part.STROKE
    return Kind(stroke.voice, stroke.level, how)


def _partial(stroke: Expected) -> tuple[Fraction, bool]:
    # A grace and its stroke share a place.
    return stroke.place, stroke.part is not Part.GRACE


def _loudness(stroke: Expected) -> float:
    return _LOUDNESS[stroke.level] * (0.5 if stroke.voice.is_cymbal else 1.0)
