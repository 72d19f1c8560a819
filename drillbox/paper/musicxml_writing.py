"""Exercises as a MusicXML 4.0 file, for engraving programs and sequencers.

One part on a percussion staff: hands in voice 1 with stems up, feet in voice 2 with stems down. A
ghost has its head in parentheses, a tap a small one, cymbals x heads, an accent stands above, an
open hat has a circle and the stroke that closes it a plus, a double is a slash through the stem and
a buzz a z, flams and drags are grace notes. Below the staff run rows of letters: the counts, the
hands where a hand is written, and on request the motions. Every exercise begins a system, has its
title and tempo above, and repeats.

A written hand is kept twice: as a letter to read, and as a `play` element on its note, since
MusicXML has no element for a sticking and a row of letters cannot say which note of a chord is
meant.

References
----------
MusicXML 4.0, W3C Community Group Final Specification: the schema, and the percussion tutorial.
"""

from __future__ import annotations

from itertools import count
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from drillbox.paper.beaming import beams
from drillbox.paper.instruments import KIT, PERCUSSION_CHANNEL, key_of
from drillbox.paper.letter_rows import USUAL_ROWS, Rows, lyric_rows
from drillbox.paper.musicxml_bar import attributes, barline, directions, with_text
from drillbox.paper.note_values import TRIPLET_VALUES, bar_divisions, write_bar
from drillbox.rhythm import EMBELLISHMENTS, Hand, Level, Ornament, Voice
from drillbox.rhythm.charting import closes

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from drillbox.paper.exercise import Collection, Exercise
    from drillbox.paper.note_values import Event
    from drillbox.rhythm import Meter, Stroke

__all__ = ["HAND_TYPE", "musicxml"]

HAND_TYPE = "hand"
"""The type of the `other-play` element that carries a written hand."""
_DOCTYPE = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">\n'
)
_OPEN = "-open"
_REST_OF_FEET = ("C", "4")
"""Where a rest of the feet stands: below the snare's head and the slurs that end there."""
_SUPPORTED = ("accidental", "beam", "stem")


def musicxml(
    collection: Collection, *, rows: Rows = USUAL_ROWS, leading: Hand = Hand.RIGHT
) -> bytes:
    """Return a collection as one MusicXML file, one system or more an exercise.

    Parameters
    ----------
    collection
        What is written.
    rows
        The rows of letters; by default the counts, and the hands where one is written.
    leading
        The hand that leads, for the rows.
    """
    root = score(collection, rows=rows, leading=leading)
    ET.indent(root)
    return f"{_DOCTYPE}{ET.tostring(root, encoding='unicode')}\n".encode()


def score(
    collection: Collection, *, rows: Rows, leading: Hand, to_engrave: bool = False
) -> ET.Element:
    """Return the score element; `to_engrave` leaves out what stands elsewhere on a sheet."""
    root = ET.Element("score-partwise", version="4.0")
    if not to_engrave:
        _head(root, collection)
    exercises = collection.exercises
    used = {
        _instrument(stroke.voice, stroke.ornament): key_of(stroke.voice, stroke.ornament)
        for each in exercises
        for stroke in each.pattern.strokes
    }
    _part_list(root, used or {_instrument(Voice.SNARE, Ornament.NONE): KIT[Voice.SNARE].key})
    part = ET.SubElement(root, "part", id="P1")
    numbers = count(1)
    before: Meter | None = None
    for exercise in exercises:
        written = _Exercise(exercise, rows, leading, to_engrave=to_engrave)
        for bar in range(exercise.pattern.bars):
            measure = ET.SubElement(part, "measure", number=str(next(numbers)))
            written.fill(measure, bar, before=before)
            before = exercise.pattern.meter
    return root


def _head(root: ET.Element, collection: Collection) -> None:
    work = ET.SubElement(root, "work")
    with_text(work, "work-title", collection.title)
    about = ET.SubElement(root, "identification")
    if collection.author:
        with_text(about, "creator", collection.author, type="composer")
    if collection.licence:
        with_text(about, "rights", collection.licence)
    encoding = ET.SubElement(about, "encoding")
    with_text(encoding, "software", "drillbox")
    for element in _SUPPORTED:
        ET.SubElement(encoding, "supports", element=element, type="yes")
    ET.SubElement(
        encoding, "supports", element="print", type="yes", attribute="new-system", value="yes"
    )


def _part_list(root: ET.Element, keys: Mapping[str, int]) -> None:
    listed = ET.SubElement(ET.SubElement(root, "part-list"), "score-part", id="P1")
    with_text(listed, "part-name", "Drum set", **{"print-object": "no"})
    for name in sorted(keys):
        instrument = ET.SubElement(listed, "score-instrument", id=name)
        voice = Voice(name.split("-")[1])
        opened = name.endswith(_OPEN)
        with_text(instrument, "instrument-name", f"{'Open ' * opened}{KIT[voice].name}")
    for name in sorted(keys):
        sound = ET.SubElement(listed, "midi-instrument", id=name)
        with_text(sound, "midi-channel", str(PERCUSSION_CHANNEL))
        with_text(sound, "midi-program", "1")
        # MusicXML counts keys from 1, General MIDI from 0.
        with_text(sound, "midi-unpitched", str(keys[name] + 1))


