"""What a drawing of a pattern needs: columns with their counts, rows with their signs.

Signs as on paper: ``o`` a head, ``x`` the head of cymbals and of the rim, ``( )`` round a ghost,
``_`` before a tap, ``>`` before an accent; an ornament takes the head's place: ``/`` double, ``z``
buzz, ``f`` flam, ``d`` drag, ``O`` an open hat, and ``+`` the stroke that closes it. Plain ASCII,
three characters at most, no colour.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from drillbox.rhythm.embellishments import EMBELLISHMENTS, LEVELS
from drillbox.rhythm.grid import grid_name, label, syllables
from drillbox.rhythm.sticking import hands, hands_to_show
from drillbox.rhythm.stroke import HAT_LINE, Hand, Voice

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.rhythm.meter import Meter
    from drillbox.rhythm.pattern import Pattern
    from drillbox.rhythm.stroke import Stroke

__all__ = ["Chart", "ChartBar", "Column", "Row", "chart", "closes", "feel_words", "sign"]

_HALF = Fraction(1, 2)
_SWUNG = {"8": "eighths", "16": "sixteenths"}
_X_HEADS = (Voice.HAT, Voice.RIDE, Voice.CRASH, Voice.RIM, Voice.PEDAL)


@dataclass(frozen=True, slots=True)
class Column:
    """One partial.

    Where it is (beats from the pattern's start), what is counted there, whether it is a beat.
    """

    at: Fraction
    label: str
    is_beat: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One voice's signs, one for each column, the empty text where it is silent."""

    voice: Voice
    label: str
    signs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ChartBar:
    """One bar.

    Parameters
    ----------
    columns
        Its partials in order of time.
    rows
        Every voice that the pattern has, cymbals on top and feet below.
    sticking
        For each column which hands strike: ``R``, ``L``, ``RL`` or nothing.
    told
        The same as far as a player has to be told (`hands_to_show`).
    motions
        For the right hand and the left, for each column what the hand does: ``F`` full, ``D`` down,
        ``T`` tap, ``U`` up, two of them for a double, or nothing; None where it was not asked for.
    """

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    sticking: tuple[str, ...]
    told: tuple[str, ...]
    motions: tuple[tuple[str, ...], tuple[str, ...]] | None = None


@dataclass(frozen=True, slots=True)
class Chart:
    """A pattern, ready to draw."""

    meter: Meter
    bars: tuple[ChartBar, ...]


def chart(pattern: Pattern, *, leading: Hand = Hand.RIGHT, motions: bool = False) -> Chart:
    """Lay a pattern out in columns and rows.

    Parameters
    ----------
    pattern
        What to draw.
    leading
        The hand that leads, for the sticking. Written hands are taken as they are.
    motions
        Whether to work out what the hands do.
    """
    moves = _moves(pattern, leading) if motions else None
    voices = [voice for voice in Voice if any(s.voice is voice for s in pattern.strokes)]
    strokes = {(stroke.at, stroke.voice): stroke for stroke in pattern.strokes}
    closing = closes(pattern)
    played = _by_place(pattern, hands(pattern, leading=leading))
    to_tell = _by_place(pattern, hands_to_show(pattern, leading=leading))
    halves = {stroke.at for stroke in pattern.strokes if stroke.at.denominator == 2}
    bars = []
    for bar in range(pattern.bars):
        columns = _columns(pattern, bar, halves)
        rows = tuple(
            Row(
                voice,
                str(voice),
                tuple(
                    sign(strokes.get((c.at, voice)), closing=(c.at, voice) in closing)
                    for c in columns
                ),
            )
            for voice in voices
        )
        sticking, told = (
            tuple("".join(h for h in Hand if h in found.get(c.at, ())) for c in columns)
            for found in (played, to_tell)
        )
        done = None if moves is None else _done(moves, columns)
        bars.append(ChartBar(columns, rows, sticking, told, done))
    return Chart(pattern.meter, tuple(bars))


def _by_place(pattern: Pattern, played: Sequence[Hand | None]) -> dict[Fraction, set[Hand]]:
    found: dict[Fraction, set[Hand]] = {}
    for stroke, hand in zip(pattern.strokes, played, strict=True):
        if hand is not None:
            found.setdefault(stroke.at, set()).add(hand)
    return found


def _moves(pattern: Pattern, leading: Hand) -> dict[tuple[Fraction, Hand], str]:
    """Return the signs of each hand's motions by place: two for a double."""
    from drillbox.rhythm.motion import movement  # noqa: PLC0415 - most drawings show none

    signs = movement(pattern, leading=leading).signs
    played = hands(pattern, leading=leading)
    return {
        (stroke.at, hand): sign
        for stroke, hand, sign in zip(pattern.strokes, played, signs, strict=True)
        if hand is not None
    }


def _done(
    moves: dict[tuple[Fraction, Hand], str], columns: tuple[Column, ...]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    right, left = (tuple(moves.get((c.at, hand), "") for c in columns) for hand in Hand)
    return right, left


def closes(pattern: Pattern) -> set[tuple[Fraction, Voice]]:
    """Return the place and voice of every stroke of hat or pedal that closes an open hat."""
    line = [stroke for stroke in pattern.strokes if stroke.voice in HAT_LINE]
    return {
        (stroke.at, stroke.voice)
        for stroke, before in zip(line, [*line[-1:], *line[:-1]], strict=True)
        if EMBELLISHMENTS[before.ornament].rings and not EMBELLISHMENTS[stroke.ornament].rings
    }


def _columns(pattern: Pattern, bar: int, halves: set[Fraction]) -> tuple[Column, ...]:
    length = pattern.meter.beats
    # Where a beat is an eighth, partials that nobody plays are only empty columns.
    undivided = pattern.meter.unit == 8 and all(s.at.denominator == 1 for s in pattern.strokes)
    columns = []
    for beat in range(bar * length, (bar + 1) * length):
        slots = pattern.grids[beat]
        for offset in syllables(slots).values():
            at = beat + offset
            if offset and undivided:
                continue
            if slots % 2 and offset == _HALF and at not in halves:
                continue
            name = label(beat % length + 1, offset, slots)
            columns.append(Column(at, name, offset == 0))
    return tuple(columns)


def feel_words(pattern: Pattern) -> str:
    """Return how a swung pattern is felt, as ``sixteenths swung 3:2``; empty for a straight one."""
    if pattern.swing is None:
        return ""
    pairs = grid_name(pattern.meter, int(2 / pattern.swing.pair))
    return f"{_SWUNG.get(pairs, pairs)} swung {pattern.swing.ratio}"


def sign(stroke: Stroke | None, *, closing: bool = False) -> str:
    """Return a stroke's sign; the empty text for none."""
    if stroke is None:
        return ""
    head = "+" if closing else "x" if stroke.voice in _X_HEADS else "o"
    level = LEVELS[stroke.level]
    return f"{level.opening}{EMBELLISHMENTS[stroke.ornament].head or head}{level.closing}"
