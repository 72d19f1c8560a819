"""Paper and exchange: sheets to print, MusicXML and MIDI files, written and read.

MusicXML and MIDI need the standard library only. Notes are drawn by verovio and PDF files written
by fpdf2, the extra ``sheets``; both load when the first sheet is drawn.
"""

from __future__ import annotations

from drillbox.paper.exercise import Collection, Exercise
from drillbox.paper.formats import (
    Form,
    Playing,
    Sheet,
    SheetForm,
    form_of,
    rendered,
    text_sheet,
)
from drillbox.paper.midi_writing import midi_file
from drillbox.paper.musicxml import musicxml
from drillbox.paper.rows import Rows
from drillbox.paper.transcript import MAX_FILE_BYTES, Found, Transcript, read_music, transcribed

__all__ = [
    "MAX_FILE_BYTES",
    "Collection",
    "Exercise",
    "Form",
    "Found",
    "Playing",
    "Rows",
    "Sheet",
    "SheetForm",
    "Transcript",
    "form_of",
    "midi_file",
    "musicxml",
    "read_music",
    "rendered",
    "text_sheet",
    "transcribed",
]
