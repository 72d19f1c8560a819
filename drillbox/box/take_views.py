"""Takes, and days of them, as the box shows them to those who ask.

Tempos in bpm, moments as aware datetimes, lengths in seconds.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from drillbox.memory import Grade


@dataclass(frozen=True, slots=True)
class TakeView:
    """One take that stands in the log (not retracted), with the practice day it was played on.

    `measured` is what the ear wrote down of it, where it was measured (docs/box-file.md).
    """

    take_id: str
    card_id: str
    bpm: float
    grade: Grade
    at: datetime
    day: int
    seconds: float
    cold: bool
    source: str
    measured: Mapping[str, Any] | None = field(default=None, hash=False)

    @property
    def short_id(self) -> str:
        """The start of its id, enough to mean it."""
        return self.take_id[:8]


@dataclass(frozen=True, slots=True)
class DayView:
    """A practice day as the wrap-up shows it: what was played and how long it took."""

    day: int
    takes: tuple[TakeView, ...]
    seconds: float

    @property
    def cards(self) -> tuple[str, ...]:
        """The cards played, in order of their first take."""
        return tuple(dict.fromkeys(take.card_id for take in self.takes))
