"""Words that several rooms need: counts, so that one is one, and what the app and commands say."""

from __future__ import annotations

DAY_IS_OVER = "Done for today. Come back tomorrow"
"""What a day that was played ends with; how to play on follows."""
NOTHING_TO_PLAY = "Nothing to play: every card is rested, or the minutes are too short."


def counted(number: float, thing: str, things: str = "") -> str:
    """Return ``1 card``, ``2 cards``; a number that is not whole is rounded."""
    whole = round(number)
    return f"{whole} {thing}" if whole == 1 else f"{whole} {things or thing + 's'}"
