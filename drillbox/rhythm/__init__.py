"""Rhythm: meters, grids, strokes, patterns, and the spoken notation they are written in.

Time is exact: a place is a `fractions.Fraction` of a beat, counted from the pattern's start, from
0. Everything here is a value or a pure function. docs/notation.md has the grammar of the notation.

Notation, drawings, motion, difficulty, overviews and generators load when they are first asked
for: a box that is opened to play needs few of them, and the ear none.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base import loading_late
from drillbox.rhythm.embellishments import EMBELLISHMENTS, LEVELS, Embellishment, LevelSigns
from drillbox.rhythm.grid import grid_name, grid_names, syllables
from drillbox.rhythm.meter import Meter, parse_meter
from drillbox.rhythm.pattern import Pattern, fingerprint, overlay, repeated
from drillbox.rhythm.sticking import (
    Sticking,
    for_player,
    hands,
    hands_to_show,
    mirrored,
    with_hands,
)
from drillbox.rhythm.striking import (
    Bounce,
    Part,
    Strike,
    bounces,
    grace_seconds,
    partial_length,
    strikes,
)
from drillbox.rhythm.stroke import HAT_LINE, Hand, Level, Ornament, Stroke, Voice
from drillbox.rhythm.swing import Swing

if TYPE_CHECKING:
    from drillbox.rhythm.charting import Chart, ChartBar, Column, Row, chart, feel_words
    from drillbox.rhythm.crossing import Crossing, crossed
    from drillbox.rhythm.drawing import draw
    from drillbox.rhythm.entries import NotationLine
    from drillbox.rhythm.lists import Axes, Axis, axes, kinship, quiet_places
    from drillbox.rhythm.motion import (
        BURST_LIMIT,
        STREAM_LIMIT,
        Blow,
        HandWork,
        Motion,
        Movement,
        movement,
        movement_words,
    )
    from drillbox.rhythm.notation import parse, read_entries
    from drillbox.rhythm.overview import (
        MAP_EMBELLISHMENTS,
        Placing,
        map_cells,
        map_rows,
        placing,
        strip,
        vocabulary_map,
    )
    from drillbox.rhythm.repertoire import BASS_LINES, NAMED, TIME_LINES
    from drillbox.rhythm.spelling import spell
    from drillbox.rhythm.titles import MAX_TITLE, title
    from drillbox.rhythm.weighing import Facts, difficulty, facts

__all__ = [
    "BASS_LINES",
    "BURST_LIMIT",
    "EMBELLISHMENTS",
    "GOAL_SHARE",
    "HAT_LINE",
    "LEVELS",
    "MAP_EMBELLISHMENTS",
    "MAX_TITLE",
    "NAMED",
    "STREAM_LIMIT",
    "TIME_LINES",
    "Axes",
    "Axis",
    "Blow",
    "Bounce",
    "Chart",
    "ChartBar",
    "Column",
    "Crossing",
    "Embellishment",
    "Facts",
    "Hand",
    "HandWork",
    "Level",
    "LevelSigns",
    "Meter",
    "Motion",
    "Movement",
    "NotationLine",
    "Ornament",
    "Part",
    "Pattern",
    "Placing",
    "Row",
    "Sticking",
    "Strike",
    "Stroke",
    "Swing",
    "Voice",
    "axes",
    "bounces",
    "chart",
    "crossed",
    "difficulty",
    "draw",
    "facts",
    "feel_words",
    "fingerprint",
    "for_player",
    "grace_seconds",
    "grid_name",
    "grid_names",
    "hands",
    "hands_to_show",
    "kinship",
    "map_cells",
    "map_rows",
    "mirrored",
    "movement",
    "movement_words",
    "overlay",
    "parse",
    "parse_meter",
    "partial_length",
    "placing",
    "quiet_places",
    "read_entries",
    "repeated",
    "spell",
    "strikes",
    "strip",
    "syllables",
    "title",
    "vocabulary_map",
    "with_hands",
]

_LATE = {
    "charting": ("Chart", "ChartBar", "Column", "Row", "chart", "feel_words"),
    "drawing": ("draw",),
    "entries": ("NotationLine",),
    "notation": ("parse", "read_entries"),
    "spelling": ("spell",),
    "repertoire": ("BASS_LINES", "NAMED", "TIME_LINES"),
    "titles": ("MAX_TITLE", "title"),
    "lists": ("Axes", "Axis", "axes", "kinship", "quiet_places"),
    "crossing": ("Crossing", "crossed"),
    "weighing": ("Facts", "difficulty", "facts"),
    "motion": (
        "BURST_LIMIT",
        "GOAL_SHARE",
        "STREAM_LIMIT",
        "Blow",
        "HandWork",
        "Motion",
        "Movement",
        "movement",
        "movement_words",
    ),
    "overview": (
        "MAP_EMBELLISHMENTS",
        "Placing",
        "map_cells",
        "map_rows",
        "placing",
        "strip",
        "vocabulary_map",
    ),
}
__getattr__ = loading_late(__name__, _LATE)
