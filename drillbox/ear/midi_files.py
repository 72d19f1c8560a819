"""Strokes from Standard MIDI files, read without a library.

Source: Standard MIDI Files 1.0 (MIDI Manufacturers Association, RP-001): chunks, variable-length
quantities, running status, tempo events, ticks a quarter or SMPTE frames. Values from memory.

Conventions: seconds from the file's beginning.
"""

from __future__ import annotations

import struct
from bisect import bisect_right
from typing import TYPE_CHECKING

from drillbox.ear.pad_voices import PadNote
from drillbox.errors import RecordingError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_MOST_BYTES = 8_000_000
_USUAL_TEMPO = 500_000
"""Microseconds a quarter where the file does not say."""
_DATA_BYTES = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}
_TEMPO_META = 0x51


def read_midi(path: Path) -> tuple[PadNote, ...]:
    """Return every note that is struck in a file, of all tracks and channels, in order of time.

    Raises
    ------
    RecordingError
        If it cannot be read, or is no MIDI file.
    """
    try:
        with path.open("rb") as file:
            raw = file.read(_MOST_BYTES + 1)
    except OSError as error:
        reason = error.strerror or "it cannot be read"
        raise RecordingError(reason, where=str(path), fix="name a .mid file") from None
    if len(raw) > _MOST_BYTES:
        raise RecordingError(
            "the MIDI file is too large for a take", where=str(path), fix="export the take alone"
        )
    try:
        return tuple(_notes(raw))
    except (struct.error, IndexError, ValueError):
        raise RecordingError(
            "this is no MIDI file that can be read", where=str(path), fix="export it once more"
        ) from None


def _notes(raw: bytes) -> list[PadNote]:
    if raw[:4] != b"MThd":
        raise ValueError
    length, _, tracks, division = struct.unpack(">IHHH", raw[4:14])
    at = 8 + length
    struck: list[tuple[int, int, int]] = []
    tempi: list[tuple[int, int]] = []
    for _ in range(tracks):
        if at + 8 > len(raw):
            break
        size = struct.unpack(">I", raw[at + 4 : at + 8])[0]
        if raw[at : at + 4] == b"MTrk":
            _track(raw[at + 8 : at + 8 + size], struck, tempi)
        at += 8 + size
    struck.sort()
    seconds = _clock(division, sorted(tempi))
    return [PadNote(seconds(tick), key, velocity) for tick, key, velocity in struck]


def _track(raw: bytes, struck: list[tuple[int, int, int]], tempi: list[tuple[int, int]]) -> None:
    """Gather the notes and tempi of one track; one that breaks off gives what it has."""
    tick, status = 0, 0
    events = iter(raw)
    try:
        while True:
            tick += _quantity(events)
            byte = next(events)
            first = None
            if byte & 0x80:
                status = byte if byte < 0xF0 else status
            else:
                first, byte = byte, status
            if byte == 0xFF:
                kind = next(events)
                body = _taken(events, _quantity(events))
                if kind == _TEMPO_META and len(body) == 3:
                    tempi.append((tick, int.from_bytes(body, "big")))
            elif byte in {0xF0, 0xF7}:
                _taken(events, _quantity(events))
            else:
                count = _DATA_BYTES[byte >> 4]
                data = ([first] if first is not None else []) + [
                    next(events) for _ in range(count - (first is not None))
                ]
                if byte >> 4 == 0x9 and data[1]:
                    struck.append((tick, data[0] & 0x7F, data[1] & 0x7F))
    except (StopIteration, RuntimeError):
        return
    except KeyError:
        raise ValueError from None


def _quantity(events: Iterator[int]) -> int:
    value = 0
    for _ in range(4):
        byte = next(events)
        value = value << 7 | byte & 0x7F
        if not byte & 0x80:
            return value
    raise ValueError


def _taken(events: Iterator[int], count: int) -> bytes:
    # The count comes first: the other way round one event too many would be taken.
    return bytes(byte for _, byte in zip(range(count), events, strict=False))


class _Clock:
    """Ticks to seconds, through a file's tempi."""

    def __init__(self, ticks: int, tempi: list[tuple[int, int]]) -> None:
        self._ticks = ticks
        self._spans = [(0, 0.0, _USUAL_TEMPO)]
        for tick, tempo in tempi:
            begin, seconds, before = self._spans[-1]
            seconds += (tick - begin) * before / ticks / 1e6
            self._spans.append((tick, seconds, tempo))

    def __call__(self, tick: int) -> float:
        place = bisect_right(self._spans, tick, key=lambda span: span[0]) - 1
        begin, seconds, tempo = self._spans[place]
        return seconds + (tick - begin) * tempo / self._ticks / 1e6


def _clock(division: int, tempi: list[tuple[int, int]]) -> _Clock:
    if not division & 0x8000:
        if not division:
            raise ValueError
        return _Clock(division, tempi)
    frames, ticks = 256 - (division >> 8), division & 0xFF
    if not frames or not ticks:
        raise ValueError
    return _Clock(frames * ticks, [(0, 1_000_000)])
