"""Every starter card, either hand leading, read by independent programs.

Wants ``pip install music21 pretty_midi`` first. MusicXML is read by music21 (places, heads,
parentheses, triplets) and by verovio's own timemap (places), MIDI files by mido and pretty_midi.
music21 reads a buzz as a measured tremolo of no marks, and keeps one instrument a part, so those
are checked by the walks in tests/paper instead. Ends with 1 where anything differs.
"""

from __future__ import annotations

import io
import sys
import time
from fractions import Fraction
from pathlib import Path
from typing import Any

import mido
import music21
import pretty_midi
import verovio

sys.path.insert(0, str(Path(__file__).parent.parent / "paper"))

from schema import complaints

from drillbox.deckfile import Card, read_starter_decks
from drillbox.paper import Collection, Exercise, midi_file, musicxml, read_music, transcribed
from drillbox.paper.instruments import KIT, key_of
from drillbox.rhythm import EMBELLISHMENTS, Hand, Level, fingerprint, for_player

TOLERANCE = 2e-3
"""Seconds; a tick at 60 bpm is two thousandths."""


def seen_by_music21(document: bytes) -> list[tuple[Fraction, str, str, bool]]:
    """Return place in quarters, place on the staff, head and parentheses of every note."""
    score: Any = music21.converter.parseData(document, format="musicxml")
    found = []
    for element in score.flatten().notes:
        if element.duration.isGrace:
            continue
        for note in getattr(element, "notes", (element,)):
            at = Fraction(element.offset).limit_denominator(24)
            place = f"{note.displayStep}{note.displayOctave}"
            found.append((at, place, note.notehead, bool(note.noteheadParenthesis)))
    return sorted(found)


def said(card: Card) -> list[tuple[Fraction, str, str, bool]]:
    """Return the same of the card."""
    quarters = Fraction(4, card.pattern.meter.unit)
    return sorted(
        (
            stroke.at * quarters,
            f"{KIT[stroke.voice].step}{KIT[stroke.voice].octave}",
            KIT[stroke.voice].head,
            stroke.level is Level.GHOST,
        )
        for stroke in card.pattern.strokes
    )


def check_xml(card: Card, leading: Hand, engraver: verovio.toolkit) -> list[str]:
    """Return what is wrong with a card's MusicXML."""
    exercise = Exercise(card.title, for_player(card.pattern, leading), card.goal_bpm)
    document = musicxml(Collection(card.title, (exercise,)), leading=leading)
    wrong = complaints(document)
    if said(card) != seen_by_music21(document):
        wrong.append("music21 reads other notes")
    if all(EMBELLISHMENTS[stroke.ornament].graces == 0 for stroke in card.pattern.strokes):
        engraver.loadData(document.decode())
        places = {
            Fraction(entry["qstamp"]).limit_denominator(24)
            for entry in engraver.renderToTimemap()
            if entry.get("on")
        }
        length = Fraction(4 * card.pattern.beats, card.pattern.meter.unit)
        if {at for at, *_ in said(card)} != {at % length for at in places}:
            wrong.append("verovio hears other places")
    return wrong


def check_midi(card: Card) -> list[str]:
    """Return what is wrong with a card's MIDI file."""
    data = midi_file(Collection(card.title, (Exercise(card.title, card.pattern, card.goal_bpm),)))
    read = mido.MidiFile(file=io.BytesIO(data))
    played = pretty_midi.PrettyMIDI(io.BytesIO(data))
    (kit,) = played.instruments
    seconds = card.pattern.meter.beat_seconds(card.goal_bpm)
    wrong = []
    if abs(read.length - card.pattern.seconds(card.goal_bpm)) > 1e-3:
        wrong.append("mido finds another length")
    if not kit.is_drum:
        wrong.append("pretty_midi hears no drums")
    notes = [(note.start, note.pitch, note.velocity) for note in kit.notes]
    swing = card.pattern.swing
    for stroke in card.pattern.strokes:
        wanted = [key_of(stroke.voice, stroke.ornament), stroke.level.velocity]
        beat = stroke.at if swing is None else swing.bend(stroke.at)
        at = float(beat) * seconds
        if not any(abs(start - at) < TOLERANCE and wanted == how for start, *how in notes):
            wrong.append(f"pretty_midi misses {stroke}")
    return wrong


def check_back(card: Card) -> list[str]:
    """Return what is wrong with a card after it went through both formats."""
    written = Collection(card.title, (Exercise(card.title, card.pattern, card.goal_bpm),))
    wrong = []
    for data, name in ((musicxml(written), "x.musicxml"), (midi_file(written), "x.mid")):
        found = transcribed(read_music(data, name)).found
        if [card.card_id] != [fingerprint(each.pattern) for each in found]:
            wrong.append(f"{name} comes back as another rhythm")
    return wrong


def main() -> int:
    """Check every card; returns 1 where something differs."""
    cards = [card for deck in read_starter_decks() for card in deck.cards]
    engraver = verovio.toolkit()
    started, failures = time.perf_counter(), 0
    for card in cards:
        wrong = check_midi(card) + check_back(card)
        for leading in Hand:
            wrong += check_xml(card, leading, engraver)
        if wrong:
            failures += 1
            print(f"{card.deck_id}/{card.slug}: {'; '.join(wrong)}")
    seconds = time.perf_counter() - started
    print(f"{len(cards)} cards, either hand leading: {failures} differ, {seconds:.0f} s")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
