"""Exercises as a Standard MIDI File, as they sound.

Format 1, 480 ticks a quarter: the first track holds tempo, meter and a marker with each exercise's
title where it begins, the second the kit on channel 10 under its General MIDI keys, a third the
click if it is asked for. A double is two notes, a buzz the bounces that fit, a grace a soft note
before its stroke; a text event at the stroke names it, since doubled triplets and plain sixteenth
triplets are the same notes. A written hand is a lyric event, since MIDI knows no hands. A swung
exercise is written as it is played, and a text says how.

480 divides by every grid. A tempo is stored in whole microseconds a quarter, so that 72 bpm comes
back as 72.00003.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

from drillbox.base.midi_codes import LYRIC, MARKER, METER, TEMPO, TEXT, TRACK_NAME
from drillbox.paper.instruments import PERCUSSION_CHANNEL, key_of
from drillbox.paper.smf import Timed, file_bytes, meta, note, track_bytes
from drillbox.rhythm import EMBELLISHMENTS, Part, bounces, grace_seconds, strikes
from drillbox.rhythm.striking import partial_length

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from drillbox.paper.exercise import Collection, Exercise
    from drillbox.rhythm import Pattern, Strike

__all__ = ["CLICK_KEYS", "NO_HAND", "PROVENANCE", "SWING", "TICKS_A_QUARTER", "midi_file"]

TICKS_A_QUARTER = 480
CLICK_KEYS = (76, 77)
"""High and low wood block: the first click of a bar, and the others."""
NO_HAND = "-"
PROVENANCE = b"drillbox"
"""A text at the start: in this file, words say what is a double, a buzz, a flam."""
SWING = "swing"
"""Begins a text that says the feel of what follows: the pair in beats, the long one's share."""
_CLICK_VELOCITY = 100
_MICROSECONDS = 60_000_000
_LONGEST_NOTE = 60
"""Ticks; drums ring as they will, so a note only has to end before the next begins."""
# At one tick a note ends before another begins, and a marker stands before what it marks.
_MARKS, _ENDS, _BEGINS = 0, 1, 2


@dataclass(frozen=True, slots=True)
class _Placed:
    """An exercise with the tick where its count-in begins, and how it is counted."""

    exercise: Exercise
    tick: int
    count_in_bars: int
    passes: int

    @property
    def beat(self) -> Fraction:
        """Ticks a beat."""
        return Fraction(4 * TICKS_A_QUARTER, self.exercise.pattern.meter.unit)

    @property
    def start(self) -> int:
        """Where the first pass begins."""
        return self.tick + int(self.count_in_bars * self.bar)

    @property
    def bar(self) -> int:
        """Ticks a bar."""
        return int(self.beat * self.exercise.pattern.meter.beats)

    def tick_of(self, at: Fraction, start: int) -> int:
        """Return the tick of a stroke that is written at a place of the pass from a tick on."""
        swing = self.exercise.pattern.swing
        played = at if swing is None else swing.bend(at)
        return round(start + played * self.beat)

    @property
    def end(self) -> int:
        """Where the last pass ends."""
        return self.start + self.passes * self.exercise.pattern.bars * self.bar


def midi_file(
    collection: Collection, *, passes: int = 1, click: bool = False, count_in_bars: int = 0
) -> bytes:
    """Return exercises one after another as a Standard MIDI File.

    Parameters
    ----------
    collection
        What is played, each exercise at its tempo.
    passes
        How often each is played.
    click
        Whether a track clicks the pulse through it.
    count_in_bars
        Bars of click before each exercise; they are clicked whether or not the rest is.
    """
    placed: list[_Placed] = []
    tick = 0
    for exercise in collection.exercises:
        placed.append(_Placed(exercise, tick, count_in_bars, passes))
        tick = placed[-1].end
    tracks = [
        [
            Timed(0, _MARKS, meta(TEXT, PROVENANCE)),
            Timed(0, _MARKS, meta(TRACK_NAME, _utf8(collection.title))),
            *_conducting(placed),
        ],
        [Timed(0, _MARKS, meta(TRACK_NAME, b"drums")), *_drumming(placed)],
    ]
    if click or count_in_bars:
        clicks = _clicking(placed, through=click)
        tracks.append([Timed(0, _MARKS, meta(TRACK_NAME, b"click")), *clicks])
    return file_bytes((track_bytes(events, tick) for events in tracks), TICKS_A_QUARTER)


