"""What a bar of MusicXML has besides its notes: clef and meter, title, tempo, feel, bar lines."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from drillbox.paper.note_values import DIVISIONS

if TYPE_CHECKING:
    from drillbox.paper.exercise import Exercise
    from drillbox.rhythm import Meter, Pattern

__all__ = ["SWUNG", "attributes", "barline", "directions", "with_text"]

SWUNG = {Fraction(1): "eighth", Fraction(1, 2): "16th"}
"""What is swung by the quarters of a pair, as MusicXML names it; it has no others."""


def with_text(parent: ET.Element, name: str, text: str, **named: str) -> ET.Element:
    """Add an element with a text, and attributes by their names."""
    child = ET.SubElement(parent, name, named)
    child.text = text
    return child


def attributes(measure: ET.Element, meter: Meter, *, first: bool) -> None:
    """Write the meter; at the first bar of the file also the clef and the unit of durations."""
    written = ET.SubElement(measure, "attributes")
    if first:
        with_text(written, "divisions", str(DIVISIONS))
    time = ET.SubElement(written, "time")
    beats, unit = str(meter).split("/")
    with_text(time, "beats", beats)
    with_text(time, "beat-type", unit)
    if first:
        clef = ET.SubElement(written, "clef")
        with_text(clef, "sign", "percussion")
        with_text(clef, "line", "2")


def directions(measure: ET.Element, exercise: Exercise) -> None:
    """Write an exercise's title, tempo and feel."""
    title = ET.SubElement(measure, "direction", placement="above")
    with_text(
        ET.SubElement(title, "direction-type"), "words", exercise.title, **{"font-weight": "bold"}
    )
    meter = exercise.pattern.meter
    quarters = meter.pulse * 4 / meter.unit
    tempo = ET.SubElement(measure, "direction", placement="above")
    mark = ET.SubElement(ET.SubElement(tempo, "direction-type"), "metronome")
    with_text(mark, "beat-unit", "quarter")
    if quarters != 1:
        ET.SubElement(mark, "beat-unit-dot")
    with_text(mark, "per-minute", f"{exercise.bpm:g}")
    sound = ET.SubElement(tempo, "sound", tempo=f"{exercise.bpm * float(quarters):g}")
    _feel(sound, exercise.pattern)


def _feel(sound: ET.Element, pattern: Pattern) -> None:
    """Write how pairs are felt, as far as the format has it: pairs of eighths or of sixteenths."""
    feel = ET.SubElement(sound, "swing")
    swing = pattern.swing
    value = None if swing is None else SWUNG.get(swing.pair * 4 / pattern.meter.unit)
    if swing is None or value is None:
        ET.SubElement(feel, "straight")
        return
    for name, part in zip(("first", "second"), swing.ratio.split(":"), strict=True):
        with_text(feel, name, part)
    with_text(feel, "swing-type", value)


def barline(measure: ET.Element, side: str, style: str, direction: str) -> None:
    """Write the bar line of a repeat."""
    line = ET.SubElement(measure, "barline", location=side)
    with_text(line, "bar-style", style)
    ET.SubElement(line, "repeat", direction=direction)