def _instrument(voice: Voice, ornament: Ornament) -> str:
    return f"P1-{voice}{_OPEN * EMBELLISHMENTS[ornament].rings}"


class _Exercise:
    """Writes the bars of one exercise."""

    def __init__(self, exercise: Exercise, rows: Rows, leading: Hand, *, to_engrave: bool) -> None:
        self._exercise = exercise
        self._pattern = exercise.pattern
        self._lyrics = lyric_rows(exercise.pattern, rows, leading=leading)
        self._to_engrave = to_engrave
        self._closing = closes(exercise.pattern)
        self._has_feet = any(stroke.voice.is_foot for stroke in exercise.pattern.strokes)

    def fill(self, measure: ET.Element, bar: int, *, before: Meter | None) -> None:
        """Write one bar into its element; `before` is the meter of the bar before."""
        pattern = self._pattern
        if bar == 0 and before is not None:
            ET.SubElement(measure, "print", {"new-system": "yes"})
        if before != pattern.meter:
            attributes(measure, pattern.meter, first=before is None)
        if bar == 0:
            barline(measure, "left", "heavy-light", "forward")
            if not self._to_engrave:
                directions(measure, self._exercise)
        for feet in (False, True) if self._has_feet else (False,):
            events = write_bar(pattern, bar, feet=feet)
            joined = beams(events, pattern.meter)
            for index, event in enumerate(events):
                measure.extend(self._event(event, bar, joined.get(index, ()), feet=feet))
            if self._has_feet and not feet:
                backup = ET.SubElement(measure, "backup")
                with_text(backup, "duration", str(bar_divisions(pattern.meter)))
        if bar == pattern.bars - 1:
            barline(measure, "right", "light-heavy", "backward")

    def _event(
        self, event: Event, bar: int, joined: tuple[str, ...], *, feet: bool
    ) -> Iterator[ET.Element]:
        at = bar * bar_divisions(self._pattern.meter) + event.at
        letters = [
            (number, row[at].text)
            for number, row in enumerate(self._lyrics, start=1)
            if at in row and row[at].feet == feet
        ]
        if not event.strokes:
            yield _rest(event, letters, feet=feet)
            return
        strokes = [self._pattern.strokes[index] for index in event.strokes]
        for stroke in strokes:
            for number in range(EMBELLISHMENTS[stroke.ornament].graces):
                yield _grace(stroke, number, feet=feet)
        for number, stroke in enumerate(strokes):
            signs = _hat_signs(
                stroke,
                closing=(stroke.at, stroke.voice) in self._closing,
                to_engrave=self._to_engrave,
            )
            if number:
                yield _note(stroke, event, signs, feet=feet, in_chord=True)
            else:
                yield _note(stroke, event, signs, joined, letters, feet=feet)


def _note(
    stroke: Stroke,
    event: Event,
    hat_signs: Sequence[ET.Element],
    joined: tuple[str, ...] = (),
    letters: Iterable[tuple[int, str]] = (),
    *,
    feet: bool,
    in_chord: bool = False,
) -> ET.Element:
    """Return one note; what all notes of a chord share stands at the first."""
    note = ET.Element("note")
    if in_chord:
        ET.SubElement(note, "chord")
    _place(note, stroke.voice)
    with_text(note, "duration", str(event.length))
    ET.SubElement(note, "instrument", id=_instrument(stroke.voice, stroke.ornament))
    _written(note, event, feet=feet, small=stroke.level is Level.TAP)
    head = with_text(note, "notehead", KIT[stroke.voice].head)
    if stroke.level is Level.GHOST:
        head.set("parentheses", "yes")
    for number, beam in enumerate(joined, start=1):
        with_text(note, "beam", beam, number=str(number))
    _notations(note, stroke, None if in_chord else event, hat_signs, feet=feet)
    for number, text in letters:
        _lyric(note, number, text)
    if stroke.hand is not None:
        play = ET.SubElement(note, "play")
        with_text(play, "other-play", stroke.hand.value, type=HAND_TYPE)
    return note


def _rest(event: Event, letters: Iterable[tuple[int, str]], *, feet: bool) -> ET.Element:
    note = ET.Element("note")
    rest = ET.SubElement(note, "rest")
    with_text(note, "duration", str(event.length))
    if feet:
        _at(rest, *_REST_OF_FEET)
    if event.value == "measure":
        rest.set("measure", "yes")
        with_text(note, "voice", "2" if feet else "1")
    else:
        _written(note, event, feet=feet, stem=False)
    _tuplet(note, event, feet=feet)
    for number, text in letters:
        _lyric(note, number, text)
    return note


