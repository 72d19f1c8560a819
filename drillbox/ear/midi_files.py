"""Strokes from Standard MIDI Files, in seconds: notes struck, through the file's changes of tempo.

Source: Standard MIDI Files 1.0 (MIDI Manufacturers Association, RP-001): tempo events, ticks a
quarter or SMPTE frames. Values from memory.

Conventions: seconds from the file's beginning.
"""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING

from drillbox.base.files import opened
from drillbox.base.midi_codes import META, NOTE_ON, TEMPO, USUAL_TEMPO
from drillbox.base.midi_events import read_smf
from drillbox.ear.pad_voices import PadNote
from drillbox.errors import RecordingError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

_MOST_BYTES = 8_000_000


def read_midi(path: Path) -> tuple[PadNote, ...]:
    """Return every note that is struck in a file, of all tracks and channels, in order of time.

    Raises
    ------
    RecordingError
        If it cannot be read, or is no MIDI file.
    """
    with opened(path, error=RecordingError, what="the MIDI file") as file:
        raw = file.read(_MOST_BYTES + 1)
    if len(raw) > _MOST_BYTES:
        raise RecordingError(
            "the MIDI file is too large for a take", where=str(path), fix="export the take alone"
        )

    def refused(what: str) -> RecordingError:
        return RecordingError(what, where=str(path), fix="export it once more")

    said = read_smf(raw, refused=refused, lenient=True)
    struck = sorted(
        (event.tick, *event.data)
        for event in said.events
        if event.status == NOTE_ON and event.data[1]
    )
    tempi = [
        (event.tick, int.from_bytes(event.data, "big"))
        for event in said.events
        if (event.status, event.kind) == (META, TEMPO) and len(event.data) == 3
    ]
    if said.counts_frames:
        seconds = _film_clock(said.division, refused)
    else:
        seconds = _Clock(said.division, tempi)
    return tuple(PadNote(seconds(tick), key, velocity) for tick, key, velocity in struck)


class _Clock:
    """Ticks to seconds, through a file's tempi."""

    def __init__(self, ticks: int, tempi: list[tuple[int, int]]) -> None:
        self._ticks = ticks
        self._spans = [(0, 0.0, USUAL_TEMPO)]
        for tick, tempo in tempi:
            begin, seconds, before = self._spans[-1]
            seconds += (tick - begin) * before / ticks / 1e6
            self._spans.append((tick, seconds, tempo))

    def __call__(self, tick: int) -> float:
        place = bisect_right(self._spans, tick, key=lambda span: span[0]) - 1
        begin, seconds, tempo = self._spans[place]
        return seconds + (tick - begin) * tempo / self._ticks / 1e6


def _film_clock(division: int, refused: Callable[[str], RecordingError]) -> _Clock:
    """Return the clock of a file that counts frames of film: 24 to 30 a second, negated."""
    frames, ticks = 256 - (division >> 8), division & 0xFF
    if not ticks:
        raise refused("its time is counted in nothing: it has no ticks a frame")
    return _Clock(frames * ticks, [(0, 1_000_000)])
