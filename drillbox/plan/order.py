"""The order of a practice.

Warm up on something easy, hardest in the middle, end on something that holds.

Neighbours come from different families where that is possible (interleaving: harmless, and probably
helpful; Carter & Grahn, *Frontiers in Psychology* 7:1251, 2016). Hardest in the middle follows the
advice of the British Association for Performing Arts Medicine.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.plan.candidates import Part

if TYPE_CHECKING:
    from collections.abc import Sequence


def arrange(
    chosen: Sequence[int],
    *,
    success: dict[int, float],
    family: dict[int, str],
    steady: set[int],
    begun: bool,
    first: int | None = None,
    builds_on: dict[int, list[int]] | None = None,
) -> list[tuple[int, Part]]:
    """Return the chosen cards in playing order, each with its part.

    Parameters
    ----------
    chosen
        Cards, by any key.
    success
        Chance that the card's first take comes off.
    family
        Its family, empty for none.
    steady
        Cards that may open or close the day: known ones, likely to come off.
    begun
        Whether the day's practice has begun: then there is no warm-up.
    first
        The card on the stand, if its visit goes on.
    builds_on
        For each card the chosen ones that must have been begun before it.
    """
    easy = sorted((c for c in chosen if c in steady and c != first), key=lambda c: (-success[c], c))
    opening = easy[:1] if not begun else []
    rest = [c for c in easy if c not in opening]
    closing = rest[:1] if len(chosen) > 2 else []
    fixed = {*opening, *closing, *([] if first is None else [first])}
    middle = _peak([c for c in chosen if c not in fixed], success)
    work = ([] if first is None else [first]) + middle
    before = opening[-1:] + work
    work = _part_families(before, family)[len(opening) :] if len(before) > 2 else work
    work = _begun_first(work, builds_on or {})
    return [
        *((c, Part.WARM_UP) for c in opening),
        *((c, Part.WORK) for c in work),
        *((c, Part.WRAP_UP) for c in closing),
    ]


def _peak(cards: Sequence[int], success: dict[int, float]) -> list[int]:
    """Return the cards rising in difficulty to the middle and falling after it.

    Equals in their own order.
    """
    ranked = sorted(cards, key=lambda c: (-success[c], c))
    if len({round(success[c], 2) for c in cards}) == 1:
        return ranked
    return ranked[::2] + ranked[1::2][::-1]


def _part_families(cards: Sequence[int], family: dict[int, str]) -> list[int]:
    """Bring forward a card of another family where two of one family would follow each other."""
    left = list(cards)
    order = left[:1]
    left = left[1:]
    while left:
        last = family[order[-1]]
        other = next((i for i, c in enumerate(left) if not last or family[c] != last), 0)
        order.append(left.pop(other))
    return order


def _begun_first(cards: Sequence[int], builds_on: dict[int, list[int]]) -> list[int]:
    """Bring a card forward that another one builds on; otherwise the order stays."""
    order: list[int] = []

    def place(card: int) -> None:
        if card in order:
            return
        for before in builds_on.get(card, ()):
            if before in cards:
                place(before)
        order.append(card)

    for card in cards:
        place(card)
    return order


def interleave(
    order: Sequence[tuple[int, Part]], again: dict[int, int]
) -> list[tuple[int, Part, int]]:
    """Put the further takes of a first meeting in between the other cards: A B A C A.

    Parameters
    ----------
    order
        Cards in playing order, each with its part.
    again
        Further takes of the cards that are being met.

    Returns
    -------
    list
        Card, part, and which take of the meeting it is, from 0.
    """
    result: list[tuple[int, Part, int]] = []
    waiting: list[tuple[int, int]] = []
    for card, part in order:
        if part is Part.WRAP_UP:
            break
        result.append((card, part, 0))
        met = waiting.pop(0) if waiting else None
        if again.get(card):
            waiting.append((card, 1))
        if met is not None:
            _come_back(met, result, waiting, again)
    while waiting:
        _come_back(waiting.pop(0), result, waiting, again)
    return result + [(card, part, 0) for card, part in order if part is Part.WRAP_UP]


def _come_back(
    met: tuple[int, int],
    result: list[tuple[int, Part, int]],
    waiting: list[tuple[int, int]],
    again: dict[int, int],
) -> None:
    """Put a further take of a first meeting in its place, and queue up the one after it."""
    card, number = met
    result.append((card, Part.WORK, number))
    if number < again[card]:
        waiting.append((card, number + 1))
