"""The bytes of Standard MIDI Files: numbers of variable length, chunks, events.

References
----------
Standard MIDI Files 1.1, MIDI Manufacturers Association: header `MThd` with format, tracks and
division; tracks `MTrk` of events, each after its delta time in a number of variable length.
"""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING, NamedTuple

from drillbox.base.midi_codes import END_OF_TRACK, META, NOTE_OFF, NOTE_ON

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["MAX_NUMBER", "Timed", "file_bytes", "meta", "note", "track_bytes", "variable_length"]

MAX_NUMBER = 0x0FFFFFFF
"""The largest number of variable length."""


class Timed(NamedTuple):
    """An event at its tick from the start of the track; at one tick, lower ranks come first."""

    tick: int
    rank: int
    data: bytes


def variable_length(number: int) -> bytes:
    """Return a number in the variable length that delta times have: seven bits a byte.

    Parameters
    ----------
    number
        0 to `MAX_NUMBER`.
    """
    if not 0 <= number <= MAX_NUMBER:
        raise ValueError(number)
    found = [number & 0x7F]
    while number := number >> 7:
        found.append(number & 0x7F | 0x80)
    return bytes(reversed(found))


def meta(kind: int, data: bytes) -> bytes:
    """Return a meta event."""
    return bytes((META, kind)) + variable_length(len(data)) + data


def note(key: int, velocity: int, channel: int) -> bytes:
    """Return a note that begins, or ends where the velocity is 0; channels count from 1."""
    status = (NOTE_ON if velocity else NOTE_OFF) | (channel - 1)
    return bytes((status, key, velocity))


def track_bytes(events: Iterable[Timed], end: int) -> bytes:
    """Return a track's chunk; it ends at a tick that lies behind its last event."""
    parts, before = [], 0
    for event in sorted(events):
        parts += [variable_length(event.tick - before), event.data]
        before = event.tick
    parts += [variable_length(end - before), meta(END_OF_TRACK, b"")]
    body = b"".join(parts)
    return b"MTrk" + struct.pack(">I", len(body)) + body


def file_bytes(tracks: Iterable[bytes], ticks_a_quarter: int) -> bytes:
    """Return a file of format 1: tracks that run at the same time."""
    chunks = tuple(tracks)
    return b"MThd" + struct.pack(">IHHH", 6, 1, len(chunks), ticks_a_quarter) + b"".join(chunks)
