"""Words that every floor needs: counts, so that one is one."""

from __future__ import annotations


def counted(number: float, thing: str, things: str = "") -> str:
    """Return ``1 card``, ``2 cards``; a number that is not whole is rounded."""
    whole = round(number)
    return f"{whole} {thing}" if whole == 1 else f"{whole} {things or thing + 's'}"
