"""Laying figures over a base, and finding what makes no sense there.

The louder stroke stays where two meet, as everywhere. A ghost that gives way on some beats is heard on the others; one
that would give way on all of them is not there at all, and then the figure is another one's twin: such figures are
refused with a reason.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.errors import UsageError
from drillbox.rhythm.generators.figures import bar_of
from drillbox.rhythm.grid import syllable
from drillbox.rhythm.pattern import Pattern, beat_place, overlay
from drillbox.rhythm.stroke import Voice

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.rhythm.generators.figures import Figure

__all__ = ["Laid", "lay"]


@dataclass(frozen=True, slots=True)
class Laid:
    """A figure over a base: the pattern, or the reason why there is none."""

    pattern: Pattern | None
    reason: str = ""


def lay(base: Pattern, parts: Sequence[Figure], voice: Voice = Voice.SNARE) -> Laid:
    """Lay figures over a base.

    Parameters
    ----------
    base
        A groove or a stream of strokes, any number of bars; its own voice at a place counts as already struck.
    parts
        Figures that share a bar.
    voice
        What the figures strike.
    """
    struck = {
        stroke.at % base.meter.beats: stroke.level.loudness
        for stroke in base.strokes
        if stroke.voice is voice
    }
    for part in parts:
        heard: dict[int, bool] = {}
        for partial, stroke in part.strokes(base.meter, voice):
            yields = struck.get(stroke.at, -1) >= part.level.loudness
            heard[partial] = heard.get(partial, False) or not yields
        lost = next((partial for partial, survives in heard.items() if not survives), None)
        if lost is not None:
            return Laid(None, _lost(base, part, lost, voice))
    try:
        return Laid(overlay(base, bar_of(base.meter, parts, voice)))
    except UsageError as error:
        return Laid(None, f"{error.what}; {error.fix}")


def _lost(base: Pattern, part: Figure, partial: int, voice: Voice) -> str:
    strokes = part.strokes(base.meter, voice)
    first = next(stroke for at, stroke in strokes if at == partial)
    beat, offset = beat_place(first.at)
    return f"the {part.level} on {beat + 1}{syllable(offset, part.slots)} falls on a louder {voice}"
