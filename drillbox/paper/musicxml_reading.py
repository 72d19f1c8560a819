"""A MusicXML file as strokes: what is struck, where, how loud, how, with which hand.

Read is the first percussion part of a partwise score. A note is known by its instrument's MIDI key,
else by its place on the staff and its head. Repeats are not played out: what is between them is
what a card repeats anyway.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from drillbox.errors import ExchangeError, NotationError, UsageError
from drillbox.paper.instruments import KIT, rings, voice_of_key
from drillbox.paper.music_in_file import (
    MAX_BARS_READ,
    MAX_STROKES,
    BarFrame,
    MusicInFile,
    StrokeInFile,
    embellished,
)
from drillbox.paper.musicxml_bar import SWUNG
from drillbox.paper.musicxml_writing import HAND_TYPE
from drillbox.paper.xml_tree import tree_of
from drillbox.rhythm import Hand, Level, Meter, Ornament, Voice, parse_meter
from drillbox.rhythm.swing import Swing

if TYPE_CHECKING:
    from collections.abc import Mapping
    from xml.etree import ElementTree as ET

__all__ = ["read_musicxml"]

_HANDS = {str(hand): hand for hand in Hand}
_PLACES = {(row.step, row.octave, row.head): voice for voice, row in KIT.items()}


def read_musicxml(
    data: bytes, *, name: str, keys: Mapping[int, Voice | None] | None = None
) -> MusicInFile:
    """Read a MusicXML file.

    Parameters
    ----------
    data
        The whole file.
    name
        What to call it in an error.
    keys
        MIDI keys that mean something else than in General MIDI; None for a key to leave out.

    Raises
    ------
    ExchangeError
        If it cannot be read, or holds no percussion.
    """
    root = tree_of(data, name=name)
    if root.tag != "score-partwise":
        told = f"this is a {root.tag[:40]!r}, not a partwise score"
        raise ExchangeError(told, where=name, fix="export it as partwise MusicXML")
    parts = [
        part for part in root.findall("part") if part.find("measure/note/unpitched") is not None
    ]
    if not parts:
        raise ExchangeError(
            "it has no percussion", where=name, fix="write drums as unpitched notes"
        )
    reader = _Reader(name, _keys(root), keys or {})
    if left := len(root.findall("part")) - 1:
        reader.left_out["parts besides the first of percussion"] = left
    for measure in parts[0].findall("measure"):
        reader.read(measure)
    strokes = sorted(reader.strokes, key=lambda heard: (heard.at, heard.voice.rank))
    return MusicInFile(
        tuple(reader.bars), tuple(strokes), reader.bpm, (), reader.left_out, says_doubles=True
    )


def _keys(root: ET.Element) -> dict[str, int]:
    """Return the MIDI key of each instrument; MusicXML counts from 1."""
    found = {}
    for instrument in root.iter("midi-instrument"):
        number = _whole(instrument.findtext("midi-unpitched"))
        if number is not None:
            found[instrument.get("id", "")] = number - 1
    return found


def _whole(text: str | None) -> int | None:
    text = (text or "").strip()
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 9 else None


@dataclass(slots=True)
class _Reader:
    """Reads bars one after another."""

    name: str
    instruments: Mapping[str, int]
    keys: Mapping[int, Voice | None]
    bars: list[BarFrame] = field(default_factory=list)
    strokes: list[StrokeInFile] = field(default_factory=list)
    left_out: Counter[str] = field(default_factory=Counter)
    bpm: float | None = None
    _meter: Meter = field(default_factory=lambda: Meter(4, 4))
    _divisions: int = 1
    _start: Fraction = Fraction(0)
    _swing: Swing | None = None

    def read(self, measure: ET.Element) -> None:  # noqa: C901 - a case for each element
        """Read one bar."""
        if len(self.bars) >= MAX_BARS_READ:
            told = f"it has more than {MAX_BARS_READ:,} bars"
            raise ExchangeError(told, where=self.name, fix="cut it")
        at = before = self._start
        graces: Counter[Voice] = Counter()
        own: Counter[Voice] = Counter()
        for element in measure:
            if element.tag == "attributes":
                self._attributes(element)
            elif element.tag == "backup":
                at -= self._length(element)
            elif element.tag == "forward":
                at += self._length(element)
            elif element.tag == "direction":
                self._tempo(element)
            elif element.tag == "note" and element.find("grace") is not None:
                if (voice := self._voice(element)) is not None:
                    graces[voice] += 1
            elif element.tag == "note":
                if element.find("chord") is None:
                    before, at = at, at + self._length(element)
                    own, graces = graces, Counter()
                if element.find("rest") is None:
                    self._note(element, before, own)
        bar = BarFrame(self._meter, self._start, _title(measure), self._swing)
        self.bars.append(bar)
        self._start = bar.end

    def _attributes(self, element: ET.Element) -> None:
        divisions = _whole(element.findtext("divisions"))
        if divisions:
            self._divisions = divisions
        time = element.find("time")
        if time is not None and time.find("beats") is not None:
            self._meter = self._read_meter(time)

    def _read_meter(self, time: ET.Element) -> Meter:
        beats = (time.findtext("beats") or "").strip()
        unit = (time.findtext("beat-type") or "").strip()
        if unit == "2" and (halves := _whole(beats)):
            beats, unit = str(2 * halves), "4"
        try:
            return parse_meter(f"{beats}/{unit}")
        except NotationError:
            told = f"a meter of {beats[:9]}/{unit[:9]} cannot be written"
            raise ExchangeError(
                told, where=self.name, fix="use beats of a half, quarter or eighth"
            ) from None

    def _length(self, element: ET.Element) -> Fraction:
        duration = _whole(element.findtext("duration"))
        return Fraction(duration or 0, self._divisions)

    def _tempo(self, element: ET.Element) -> None:
        sound = element.find("sound")
        if sound is None:
            return
        if (feel := sound.find("swing")) is not None:
            self._swing = _swing(feel, self._meter)
        try:
            quarters = float(sound.get("tempo", ""))
        except ValueError:
            return
        if self.bpm is None and 1 <= quarters <= 1000:
            self.bpm = quarters / float(self._meter.pulse * 4 / self._meter.unit)

    def _note(self, note: ET.Element, at: Fraction, graces: Counter[Voice]) -> None:
        voice = self._voice(note)
        if voice is None:
            return
        if any(tie.get("type") == "stop" for tie in note.findall("tie")):
            self.left_out["ends of ties"] += 1
            return
        notehead = note.find("notehead")
        ghost = notehead is not None and notehead.get("parentheses") == "yes"
        signs = note.find("notations/articulations")
        loud = signs is not None and any(
            signs.find(sign) is not None for sign in ("accent", "strong-accent")
        )
        kind = note.find("type")
        small = kind is not None and kind.get("size") == "cue"
        level = Level.GHOST if ghost else Level.ACCENT if loud else Level.PLAIN
        if small and level is Level.PLAIN:
            level = Level.TAP
        if len(self.strokes) >= MAX_STROKES:
            told = f"it has more than {MAX_STROKES:,} notes"
            raise ExchangeError(told, where=self.name, fix="cut it")
        self.strokes.append(
            StrokeInFile(at, voice, level, self._ornament(note, graces[voice]), _hand(note))
        )

    def _voice(self, note: ET.Element) -> Voice | None:
        """Return what a note strikes: by its instrument's key, else by its place and head."""
        place = note.find("unpitched")
        if place is None:
            self.left_out["notes with a pitch"] += 1
            return None
        key = self._key(note)
        if key is not None and key in self.keys:
            voice = self.keys[key]
        else:
            voice = None if key is None else voice_of_key(key)
            if voice is None:
                voice = _by_place(place, note)
        if voice is None:
            step, octave = place.findtext("display-step", ""), place.findtext("display-octave", "")
            what = f"notes of key {key}" if key is not None else f"notes on {step[:2]}{octave[:2]}"
            self.left_out[f"{what}: not in the kit"] += 1
        return voice

    def _ornament(self, note: ET.Element, graces: int) -> Ornament:
        even, bounces = 1, False
        tremolo = note.find("notations/ornaments/tremolo")
        if tremolo is not None:
            slashes = _whole(tremolo.text) or 0
            bounces = tremolo.get("type") == "unmeasured" or slashes >= 3
            even = 1 if bounces else 2**slashes
        found = embellished(graces=graces, even=even, bounces=bounces, rings=self._rings(note))
        if found is None:
            self.left_out["embellishments that have no sign of ours; the stroke is plain"] += 1
        return found or Ornament.NONE

    def _rings(self, note: ET.Element) -> bool:
        """Whether a note is an open hat: by its sign, or by its instrument."""
        if note.find("notations/technical/open") is not None:
            return True
        key = self._key(note)
        return key is not None and rings(key) and key not in self.keys

    def _key(self, note: ET.Element) -> int | None:
        instrument = note.find("instrument")
        return None if instrument is None else self.instruments.get(instrument.get("id", ""))


