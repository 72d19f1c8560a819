"""What a rhythm is called: one title, made from the rhythm alone, the count said aloud.

The same rhythm has the same title everywhere. What every drummer assumes is not said: four beats,
eighths on the hat, backbeats on two and four, bass on one and three. So "e and a of every beat" is
that groove with two ghosts a beat, and "shuffle: trip of every beat; bass 1 3l" says what is other.
Rhythms with a name of their own (a rudiment, a shuffle) have that name.

Titles have at most `MAX_TITLE` characters: a long one says "every e" for "e of every beat", then
drops its small words, then says the bare counts. docs/decks.md says how to read them.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from drillbox.rhythm.counting import BARE
from drillbox.rhythm.grid import grid_names, syllables
from drillbox.rhythm.notation import parse
from drillbox.rhythm.pattern import fingerprint
from drillbox.rhythm.repertoire import NAMED
from drillbox.rhythm.title_grooves import Groove
from drillbox.rhythm.title_hands import HandsAlone

if TYPE_CHECKING:
    from drillbox.rhythm.pattern import Pattern

__all__ = ["MAX_TITLE", "title"]

MAX_TITLE = 44


def title(pattern: Pattern) -> str:
    """Return what a rhythm is called."""
    if not pattern.strokes:
        return "silence"
    named = _named().get(fingerprint(pattern))
    if named is not None:
        return named
    pattern = _on_usual_grids(_shortest(pattern))
    for terse in range(BARE + 2):
        text = _told(pattern, terse)
        if len(text) <= MAX_TITLE:
            return text
    return f"{text[: MAX_TITLE - 1].rsplit(' ', 1)[0].rstrip(',;:| ')}…"


def _told(pattern: Pattern, terse: int) -> str:
    """Return the title with so many small words left out, as long as it comes."""
    grooves = any(stroke.voice.is_cymbal or stroke.voice.is_foot for stroke in pattern.strokes)
    words = (Groove if grooves else HandsAlone)(pattern, terse).words()
    felt = "" if pattern.swing is None else f", swung {pattern.swing.ratio}"
    meter = str(pattern.meter)
    if meter == "4/4":
        return words + felt
    return f"{meter} {words}{felt}" if words.startswith("groove") else f"{meter}: {words}{felt}"


@lru_cache(maxsize=1)
def _named() -> dict[str, str]:
    return {fingerprint(parse(text)): name for text, name in NAMED.items()}


def _shortest(pattern: Pattern) -> Pattern:
    """Return the fewest bars that repeat."""
    length = pattern.meter.beats
    for bars in range(1, pattern.bars):
        if pattern.bars % bars:
            continue
        cut = replace(
            pattern,
            grids=pattern.grids[: bars * length],
            strokes=tuple(s for s in pattern.strokes if s.at < bars * length),
        )
        if fingerprint(cut) == fingerprint(pattern):
            return cut
    return pattern


def _on_usual_grids(pattern: Pattern) -> Pattern:
    """Return the pattern on the coarsest grid that holds it, for titles must not see the grid.

    One grid for all beats where there is one, else one for each.
    """
    needed: list[set[Fraction]] = [set() for _ in pattern.grids]
    for stroke in pattern.strokes:
        needed[int(stroke.at)].add(stroke.at % 1)
    known = sorted(grid_names(pattern.meter).values())
    holding = {slots: {Fraction(slot, slots) for slot in range(slots)} for slots in known}
    everything = set().union(*needed)
    for slots in known:
        if everything <= holding[slots]:
            return replace(pattern, grids=(slots,) * pattern.beats)
    chosen = []
    for places in needed:
        on_grid = next((slots for slots in known if places <= holding[slots]), None)
        # The & may stand in any beat, on its grid or not.
        chosen.append(on_grid or next(s for s in known if places <= {*syllables(s).values()}))
    return replace(pattern, grids=tuple(chosen))
