"""Reading the spoken notation: patterns written the way a drummer says them.

::

    meter: 4/4
    grid: 16
    hat: beat &
    snare: (e) >2 >4
    bass: 1 3

One line for the meter, one for the grid, one per voice, in any order. A text is first cut into
entries (a name, a text, a place), then entries are read. A deck file hands its values over as
entries too, with the places they have in the file, so that every error names a place where
something can be mended. docs/notation.md has the grammar.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from drillbox.errors import NotationError
from drillbox.rhythm.embellishments import EMBELLISHMENTS, LEVELS
from drillbox.rhythm.entries import NotationLine, Piece, cut, cut_lines, shown
from drillbox.rhythm.grid import grid_names, syllable, syllables
from drillbox.rhythm.meter import Meter, parse_meter
from drillbox.rhythm.pattern import Pattern
from drillbox.rhythm.stroke import Hand, Level, Ornament, Stroke, Voice
from drillbox.rhythm.swing import Swing

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

__all__ = ["parse", "read_entries"]

_ORNAMENTS = {row.sign: ornament for ornament, row in EMBELLISHMENTS.items()}
_LEVEL_SIGNS = {
    row.opening: level for level, row in LEVELS.items() if row.opening and not row.closing
}
_HANDS = {str(hand): hand for hand in Hand}
_VOICES = {str(voice): voice for voice in Voice}
_LEVEL_LATE = {
    level: re.compile(
        f"([{re.escape(''.join(_ORNAMENTS))}]?[{''.join(_HANDS)}]?)(?<=.)"
        f"{re.escape(row.opening)}([^()>_]+){re.escape(row.closing)}"
    )
    for level, row in LEVELS.items()
    if row.opening
}
_EVERY = "beat"
_RATIO = re.compile(r"([1-9][0-9]?):([1-9][0-9]?)")


def parse(text: str) -> Pattern:
    """Read a pattern in the spoken notation.

    Parameters
    ----------
    text
        Lines of ``name: tokens``. Without a meter line 4/4 holds, without a grid line sixteenths.

    Raises
    ------
    NotationError
        At the first thing that cannot be read, with line, column, what was read and what is
        allowed.
    """
    return read_entries(cut_lines(text))


def read_entries(entries: Iterable[NotationLine]) -> Pattern:
    """Read a pattern from entries: at most one each of ``meter``, ``grid``, ``swing``, voices.

    Raises
    ------
    NotationError
        As in `parse`; lines and columns count from the entries' own places.
    """
    entries = tuple(entries)
    named = {entry.name: entry for entry in entries}
    meter = _read_meter(named.get("meter"))
    swing = _read_swing(named.get("swing"), meter)
    lines = {entry.name: cut(entry) for entry in entries if entry.name not in ("meter", "swing")}
    bars = _count_bars(lines)
    grids = _read_grids(lines.pop("grid", None), meter, bars)
    strokes = (stroke for name in lines for stroke in _read_voice(named[name], meter, grids))
    return Pattern(meter, grids, tuple(strokes), swing)


@lru_cache(maxsize=256)
def _read_voice(entry: NotationLine, meter: Meter, grids: tuple[int, ...]) -> tuple[Stroke, ...]:
    """Read one voice's line, which holds for every bar if it is of one.

    It is kept for a while: the same hat and bass stand under hundreds of rhythms.
    """
    written, bars = cut(entry), len(grids) // meter.beats
    reader = _Reader(_VOICES[entry.name], meter, grids)
    return tuple(reader.read(written if len(written) == bars else written * bars))


def _read_meter(entry: NotationLine | None) -> Meter:
    if entry is None:
        return Meter(4, 4)
    pieces = cut(entry)[0]
    if len(pieces) != 1 or "|" in entry.text:
        raise NotationError(
            "the meter is not one word",
            line=entry.line,
            column=entry.column,
            fix="write one meter for all bars, such as 4/4",
        )
    return parse_meter(pieces[0].text, line=pieces[0].line, column=pieces[0].column)


def _read_swing(entry: NotationLine | None, meter: Meter) -> Swing | None:
    """Read a feel: ``16 2:1``, sixteenths in pairs of two to one."""
    if entry is None:
        return None
    pieces = [piece for bar in cut(entry) for piece in bar]
    able = {name: slots for name, slots in grid_names(meter).items() if slots in (2, 4)}
    fix = f"write a grid ({' or '.join(able)}) and long to short, such as {[*able][-1]} 2:1"
    ratio = _RATIO.fullmatch(pieces[1].text) if len(pieces) == 2 and "|" not in entry.text else None
    if ratio is None or pieces[0].text not in able:
        raise pieces[0].error(f"cannot read {shown(entry.text.strip())} as a swing", fix)
    long, short = int(ratio[1]), int(ratio[2])
    if long <= short:
        raise pieces[1].error(f"{shown(pieces[1].text)} is no swing: the long one comes first", fix)
    return Swing(Fraction(long, long + short), Fraction(2, able[pieces[0].text]))


def _count_bars(lines: Mapping[str, Sequence[Sequence[Piece]]]) -> int:
    """Return how many bars the pattern has: a line of one bar holds for every bar."""
    longest = max(lines, key=lambda name: len(lines[name]), default=None)
    if longest is None:
        return 1
    bars = len(lines[longest])
    for name, written in lines.items():
        if len(written) not in (1, bars):
            first = next(piece for bar in written for piece in bar)
            raise first.error(
                f"{len(written)} bars for the {name}, but {bars} for the {longest}",
                "write one bar, which then holds for all, or as many as the others have",
            )
    return bars


def _read_grids(
    written: Sequence[Sequence[Piece]] | None, meter: Meter, bars: int
) -> tuple[int, ...]:
    names = grid_names(meter)
    if written is None:
        return (names["16"],) * (meter.beats * bars)
    for before, pieces in pairwise(([], *written)):
        if not pieces:
            first = before[-1] if before else next(piece for bar in written for piece in bar)
            raise first.error(
                "a bar without a grid", "write at least one grid between two bar lines"
            )
    read = [_read_grid_bar(pieces, meter, names) for pieces in written]
    return tuple(slots for bar in (read if len(read) == bars else read * bars) for slots in bar)


def _read_grid_bar(
    pieces: Sequence[Piece], meter: Meter, names: Mapping[str, int]
) -> tuple[int, ...]:
    for piece in pieces:
        if piece.text not in names:
            raise piece.error(
                f"cannot read {shown(piece.text)} as a grid",
                f"in {meter} write one of {' '.join(names)}",
            )
    if len(pieces) not in (1, meter.beats):
        raise pieces[0].error(
            f"{len(pieces)} grids in a bar of {meter.beats} beats",
            "write one for the whole bar, or one for every beat",
        )
    slots = tuple(names[piece.text] for piece in pieces)
    return slots * meter.beats if len(slots) == 1 else slots


@dataclass(frozen=True, slots=True)
class _Mark:
    """What a token says besides where: level, ornament, hand."""

    level: Level
    ornament: Ornament
    hand: Hand | None


class _Reader:
    """Reads one voice's bars under known grids."""

    def __init__(self, voice: Voice, meter: Meter, grids: tuple[int, ...]) -> None:
        self._voice = voice
        self._meter = meter
        self._grids = grids

    def read(self, bars: Sequence[Sequence[Piece]]) -> list[Stroke]:
        """Return the strokes of all bars."""
        return [stroke for bar, pieces in enumerate(bars) for stroke in self._bar(bar, pieces)]

    def _bar(self, bar: int, pieces: Sequence[Piece]) -> Iterable[Stroke]:
        first = bar * self._meter.beats
        grids = self._grids[first : first + self._meter.beats]
        written = Counter(piece.text for piece in pieces)
        taken: dict[tuple[int, Fraction], Piece] = {}
        for piece in pieces:
            mark, place, skip = _split(piece)
            if self._voice not in EMBELLISHMENTS[mark.ornament].voices:
                able = " or ".join(EMBELLISHMENTS[mark.ornament].voices)
                what = f"the {self._voice} cannot be {mark.ornament}"
                raise piece.error(what, f"only the {able} can; take the sign out")
            spots = self._spots(piece, place, skip, grids)
            counted_out = written[piece.text] == len(spots) > 1
            for spot in spots:
                earlier = taken.setdefault(spot, piece)
                if earlier is piece:
                    at = spot[1] + (first + spot[0])
                    yield Stroke(at, self._voice, mark.level, mark.ornament, mark.hand)
                elif not (counted_out and earlier.text == piece.text):
                    raise self._clash(piece, earlier, spots)

    def _clash(
        self, piece: Piece, earlier: Piece, spots: Sequence[tuple[int, Fraction]]
    ) -> NotationError:
        name = _place_name(spots[0], self._grids) if len(spots) == 1 else "some of these beats"
        what = (
            f"the {self._voice} already has a stroke on {name}: {earlier.text!r} at column"
            f" {earlier.column}"
        )
        if len(spots) > 1:
            return piece.error(
                what,
                "a syllable without a number stands for every beat: write it once,"
                " or once for each beat, "
                "or with the beat's number",
            )
        return piece.error(what, "keep one of the two")

    def _spots(
        self, piece: Piece, place: str, skip: int, grids: Sequence[int]
    ) -> list[tuple[int, Fraction]]:
        """Return the beats of the bar, with offsets, that a place means."""
        if place == _EVERY:
            return [(beat, Fraction(0)) for beat in range(len(grids))]
        syllable = place.lstrip("0123456789")
        number = place.removesuffix(syllable)
        if not number:
            spots = [
                (beat, table[syllable])
                for beat, table in enumerate(map(syllables, grids))
                if syllable and syllable in table
            ]
            if spots:
                return spots
            raise self._unreadable(piece, place, skip, grids)
        beat = _number(number) - 1
        if not 0 <= beat < len(grids):
            raise piece.error(
                f"a bar of {self._meter} has no beat {shown(number)}",
                f"write 1 to {len(grids)}",
                skip=skip,
            )
        if syllable not in syllables(grids[beat]):
            raise self._unreadable(piece, place, skip, grids[beat : beat + 1], number)
        return [(beat, syllables(grids[beat])[syllable])]

    def _unreadable(
        self, piece: Piece, place: str, skip: int, grids: Sequence[int], number: str = ""
    ) -> NotationError:
        names = {slots: name for name, slots in grid_names(self._meter).items()}
        places = {slots: " ".join(number + name for name in syllables(slots)) for slots in grids}
        allowed = "; ".join(
            f"under grid {names[slots]}: {places[slots].strip()}" for slots in sorted(places)
        )
        every = "" if number else ", a beat's number before any of them, or 'beat' for every beat"
        what = f"cannot read {shown(place)} as a place" if place else "a place is missing"
        return piece.error(what, allowed + every, skip=skip)


