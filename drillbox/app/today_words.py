"""What Today says of a day that has begun or is to begin: what is ready, what was asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base.now import coming_day, day_name
from drillbox.base.wording import ALL_PUT_AWAY, counted, day_is_over, day_off

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import datetime

    from drillbox.box import Box
    from drillbox.box.dues import Due
    from drillbox.box.views import CardView


def no_card(box: Box, *, key: str) -> str:
    """Return why there is no card at all, and that `key` brings some."""
    if box.all_put_away:
        return f"{ALL_PUT_AWAY} a adds a starter deck."
    return f"No deck in the box: {key} adds a starter deck."


def beginning(box: Box, ready: str, *, at: datetime, may_check: bool) -> str:
    """Return what a day begins with: the first one explains itself, a gap says its cost.

    Parameters
    ----------
    box, at
        The box, and the moment.
    ready
        What the plan comes to, a sentence.
    may_check
        Whether a tempo check is offered.
    """
    from drillbox.report.time_away import after_time_away  # noqa: PLC0415 - after the first frame

    off = box.off_until(at=at)
    if off is not None:
        ready = f"{ready} {day_off(day_name(off))}"
    if may_check:
        return (
            f"Your first day: {ready} If you play some of this already, g is a tempo check:"
            " a dozen cards, once each and faster where it is easy, and all the others start"
            " where you stand."
        )
    if box.nothing_played:
        return f"Your first day: {ready} Enter plays the chosen card."
    return f"{after_time_away(box, at=at)} Ready: {ready}".lstrip()


def over(box: Box, *, at: datetime) -> str:
    """Return that the day was played, when the next one is, and how to play on."""
    next_day = coming_day(box.next_day(at=at), box.now(at).day)
    return f"{day_is_over(next_day)}, or p plays on for five minutes."


def asked_for(dues: Collection[Due]) -> str:
    """Return by when a teacher wants how many cards; nothing where none is wanted any more."""
    if not dues:
        return ""
    first = min(due.by for due in dues)
    return f"{counted(len(dues), 'card')} asked for, first by {day_name(first)}."


def asked_of(card: CardView) -> str:
    """Return at what tempo and by when a teacher wants a card; nothing where it is not wanted."""
    if card.due is None or card.due_met:
        return ""
    return f"Asked for at {card.due.goal_bpm:.0f} by {day_name(card.due.by)}."
