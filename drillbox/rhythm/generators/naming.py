"""What a figure's card is called in ids: a short name that stays.

It depends on the figure only, so a card keeps its name however the deck grows. Titles are made from
the rhythm, by `drillbox.rhythm.titles`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.rhythm.embellishments import EMBELLISHMENTS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.rhythm.generators.ghost_figures import Figure

__all__ = ["figure_slug"]

_SHORT = {
    1: ("beat",),
    2: ("beat", "and"),
    3: ("beat", "trip", "let"),
    4: ("beat", "e", "and", "a"),
}


def figure_slug(parts: Sequence[Figure]) -> str:
    """Return a short name such as ``e-and-a-doubled``.

    The same figures have the same one for ever.
    """
    return "-then-".join(_slug(part, with_cells=len(parts) == 1) for part in parts)


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
