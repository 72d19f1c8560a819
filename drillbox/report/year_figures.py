"""The player's tempos by family over time, from the practice days that are kept.

A family's tempo on a day is the mean of its cards that were begun by then, each at the cold tempo
that was expected after its last practice up to that day; today, at the one expected now. Cards that
have not come together have no tempo yet and are left out.

Conventions: days are practice days as ordinals (`drillbox.base.now`), tempos bpm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from datetime import datetime

    from drillbox.box import Box

MOST_POINTS = 400
"""A curve of more days is drawn through so many of them: no screen shows more."""


@dataclass(frozen=True, slots=True)
class FamilyCurve:
    """One family's mean cold tempo over time.

    Parameters
    ----------
    name
        The family.
    cards
        How many of its cards have a tempo.
    goal_bpm
        Their mean goal.
    days, bpm
        The curve, oldest first; the last day is today.
    """

    name: str
    cards: int
    goal_bpm: float
    days: tuple[int, ...]
    bpm: tuple[float, ...]


def family_curves(box: Box, *, at: datetime) -> tuple[FamilyCurve, ...]:
    """Return each family's curve, the family of most cards first.

    Parameters
    ----------
    box
        The player's box.
    at
        Now.
    """
    today, days = box.now(at).day, box.days().together()
    entries = box.entries()
    known = {card.card_id: card.cold_bpm for card in box.cards(at=at) if card.cold_bpm is not None}
    names = box.families()
    families: dict[str, list[str]] = {}
    for card_id in known:
        families.setdefault(names[card_id], []).append(card_id)
    rows = days.rows
    cold, first = 2.0**rows.mu, np.diff(days.card, prepend=-1) != 0
    # Each row moves its card from the tempo before; a card's first row brings it in.
    steps = cold - np.where(first, 0.0, np.roll(cold, 1))
    place = {card_id: number for number, card_id in enumerate(days.cards)}
    curves = []
    for name, cards in families.items():
        mine = np.isin(days.card, [place[card_id] for card_id in cards if card_id in place])
        ordinals, back = np.unique(rows.day[mine].astype(np.int64), return_inverse=True)
        total = np.cumsum(np.bincount(back, weights=steps[mine], minlength=len(ordinals)))
        begun = np.cumsum(np.bincount(back, weights=first[mine], minlength=len(ordinals)))
        shown = np.unique(np.linspace(0, len(ordinals) - 1, MOST_POINTS).astype(np.int64))
        past = [n for n in shown.tolist() if ordinals[n] < today]
        now = sum(known[card_id] for card_id in cards) / len(cards)
        curves.append(
            FamilyCurve(
                name,
                len(cards),
                sum(entries[card_id].goal_bpm for card_id in cards) / len(cards),
                (*(int(ordinals[n]) for n in past), today),
                (*(float(total[n] / begun[n]) for n in past), now),
            )
        )
    return tuple(sorted(curves, key=lambda curve: (-curve.cards, curve.name)))
