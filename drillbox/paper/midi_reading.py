"""A Standard MIDI File as strokes: which key is which voice, what is one stroke, how loud it is.

Several notes close together can be one stroke: notes before a louder one are graces, a falling run
is a buzz; of a double the second half is told by its place, later, when the grid is known. Where
drillbox wrote the file, words at the notes say it.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections import Counter
from contextlib import suppress
from fractions import Fraction
from typing import TYPE_CHECKING, Generic, NamedTuple, TypeVar

from drillbox.base.midi_codes import LYRIC, MARKER, META, METER, NOTE_ON, TEMPO, TEXT, USUAL_TEMPO
from drillbox.base.midi_events import read_smf
from drillbox.errors import ExchangeError, UsageError
from drillbox.paper.instruments import PERCUSSION_CHANNEL, rings, voice_of_key
from drillbox.paper.midi_writing import CLICK_KEYS, NO_HAND, PROVENANCE, SWING
from drillbox.paper.music_in_file import (
    MAX_BARS_READ,
    MAX_STROKES,
    BarFrame,
    MusicInFile,
    StrokeInFile,
    embellished,
)
from drillbox.paper.velocities import clusters, level_of
from drillbox.rhythm import EMBELLISHMENTS, Hand, Meter, Ornament, Voice
from drillbox.rhythm.swing import Swing

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from drillbox.base.midi_events import Event, SmfFile

__all__ = ["read_midi"]

_T = TypeVar("_T")
_CHAIN = Fraction(42, 1000)
"""Seconds between the notes of one stroke at most (judgement)."""
_LONGEST_RUN = 24
"""Notes of one stroke at most; a long buzz has ten."""
_CLICK = "click"
_TAIL_BARS = 4
"""Silent bars after the last note at most that are taken as bars."""
_FALLS = 2
"""Notes that fall at least, for a run to be a buzz."""


_NAMED = re.compile(r"([a-z]+) ([a-z]+) ([0-9]{1,6})")

_Words = dict[tuple[int, Voice], tuple[Ornament, int]]
"""What stands where: the embellishment, and for how many ticks the notes are its own."""


class _Note(NamedTuple):
    """A note: its tick, its voice, its velocity, whether it is an open hat."""

    tick: int
    voice: Voice
    velocity: int
    rings: bool = False


class _Stroke(NamedTuple):
    """Notes understood as one stroke."""

    note: _Note
    ornament: Ornament


def read_midi(
    data: bytes, *, name: str, keys: Mapping[int, Voice | None] | None = None
) -> MusicInFile:
    """Read a MIDI file.

    Parameters
    ----------
    data
        The whole file.
    name
        What to call it in an error.
    keys
        Keys that mean something else than in General MIDI; None for a key to leave out.

    Raises
    ------
    ExchangeError
        If it cannot be read, holds no drums, or lasts too long.
    """
    file = _in_beats(data, name)
    left_out: Counter[str] = Counter()
    notes, remarks = _notes(file, keys or {}, left_out)
    if not notes:
        raise ExchangeError(
            "it has no note of a drum", where=name, fix="say what its keys are with --key"
        )
    if len(notes) > MAX_STROKES:
        raise ExchangeError(f"it has more than {MAX_STROKES:,} notes", where=name, fix="cut it")
    bars = _bars(file, notes[-1].tick, name)
    tempo = next((e for e in file.events if _is(e, TEMPO) and len(e.data) == 3), None)
    micros = int.from_bytes(tempo.data, "big") if tempo else USUAL_TEMPO
    chain = int(_CHAIN * 1_000_000 * file.division / max(micros, 1)) + 1
    told = any(_is(event, TEXT) and event.data == PROVENANCE for event in file.events)
    strokes = _strokes(notes, _words(file), chain, guess=not told)
    opened = embellished(rings=True) or Ornament.NONE
    found = clusters([stroke.note.velocity for stroke in strokes])
    hands = _hands(file, strokes)
    heard = tuple(
        StrokeInFile(
            _written(Fraction(stroke.note.tick, file.division), bars),
            stroke.note.voice,
            level_of(found, stroke.note.velocity),
            opened if stroke.note.rings else stroke.ornament,
            hands.get((stroke.note.tick, stroke.note.voice)),
        )
        for stroke in strokes
    )
    bpm = None
    if tempo is not None and micros:
        meter = bars[0].meter
        bpm = 60_000_000 / micros / float(meter.pulse * 4 / meter.unit)
    clicked = any(what.endswith(_CLICK) for what in left_out)
    return MusicInFile(bars, heard, bpm, found, left_out, told, clicked, remarks)


def _written(at: Fraction, bars: Sequence[BarFrame]) -> Fraction:
    """Return where a stroke is written, in quarters, that is played at a place: swing is undone."""
    bar = bars[max(bisect_right(bars, at, key=lambda bar: bar.start) - 1, 0)]
    if bar.swing is None:
        return at
    return bar.start + bar.swing.unbend((at - bar.start) / bar.beat) * bar.beat


def _is(event: Event, kind: int) -> bool:
    return event.status == META and event.kind == kind


def _in_beats(data: bytes, name: str) -> SmfFile:
    """Read a file whose time is counted in beats; what is wrong is an error of this room."""

    def refused(what: str) -> ExchangeError:
        fix = "export it again as a Standard MIDI File, format 1"
        return ExchangeError(what, where=name, fix=fix)

    return read_smf(data, refused=refused)


def _notes(
    file: SmfFile, keys: Mapping[int, Voice | None], left_out: Counter[str]
) -> tuple[list[_Note], tuple[str, ...]]:
    """Return the drums' notes by time, and what was remarkable about them."""
    begun = [event for event in file.events if event.status == NOTE_ON and event.data[1]]
    remarks: tuple[str, ...] = ()
    drums = [event for event in begun if event.kind == PERCUSSION_CHANNEL]
    if not drums and begun:
        drums = begun
        remarks = ("no note is on channel 10, so all channels were read as drums",)
    if other := len(begun) - len(drums):
        left_out["notes of other channels than 10"] = other
    found: dict[tuple[int, Voice], _Note] = {}
    for event in drums:
        key, velocity = event.data
        voice = keys[key] if key in keys else voice_of_key(key)
        if voice is None:
            why = _CLICK if key in CLICK_KEYS and key not in keys else "not in the kit"
            left_out[f"notes of key {key}: {why}"] += 1
            continue
        note = _Note(event.tick, voice, velocity, rings(key) and key not in keys)
        before = found.get((event.tick, voice))
        if before is not None:
            left_out[f"notes of the {voice} at the same tick as another"] += 1
        if before is None or before.velocity < velocity:
            found[event.tick, voice] = note
    return sorted(found.values(), key=lambda note: (note.tick, note.voice.rank)), remarks


