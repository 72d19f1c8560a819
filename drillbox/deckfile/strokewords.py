"""What changed between two rhythms, in the words of a rehearsal: "snare on the a of 4 now doubled".

Strokes are compared place by place and voice by voice. Strokes that changed in the same way share a
phrase; a syllable on every beat is said once.
"""

from __future__ import annotations

from math import lcm
from typing import TYPE_CHECKING

from drillbox.base.wording import counted
from drillbox.rhythm import EMBELLISHMENTS, LEVELS, Ornament, Voice, repeated, syllables

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from fractions import Fraction

    from drillbox.rhythm import Pattern, Stroke

    Key = tuple[int, Fraction]

__all__ = ["stroke_changes"]

_LONGEST = 64
"""Bars up to which two lengths are laid side by side."""
_MOST_PHRASES = 6
_MOST_PLACES = 4


def stroke_changes(old: Pattern, new: Pattern) -> tuple[str, ...]:
    """Return what one has to play differently, a phrase each; nothing where the two are one rhythm.

    Parameters
    ----------
    old, new
        Two rhythms. Where their bars differ in number, both are repeated up to a common length.
    """
    if old.swing != new.swing:
        return (f"now {_feel(new)}, was {_feel(old)}",)
    if old.meter != new.meter:
        return (f"now in {new.meter}, was {old.meter}: written anew",)
    bars = lcm(old.bars, new.bars)
    if bars > _LONGEST:
        return (f"now {counted(new.bars, 'bar')}, was {old.bars}: written anew",)
    left, right = repeated(old, bars), repeated(new, bars)
    grouped = _grouped(left, right)
    if len(grouped) > _MOST_PHRASES:
        phrases = [f"written anew in {sum(map(len, grouped.values()))} places"]
    else:
        phrases = [
            what.format(f"{voice} {_places(keys, left, right)}")
            for (voice, what), keys in grouped.items()
        ]
    if phrases and old.bars != new.bars:
        phrases.insert(0, f"now {counted(new.bars, 'bar')}, was {old.bars}")
    return tuple(phrases)


def _feel(pattern: Pattern) -> str:
    return "straight" if pattern.swing is None else f"swung {pattern.swing.ratio}"


def _grouped(old: Pattern, new: Pattern) -> dict[tuple[Voice, str], list[Fraction]]:
    """Return the places by voice and by what changed there, from the top of the drawing down."""
    before = {(stroke.voice.rank, stroke.at): stroke for stroke in old.strokes}
    after = {(stroke.voice.rank, stroke.at): stroke for stroke in new.strokes}
    grouped: dict[tuple[Voice, str], list[Fraction]] = {}
    for key in sorted(before | after):
        for what in _differences(before.get(key), after.get(key)):
            voice = (after.get(key) or before[key]).voice
            grouped.setdefault((voice, what), []).append(key[1])
    return grouped


def _differences(old: Stroke | None, new: Stroke | None) -> Iterable[str]:
    if old is None and new is not None:
        ornament = (
            "" if new.ornament is Ornament.NONE else f", {EMBELLISHMENTS[new.ornament].said_now}"
        )
        level = LEVELS[new.level].said_added
        yield f"{{}} added{' ' if level else ''}{level}{ornament}"
    elif new is None:
        yield "{} taken out"
    elif old is not None:
        if old.level is not new.level:
            yield f"{{}} now {LEVELS[new.level].said_now}"
        if old.ornament is not new.ornament:
            yield f"{{}} now {EMBELLISHMENTS[new.ornament].said_now}"
        if old.hand is not new.hand:
            yield f"{{}} now with {new.hand}" if new.hand else "{} now with either hand"


def _places(places: Sequence[Fraction], old: Pattern, new: Pattern) -> str:
    """Return places in words: ``on the a of every beat``, ``on 2 and the e of 3``."""
    everywhere = {beat + places[0] % 1 for beat in range(new.beats)}
    if len(places) > 1 and set(places) == everywhere:
        return _of_beat(_name(places[0], old, new), "every beat")
    if len(places) > _MOST_PLACES:
        return f"in {len(places)} places"
    words = [_place(at, old, new) for at in places]
    joined = ", ".join(words[:-1])
    return f"on {joined} and {words[-1]}" if joined else f"on {words[0]}"


def _place(at: Fraction, old: Pattern, new: Pattern) -> str:
    bar, beat = divmod(int(at), new.meter.beats)
    name = _name(at, old, new)
    place = f"the {name} of {beat + 1}" if name else str(beat + 1)
    return f"{place} of bar {bar + 1}" if new.bars > 1 else place


def _of_beat(name: str, beats: str) -> str:
    return f"on the {name} of {beats}" if name else f"on {beats}"


def _name(at: Fraction, old: Pattern, new: Pattern) -> str:
    """Return the syllable of a place, in the grid of whichever pattern has it."""
    beat, offset = int(at), at % 1
    return next(
        name
        for grid in (new.grids[beat], old.grids[beat])
        for name, place in syllables(grid).items()
        if place == offset
    )
