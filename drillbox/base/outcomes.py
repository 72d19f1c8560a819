"""What becomes of something asked for by a day: one rule, for the player and the teacher."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date


def outcome(
    by: date, *, given: date | None, reached: date | None, today: date, stands: bool
) -> str:
    """Return ``met``, ``late`` or ``missed``; ``not due`` while there is time.

    Where a deck asked, nobody knows since when: while the day is ahead, what was reached once must
    still stand.

    Parameters
    ----------
    by
        The last day on which it is in time.
    given
        The day on which it was asked for; None where a deck did.
    reached
        The first practice day, from `given` on, after which the card stood at the asked tempo; None
        if there was none.
    today
        The practice day on which it is judged.
    stands
        Whether the card is at that tempo now.
    """
    if given is None and by >= today and not stands:
        return "not due"
    if reached is not None and reached <= by:
        return "met"
    if by >= today:
        return "not due"
    return "missed" if reached is None else "late"
