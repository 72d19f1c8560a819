"""What a long time away has cost, for the first look after it."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from drillbox.base.wording import counted

if TYPE_CHECKING:
    from datetime import datetime

    from drillbox.box import Box

LONG_DAYS = 14
"""A shorter gap is a usual one."""


def after_time_away(box: Box, *, at: datetime) -> str:
    """Return what a long gap has cost, in one sentence; empty after a usual one.

    Parameters
    ----------
    box
        The player's box.
    at
        Now.
    """
    latest = box.archive.last_moment(until=at)
    if latest is None or at - latest < timedelta(days=LONG_DAYS - 1):
        return ""  # most days: without a look at every card
    cards = [card for card in box.cards(at=at) if card.last_played is not None]
    if not cards:
        return ""
    last = max(card.last_played for card in cards if card.last_played is not None)
    away = box.now(at).day - max(card.last_day for card in cards if card.last_day is not None)
    if away < LONG_DAYS:
        return ""
    no_debt = "No debt: these are the minutes that bring back most."
    then = {card.card_id: card for card in box.cards(at=last + timedelta(minutes=1))}
    held = [card for card in cards if then[card.card_id].holds]
    if not held:
        return f"{away} days away. {no_debt}"
    lost = [card for card in held if not card.holds]
    drop = [
        1.0 - card.cold_bpm / before
        for card in held
        if card.cold_bpm is not None and (before := then[card.card_id].cold_bpm)
    ]
    percent = round(100 * sum(drop) / len(drop)) if drop else 0
    of = counted(len(held), "card")
    slipped = "has slipped under its goal" if len(lost) == 1 else "have slipped under their goals"
    return (
        f"{away} days away: {len(lost)} of {of} that held {slipped}, and tempos are about"
        f" {percent} % lower. {no_debt}"
    )
