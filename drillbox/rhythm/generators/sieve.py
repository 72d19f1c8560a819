"""The sieve: each rhythm once, only what two hands can play, and a reason for what is left out.

Two patterns are one rhythm when their canonical forms are the same, as everywhere. A hand may not
be asked for more than it can: the limit stands in `motion`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from drillbox.rhythm.motion import BURST_LIMIT, STREAM_LIMIT, movement
from drillbox.rhythm.pattern import fingerprint
from drillbox.rhythm.two_hands import too_few_hands

if TYPE_CHECKING:
    from drillbox.rhythm.motion import Movement
    from drillbox.rhythm.pattern import Pattern

__all__ = ["Reason", "Sieve", "Verdict"]


class Reason(StrEnum):
    """Why a pattern is left out."""

    TWIN = "the same rhythm"
    HANDS = "too many hands"
    RATE = "too fast"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the sieve says of one pattern.

    Parameters
    ----------
    card_id
        The rhythm's fingerprint.
    movement
        What the hands do in it.
    reason, detail
        Why it is left out, in one word and in a clause; None and empty where it is kept.
    twin
        The name of the same rhythm, where it was met before.
    """

    card_id: str
    movement: Movement
    reason: Reason | None = None
    detail: str = ""
    twin: str = ""


class Sieve:
    """Remembers every rhythm it has let through."""

    def __init__(self) -> None:
        self._names: dict[str, str] = {}

    def judge(self, name: str, pattern: Pattern, *, bpm: float) -> Verdict:
        """Say whether a pattern is new and playable at a tempo.

        Remember it under its name if so.
        """
        card_id, moved = fingerprint(pattern), movement(pattern)
        if card_id in self._names:
            twin = self._names[card_id]
            return Verdict(card_id, moved, Reason.TWIN, f"the same rhythm as {twin!r}", twin)
        if clause := too_few_hands(pattern):
            return Verdict(card_id, moved, Reason.HANDS, clause)
        if moved.load(bpm) > 1 + 1e-9:
            return Verdict(card_id, moved, Reason.RATE, _too_fast(moved, bpm))
        self._names[card_id] = name
        return Verdict(card_id, moved)

    def remember(self, name: str, card_id: str) -> None:
        """Take note of a rhythm that is there already."""
        self._names.setdefault(card_id, name)


def _too_fast(moved: Movement, bpm: float) -> str:
    burst, stream = moved.busiest(bpm)
    rate, limit, length = burst, BURST_LIMIT, "two or three"
    if stream / STREAM_LIMIT > burst / BURST_LIMIT:
        rate, limit, length = stream, STREAM_LIMIT, "four or more"
    return (
        f"{rate:.1f} strokes a second in one hand at {bpm:g} bpm, more than {limit:g} "
        f"for {length} in a row"
    )
