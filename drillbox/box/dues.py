"""What is asked of a card by a day."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.base.now import day_name

if TYPE_CHECKING:
    from datetime import date, datetime

    from drillbox.base.now import Now


@dataclass(frozen=True, slots=True)
class Due:
    """What a deck or a reply asks of a card.

    The last day to practise it, and the tempo to have it at by then; `given` is the moment at which
    a reply asked for it, None where a deck did.
    """

    by: date
    goal_bpm: float
    given: datetime | None = None


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of an assignment; a fact, whatever the card does later.

    Parameters
    ----------
    due
        What was asked.
    status
        ``met``, ``late`` or ``missed``; ``not due`` while there is time.
    reached
        The first practice day after which the card stood at that tempo; None if none.
    """

    due: Due
    status: str
    reached: date | None

    @classmethod
    def of(cls, due: Due, *, reached: date | None, now: Now, stands: bool) -> Kept:
        """Judge an assignment; `stands` says if the card is at its tempo now."""
        from drillbox.base.outcomes import outcome  # noqa: PLC0415 - few cards are asked for

        since_known = due.given is not None
        status = outcome(
            due.by, since_known=since_known, reached=reached, today=now.today, stands=stands
        )
        return cls(due, status, None if status == "not due" else reached)

    @property
    def words(self) -> str:
        """Say it in one line."""
        asked = f"asked for at {self.due.goal_bpm:.0f} by {day_name(self.due.by)}"
        if self.reached is None:
            return asked if self.status == "not due" else f"{asked}, missed"
        reached = day_name(self.reached)
        return f"{asked}, {'met on' if self.status == 'met' else 'late, reached on'} {reached}"
