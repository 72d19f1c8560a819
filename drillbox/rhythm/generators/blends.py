"""Blends of patterns, and patterns moved against their groove.

A blend goes from one pattern to another and back: bar by bar, half bar by half bar, or beat by
beat. A displacement moves one voice by partials and leaves the others where they are; by a whole
bar it is what it was.
"""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from drillbox.errors import UsageError
from drillbox.rhythm.pattern import Pattern, repeated

if TYPE_CHECKING:
    from collections.abc import Iterator

    from drillbox.rhythm.stroke import Voice

__all__ = ["Blend", "blend", "displaced", "displacements"]


class Blend(StrEnum):
    """How two patterns take turns."""

    BARS = "bar by bar"
    HALVES = "half bar by half bar"
    BEATS = "beat by beat"

    def span(self, pattern: Pattern) -> int:
        """Return the beats of one turn.

        The first half of an odd bar is its first groups, at least half the bar.
        """
        beats = pattern.meter.beats
        if self is Blend.BEATS:
            return 1
        if self is Blend.BARS:
            return beats
        if beats % 2 == 0:
            return beats // 2
        length = 0
        for group in pattern.meter.groups:
            length += group
            if 2 * length >= beats:
                break
        return length


def blend(first: Pattern, second: Pattern, way: Blend) -> Pattern:
    """Return a pattern that takes turns between two.

    Bar by bar has all bars of the first and then all of the second. Otherwise every bar takes its
    odd turns from the first and its even turns from the second; one that is shorter is repeated.

    Raises
    ------
    UsageError
        If the meters differ, or the feels.
    """
    if first.meter != second.meter:
        raise UsageError(
            f"a bar of {first.meter} and one of {second.meter} make no blend",
            fix="blend patterns of one meter",
        )
    if first.swing != second.swing:
        raise UsageError(
            "a swung pattern and one that is not make no blend", fix="blend patterns of one feel"
        )
    if way is Blend.BARS:
        moved = tuple(replace(stroke, at=stroke.at + first.beats) for stroke in second.strokes)
        return replace(first, grids=first.grids + second.grids, strokes=first.strokes + moved)
    bars = max(first.bars, second.bars)
    both = (repeated(first, bars), repeated(second, bars))
    length, span = first.meter.beats, way.span(first)
    turn = [beat % length // span % 2 for beat in range(bars * length)]
    strokes = tuple(
        stroke
        for side, pattern in enumerate(both)
        for stroke in pattern.strokes
        if turn[stroke.at.numerator // stroke.at.denominator] == side
    )
    grids = tuple(both[side].grids[beat] for beat, side in enumerate(turn))
    return replace(first, grids=grids, strokes=strokes)


def displaced(pattern: Pattern, by: Fraction, voice: Voice | None = None) -> Pattern:
    """Return a pattern with one voice, or all of them, later by some beats, round the repeat.

    Raises
    ------
    UsageError
        If a stroke would stand off its beat's grid.
    """
    return replace(
        pattern,
        strokes=tuple(
            replace(stroke, at=(stroke.at + by) % pattern.beats)
            if voice in (None, stroke.voice)
            else stroke
            for stroke in pattern.strokes
        ),
    )


def displacements(
    pattern: Pattern, slots: int, voice: Voice | None = None
) -> Iterator[tuple[int, Pattern]]:
    """Yield the pattern later by 1, 2, 3.

    Partials of a grid, to one short of where it is itself again.
    """
    for partials in range(1, pattern.beats * slots):
        moved = displaced(pattern, Fraction(partials, slots), voice)
        if moved == pattern:
            return
        yield partials, moved
