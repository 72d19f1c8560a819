"""The events of a Standard MIDI File, read with every number doubted.

Running status, unknown chunks and events, system exclusive messages and tracks without an end are
read as the standard says or passed over; lengths that lead outside the file are refused. Memory
stays proportional to the file, which is bounded by whoever read it from a disk.

References
----------
Standard MIDI Files 1.1, MIDI Manufacturers Association.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from drillbox.base.midi_codes import END_OF_TRACK, META

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from drillbox.errors import DrillboxError

__all__ = ["Event", "SmfFile", "read_smf"]

_SYSEX, _ESCAPE = 0xF0, 0xF7
_FORMATS = (0, 1)
_NUMBER_BYTES = 4
_DATA_BYTES = {0x80: 2, 0x90: 2, 0xA0: 2, 0xB0: 2, 0xC0: 1, 0xD0: 1, 0xE0: 2}
MAX_EVENTS = 500_000


class Event(NamedTuple):
    """An event: its tick, its status (0xFF for meta), its kind (meta) or channel, its data."""

    tick: int
    status: int
    kind: int
    data: bytes


@dataclass(frozen=True, slots=True)
class SmfFile:
    """What a file says.

    Parameters
    ----------
    division
        Ticks a quarter; with the highest bit set, frames of film and ticks a frame.
    end
        The tick where its last track ends.
    events
        All events, by time.
    """

    division: int
    end: int
    events: tuple[Event, ...]

    @property
    def counts_frames(self) -> bool:
        """Whether its time is counted in frames of film, not in beats."""
        return bool(self.division & 0x8000)


def read_smf(
    data: bytes, *, refused: Callable[[str], DrillboxError], lenient: bool = False
) -> SmfFile:
    """Read the events of a Standard MIDI File.

    Parameters
    ----------
    data
        The whole file.
    refused
        Makes the error of the room that asks from what is wrong, one clause.
    lenient
        Read what a recording may be as well: independent patterns, time in frames of film.

    Raises
    ------
    DrillboxError
        As `refused` makes it, if it is no MIDI file, or leads outside itself.
    """
    if data[:4] != b"MThd" or len(data) < 14:
        raise refused("this is no MIDI file")
    size, form, tracks, division = struct.unpack(">IHHH", data[4:14])
    if form not in _FORMATS and not lenient:
        raise refused(f"its format is {form}, of independent patterns or unknown")
    if not division or (division & 0x8000 and not lenient):
        raise refused("its time is counted in frames of film, not in beats")
    events: list[Event] = []
    at, number = 8 + size, 0
    while at + 8 <= len(data):
        kind, size = data[at : at + 4], struct.unpack(">I", data[at + 4 : at + 8])[0]
        body = data[at + 8 : at + 8 + size]
        if len(body) < size:
            raise refused(
                f"it is cut off: the chunk at byte {at:,} says {size:,} bytes, but only"
                f" {len(body):,} follow"
            )
        if kind == b"MTrk":
            number += 1
            events += _track(_Bytes(body, number, refused))
            if len(events) > MAX_EVENTS:
                raise refused(f"it has more than {MAX_EVENTS:,} events")
        at += 8 + size
    if not number:
        raise refused("it has no track")
    if number < tracks:
        raise refused(
            f"it is cut off: its head says {tracks:,} tracks, and {number:,} are there, up to byte"
            f" {len(data):,}"
        )
    events.sort(key=lambda event: event.tick)
    end = events[-1].tick if events else 0
    return SmfFile(division, end, tuple(events))


class _Ends(Exception):  # noqa: N818 - the end of a track is no error by itself
    """A track ended inside an event."""


class _Bytes:
    """A track's bytes, taken one after another."""

    def __init__(self, body: bytes, number: int, refused: Callable[[str], DrillboxError]) -> None:
        self._body, self._number, self._refused = body, number, refused
        self.at = 0

    def left(self) -> bool:
        return self.at < len(self._body)

    def take(self, count: int) -> bytes:
        taken = self._body[self.at : self.at + count]
        if len(taken) < count:
            raise _Ends
        self.at += count
        return taken

    def number(self) -> int:
        value = 0
        for _ in range(_NUMBER_BYTES):
            (byte,) = self.take(1)
            value = value << 7 | byte & 0x7F
            if byte < 0x80:
                return value
        raise self.refused("has a number of more than four bytes")

    def refused(self, what: str) -> DrillboxError:
        return self._refused(f"track {self._number} {what}, at byte {self.at} of it")


def _track(source: _Bytes) -> Iterator[Event]:
    """Give a track's events."""
    try:
        yield from _events(source)
    except _Ends:
        raise source.refused("ends inside an event") from None


def _events(source: _Bytes) -> Iterator[Event]:
    tick = running = 0
    while source.left():
        tick += source.number()
        (status,) = source.take(1)
        if status < 0x80:
            if not running:
                raise source.refused("begins an event with data that belong to none")
            source.at -= 1
            status = running
        if status == META:
            (kind,) = source.take(1)
            data = source.take(source.number())
            yield Event(tick, status, kind, data)
            if kind == END_OF_TRACK:
                return
        elif status in {_SYSEX, _ESCAPE}:
            source.take(source.number())
        elif status < 0xF0:
            running = status
            kind = status & 0xF0
            data = source.take(_DATA_BYTES[kind])
            if max(data) > 0x7F:
                raise source.refused("has a status where data should be")
            yield Event(tick, kind, (status & 0x0F) + 1, data)
            continue
        else:
            raise source.refused(f"has an event {status:#x} that no file may hold")
        running = 0
