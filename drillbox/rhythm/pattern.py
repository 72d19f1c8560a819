"""Patterns: what one card asks to be played, over and over.

A pattern is a whole number of bars in one meter, a grid for every beat, and strokes at exact
places. Two patterns that sound the same are one rhythm, however they were written: `fingerprint`
sees neither the grid nor how often a repeating bar was written out, and it is the identity of a
card for ever. Changing the canonical form would cut every player off from the history, so it
carries a version and must stay as it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from operator import attrgetter
from typing import TYPE_CHECKING

from drillbox.errors import UsageError
from drillbox.rhythm.grid import SLOT_COUNTS, grid_names, syllable, syllables
from drillbox.rhythm.stroke import TICKS, Stroke

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from drillbox.rhythm.meter import Meter
    from drillbox.rhythm.swing import Swing

__all__ = [
    "MAX_BARS",
    "Pattern",
    "beat_place",
    "fingerprint",
    "laid_over",
    "overlay",
    "place_name",
    "repeated",
]

MAX_BARS = 64
_CANONICAL = "drillbox rhythm 1"
_PLACES = {
    slots: frozenset(int(place * TICKS) for place in syllables(slots).values())
    for slots in SLOT_COUNTS
}
_BY_ORDER = attrgetter("order")


@dataclass(frozen=True, slots=True)
class Pattern:
    """Some bars of strokes.

    Parameters
    ----------
    meter
        The meter of every bar.
    grids
        Slots per beat, one for every beat of every bar, in order.
    strokes
        The strokes in any order; kept sorted by time, then from the top of the drawing down.
    swing
        How pairs of partials are felt; None where it is straight. Places are written straight.

    Raises
    ------
    UsageError
        If the bars are not whole or too many, a grid is none of the meter's, or a stroke stands
        outside, off its beat's grid, or twice.
    """

    meter: Meter
    grids: tuple[int, ...]
    strokes: tuple[Stroke, ...]
    swing: Swing | None = None

    def __post_init__(self) -> None:
        bars, rest = divmod(len(self.grids), self.meter.beats)
        if rest or not 1 <= bars <= MAX_BARS:
            raise UsageError(
                f"{len(self.grids)} beats are not 1 to {MAX_BARS} whole bars of {self.meter}",
                fix="give one grid for every beat of every bar",
            )
        known = grid_names(self.meter).values()
        if strange := set(self.grids).difference(known):
            raise UsageError(
                f"{min(strange)} slots a beat is no grid of {self.meter}",
                fix=f"use {', '.join(map(str, known))}",
            )
        object.__setattr__(self, "strokes", tuple(sorted(self.strokes, key=_BY_ORDER)))
        self._check_places()

    def _check_places(self) -> None:
        before: int | None = None
        beats, grids = len(self.grids), self.grids
        for stroke in self.strokes:
            at = stroke.at
            tick, rest = divmod(at.numerator * TICKS, at.denominator)
            beat, over = divmod(tick, TICKS)
            if not 0 <= beat < beats:
                raise UsageError(
                    f"a stroke of the {stroke.voice} at beat {at} is outside {self.beats} beats",
                    fix="count from 0 and stay below the end",
                )
            if rest or over not in _PLACES[grids[beat]]:
                raise UsageError(
                    f"a stroke of the {stroke.voice} at beat {at} is off its grid",
                    fix="give that beat a grid that has this place",
                )
            if stroke.order == before:
                raise UsageError(
                    f"two strokes of the {stroke.voice} at beat {at}", fix="keep one of them"
                )
            before = stroke.order

    @property
    def bars(self) -> int:
        """How many bars it has."""
        return len(self.grids) // self.meter.beats

    @property
    def beats(self) -> int:
        """How many beats it has, all bars together."""
        return len(self.grids)

    def seconds(self, bpm: float) -> float:
        """Return how long one pass lasts at a tempo."""
        return self.beats * self.meter.beat_seconds(bpm)


def repeated(pattern: Pattern, bars: int) -> Pattern:
    """Return the pattern written out over more bars.

    Parameters
    ----------
    pattern
        Some bars.
    bars
        A multiple of its bars.
    """
    times, rest = divmod(bars, pattern.bars)
    if rest or times < 1:
        raise UsageError(f"{pattern.bars} bars cannot fill {bars}", fix="use a multiple")
    if times == 1:
        return pattern
    strokes = tuple(
        replace(stroke, at=stroke.at + turn * pattern.beats)
        for turn in range(times)
        for stroke in pattern.strokes
    )
    return replace(pattern, grids=pattern.grids * times, strokes=strokes)


def fingerprint(pattern: Pattern) -> str:
    """Return the identity of a rhythm: 16 lowercase hexadecimal characters.

    Notes
    -----
    The first 16 characters of the SHA-256 of the canonical form in ASCII: a version line, the
    meter, the fewest bars that repeat, the swing if there is any, and one line a stroke, ``place
    voice level ornament hand``, by time and then from cymbals to feet; the place in beats as a
    reduced fraction, the hand ``-`` where none is prescribed. 64 bits leave a chance of about 3e-12
    that any two of 10,000 rhythms collide (birthday bound n^2 / 2^65).
    """
    bars = _fewest_bars(pattern)
    lines = [_CANONICAL, str(pattern.meter), str(bars)]
    if pattern.swing is not None:
        lines.append(f"swing {pattern.swing.pair} {pattern.swing.ratio}")
    lines += [
        f"{_place(stroke.tick)} {stroke.voice} {stroke.level} {stroke.ornament}"
        f" {stroke.hand or '-'}"
        for stroke in pattern.strokes
        if stroke.at < bars * pattern.meter.beats
    ]
    import hashlib  # noqa: PLC0415 - loads a cryptographic library that the ear has no use for

    return hashlib.sha256("\n".join(lines).encode("ascii")).hexdigest()[:16]


@lru_cache(maxsize=4096)
def _place(tick: int) -> str:
    """Return a place in beats as a reduced fraction; patterns share a few hundred of them."""
    return str(Fraction(tick, TICKS))


def _fewest_bars(pattern: Pattern) -> int:
    """Return the smallest bar count whose repetition is the whole pattern."""
    if pattern.bars == 1:
        return 1
    length = pattern.meter.beats
    contents: list[list[Stroke]] = [[] for _ in range(pattern.bars)]
    for stroke in pattern.strokes:
        bar = stroke.at // length
        contents[bar].append(replace(stroke, at=stroke.at - bar * length))
    return next(
        bars
        for bars in range(1, pattern.bars + 1)
        if pattern.bars % bars == 0 and contents[bars:] == contents[:-bars]
    )


def overlay(groove: Pattern, part: Pattern) -> Pattern:
    """Lay a card's own strokes over the groove it belongs to.

    Where both have a stroke of one voice at one place the louder one stays, so a ghost on a
    backbeat leaves the backbeat; between equals the part's stays. The shorter one is repeated. A
    beat takes the part's grid where all strokes of that beat stand on it, else the groove's.

    Raises
    ------
    UsageError
        If the meters differ, or if neither grid holds all strokes of some beat (then no other
        does).
    """
    if groove.meter != part.meter:
        raise UsageError(
            f"a part in {part.meter} cannot lie over a groove in {groove.meter}",
            fix="give both the same meter",
        )
    bars = math.lcm(groove.bars, part.bars)
    if bars > MAX_BARS:
        raise UsageError(
            f"{groove.bars} and {part.bars} bars meet only after {bars}",
            fix=f"choose lengths that meet within {MAX_BARS} bars",
        )
    groove, part = repeated(groove, bars), repeated(part, bars)
    return laid_over(replace(groove, swing=part.swing or groove.swing), part.grids, part.strokes)


def laid_over(groove: Pattern, grids: Sequence[int], strokes: Iterable[Stroke]) -> Pattern:
    """Lay strokes over a groove of the same length; `overlay` without a pattern to hold them.

    Parameters
    ----------
    groove
        What lies below.
    grids
        Slots per beat that the strokes want, one for every beat of the groove.
    strokes
        What comes on top.
    """
    chosen = {stroke.order: stroke for stroke in groove.strokes}
    for stroke in strokes:
        rival = chosen.get(stroke.order)
        if rival is None or stroke.level.loudness >= rival.level.loudness:
            chosen[stroke.order] = stroke
    together = tuple(chosen.values())
    return replace(groove, grids=_common_grids(groove, grids, together), strokes=together)


def _common_grids(
    groove: Pattern, grids: Sequence[int], strokes: Iterable[Stroke]
) -> tuple[int, ...]:
    """Choose for every beat a grid on which all its strokes stand."""
    needed: list[set[int]] = [set() for _ in range(groove.beats)]
    for stroke in strokes:
        beat, over = divmod(stroke.tick, TICKS)
        needed[beat].add(over)
    chosen = []
    for beat, places in enumerate(needed):
        wanted = (grids[beat], groove.grids[beat])
        grid = next((slots for slots in wanted if places <= _PLACES[slots]), None)
        if grid is None:
            raise UsageError(
                f"no grid holds all strokes of beat {beat % groove.meter.beats + 1}",
                fix="do not mix triplets with e, a or finer partials inside one beat",
            )
        chosen.append(grid)
    return tuple(chosen)


def beat_place(at: Fraction) -> tuple[int, Fraction]:
    """Split a place into its beat from 0 and the fraction of that beat."""
    beat, over = divmod(at.numerator, at.denominator)
    return beat, Fraction(over, at.denominator)


def place_name(pattern: Pattern, at: Fraction) -> str:
    """Return a place as it is written within its bar: ``2``, or ``2&`` between the beats."""
    beat, over = beat_place(at)
    return f"{beat % pattern.meter.beats + 1}{syllable(over, pattern.grids[beat])}"
