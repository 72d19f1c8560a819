"""Strokes at any time, put on grids: which grid each beat has, and what was moved by how much.

Each beat takes the grid that explains its strokes best. A grid explains a stroke by its distance to
the nearest place, in units of the player's unevenness, and costs the more the more places it has,
so that thirty-seconds have to be earned. Two equal strokes of one voice, the second half-way to the
next partial, can be one double: they are, where the grid would otherwise have to be twice as fine.

Notes
-----
A beat's cost under a grid of n places is, over its strokes, ``d^2 / (2 s^2) + ln n``, d the
distance and s the unevenness, plus a constant for the less usual grids: the negative logarithm of a
normal distance to a place chosen evenly among n. 12 ms of unevenness is a good player's (value from
memory).
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import log
from typing import TYPE_CHECKING

from drillbox.paper.music_in_file import embellished
from drillbox.rhythm import Ornament, Stroke, grid_names, syllables
from drillbox.rhythm.stroke import TICKS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from drillbox.paper.music_in_file import BarFrame, StrokeInFile
    from drillbox.rhythm import Meter

__all__ = ["Moved", "WrittenBar", "written_bars"]

_UNEVEN_SECONDS = 0.012
_USUAL_BPM = 100.0
_LEAST_UNEVEN, _MOST_UNEVEN = 0.008, 0.05
_UNUSUAL = {1: 0.0, 2: 0.0, 4: 0.0, 3: 1.5, 6: 3.0, 8: 3.0}
"""What a grid costs by its partials a quarter: sixteenths are the usual one (judgement)."""
_EXACT = Fraction(1, 400)
"""Beats; less is the rounding of ticks and no move."""
_WRITTEN_SHARE, _WRITTEN_UNEVEN = 0.9, 0.004
_A_DOUBLE = 1.0
_MAY_DOUBLE = (4, 6)
"""Partials a quarter that may be doubled when nothing says so; faster hands are rare."""


@dataclass(frozen=True, slots=True)
class Moved:
    """A stroke that was moved: its bar from 1, its beat from 1, and how far, in beats."""

    bar: int
    beat: int
    stroke: Stroke
    by: Fraction


@dataclass(frozen=True, slots=True)
class WrittenBar:
    """A bar on its grids.

    Parameters
    ----------
    frame
        The bar as read.
    grids
        Slots per beat.
    strokes
        Places in beats from the bar's start.
    moved
        The strokes that were not exactly on their places.
    clashes
        Strokes that fell on one place with another of their voice; the louder one stayed.
    """

    frame: BarFrame
    grids: tuple[int, ...]
    strokes: tuple[Stroke, ...]
    moved: tuple[Moved, ...]
    clashes: int


def written_bars(
    bars: Sequence[BarFrame],
    strokes: Iterable[StrokeInFile],
    *,
    bpm: float | None,
    tell_doubles: bool,
) -> tuple[WrittenBar, ...]:
    """Return bars with their strokes on grids.

    Parameters
    ----------
    bars
        The frames, in order, without gaps.
    strokes
        What was read, by time. What falls on the beat after the last bar begins the first bar anew,
        since what is read here is repeated.
    bpm
        The tempo in quarters a minute, for how far an uneven player strays; None if unknown.
    tell_doubles
        Whether two equal strokes may be one double.
    """
    strokes = tuple(strokes)
    uneven = _unevenness(strokes, bpm)
    beats = [(number, beat) for number, bar in enumerate(bars) for beat in range(bar.meter.beats)]
    starts = [bars[number].start + beat * bars[number].beat for number, beat in beats]
    filling = [_Filling(bar) for bar in bars]
    by_beat = _by_beat(strokes, starts)
    for index, (number, _) in enumerate(beats):
        bar = bars[number]
        found = [(at / bar.beat, heard) for at, heard in by_beat.get(index, ())]
        slots, read = _best(bar.meter, found, uneven / float(bar.beat), tell_doubles=tell_doubles)
        filling[number].grids.append(slots)
        for at, place, heard in read:
            later, offset = divmod(place, 1)
            there, beat = beats[(index + int(later)) % len(beats)]
            stroke = Stroke(beat + offset, heard.voice, heard.level, heard.ornament, heard.hand)
            filling[there].put(stroke)
            if abs(at - place) > _EXACT:
                filling[there].moved.append(Moved(there + 1, beat + 1, stroke, place - at))
    return tuple(each.written() for each in filling)


def _unevenness(strokes: Sequence[StrokeInFile], bpm: float | None) -> float:
    """Return how far strokes stray from their places, in quarters.

    A file that was written on a grid, not played, shows it: nearly all stand on parts of a quarter.
    """
    away = (abs(heard.at * TICKS - round(heard.at * TICKS)) for heard in strokes)
    if sum(far <= TICKS * _EXACT for far in away) >= _WRITTEN_SHARE * len(strokes):
        return _WRITTEN_UNEVEN
    uneven = _UNEVEN_SECONDS * (bpm or _USUAL_BPM) / 60
    return min(max(uneven, _LEAST_UNEVEN), _MOST_UNEVEN)


@dataclass(slots=True)
class _Filling:
    """A bar while its strokes are put in."""

    bar: BarFrame
    grids: list[int] = field(default_factory=list)
    placed: dict[int, Stroke] = field(default_factory=dict)
    moved: list[Moved] = field(default_factory=list)
    clashes: int = 0

    def put(self, stroke: Stroke) -> None:
        """Put a stroke in; of two on one place the louder one stays."""
        rival = self.placed.get(stroke.order)
        self.clashes += rival is not None
        if rival is None or rival.level.loudness < stroke.level.loudness:
            self.placed[stroke.order] = stroke

    def written(self) -> WrittenBar:
        """Return the bar; a stroke moved over a beat line may need another grid than chosen."""
        strokes = tuple(self.placed[order] for order in sorted(self.placed))
        grids = tuple(
            _holding(self.bar.meter, slots, [s for s in strokes if int(s.at) == beat])
            for beat, slots in enumerate(self.grids)
        )
        return WrittenBar(self.bar, grids, strokes, tuple(self.moved), self.clashes)


def _by_beat(
    strokes: Iterable[StrokeInFile], starts: Sequence[Fraction]
) -> dict[int, list[tuple[Fraction, StrokeInFile]]]:
    """Sort strokes into beats, each with its distance from the beat's start in quarters."""
    found: dict[int, list[tuple[Fraction, StrokeInFile]]] = {}
    for heard in strokes:
        index = max(bisect_right(starts, heard.at) - 1, 0)
        found.setdefault(index, []).append((heard.at - starts[index], heard))
    return found


