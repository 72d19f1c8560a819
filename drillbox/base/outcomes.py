"""What becomes of something asked for by a day: one rule, for the player and the teacher."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date


def outcome(by: date, *, since_known: bool, reached: date | None, today: date, stands: bool) -> str:
    """Return ``met``, ``late`` or ``missed``; ``not due`` while there is time.

    Where a deck asked, nobody knows since when: while the day is ahead, what was reached once must
    still stand.

    Parameters
    ----------
    by
        The last day on which it is in time.
    since_known
        Whether it is known since when it is asked for: by a reply, not by a deck.
    reached
        The first practice day since it was asked for, as far as that is known, after which the card
        stood at the asked tempo; None if there was none.
    today
        The practice day on which it is judged.
    stands
        Whether the card is at that tempo now.
    """
    if not since_known and by >= today and not stands:
        return "not due"
    if reached is not None and reached <= by:
        return "met"
    if by >= today:
        return "not due"
    return "missed" if reached is None else "late"
