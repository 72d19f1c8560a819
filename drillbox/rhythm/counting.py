"""Places in words: the count said aloud, as it stands in titles.

``e and a of every beat``, ``trip of 1 and 3, let of 2 and 4``, or as bare counts ``1e 2a 3``.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from drillbox.rhythm.grid import syllable, syllables
from drillbox.rhythm.stroke import TICKS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.rhythm.pattern import Pattern
    from drillbox.rhythm.stroke import Stroke

__all__ = ["BARE", "beat_words", "counts", "line_counts", "listed", "said_places", "syllable_of"]

_FULL = {
    (4, 2): "every eighth", (4, 3): "every triplet", (4, 4): "every sixteenth",
    (4, 6): "every sixteenth triplet", (4, 8): "every thirty-second",
    (8, 1): "every eighth", (8, 2): "every sixteenth",
}  # fmt: skip
BARE = 3
"""From this terseness on the small words of lists are left out."""
_AFTER = "."
_JUST = "just after "
_TRIPLET = {"t": "trip", "l": "let"}
_SYLLABLES = {*_TRIPLET.values(), "e", "&", "a", "t", "l", "&t", "&l"}


def counts(pattern: Pattern, strokes: Sequence[Stroke], *, terse: int = 0) -> str:
    """Return bare counts, such as ``1 2& 3``; bars after the first come after a bar line.

    Triplets are ``2trip 2let``, and ``2t 2l`` as they are typed where it is terse.
    """
    beats = pattern.meter.beats
    bars: list[list[str]] = [[] for _ in range(pattern.bars)]
    for stroke in strokes:
        bar, beat = divmod(int(stroke.at), beats)
        name = syllable_of(pattern, stroke) if terse > 1 else _counted(pattern, stroke)
        bars[bar].append(f"{beat + 1}{name}")
    said = [" ".join(bar) for bar in bars]
    return said[0] if len(set(said)) == 1 else " | ".join(said).strip()


def line_counts(pattern: Pattern, strokes: Sequence[Stroke], *, terse: int = 0) -> str:
    """Return the counts of a line; ``every &`` where all beats have the same syllables."""
    beats = [
        [_counted(pattern, s) or "beat" for s in strokes if int(s.at) == beat]
        for beat in range(pattern.beats)
    ]
    if beats[0] and all(names == beats[0] for names in beats):
        return f"every {listed(beats[0])}"
    return counts(pattern, strokes, terse=terse)


def said_places(
    pattern: Pattern,
    strokes: Sequence[Stroke],
    *,
    terse: int = 0,
    everywhere: bool = True,
    loud: Sequence[Stroke] = (),
) -> str:
    """Return places in words.

    Parameters
    ----------
    pattern, strokes
        The strokes of it whose places are meant.
    terse
        0 for "e and a of every beat", 1 for "every e and a", from `BARE` on "every e a".
    everywhere
        Whether "of every beat" is said.
    loud
        Strokes that are heard as well: together with them the strokes may fill the grid.
    """
    bars = [
        _bar(pattern, bar, strokes, terse=terse, everywhere=everywhere, loud=loud)
        for bar in range(pattern.bars)
    ]
    if len(set(bars)) == 1:
        return bars[0]
    head, tail = "every ", " of every beat"
    if everywhere and all(bar.endswith(tail) and bar.count(" of ") == 1 for bar in bars):
        return f"{', then '.join(bar.removesuffix(tail) for bar in bars)},{tail}"
    if all(bar.startswith(head) and bar.split()[1].strip(",") in _SYLLABLES for bar in bars):
        return head + ", then ".join(bar.removeprefix(head) for bar in bars)
    return ", then ".join(bar or "nothing" for bar in bars)


def beat_words(pattern: Pattern, strokes: Sequence[Stroke]) -> str:
    """Return places of one beat in words, with ``#`` for its number: ``# with &``, ``e of #``.

    A beat whose partials are all there is ``every sixteenth of #``.
    """
    slots = pattern.grids[int(strokes[0].at)]
    whole = _FULL.get((pattern.meter.unit, slots), "")
    if whole and slots > 2 and len(strokes) == slots:
        return f"{whole} of #"
    names = [_word(pattern, stroke) for stroke in strokes]
    rest = listed(["just after" if name == _AFTER else name for name in names if name])
    if "" not in names:
        return f"{rest} #" if names == [_AFTER] else f"{rest} of #"
    return f"# with {rest}" if rest else "#"


def _bar(
    pattern: Pattern,
    bar: int,
    strokes: Sequence[Stroke],
    *,
    terse: int,
    everywhere: bool,
    loud: Sequence[Stroke],
) -> str:
    beats = pattern.meter.beats
    first = bar * beats
    mine = [s for s in strokes if first <= s.at < first + beats]
    ticks = {s.tick - first * TICKS for s in mine}
    slots = {pattern.grids[int(s.at)] for s in mine}
    if len(slots) == 1 and everywhere:
        (each,) = slots
        grid = set(range(0, beats * TICKS, TICKS // each))
        heard = ticks | {s.tick - first * TICKS for s in loud if first <= s.at < first + beats}
        if heard == grid and (pattern.meter.unit, each) in _FULL:
            return _FULL[pattern.meter.unit, each]
    on: dict[str, set[int]] = {}
    order: dict[str, int] = {}
    for stroke in mine:
        beat, name = int(stroke.at) - first, _word(pattern, stroke)
        on.setdefault(name, set()).add(beat)
        order.setdefault(name, stroke.tick)
    able = {name: _able(pattern, first, name) for name in on}
    groups: dict[tuple[bool, frozenset[int], bool], list[str]] = {}
    for name in sorted(on, key=lambda word: (_offset(pattern, word), order[word])):
        every = on[name] == able[name] and len(able[name]) == beats
        # What comes just after the beat has no syllable, and stands by itself.
        groups.setdefault((every, frozenset(on[name]), name == _AFTER), []).append(name)
    phrases = [
        _phrase(names, chosen, every=every, terse=terse, everywhere=everywhere)
        for (every, chosen, _), names in sorted(groups.items(), key=_order_of_group)
    ]
    return ", ".join(phrases)


def _order_of_group(
    item: tuple[tuple[bool, frozenset[int], bool], Sequence[str]],
) -> tuple[bool, bool, int, bool]:
    """Return how a phrase is sorted: whole beats before their parts, every beat last."""
    (every, chosen, after), names = item
    return (every, "" not in names, min(chosen), not after)


def _phrase(
    names: Sequence[str], beats: frozenset[int], *, every: bool, terse: int, everywhere: bool
) -> str:
    numbers = listed([str(beat + 1) for beat in sorted(beats)], terse=terse)
    if names == [_AFTER]:
        return f"{_JUST}{'every beat' if every else numbers}"
    if "" in names:
        rest = [name for name in names if name]
        if every and rest == ["&"]:
            return "every eighth"
        where = "every beat" if every else numbers
        return f"{where} with {listed(rest, terse=terse)}" if rest else where
    said = listed(names, terse=terse)
    if every and everywhere and terse:
        return _every(names, said)
    where = " of every beat" if everywhere else ""
    return f"{said}{where}" if every else f"{said} of {numbers}"


def _every(names: Sequence[str], said: str) -> str:
    """Return ``every e and a``, or ``just after every e`` where a place has no syllable."""
    if not any(name.startswith(_JUST) for name in names):
        return f"every {said}"
    return ", ".join(
        f"{_JUST}every {name.removeprefix(_JUST)}" if _JUST in name else f"every {name}"
        for name in names
    )


def listed(words: Sequence[str], *, terse: int = 0) -> str:
    """Return words as a list: ``e, & and a``; ``e & a`` where it is very terse."""
    if terse >= BARE:
        return " ".join(words)
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


def _counted(pattern: Pattern, stroke: Stroke) -> str:
    name = syllable_of(pattern, stroke)
    return _TRIPLET.get(name, name) if pattern.grids[int(stroke.at)] == 3 else name


def _word(pattern: Pattern, stroke: Stroke) -> str:
    name = _counted(pattern, stroke)
    return f"{_JUST}{name.removesuffix('.')}" if len(name) > 1 and name.endswith(".") else name


def syllable_of(pattern: Pattern, stroke: Stroke) -> str:
    """Return the written syllable of a stroke's place; empty on the beat."""
    beat, over = divmod(stroke.tick, TICKS)
    return syllable(Fraction(over, TICKS), pattern.grids[beat])


def _offset(pattern: Pattern, word: str) -> Fraction:
    """Return where in a beat a word of the pattern stands."""
    name = _written(word)
    return next(syllables(slots)[name] for slots in pattern.grids if name in syllables(slots))


def _written(word: str) -> str:
    """Return the syllable that a word stands for."""
    if word.startswith(_JUST):
        return f"{word.removeprefix(_JUST)}."
    return {spoken: short for short, spoken in _TRIPLET.items()}.get(word, word)


def _able(pattern: Pattern, first: int, word: str) -> set[int]:
    """Return the beats of a bar that have this syllable."""
    name = _written(word)
    return {
        beat
        for beat in range(pattern.meter.beats)
        if name in syllables(pattern.grids[first + beat])
    }