def _by_place(place: ET.Element, note: ET.Element) -> Voice | None:
    octave = _whole(place.findtext("display-octave"))
    head = (note.findtext("notehead") or "normal").strip()
    head = "x" if head in {"x", "circle-x", "cross", "diamond"} else "normal"
    return _PLACES.get((place.findtext("display-step", "").strip(), octave or 0, head))


def _swing(feel: ET.Element, meter: Meter) -> Swing | None:
    """Return a feel, None where it is straight."""
    first, second = _whole(feel.findtext("first")), _whole(feel.findtext("second"))
    value = (feel.findtext("swing-type") or "eighth").strip()
    pairs = {name: quarters for quarters, name in SWUNG.items()}
    if not first or not second or first <= second or value not in pairs:
        return None
    try:
        return Swing(Fraction(first, first + second), pairs[value] * meter.unit / 4)
    except UsageError:
        return None


def _hand(note: ET.Element) -> Hand | None:
    for play in note.findall("play/other-play"):
        if play.get("type") == HAND_TYPE:
            return _HANDS.get((play.text or "").strip())
    return _HANDS.get((note.findtext("notations/technical/fingering") or "").strip())


def _title(measure: ET.Element) -> str | None:
    """Return the title of an exercise that begins with a bar: one that a repeat begins with."""
    begins = any(
        repeat.get("direction") == "forward" for repeat in measure.findall("barline/repeat")
    )
    if not begins:
        return None
    words = measure.findtext("direction/direction-type/words") or ""
    return "".join(sign if sign.isprintable() else " " for sign in words[:200]).strip()