def _bars(file: SmfFile, last: int, name: str) -> tuple[BarFrame, ...]:
    """Return the bars to the end, or a few after the last note, with the titles of markers."""
    meters: dict[int, Meter] = {}
    titles: dict[int, str] = {}
    swings: dict[int, Swing] = {}
    for event in file.events:
        if _is(event, METER) and len(event.data) >= 2:
            meters[event.tick] = _meter(event.data, name)
        elif _is(event, MARKER):
            titles.setdefault(event.tick, _text(event.data))
        elif _is(event, TEXT) and (swing := _swing(_text(event.data))):
            swings[event.tick] = swing
    bars: list[BarFrame] = []
    meter, tick = meters.get(0, Meter(4, 4)), 0
    named, meant = _InOrder(titles), _InOrder(swings)
    changed = _InOrder(meters)
    felt: Swing | None = None
    tail = 0
    while tick <= last or (tick < file.end and tail < _TAIL_BARS):
        tail += tick > last
        if len(bars) >= MAX_BARS_READ:
            raise ExchangeError(
                f"it lasts longer than {MAX_BARS_READ:,} bars", where=name, fix="cut it"
            )
        # A change inside a bar begins the next one.
        meter = changed.last_to(tick) or meter
        size = meter.beats * 4 * file.division // meter.unit
        title = named.first_in(tick, tick + size)
        # A marker without a word on its feel begins something straight.
        if title is not None:
            felt = meant.first_in(tick, tick + size)
        bars.append(BarFrame(meter, Fraction(tick, file.division), title, felt))
        tick += max(size, 1)
    return tuple(bars)


class _InOrder(Generic[_T]):
    """Things by tick, found without looking at all of them: a file may have a great many."""

    def __init__(self, things: Mapping[int, _T]) -> None:
        self._ticks = sorted(things)
        self._things = things

    def first_in(self, start: int, end: int) -> _T | None:
        """Return the first thing from a tick to before another."""
        index = bisect_left(self._ticks, start)
        if index < len(self._ticks) and self._ticks[index] < end:
            return self._things[self._ticks[index]]
        return None

    def last_to(self, tick: int) -> _T | None:
        """Return the last thing at a tick or before it."""
        index = bisect_right(self._ticks, tick)
        return self._things[self._ticks[index - 1]] if index else None


def _meter(data: bytes, name: str) -> Meter:
    beats, power = data[0], data[1]
    try:
        return Meter(2 * beats, 4) if power == 1 else Meter(beats, 2**power if power < 5 else 0)
    except UsageError:
        told = f"a meter of {beats}/{2 ** min(power, 9)} cannot be written"
        raise ExchangeError(
            told, where=name, fix="use beats of a half, quarter or eighth"
        ) from None