def _place(note: ET.Element, voice: Voice) -> None:
    place = ET.SubElement(note, "unpitched")
    _at(place, KIT[voice].step, str(KIT[voice].octave))


def _at(place: ET.Element, step: str, octave: str) -> None:
    with_text(place, "display-step", step)
    with_text(place, "display-octave", octave)


def _written(
    note: ET.Element, event: Event, *, feet: bool, stem: bool = True, small: bool = False
) -> None:
    with_text(note, "voice", "2" if feet else "1")
    with_text(note, "type", event.value, **({"size": "cue"} if small else {}))
    for _ in range(event.dots):
        ET.SubElement(note, "dot")
    if event.slot:
        ratio = ET.SubElement(note, "time-modification")
        with_text(ratio, "actual-notes", "3")
        with_text(ratio, "normal-notes", "2")
        slot = TRIPLET_VALUES[event.slot]
        if event.value != slot:
            with_text(ratio, "normal-type", slot)
    if stem:
        with_text(note, "stem", "down" if feet else "up")


def _grace(stroke: Stroke, number: int, *, feet: bool) -> ET.Element:
    """Return a grace note; a single one is slashed, the first is tied to its stroke by a slur."""
    graces = EMBELLISHMENTS[stroke.ornament].graces
    note = ET.Element("note")
    ET.SubElement(note, "grace", {"slash": "yes"} if graces == 1 else {})
    _place(note, stroke.voice)
    ET.SubElement(note, "instrument", id=_instrument(stroke.voice, Ornament.NONE))
    with_text(note, "voice", "2" if feet else "1")
    with_text(note, "type", "eighth" if graces == 1 else "16th")
    with_text(note, "stem", "down" if feet else "up")
    with_text(note, "notehead", KIT[stroke.voice].head)
    if graces > 1:
        beam = "begin" if number == 0 else "end" if number == graces - 1 else "continue"
        for level in ("1", "2"):
            with_text(note, "beam", beam, number=level)
    if number == 0:
        side = "above" if feet else "below"
        slur = ET.SubElement(note, "notations")
        ET.SubElement(slur, "slur", type="start", number="1", placement=side)
    return note


def _hat_signs(stroke: Stroke, *, closing: bool, to_engrave: bool) -> list[ET.Element]:
    """Return the circle of an open hat, or the plus of the stroke that closes it."""
    if EMBELLISHMENTS[stroke.ornament].rings:
        if not to_engrave:
            return [ET.Element("open")]
        # The engraver draws nothing for an open hat, but the same circle by its glyph's name.
        circle = ET.Element("other-technical", smufl="brassMuteOpen")
        circle.text = "o"
        return [circle]
    if closing:
        return [ET.Element("stopped", placement="below" if stroke.voice.is_foot else "above")]
    return []


def _notations(
    note: ET.Element,
    stroke: Stroke,
    event: Event | None,
    hat_signs: Sequence[ET.Element],
    *,
    feet: bool,
) -> None:
    row = EMBELLISHMENTS[stroke.ornament]
    notations = ET.Element("notations")
    if event is not None:
        _brackets(notations, event, feet=feet)
    if row.graces:
        ET.SubElement(notations, "slur", type="stop", number="1")
    if row.even > 1:
        # Each slash halves the written note, so two even strokes are one slash, four are two.
        ornaments = ET.SubElement(notations, "ornaments")
        with_text(ornaments, "tremolo", str(row.even.bit_length() - 1), type="single")
    if row.bounces:
        ornaments = ET.SubElement(notations, "ornaments")
        with_text(ornaments, "tremolo", "0", type="unmeasured")
    if hat_signs:
        ET.SubElement(notations, "technical").extend(hat_signs)
    if stroke.level is Level.ACCENT:
        articulations = ET.SubElement(notations, "articulations")
        ET.SubElement(articulations, "accent", placement="above")
    if len(notations):
        note.append(notations)


def _tuplet(note: ET.Element, event: Event, *, feet: bool) -> None:
    notations = ET.Element("notations")
    _brackets(notations, event, feet=feet)
    if len(notations):
        note.append(notations)


def _brackets(notations: ET.Element, event: Event, *, feet: bool) -> None:
    """Write where a triplet begins and ends; its bracket stands on the side of the stems."""
    side = "below" if feet else "above"
    for wanted, kind in ((event.opens, "start"), (event.closes, "stop")):
        if wanted:
            bracket = {"bracket": "yes", "placement": side} if kind == "start" else {}
            ET.SubElement(notations, "tuplet", {"type": kind, "number": "1", **bracket})


def _lyric(note: ET.Element, number: int, text: str) -> None:
    lyric = ET.SubElement(note, "lyric", number=str(number), placement="below")
    with_text(lyric, "syllabic", "single")
    with_text(lyric, "text", text)
