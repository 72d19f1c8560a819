"""What a card is made of, and which cards are near relatives.

A groove card is a ghost set over a bass line, under a time line (hat, ride, foot), on some drums,
round its backbeats: short lists that multiply. Two cards that differ in one of these lists only are
near relatives: what is known of one says much of the other, and side by side while both are new
they get in each other's way.

Every list is taken by its shortest repeating bars, so that a bass line of one bar is the same under
ghosts of one bar and of two.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

from drillbox.rhythm.stroke import TICKS, Level, Voice

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from drillbox.rhythm.pattern import Pattern
    from drillbox.rhythm.stroke import Stroke

__all__ = ["Axes", "Axis", "axes", "kinship", "quiet_places"]

_Line = tuple[tuple[object, ...], ...]


class Axis(StrEnum):
    """One of the lists that a card is made of."""

    GHOSTS = "ghosts"
    """When the hands strike quietly on drums, and how."""
    BEATS = "backbeats"
    """When they strike drums plainly or loudly, and which."""
    BASS = "bass"
    TIME = "time"
    """Cymbals, and the hat under the foot."""
    PLACE = "place"
    """Which drums the ghosts are on."""


class Axes(NamedTuple):
    """A pattern's lists; each can be compared, and kept as a key.

    `ground` is what relatives share in any case: the meter, and whether hands are prescribed.
    """

    ground: tuple[str, bool]
    ghosts: _Line
    beats: _Line
    bass: _Line
    time: _Line
    place: tuple[str, ...]

    def without(self, axis: Axis) -> tuple[object, ...]:
        """Return all but one list: equal for cards that differ in that list at most."""
        index = 1 + tuple(Axis).index(axis)
        return (axis, *self[:index], *self[index + 1 :])


def axes(pattern: Pattern) -> Axes:
    """Return the lists that a pattern is made of."""
    ghosts: list[Stroke] = []
    beats: list[Stroke] = []
    bass: list[Stroke] = []
    time: list[Stroke] = []
    for stroke in pattern.strokes:
        if stroke.voice is Voice.BASS:
            bass.append(stroke)
        elif stroke.voice.is_cymbal or stroke.voice is Voice.PEDAL:
            time.append(stroke)
        else:
            (ghosts if stroke.level is Level.GHOST else beats).append(stroke)
    return Axes(
        (str(pattern.meter), any(stroke.hand is not None for stroke in pattern.strokes)),
        _line(pattern, ghosts, _how),
        _line(pattern, beats, _what),
        _line(pattern, bass, _what),
        _line(pattern, time, _what),
        tuple(sorted({str(stroke.voice) for stroke in ghosts})),
    )


def kinship(first: Pattern, second: Pattern) -> Axis | None:
    """Return the one list in which two rhythms differ; None for one rhythm, and for strangers."""
    mine, other = axes(first), axes(second)
    if mine.ground != other.ground:
        return None
    differing = [axis for axis, a, b in zip(Axis, mine[1:], other[1:], strict=True) if a != b]
    return differing[0] if len(differing) == 1 else None


def quiet_places(pattern: Pattern) -> frozenset[int]:
    """Return where in a beat the ghosts fall, in ticks, whichever beats they are on.

    Rhythms with the same places use the same syllables ("e of 1 and 3, a of 2 and 4" and "a of 1
    and 3, e of 2 and 4"): they are the ones that a player mistakes for each other while new.
    """
    ghosts = (s for s in pattern.strokes if s.level is Level.GHOST and not s.voice.is_cymbal)
    return frozenset(stroke.tick % TICKS for stroke in ghosts)


def _how(stroke: Stroke) -> tuple[object, ...]:
    return (str(stroke.ornament), str(stroke.hand or ""))


def _what(stroke: Stroke) -> tuple[object, ...]:
    return (str(stroke.voice), str(stroke.level), *_how(stroke))


def _line(
    pattern: Pattern, strokes: Sequence[Stroke], of: Callable[[Stroke], tuple[object, ...]]
) -> _Line:
    """Return strokes by place in the fewest bars that repeat, after the number of those bars."""
    length = pattern.meter.beats * TICKS
    bars: list[list[tuple[object, ...]]] = [[] for _ in range(pattern.bars)]
    for stroke in strokes:
        bar, tick = divmod(stroke.tick, length)
        bars[bar].append((tick, *of(stroke)))
    count = next(
        n
        for n in range(1, pattern.bars + 1)
        if pattern.bars % n == 0 and bars[n:] == bars[: pattern.bars - n]
    )
    return tuple((bar, *each) for bar, content in enumerate(bars[:count]) for each in content)
