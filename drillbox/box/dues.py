"""What is asked of a card by a day."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date


@dataclass(frozen=True, slots=True)
class Due:
    """What a deck or a reply asks of a card.

    The last day to practise it, and the tempo to have it at by then; `given` is the day on which a
    reply asked for it, None where a deck did.
    """

    by: date
    goal_bpm: float
    given: date | None = None
