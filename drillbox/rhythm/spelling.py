"""Writing the spoken notation: the one canonical text of a pattern.

The counterpart of `notation`: reading what is written here gives the same pattern back. Defaults
(4/4, sixteenths) are left out, a syllable that comes on every beat is written once, and a line that
is the same in every bar is written for one bar.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from drillbox.rhythm.embellishments import EMBELLISHMENTS, LEVELS
from drillbox.rhythm.grid import grid_name, syllable, syllables
from drillbox.rhythm.pattern import beat_place
from drillbox.rhythm.stroke import Voice

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.rhythm.meter import Meter
    from drillbox.rhythm.pattern import Pattern
    from drillbox.rhythm.stroke import Stroke

__all__ = ["spell"]


def spell(pattern: Pattern) -> str:
    """Return the pattern in the spoken notation, one line a voice; each line ends with a line feed.

    ``parse(spell(pattern)) == pattern`` for every pattern.
    """
    meter = pattern.meter
    voices = [
        (voice, _bars(_voice_bars(pattern, voice)))
        for voice in Voice
        if any(stroke.voice is voice for stroke in pattern.strokes)
    ]
    lines = [] if str(meter) == "4/4" else [f"meter: {meter}"]
    must_show = pattern.bars > 1 and not any("|" in text for _, text in voices)
    grid = _grid(pattern, bar_by_bar=must_show)
    lines += [] if grid == "16" else [f"grid: {grid}"]
    if pattern.swing is not None:
        pairs = grid_name(meter, int(2 / pattern.swing.pair))
        lines.append(f"swing: {pairs} {pattern.swing.ratio}")
    lines += [f"{voice}: {text}" for voice, text in voices]
    return "".join(f"{line}\n" for line in lines)


def _bars(bars: Sequence[str], *, bar_by_bar: bool = False) -> str:
    if len(set(bars)) == 1 and not bar_by_bar:
        return bars[0]
    return " | ".join(bars).strip()


def _grid(pattern: Pattern, *, bar_by_bar: bool) -> str:
    beats = pattern.meter.beats
    bars = [
        _grid_bar(pattern.meter, pattern.grids[first : first + beats])
        for first in range(0, pattern.beats, beats)
    ]
    return _bars(bars, bar_by_bar=bar_by_bar)


def _grid_bar(meter: Meter, grids: Sequence[int]) -> str:
    names = [grid_name(meter, slots) for slots in grids]
    return names[0] if len(set(names)) == 1 else " ".join(names)


def _voice_bars(pattern: Pattern, voice: Voice) -> list[str]:
    length = pattern.meter.beats
    strokes = [stroke for stroke in pattern.strokes if stroke.voice is voice]
    bars = {bar: list(group) for bar, group in groupby(strokes, lambda s: s.at // length)}
    return [
        _bar(bars.get(bar, []), bar * length, pattern.grids[bar * length : (bar + 1) * length])
        for bar in range(pattern.bars)
    ]


def _bar(strokes: Sequence[Stroke], first: int, grids: Sequence[int]) -> str:
    """Write one bar of one voice, in order of time."""
    placed: dict[tuple[str, str, str], list[int]] = {}
    for stroke in strokes:
        beat, offset = beat_place(stroke.at - first)
        opening, closing = _marks(stroke)
        placed.setdefault((opening, syllable(offset, grids[beat]), closing), []).append(beat)
    tokens: list[str] = []
    for stroke in strokes:
        beat, offset = beat_place(stroke.at - first)
        opening, closing = _marks(stroke)
        name = syllable(offset, grids[beat])
        beats = placed[opening, name, closing]
        able = [other for other, slots in enumerate(grids) if name in syllables(slots)]
        if len(able) > 1 and beats == able:
            if beat == beats[0]:
                tokens.append(f"{opening}{name or 'beat'}{closing}")
        else:
            tokens.append(f"{opening}{beat + 1}{name}{closing}")
    return " ".join(tokens)


def _marks(stroke: Stroke) -> tuple[str, str]:
    """Return what stands before and after the place in a stroke's token."""
    level = LEVELS[stroke.level]
    return (
        f"{level.opening}{EMBELLISHMENTS[stroke.ornament].sign}{stroke.hand or ''}",
        level.closing,
    )
