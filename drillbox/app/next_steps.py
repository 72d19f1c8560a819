"""What a day that is over asks the player: to raise outgrown goals, or to begin the next deck.

Both are only offered, with all that would change in view; one key says yes, and nothing changes by
itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base.wording import counted, listed_titles
from drillbox.box.goals import RAISE_BPM

if TYPE_CHECKING:
    from datetime import datetime

    from drillbox.app.desk import Desk
    from drillbox.box.goals import GoalChange
    from drillbox.deckfile import Deck

MOST_NAMED = 2
ENOUGH_SECONDS = 120.0
"""With so much of the day left, a plan that is empty has nothing that is worth its time."""


class NextSteps:
    """What is offered now, and the last offer that was taken, until it is taken back."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._raised = 0
        self.outgrown: tuple[GoalChange, ...] = ()
        self.deck: Deck | None = None

    def look(self, *, at: datetime) -> None:
        """Read what can be offered at a moment."""
        box = self._desk.box
        self.outgrown = box.goals.outgrown(box.now(at))
        plan = box.plan(at=at, minutes=self._desk.minutes_today())
        early = not plan.items and plan.left_seconds >= ENOUGH_SECONDS
        self.deck = _next_deck(self._desk, at) if early and box.cards_in_box else None

    @property
    def may_raise(self) -> bool:
        """Whether there are goals to raise, or to take back."""
        return bool(self.outgrown or self._raised)

    def sentences(self) -> str:
        """Return what is offered, each with its key; often nothing."""
        told = []
        if self._raised:
            cards = counted(self._raised, "card")
            told.append(f"Goals of {cards} raised by {RAISE_BPM:.0f}: r takes it back.")
        elif self.outgrown:
            have = (
                "card has outgrown its goal"
                if len(self.outgrown) == 1
                else ("cards have outgrown their goals")
            )
            changes = [f"{c.title} {c.now_bpm:.0f} to {c.then_bpm:.0f}" for c in self.outgrown]
            told.append(
                f"{len(changes)} {have}. r raises by {RAISE_BPM:.0f}:"
                f" {listed_titles(changes, MOST_NAMED)}."
            )
        if self.deck is not None:
            cards = counted(len(self.deck.cards), "card")
            told.append(
                "Nothing in the box is worth more time today. a adds the next deck of the course:"
                f" {self.deck.title}, {cards}, beginning with “{self.deck.cards[0].title}”."
            )
        return "\n".join(told)

    def raise_or_take_back(self, *, at: datetime) -> None:
        """Raise the goals that are outgrown; the next time, take that back."""
        goals = self._desk.box.goals
        if self._raised:
            goals.undo(at=at)
            self._raised = 0
        elif self.outgrown:
            goals.make(self.outgrown, at=at)
            self._raised = len(self.outgrown)

    def add_deck(self, *, at: datetime) -> str:
        """Put the deck that is offered into the box; returns what was done, in words."""
        if self.deck is None:
            return ""
        raised = len(self._desk.box.put_deck(self.deck, at=at).raised)
        goals = f" It raises {counted(raised, 'goal')}." if raised else ""
        return f"{self.deck.title} is in the box: p plays on with it.{goals}"


def _next_deck(desk: Desk, at: datetime) -> Deck | None:
    from drillbox.deckfile import next_deck, starter_decks  # noqa: PLC0415 - on few days

    wanted = next_deck(deck.deck_id for deck in desk.box.decks(at))
    return next((starter.read() for starter in starter_decks() if starter.name == wanted), None)
