"""Words that several rooms need: counts, so that one is one, and what the app and commands say."""

from __future__ import annotations

DAY_IS_OVER = "Done for today. Come back tomorrow"
"""What a day that was played ends with; how to play on follows."""
OPEN_FROM_SECONDS = 120.0
"""Less than this that a plan leaves of its minutes is no gap that asks for a word."""
NOTHING_TO_PLAY = "Nothing to play: every card is rested, or the minutes are too short."


def counted(number: float, thing: str, things: str = "") -> str:
    """Return ``1 card``, ``2 cards``; a number that is not whole is rounded."""
    whole = round(number)
    return f"{whole} {thing}" if whole == 1 else f"{whole} {things or thing + 's'}"


def open_minutes(seconds: float) -> str:
    """Return what becomes of the minutes that a plan leaves open; nothing where they are few."""
    if seconds < OPEN_FROM_SECONDS:
        return ""
    minutes = counted(seconds // 60, "minute")
    return f"{minutes} are open: more takes follow as you grade, or the day ends early."
