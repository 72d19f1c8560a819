"""Words that several rooms need: counts, lists, and what the app and the commands both say."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

DAY_IS_OVER = "Done for today. Come back tomorrow"
"""What a day that was played ends with; how to play on follows."""
OPEN_FROM_SECONDS = 120.0
"""Less than this that a plan leaves of its minutes is no gap that asks for a word."""
NOTHING_TO_PLAY = "Nothing to play: every card is rested, or the minutes are too short."


def counted(number: float, thing: str, things: str = "") -> str:
    """Return ``1 card``, ``2 cards``; a number that is not whole is rounded."""
    whole = round(number)
    return f"{whole} {thing}" if whole == 1 else f"{whole} {things or thing + 's'}"


def listed(names: Sequence[str], most: int) -> str:
    """Return ``a, b and 3 more``: the first so many by their names, the others counted."""
    more = len(names) - most
    return ", ".join(names[:most]) + (f" and {more} more" if more > 0 else "")


def open_minutes(seconds: float) -> str:
    """Return what becomes of the minutes that a plan leaves open; nothing where they are few."""
    if seconds < OPEN_FROM_SECONDS:
        return ""
    minutes = counted(seconds // 60, "minute")
    return f"{minutes} are open: more takes follow as you grade, or the day ends early."
