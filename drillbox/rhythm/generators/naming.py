"""What a figure is called: a title in the trade's words, and a short name that stays.

The short name depends on the figure only, so a card keeps its name however the deck grows.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from drillbox.rhythm.embellishments import EMBELLISHMENTS
from drillbox.rhythm.grid import syllable
from drillbox.rhythm.stroke import TICKS, Level

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from drillbox.rhythm.generators.ghost_figures import Figure
    from drillbox.rhythm.meter import Meter

__all__ = ["figure_slug", "figure_title", "later"]

_ORDINALS = ("first", "second", "third")
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")
_NOTES = {
    (4, 2): "eighth",
    (4, 3): "triplet partial",
    (4, 4): "sixteenth",
    (4, 6): "sixteenth-triplet partial",
    (4, 8): "thirty-second",
    (8, 1): "eighth",
    (8, 2): "sixteenth",
    (8, 3): "sixteenth-triplet partial",
    (8, 4): "thirty-second",
}
"""What one partial is, by the meter's unit and the slots of a beat."""
_COUNTED = (1, 2, 4)
"""Slots whose partials are called by their counts.

Those of triplets are called first, second and third, others have
their numbers."""
_SHORT = {
    1: ("beat",),
    2: ("beat", "and"),
    3: ("beat", "trip", "let"),
    4: ("beat", "e", "and", "a"),
}


def figure_title(
    meter: Meter, parts: Sequence[Figure], hidden: Collection[int] = frozenset()
) -> str:
    """Return a title such as ``e and a of every beat, doubled``.

    Parameters
    ----------
    meter, parts
        The bar and its figures.
    hidden
        Ticks of the bar where something louder is heard; a title that counts its places leaves them
        out.
    """
    titles = [_title(meter, part, hidden) for part in parts]
    for before, part in enumerate(parts[1:]):
        # Said once is enough: "second triplet partial of beats 1 and 3, third of beats 2 and 4".
        note = f"{_NOTES[meter.unit, part.slots]}s"
        if part.slots == parts[before].slots and not titles[before + 1].startswith("all "):
            words = titles[before + 1].replace(f"{note} ", "").replace(f"{note[:-1]} ", "")
            titles[before + 1] = words
    return ", ".join(titles)


def figure_slug(parts: Sequence[Figure]) -> str:
    """Return a short name such as ``e-and-a-doubled``.

    The same figures have the same one for ever.
    """
    return "-then-".join(_slug(part, with_cells=len(parts) == 1) for part in parts)


def later(meter: Meter, slots: int, partials: int) -> str:
    """Return how much later something comes: ``a sixteenth later``, ``two sixteenths later``."""
    note = _NOTES[meter.unit, slots]
    if partials == 1:
        return f"{'an' if note[0] in 'aei' else 'a'} {note} later"
    number = _NUMBERS[partials] if partials < len(_NUMBERS) else str(partials)
    return f"{number} {note}s later"


def _title(meter: Meter, part: Figure, hidden: Collection[int]) -> str:
    if part.cell > 1:
        counts = [
            _count(beat, partial, part)
            for beat, partial in part.places(meter)
            if beat * TICKS + partial % part.slots * TICKS // part.slots not in hidden
        ]
        text = _listed(counts)
    else:
        text = _names(meter, part) + _beats(part)
    if part.level is Level.ACCENT:
        named = part.cell == 1 and part.slots in _SHORT and len(part.partials) < part.slots
        article = "the " if named else ""
        text = f"accents on {article}{text}"
    if not part.embellished:
        return text
    row = EMBELLISHMENTS[part.ornament]
    if part.embellished == part.partials:
        return f"{text}, {row.said_of_all}"
    some = _listed([_name(partial, part) for partial in part.embellished])
    return f"{text}, {some} {row.said_of_some}"


def _names(meter: Meter, part: Figure) -> str:
    """Return the set's name without its beats."""
    note = _NOTES[meter.unit, part.slots]
    size = len(part.partials)
    if size == part.slots > 1:
        return f"{'both' if size == 2 else f'all {_NUMBERS[size]}'} {note}s"
    names = _listed([_name(partial, part) for partial in part.partials])
    if part.slots in _COUNTED:
        return names
    return f"{names} {note}" if part.slots in _SHORT else f"{note}{'s' if size > 1 else ''} {names}"


def _beats(part: Figure) -> str:
    numbers = _listed([str(cell + 1) for cell in part.cells]) if part.cells else ""
    if part.slots in _COUNTED:
        return f" of {numbers or 'every beat'}"
    return f" of beat{'s' if len(part.cells) > 1 else ''} {numbers}" if numbers else ""


def _name(partial: int, part: Figure) -> str:
    """Return what one partial of a set is called; in a cell of several beats by its first count."""
    beat, slot = divmod(partial, part.slots)
    if part.cell > 1:
        return _count(beat, partial, part)
    if part.slots in _COUNTED:
        return syllable(Fraction(slot, part.slots), part.slots) or "downbeat"
    return _ORDINALS[slot] if part.slots in _SHORT else str(slot + 1)


def _count(beat: int, partial: int, part: Figure) -> str:
    offset = Fraction(partial % part.slots, part.slots)
    return f"{beat + 1}{syllable(offset, part.slots)}"


def _slug(part: Figure, *, with_cells: bool) -> str:
    words = _shorts(part.partials, part)
    if part.embellished:
        if part.embellished != part.partials:
            words += ["with", *_shorts(part.embellished, part)]
        words.append(EMBELLISHMENTS[part.ornament].slug)
    if part.cells and with_cells:
        words += ["on", *(str(cell + 1) for cell in part.cells)]
    return "-".join(words)


def _shorts(partials: Sequence[int], part: Figure) -> list[str]:
    """Return a set's short names.

    Where partials of a beat are numbered, one word such as ``p135``.
    """
    if part.cell == 1 and part.slots not in _SHORT:
        return [f"p{''.join(str(partial + 1) for partial in partials)}"]
    return [_short(partial, part) for partial in partials]


def _short(partial: int, part: Figure) -> str:
    beat, slot = divmod(partial, part.slots)
    name = _SHORT[part.slots][slot] if part.slots in _SHORT else f"p{slot + 1}"
    if part.cell == 1:
        return name
    return str(beat + 1) if slot == 0 else f"{beat + 1}{name}"


def _listed(words: Sequence[str]) -> str:
    """Return words as a list: ``e, & and a``."""
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))
