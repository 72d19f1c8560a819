"""How a pattern is written in note values: notes, rests, triplets, for the hands and for the feet.

A note is written until the next one of its voice, at most to the end of its beat; in meters of
eighths to the end of the beats felt together. What sounds as two halves is never written as a
triplet: a beat whose strokes stand on quarters of it is written in sixteenths whatever its grid.
Sixteenth triplets are written as one triplet for each half of the beat, with the & in the middle,
as they are counted. All tuplets are three in the time of two.

An embellishment that fills its partial (a double, a buzz) is written as long as that partial, since
the slash through the stem says how the written length is filled.

Conventions: time in whole divisions, `DIVISIONS` a quarter, from the start of the bar. 24 is the
smallest number in which sixteenths, triplets, sixteenth triplets and thirty-seconds are all whole.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from drillbox.rhythm import EMBELLISHMENTS, Level
from drillbox.rhythm.striking import partial_length
from drillbox.rhythm.stroke import TICKS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from drillbox.rhythm import Meter, Pattern

__all__ = [
    "DIVISIONS",
    "TRIPLET_VALUES",
    "Event",
    "bar_divisions",
    "beam_groups",
    "division",
    "write_bar",
]

DIVISIONS = 24
_VALUES = {
    48: ("half", 0), 36: ("quarter", 1), 24: ("quarter", 0), 18: ("eighth", 1),
    12: ("eighth", 0), 9: ("16th", 1), 6: ("16th", 0), 3: ("32nd", 0),
}  # fmt: skip
TRIPLET_VALUES = {16: "quarter", 8: "eighth", 4: "16th", 2: "32nd"}
_RESTS = (48, 24, 12, 6, 3)


@dataclass(frozen=True, slots=True)
class Event:
    """A note, several at once, or a rest.

    Parameters
    ----------
    at, length
        Divisions from the bar's start; how long.
    value, dots
        The note value by its MusicXML name, and its dots. A rest of a whole bar has the value
        ``measure``.
    strokes
        Indices of the strokes in the pattern, from the top of the staff down; none for a rest.
    slot
        The partial of the triplet it stands in: 8, 4 or 2 divisions; 0 outside triplets.
    opens, closes
        Whether the triplet begins, ends with it.
    """

    at: int
    length: int
    value: str
    dots: int = 0
    strokes: tuple[int, ...] = ()
    slot: int = 0
    opens: bool = False
    closes: bool = False


@dataclass(frozen=True, slots=True)
class _Span:
    """A stretch that is written in one way: `slot` is the triplet's partial, 0 for none."""

    at: int
    length: int
    slot: int


@dataclass(frozen=True, slots=True)
class _Room:
    """How long a note may be written.

    A ghost has no dot, which would run into its parenthesis.
    """

    length: int
    undotted: bool


def beat_divisions(meter: Meter) -> int:
    """Return how long a beat is."""
    return DIVISIONS * 4 // meter.unit


def bar_divisions(meter: Meter) -> int:
    """Return how long a bar is."""
    return meter.beats * beat_divisions(meter)


def division(pattern: Pattern, tick: int) -> int:
    """Return a place within its bar, from its ticks since the pattern's start."""
    return tick * beat_divisions(pattern.meter) // TICKS % bar_divisions(pattern.meter)


