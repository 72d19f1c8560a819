"""How many clicks a beat the player can choose: the pulse, eighths, triplets, sixteenths, sixteenth triplets."""

from __future__ import annotations

CLICKS_A_BEAT = (1, 2, 3, 4, 6)


def next_clicks(now: int, direction: int = 1) -> int:
    """Return the choice after `now`, or before it, round and round."""
    index = CLICKS_A_BEAT.index(now) if now in CLICKS_A_BEAT else 0
    return CLICKS_A_BEAT[(index + direction) % len(CLICKS_A_BEAT)]