def _conducting(placed: list[_Placed]) -> Iterator[Timed]:
    """Yield tempo and meter where they change, and where each exercise begins its title."""
    before: tuple[bytes, bytes] | None = None
    for each in placed:
        meter = each.exercise.pattern.meter
        quarters = float(meter.pulse) * 4 / meter.unit
        micros = round(_MICROSECONDS / (each.exercise.bpm * quarters))
        tempo = meta(TEMPO, micros.to_bytes(3, "big"))
        power = meter.unit.bit_length() - 1
        clocks = int(meter.pulse * 96 / meter.unit)
        signature = meta(METER, bytes((meter.beats, power, clocks, 8)))
        if before is None or before[0] != tempo:
            yield Timed(each.tick, _MARKS, tempo)
        if before is None or before[1] != signature:
            yield Timed(each.tick, _MARKS, signature)
        before = tempo, signature
        yield Timed(each.start, _MARKS, meta(MARKER, _utf8(each.exercise.title)))
        if swing := each.exercise.pattern.swing:
            words = f"{SWING} {swing.pair} {swing.share}"
            yield Timed(each.start, _MARKS, meta(TEXT, _utf8(words)))


def _drumming(placed: list[_Placed]) -> Iterator[Timed]:
    hits: dict[tuple[int, int], int] = {}
    for each in placed:
        pattern = each.exercise.pattern
        for start in range(each.start, each.end, pattern.bars * each.bar):
            for strike in strikes(pattern):
                key = key_of(strike.voice, pattern.strokes[strike.stroke].ornament)
                for tick, velocity in _notes(strike, each, start):
                    # What would sound before the file begins has no place in it.
                    if 0 <= tick < each.end:
                        hits[key, tick] = max(velocity, hits.get((key, tick), 0))
            yield from _hands(pattern, each, start)
            yield from _words(pattern, each, start)
    yield from _sounded(hits, placed[-1].end)


def _notes(strike: Strike, each: _Placed, start: int) -> Iterator[tuple[int, int]]:
    """Yield tick and velocity of every note that a strike is."""
    meter, bpm = each.exercise.pattern.meter, each.exercise.bpm
    seconds_a_beat = Fraction(60) / (Fraction(bpm) * meter.pulse)
    length = strike.length * seconds_a_beat
    at = start + strike.at * each.beat
    velocity = strike.level.velocity
    if strike.part is Part.GRACE:
        at -= grace_seconds(strike.early, length) / seconds_a_beat * each.beat
    yield round(at), velocity
    if strike.part is Part.BUZZ:
        end = round(start + (strike.at + strike.length) * each.beat)
        for bounce in bounces(length):
            later = round(at + bounce.after / seconds_a_beat * each.beat)
            softer = velocity * 10 ** (bounce.db / 40)
            if later < end:
                yield later, max(1, round(softer))


def _sounded(hits: Mapping[tuple[int, int], int], end: int) -> Iterator[Timed]:
    """Yield notes that begin and end, each before its key sounds again."""
    for key, run in groupby(sorted(hits), key=lambda hit: hit[0]):
        ticks = [tick for _, tick in run]
        for tick, later in pairwise((*ticks, end)):
            velocity = hits[key, tick]
            yield Timed(tick, _BEGINS, note(key, velocity, PERCUSSION_CHANNEL))
            last = min(later, tick + _LONGEST_NOTE)
            yield Timed(last, _ENDS, note(key, 0, PERCUSSION_CHANNEL))


def _hands(pattern: Pattern, each: _Placed, start: int) -> Iterator[Timed]:
    """Yield a lyric where a hand is written: a letter for each stroke there, from the top down."""
    for at, group in groupby(pattern.strokes, key=lambda stroke: stroke.at):
        letters = "".join(stroke.hand or NO_HAND for stroke in group)
        if letters.strip(NO_HAND):
            tick = each.tick_of(at, start)
            yield Timed(tick, _MARKS, meta(LYRIC, letters.encode()))


def _words(pattern: Pattern, each: _Placed, start: int) -> Iterator[Timed]:
    """Yield a text where an embellishment stands: what, and for how many ticks notes are its own.

    The notes alone could mean other things.
    """
    for stroke in pattern.strokes:
        # Of an open hat the key says it.
        row = EMBELLISHMENTS[stroke.ornament]
        if row.graces or row.bounces or row.even > 1:
            tick = each.tick_of(stroke.at, start)
            end = each.tick_of(stroke.at + partial_length(pattern, stroke), start)
            words = f"{stroke.voice} {stroke.ornament} {end - tick}"
            yield Timed(tick, _MARKS, meta(TEXT, words.encode()))


def _clicking(placed: list[_Placed], *, through: bool) -> Iterator[Timed]:
    for each in placed:
        pulse = int(each.beat * each.exercise.pattern.meter.pulse)
        end = each.end if through else each.start
        for bar in range(each.tick, end, each.bar):
            for tick in range(bar, bar + each.bar, pulse):
                key = CLICK_KEYS[tick != bar]
                yield Timed(tick, _BEGINS, note(key, _CLICK_VELOCITY, PERCUSSION_CHANNEL))
                last = min(tick + _LONGEST_NOTE, bar + each.bar)
                yield Timed(last, _ENDS, note(key, 0, PERCUSSION_CHANNEL))


def _utf8(text: str) -> bytes:
    return text.encode()