def _swing(words: str) -> Swing | None:
    """Return the feel that a text says, None where it says none that can be."""
    name, *numbers = words.split() or [""]
    if name != SWING or len(numbers) != 2:
        return None
    with suppress(ValueError, ZeroDivisionError, UsageError):
        pair, share = map(Fraction, numbers)
        return Swing(share, pair)
    return None


def _text(data: bytes) -> str:
    """Return a text as one line of printable signs."""
    shown = data[:200].decode("utf-8", errors="replace")
    return "".join(sign if sign.isprintable() else " " for sign in shown).strip()


def _words(file: SmfFile) -> _Words:
    """Return the embellishments that words in the file name."""
    voices = {str(voice): voice for voice in Voice}
    ornaments = {str(ornament): ornament for ornament in Ornament}
    named: _Words = {}
    for event in file.events:
        if _is(event, TEXT):
            match = _NAMED.fullmatch(_text(event.data))
            if match and match[1] in voices and match[2] in ornaments:
                named[event.tick, voices[match[1]]] = ornaments[match[2]], int(match[3])
    return named


def _hands(file: SmfFile, strokes: Sequence[_Stroke]) -> dict[tuple[int, Voice], Hand]:
    """Return the hands that lyrics name: a letter for each stroke there, from the top down."""
    together: dict[int, list[Voice]] = {}
    for stroke in strokes:
        together.setdefault(stroke.note.tick, []).append(stroke.note.voice)
    letters = {str(hand): hand for hand in Hand}
    found = {}
    for event in file.events:
        if _is(event, LYRIC):
            word, voices = _text(event.data), together.get(event.tick, [])
            if len(word) == len(voices) and set(word) <= {*letters, NO_HAND}:
                for letter, voice in zip(word, voices, strict=True):
                    if letter in letters:
                        found[event.tick, voice] = letters[letter]
    return found


def _strokes(
    notes: Iterable[_Note],
    words: _Words,
    chain: int,
    *,
    guess: bool,
) -> list[_Stroke]:
    """Understand notes as strokes, voice by voice; where no words say what, by `guess`ing."""
    by_voice: dict[Voice, list[_Note]] = {}
    for note in notes:
        by_voice.setdefault(note.voice, []).append(note)
    found: list[_Stroke] = []
    for mine in by_voice.values():
        found += _of_voice(mine, words, chain, guess=guess)
    return sorted(found, key=lambda stroke: (stroke.note.tick, stroke.note.voice.rank))


def _of_voice(
    notes: list[_Note],
    words: _Words,
    chain: int,
    *,
    guess: bool,
) -> list[_Stroke]:
    """Understand the notes of one voice."""
    found: list[_Stroke] = []
    at = 0
    while at < len(notes):
        run = _run(notes, at, chain)
        told = [i for i in range(at, at + len(run)) if (notes[i].tick, notes[i].voice) in words]
        if told:
            main = notes[told[0]]
            ornament, length = words[main.tick, main.voice]
            plain = max(at, told[0] - EMBELLISHMENTS[ornament].graces)
            found += [_Stroke(each, Ornament.NONE) for each in notes[at:plain]]
            found.append(_Stroke(main, ornament))
            at = told[0] + 1
            own = main.tick + length
            while at < len(notes) and notes[at].tick < own and EMBELLISHMENTS[ornament].graces == 0:
                at += 1
            continue
        stroke, used = _understood(run) if guess else (_Stroke(run[0], Ornament.NONE), 1)
        found.append(stroke)
        at += used
    return found


def _run(notes: list[_Note], at: int, chain: int) -> list[_Note]:
    """Return the notes from one on that follow each other closely."""
    end, most = at + 1, min(len(notes), at + _LONGEST_RUN)
    while end < most and notes[end].tick - notes[end - 1].tick <= chain:
        end += 1
    return notes[at:end]


def _understood(run: list[_Note]) -> tuple[_Stroke, int]:
    """Understand the beginning of a run of close notes; return the stroke and how many it took."""
    falling = 1
    while falling < len(run) and run[falling].velocity < run[falling - 1].velocity:
        falling += 1
    buzz = embellished(bounces=True)
    if falling > _FALLS and buzz is not None:
        return _Stroke(run[0], buzz), falling
    for graces in (3, 2, 1):
        ornament = embellished(graces=graces)
        if ornament is not None and len(run) > graces:
            before, main = run[:graces], run[graces]
            if all(note.velocity <= main.velocity for note in before):
                return _Stroke(main, ornament), graces + 1
    return _Stroke(run[0], Ornament.NONE), 1
