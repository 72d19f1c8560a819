"""Paper and exchange: sheets to print, MusicXML and MIDI files, written and read.

MusicXML and MIDI need the standard library only. Notes are drawn by verovio and PDF files written
by fpdf2, the extra ``sheets``; both load when the first sheet is drawn. What writes and reads loads
when it is first asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base import loading_late
from drillbox.paper.exercise import Collection, Exercise

if TYPE_CHECKING:
    from drillbox.paper.formats import (
        Form,
        Playing,
        Sheet,
        SheetForm,
        form_of,
        rendered,
        text_sheet,
    )
    from drillbox.paper.letter_rows import Rows
    from drillbox.paper.midi_writing import midi_file
    from drillbox.paper.musicxml_writing import musicxml
    from drillbox.paper.transcript import (
        MAX_FILE_BYTES,
        Found,
        Transcript,
        read_music,
        transcribed,
    )

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

_LATE = {
    "formats": ("Form", "Playing", "Sheet", "SheetForm", "form_of", "rendered", "text_sheet"),
    "midi_writing": ("midi_file",),
    "musicxml_writing": ("musicxml",),
    "letter_rows": ("Rows",),
    "transcript": ("MAX_FILE_BYTES", "Found", "Transcript", "read_music", "transcribed"),
}
__getattr__ = loading_late(__name__, _LATE)
