"""Which notes hang on one beam.

A beam joins the notes of one beat, or of the eighths felt together; it runs over rests between two
of its notes, never to a rest. Inside it, thirty-seconds and the two triplets of a beat of sixteenth
triplets are told apart by breaking all beams but the first at the half of the beat.
"""

from __future__ import annotations

from bisect import bisect_right
from itertools import groupby
from typing import TYPE_CHECKING

from drillbox.paper.note_values import DIVISIONS, beam_groups

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from drillbox.paper.note_values import Event
    from drillbox.rhythm import Meter

__all__ = ["beams"]

_FLAGS = {"eighth": 1, "16th": 2, "32nd": 3}


def beams(events: Sequence[Event], meter: Meter) -> dict[int, tuple[str, ...]]:
    """Return the beams of a bar's notes by the index of the event, the outermost beam first.

    Each is ``begin``, ``continue``, ``end``, ``forward hook`` or ``backward hook``, as MusicXML
    names them.
    """
    starts = beam_groups(meter)
    found: dict[int, tuple[str, ...]] = {}
    indices = range(len(events))
    for _, group in groupby(indices, key=lambda i: bisect_right(starts, events[i].at)):
        for run in _runs(events, list(group)):
            for place, index in enumerate(run):
                flags = _flags(events[index])
                found[index] = tuple(
                    _beam(events, run, place, level) for level in range(1, flags + 1)
                )
    return found


def _flags(event: Event) -> int:
    return _FLAGS.get(event.value, 0)


def _runs(events: Sequence[Event], group: Sequence[int]) -> Iterator[list[int]]:
    """Yield the notes that hang on one beam: two or more, with nothing longer between them."""
    for flagged, part in groupby(group, key=lambda i: _flags(events[i]) > 0):
        notes = [index for index in part if events[index].strokes]
        if flagged and len(notes) > 1:
            yield notes


def _beam(events: Sequence[Event], run: Sequence[int], place: int, level: int) -> str:
    before = place > 0 and _joined(events, run[place - 1], run[place], level)
    after = place + 1 < len(run) and _joined(events, run[place], run[place + 1], level)
    if before and after:
        return "continue"
    if before or after:
        return "end" if before else "begin"
    if place == 0:
        return "forward hook"
    if place == len(run) - 1:
        return "backward hook"
    event = events[run[place]]
    return "forward hook" if event.at % (2 * event.length) == 0 else "backward hook"


def _joined(events: Sequence[Event], first: int, second: int, level: int) -> bool:
    """Whether two neighbours share a beam of a level."""
    if level == 1:
        return True
    between = events[first : second + 1]
    if min(map(_flags, between)) < level:
        return False
    half = DIVISIONS // 2
    fine = any(_flags(event) == 3 or event.slot for event in between)
    return not fine or between[0].at // half == between[-1].at // half
