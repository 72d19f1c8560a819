"""The numbers of a Standard MIDI File that are read and written here: one table of them.

Standard MIDI Files 1.0 (MIDI Manufacturers Association, RP-001); values from memory. The tests read
and write files of another library's with them.
"""

from __future__ import annotations

NOTE_OFF, NOTE_ON = 0x80, 0x90
META = 0xFF
TEXT, TRACK_NAME, LYRIC, MARKER = 0x01, 0x03, 0x05, 0x06
END_OF_TRACK, TEMPO, METER = 0x2F, 0x51, 0x58
USUAL_TEMPO = 500_000
"""Microseconds a quarter where a file names no tempo: 120 quarters a minute."""