def _split(piece: Piece) -> tuple[_Mark, str, int]:
    """Take a token apart: its mark, its place, and how many characters stand before the place."""
    text, level, skip = piece.text, Level.PLAIN, 0
    if text.startswith("("):
        if not text.endswith(")"):
            raise piece.error(
                f"the bracket of {shown(text)} is not closed",
                "write a ghost as (2e), without spaces",
            )
        text, level, skip = text[1:-1], Level.GHOST, 1
    elif text[:1] in _LEVEL_SIGNS:
        text, level, skip = text[1:], _LEVEL_SIGNS[text[0]], 1
    if level is Level.PLAIN and (ordered := _level_first(text)):
        raise piece.error(
            f"cannot read {shown(text)} as a stroke",
            f"write how loud it is first: {shown(ordered)}",
        )
    if text == "" or text[0] in "(>_" or text[-1] in "()":
        raise piece.error(
            f"cannot read {shown(piece.text)} as a stroke",
            "write (2e) for a ghost, _2e for a tap, >2e for an accent, 2e for a plain stroke",
        )
    ornament = _ORNAMENTS.get(text[0], Ornament.NONE)
    place = text if ornament is Ornament.NONE else text[1:]
    hand = _HANDS.get(place[:1])
    place = place if hand is None else place[1:]
    if hand is not None and place[:1] in _ORNAMENTS and place[:1]:
        raise piece.error(
            f"cannot read {shown(piece.text)} as a stroke",
            "write the ornament before the hand, as in /R2e",
        )
    return _Mark(level, ornament, hand), place, skip + len(text) - len(place)


def _level_first(text: str) -> str:
    """Return a stroke whose level stands behind other signs, such as ``d>2``, as it is written."""
    for level, late in _LEVEL_LATE.items():
        if found := late.fullmatch(text):
            signs = LEVELS[level]
            return f"{signs.opening}{found[1]}{found[2]}{signs.closing}"
    return ""


def _number(digits: str) -> int:
    """Return a beat's number; 0, which no bar has, for digits that cannot be one."""
    return int(digits) if len(digits) <= 2 and not digits.startswith("0") else 0


def _place_name(spot: tuple[int, Fraction], grids: Sequence[int]) -> str:
    beat, offset = spot
    return f"{beat + 1}{syllable(offset, grids[beat])}"
