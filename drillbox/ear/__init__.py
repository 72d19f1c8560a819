"""The ear: a take measured, from a recording or a pad.

A pure function from samples, rate, pattern and tempo to strokes, numbers and a proposed grade
(`measuring`); the same from notes (`pads`). Files are read in `recordings` and `midi_files`. Names
load their module when first asked for; nothing but numpy is needed. docs/ear.md says what is
measured, by which bands a grade is proposed, and where the limits are.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base import loading_late

if TYPE_CHECKING:
    from drillbox.ear.bands import COLUMNS, USUAL_CUTS, Measures, Proposal, propose
    from drillbox.ear.calibrating import Verdicts, player_cuts
    from drillbox.ear.finding_start import find_start, passes_played
    from drillbox.ear.loopback import round_trip
    from drillbox.ear.measuring import (
        LONGEST_SECONDS,
        AskedTake,
        ExtraStroke,
        Measurement,
        measure,
        measures_of,
    )
    from drillbox.ear.midi_files import read_midi
    from drillbox.ear.note_parts import part_played
    from drillbox.ear.pad_voices import PadNote, PadVoices
    from drillbox.ear.pads import measure_notes
    from drillbox.ear.picture import take_picture
    from drillbox.ear.plain_values import TABLE, table_row, take_values
    from drillbox.ear.recordings import Recording, open_recording
    from drillbox.ear.saying import place_name, remarks, sentence
    from drillbox.ear.verdict import PartialFact, StrokeFact, Verdict

__all__ = [
    "COLUMNS",
    "LONGEST_SECONDS",
    "TABLE",
    "USUAL_CUTS",
    "AskedTake",
    "ExtraStroke",
    "Measurement",
    "Measures",
    "PadNote",
    "PadVoices",
    "PartialFact",
    "Proposal",
    "Recording",
    "StrokeFact",
    "Verdict",
    "Verdicts",
    "find_start",
    "measure",
    "measure_notes",
    "measures_of",
    "open_recording",
    "part_played",
    "passes_played",
    "place_name",
    "player_cuts",
    "propose",
    "read_midi",
    "remarks",
    "round_trip",
    "sentence",
    "table_row",
    "take_picture",
    "take_values",
]

_LATE = {
    "bands": ("COLUMNS", "USUAL_CUTS", "Measures", "Proposal", "propose"),
    "calibrating": ("Verdicts", "player_cuts"),
    "finding_start": ("find_start", "passes_played"),
    "measuring": (
        "LONGEST_SECONDS",
        "AskedTake",
        "ExtraStroke",
        "Measurement",
        "measure",
        "measures_of",
    ),
    "midi_files": ("read_midi",),
    "note_parts": ("part_played",),
    "pad_voices": ("PadNote", "PadVoices"),
    "pads": ("measure_notes",),
    "recordings": ("Recording", "open_recording"),
    "loopback": ("round_trip",),
    "saying": ("place_name", "remarks", "sentence"),
    "picture": ("take_picture",),
    "plain_values": ("TABLE", "table_row", "take_values"),
    "verdict": ("PartialFact", "StrokeFact", "Verdict"),
}
__getattr__ = loading_late(__name__, _LATE)
