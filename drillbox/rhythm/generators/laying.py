"""Laying figures over a base, and finding what makes no sense there.

The louder stroke stays where two meet, as everywhere. A ghost that gives way on some beats is heard
on the others; one that would give way on all of them is not there at all, and then the figure is
another one's twin: such figures are refused with a reason.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from drillbox.errors import UsageError
from drillbox.rhythm.grid import syllable
from drillbox.rhythm.pattern import Pattern, beat_place, laid_over
from drillbox.rhythm.stroke import TICKS, Voice

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from drillbox.rhythm.generators.ghost_figures import Figure
    from drillbox.rhythm.stroke import Stroke

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
        A groove or a stream of strokes, any number of bars; its own voice at a place counts as
        already struck.
    parts
        Figures that share a bar.
    voice
        What the figures strike.
    """
    bar = base.meter.beats * TICKS
    struck = {
        stroke.tick % bar: stroke.level.loudness for stroke in base.strokes if stroke.voice is voice
    }
    grids = list(base.grids)
    strokes: dict[int, Stroke] = {}
    for part in parts:
        heard: dict[int, bool] = {}
        loudness = part.level.loudness
        for partial, stroke in part.strokes(base.meter, voice):
            tick = stroke.tick
            heard[partial] = heard.get(partial, False) or struck.get(tick, -1) < loudness
            strokes.setdefault(tick, stroke)
            for beat in range(tick // TICKS, base.beats, base.meter.beats):
                grids[beat] = part.slots
        if not all(heard.values()):
            lost = next(partial for partial, survives in heard.items() if not survives)
            return Laid(None, _lost(base, part, lost, voice))
    try:
        return Laid(laid_over(base, grids, _in_every_bar(strokes.values(), base)))
    except UsageError as error:
        return Laid(None, f"{error.what}; {error.fix}")


def _in_every_bar(strokes: Iterable[Stroke], base: Pattern) -> Iterable[Stroke]:
    if base.bars == 1:
        return strokes
    starts = range(0, base.beats, base.meter.beats)
    return [replace(stroke, at=stroke.at + start) for start in starts for stroke in strokes]


def _lost(base: Pattern, part: Figure, partial: int, voice: Voice) -> str:
    strokes = part.strokes(base.meter, voice)
    first = next(stroke for at, stroke in strokes if at == partial)
    beat, offset = beat_place(first.at)
    return f"the {part.level} on {beat + 1}{syllable(offset, part.slots)} falls on a louder {voice}"