def beam_groups(meter: Meter) -> tuple[int, ...]:
    """Return where groups of beams begin: at every beat, in meters of eighths at every group."""
    if meter.unit == 4:
        return tuple(range(0, bar_divisions(meter), DIVISIONS))
    starts, beat = [], 0
    for size in meter.groups:
        starts.append(beat * DIVISIONS // 2)
        beat += size
    return tuple(starts)


def write_bar(pattern: Pattern, bar: int, *, feet: bool) -> tuple[Event, ...]:
    """Return the notes and rests of one bar, of the hands or of the feet; they fill it exactly.

    Parameters
    ----------
    pattern, bar
        What is written, and which of its bars, from 0.
    feet
        Whether to write the feet or the hands.
    """
    beats = pattern.meter.beats
    played: dict[int, list[int]] = {}
    for index, stroke in enumerate(pattern.strokes):
        if stroke.voice.is_foot == feet and stroke.tick // TICKS // beats == bar:
            played.setdefault(division(pattern, stroke.tick), []).append(index)
    if not played:
        return (Event(0, bar_divisions(pattern.meter), "measure"),)
    rooms = {at: _room(pattern, strokes) for at, strokes in played.items()}
    events: list[Event] = []
    for span in _spans(pattern.meter, tuple(played)):
        onsets = [at for at in played if span.at <= at < span.at + span.length]
        written = _in_triplet if span.slot else _in_halves
        for event in written(span, onsets, rooms):
            strokes = tuple(played.get(event.at, ())) if event.strokes else ()
            events.append(replace(event, strokes=strokes))
    return tuple(events)


def _room(pattern: Pattern, strokes: Sequence[int]) -> _Room:
    played = [pattern.strokes[index] for index in strokes]
    lengths = [
        int(partial_length(pattern, stroke) * beat_divisions(pattern.meter))
        for stroke in played
        if EMBELLISHMENTS[stroke.ornament].even > 1 or EMBELLISHMENTS[stroke.ornament].bounces
    ]
    ghosts = any(stroke.level is Level.GHOST for stroke in played)
    return _Room(min(lengths, default=bar_divisions(pattern.meter)), undotted=ghosts)


def _spans(meter: Meter, onsets: Sequence[int]) -> Iterator[_Span]:
    """Cut a bar into stretches that are each written in halves, or as one triplet."""
    groups = [*beam_groups(meter), bar_divisions(meter)]
    size = beat_divisions(meter)
    if meter.beats == meter.unit == 4:
        # Two empty beats of a half bar are one rest.
        full = {at // (2 * DIVISIONS) for at in onsets}
        groups = [at for at in groups if at % (2 * DIVISIONS) == 0 or at // (2 * DIVISIONS) in full]
    for start, end in pairwise(groups):
        plain = start
        for beat in range(start, end, size):
            offsets = {at - beat for at in onsets if beat <= at < beat + size}
            if all(offset % 3 == 0 for offset in offsets):
                continue
            if plain < beat:
                yield _Span(plain, beat - plain, 0)
            yield from _triplets(beat, size, offsets)
            plain = beat + size
        if plain < end:
            yield _Span(plain, end - plain, 0)


def _triplets(start: int, size: int, offsets: set[int]) -> Iterator[_Span]:
    """Write a stretch as one triplet if all stands on its partials, else half by half."""
    slot = size // 3
    if all(offset % 3 == 0 for offset in offsets):
        yield _Span(start, size, 0)
    elif all(offset % slot == 0 for offset in offsets):
        yield _Span(start, size, slot)
    else:
        half = size // 2
        yield from _triplets(start, half, {at for at in offsets if at < half})
        yield from _triplets(start + half, half, {at - half for at in offsets if at >= half})


def _in_halves(span: _Span, onsets: Sequence[int], rooms: dict[int, _Room]) -> Iterator[Event]:
    end = span.at + span.length
    yield from _rests(span.at, onsets[0] if onsets else end, span)
    for at, upto in pairwise((*onsets, end)):
        most = min(upto - at, rooms[at].length)
        length = next(
            length
            for length, (_, dots) in _VALUES.items()
            if length <= most and not (dots and rooms[at].undotted)
        )
        value, dots = _VALUES[length]
        yield Event(at, length, value, dots, strokes=(0,))
        yield from _rests(at + length, upto, span)


def _rests(start: int, end: int, span: _Span) -> Iterator[Event]:
    """Fill a gap with rests, each on a multiple of its own length."""
    if end - start == span.length == 36:
        yield Event(start, 36, "quarter", 1)
        return
    while start < end:
        length = next(v for v in _RESTS if (start - span.at) % v == 0 and start + v <= end)
        yield Event(start, length, _VALUES[length][0])
        start += length


def _in_triplet(span: _Span, onsets: Sequence[int], rooms: dict[int, _Room]) -> Iterator[Event]:
    end = span.at + span.length
    events: list[Event] = []
    for at, upto in pairwise((*({span.at: 0} | dict.fromkeys(onsets)), end)):
        if at in onsets:
            length = min(upto - at, max(rooms[at].length // span.slot, 1) * span.slot)
            events.append(Event(at, length, TRIPLET_VALUES[length], strokes=(0,)))
            at += length  # noqa: PLW2901 - what is left is rests
        while at < upto:
            length = 2 * span.slot if at == span.at and upto - at >= 2 * span.slot else span.slot
            events.append(Event(at, length, TRIPLET_VALUES[length]))
            at += length  # noqa: PLW2901
    for index, event in enumerate(events):
        first, last = index == 0, index == len(events) - 1
        yield replace(event, slot=span.slot, opens=first, closes=last)
