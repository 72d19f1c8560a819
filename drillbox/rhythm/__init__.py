"""Rhythm: meters, grids, strokes, patterns, and the spoken notation they are written in.

Time is exact: a place is a `fractions.Fraction` of a beat, counted from the pattern's start, from 0. Everything here
is a value or a pure function. docs/notation.md has the grammar of the notation.
"""

from __future__ import annotations

from drillbox.rhythm.charting import Chart, ChartBar, Column, Row, chart
from drillbox.rhythm.drawing import draw
from drillbox.rhythm.entries import Entry
from drillbox.rhythm.grid import grid_name, grid_names, syllables
from drillbox.rhythm.meter import Meter, parse_meter
from drillbox.rhythm.notation import parse, read_entries
from drillbox.rhythm.pattern import Pattern, fingerprint, overlay, repeated
from drillbox.rhythm.spelling import spell
from drillbox.rhythm.sticking import hands
from drillbox.rhythm.stroke import Hand, Level, Ornament, Stroke, Voice

__all__ = [
    "Chart",
    "ChartBar",
    "Column",
    "Entry",
    "Hand",
    "Level",
    "Meter",
    "Ornament",
    "Pattern",
    "Row",
    "Stroke",
    "Voice",
    "chart",
    "draw",
    "fingerprint",
    "grid_name",
    "grid_names",
    "hands",
    "overlay",
    "parse",
    "parse_meter",
    "read_entries",
    "repeated",
    "spell",
    "syllables",
]
