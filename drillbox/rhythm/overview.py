"""Seeing many patterns at once: a pattern in one line, and the map of all placements of a grid.

The map has a cell for every set of partials that ghosts can have on every beat, plain, doubled and
buzzed; what stands in a cell is the caller's. Signs and letters only: nothing is told by colour.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from drillbox.rhythm.embellishments import EMBELLISHMENTS, LEVELS
from drillbox.rhythm.stroke import TICKS, Level, Ornament, Voice

if TYPE_CHECKING:
    from collections.abc import Container, Iterable, Iterator, Mapping

    from drillbox.rhythm.pattern import Pattern
    from drillbox.rhythm.stroke import Stroke

__all__ = [
    "MAP_EMBELLISHMENTS",
    "MAP_GRIDS",
    "MapRow",
    "Placing",
    "map_cells",
    "map_rows",
    "placing",
    "strip",
    "vocabulary_map",
]

_SILENT = "·"
MAP_GRIDS = {"eighth triplets": "1tl", "sixteenths": "1e&a", "sixteenth triplets": "123456"}
"""The grids of the map, with a letter for each partial."""
_MAPPED = (Ornament.NONE, Ornament.DOUBLE, Ornament.BUZZ)
"""What the map has a block for: what fills a partial, or nothing."""
MAP_EMBELLISHMENTS = tuple(EMBELLISHMENTS[ornament].said_of_all for ornament in _MAPPED)
"""The words of the map's blocks, in their order."""
_VALUE = 5
_GAP = 1


@dataclass(frozen=True, slots=True)
class Placing:
    """Ghosts on every beat, whatever the groove.

    Parameters
    ----------
    offsets
        Where in the beat.
    ornament
        The ornament that all of them have.
    slots
        Partials per beat where there is an ornament, since that fills a partial; else 0.
    """

    offsets: frozenset[Fraction]
    ornament: Ornament = Ornament.NONE
    slots: int = 0


@dataclass(frozen=True, slots=True)
class MapRow:
    """One set of partials of a grid.

    Parameters
    ----------
    grid
        The grid's name, one of `MAP_GRIDS`.
    partials
        The set in letters, with a point for each partial that is not in it.
    cells
        Its placing in each of `MAP_EMBELLISHMENTS`.
    """

    grid: str
    partials: str
    cells: tuple[Placing, ...]


def placing(pattern: Pattern) -> Placing | None:
    """Return the set of partials that a pattern ghosts on every beat of the snare.

    None if it is no such pattern, and for hands alone on a pad: the map is one of grooves.

    A ghost may be missing where the snare has a louder stroke instead. All ghosts have one
    ornament, or none has.
    """
    if not any(s.voice.is_cymbal or s.voice.is_foot for s in pattern.strokes):
        return None
    ghosts: dict[int, Stroke] = {}
    louder: set[int] = set()
    for stroke in pattern.strokes:
        if stroke.voice is Voice.SNARE:
            if stroke.level is Level.GHOST:
                ghosts[stroke.tick] = stroke
            else:
                louder.add(stroke.tick)
    ornaments = {stroke.ornament for stroke in ghosts.values()}
    overs = {tick % TICKS for tick in ghosts}
    places = {beat * TICKS + over for beat in range(pattern.beats) for over in overs}
    if pattern.meter.unit != 4 or len(ornaments) != 1 or places - ghosts.keys() - louder:
        return None
    if len(set(pattern.grids)) != 1:
        return None
    ornament = ornaments.pop()
    offsets = frozenset(Fraction(over, TICKS) for over in overs)
    return Placing(offsets, ornament, 0 if ornament is Ornament.NONE else pattern.grids[0])


def map_cells(cards: Iterable[tuple[Pattern, float | None, str]]) -> dict[Placing, str]:
    """Return what to write into the map's cells.

    Parameters
    ----------
    cards
        Of each card the pattern, the tempo it is played at (None if it was never), and what to
        write. Where several have one placing, over different grooves, the fastest is written.
    """
    best: dict[Placing, tuple[float, str]] = {}
    for pattern, bpm, text in cards:
        placed = placing(pattern)
        if placed is not None:
            rank = 0.0 if bpm is None else bpm
            if placed not in best or rank > best[placed][0]:
                best[placed] = (rank, text)
    return {placed: text for placed, (_, text) in best.items()}