def _holding(meter: Meter, slots: int, strokes: Sequence[Stroke]) -> int:
    """Return the grid, or the first other one, that has the places of all strokes of a beat."""
    needed = {stroke.at % 1 for stroke in strokes}
    candidates = (slots, *grid_names(meter).values())
    return next(n for n in candidates if needed <= set(syllables(n).values()))


_Read = list[tuple[Fraction, Fraction, "StrokeInFile"]]


def _best(
    meter: Meter,
    found: Sequence[tuple[Fraction, StrokeInFile]],
    uneven: float,
    *,
    tell_doubles: bool,
) -> tuple[int, _Read]:
    """Return the grid that explains a beat best, with each stroke's place before and after."""
    usual = grid_names(meter)["16"]
    if not found:
        return usual, []
    best: tuple[float, int, _Read] | None = None
    finest = [slots for slots in grid_names(meter).values() if slots % 2 or slots >= usual]
    for slots in finest:
        for doubles in (False, True):
            partials = slots * meter.unit // 4
            if doubles and not (tell_doubles and partials in _MAY_DOUBLE):
                continue
            cost, read = _read(found, slots, uneven, doubles=doubles)
            cost += _UNUSUAL[partials]
            if best is None or cost < best[0] - 1e-9:
                best = cost, slots, read
    return (usual, []) if best is None else best[1:]


def _read(
    found: Sequence[tuple[Fraction, StrokeInFile]], slots: int, uneven: float, *, doubles: bool
) -> tuple[float, _Read]:
    """Return what a beat's strokes cost under a grid, and where they go."""
    places = (*syllables(slots).values(), Fraction(1))
    half = Fraction(1, 2 * slots)
    double = embellished(even=2)
    read: _Read = []
    cost = 0.0
    for at, heard in found:
        place = min(places, key=lambda p: abs(p - at))
        if doubles and double is not None:
            first = _first_of_double(read, heard, at, half)
            if first is not None:
                was, there, one = read[first]
                away = float(at - there - half)
                if abs(away) < abs(float(at - place)):
                    cost += away**2 / (2 * uneven**2) + _A_DOUBLE
                    read[first] = was, there, replace(one, ornament=double)
                    continue
        away = float(at - place)
        cost += away**2 / (2 * uneven**2) + log(len(places) - 1)
        read.append((at, place, heard))
    return cost, read


def _first_of_double(read: _Read, heard: StrokeInFile, at: Fraction, half: Fraction) -> int | None:
    """Return which stroke a stroke may be the second half of."""
    for index in range(len(read) - 1, -1, -1):
        _, there, one = read[index]
        if one.voice is heard.voice:
            near = abs(at - there - half) < half / 2
            alike = one.level is heard.level and one.ornament is Ornament.NONE
            plain = heard.ornament is Ornament.NONE
            return index if near and alike and plain else None
    return None