def strip(pattern: Pattern, voice: Voice = Voice.SNARE) -> str:
    """Return one voice in one line: a sign a partial, a blank between beats, a line between bars.

    ``·`` silent, ``o`` ghost, ``_`` tap, ``O`` plain, ``>`` accent; an ornament takes their place:
    ``/`` double, ``z`` buzz, ``f`` flam, ``d`` drag. Of cymbals and the hat's pedal ``x`` is plain
    and ``O`` open. The `&` of an odd grid has a sign of its own where any voice has it.
    """
    strokes = {stroke.tick: stroke for stroke in pattern.strokes if stroke.voice is voice}
    struck = {stroke.tick for stroke in pattern.strokes}
    bars: list[list[str]] = [[] for _ in range(pattern.bars)]
    for beat, slots in enumerate(pattern.grids):
        ticks = [beat * TICKS + slot * TICKS // slots for slot in range(slots)]
        half = beat * TICKS + TICKS // 2
        if half in struck:
            ticks = sorted({*ticks, half})
        signs = "".join(_sign(strokes.get(tick)) for tick in ticks)
        bars[beat // pattern.meter.beats].append(signs)
    return " | ".join(" ".join(beats) for beats in bars)


def _sign(stroke: Stroke | None) -> str:
    if stroke is None:
        return _SILENT
    metal = stroke.voice.is_cymbal or stroke.voice is Voice.PEDAL
    plain = "x" if metal and stroke.level is Level.PLAIN else LEVELS[stroke.level].strip
    return EMBELLISHMENTS[stroke.ornament].head or plain


def vocabulary_map(cells: Mapping[Placing, str], *, width: int = 80) -> str:
    """Draw the map of the vocabulary as text.

    Parameters
    ----------
    cells
        What to write beside a placing, five characters at most; nothing is known of the others.
    width
        Columns of the terminal.

    Returns
    -------
    str
        A block for each grid that has something of its own, one row or more for each number of
        partials; each line is ended by a line feed.
    """
    blocks = []
    for title, letters in MAP_GRIDS.items():
        for ornament in _MAPPED:
            word = EMBELLISHMENTS[ornament].said_of_all
            known = [placed for placed in _placings(len(letters), ornament) if cells.get(placed)]
            if any(_tells(placed, len(letters)) for placed in known):
                head = f"{title}, {word}: cards for {len(known)} of {2 ** len(letters) - 1}\n"
                blocks.append(head + "".join(_block(cells, letters, ornament, width)))
    return "\n".join(blocks)


def map_rows(known: Container[Placing]) -> list[MapRow]:
    """Return the rows of the map that have a known cell, grid by grid, the fewest partials first.

    A grid none of whose known cells is its own, rather than a coarser grid's, is left out.
    """
    rows = []
    for grid, letters in MAP_GRIDS.items():
        sets = zip(*(_placings(len(letters), ornament) for ornament in _MAPPED), strict=True)
        mine = [MapRow(grid, _in_letters(cells[0], letters), cells) for cells in sets]
        mine = [row for row in mine if any(placed in known for placed in row.cells)]
        own = (p for row in mine for p in row.cells if p in known and _tells(p, len(letters)))
        if any(own):
            rows += mine
    return rows


def _in_letters(placed: Placing, letters: str) -> str:
    return "".join(
        letter if Fraction(slot, len(letters)) in placed.offsets else _SILENT
        for slot, letter in enumerate(letters)
    )


def _tells(placed: Placing, slots: int) -> bool:
    """Whether a placing belongs to this grid and not to a coarser one, as ghosts on the `&` do."""
    return placed.slots == slots or any(at.denominator == slots for at in placed.offsets)


def _placings(slots: int, ornament: Ornament) -> Iterator[Placing]:
    for count in range(1, slots + 1):
        for chosen in combinations(range(slots), count):
            offsets = frozenset(Fraction(slot, slots) for slot in chosen)
            yield Placing(offsets, ornament, 0 if ornament is Ornament.NONE else slots)


def _block(
    cells: Mapping[Placing, str], letters: str, ornament: Ornament, width: int
) -> Iterator[str]:
    """Yield the lines of one grid in one ornament."""
    slots = len(letters)
    across = max(1, (width + _GAP) // (slots + 1 + _VALUE + _GAP))
    for count in range(1, slots + 1):
        row = [
            f"{_in_letters(placed, letters)} {cells.get(placed, ''):>{_VALUE}}"
            for placed in _placings(slots, ornament)
            if len(placed.offsets) == count
        ]
        for start in range(0, len(row), across):
            yield f"{(' ' * _GAP).join(row[start : start + across]).rstrip()}\n"
