"""Changing many goals at once: a preview, the change, its undoing; and cards that outgrew theirs.

A card has *outgrown* its goal when it stands well over it and would for months: keeping it costs
nothing, so the player is asked whether to raise it. Nothing is raised by itself.

The goals that stood before the last change are kept among the settings, so it can be taken back.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log2
from typing import TYPE_CHECKING, Any

from drillbox.base.tempi import ASKED
from drillbox.box.kept_at_goal import say_keep, say_top
from drillbox.memory import State, interval_days, state

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from drillbox.base.now import Now
    from drillbox.box.beliefs import Beliefs
    from drillbox.box.catalogue import Catalogue
    from drillbox.store import Archive

BEFORE = "goals-before/"
"""Setting keys of the goals that stood before the last change, some hundred cards each."""
OUTGROWN_OCTAVES = 0.2
"""A card that stands so far over its goal, 15 %, has outgrown it (assumption)."""
OUTGROWN_DAYS = 90.0
"""And would, left alone, for so long, at a careful guess (assumption)."""
OUTGROWN_TAKES = 6
"""And has shown it more than once (assumption)."""
RAISE_BPM = 5.0
_CHUNK = 400


@dataclass(frozen=True, slots=True)
class GoalChange:
    """A card's goal now and what it would be; `own` is False where the deck's comes back."""

    card_id: str
    title: str
    now_bpm: float
    then_bpm: float
    own: bool = True


class Goals:
    """The goals of many cards."""

    def __init__(self, archive: Archive, catalogue: Catalogue, beliefs: Beliefs) -> None:
        self._archive = archive
        self._catalogue = catalogue
        self._beliefs = beliefs

    def outgrown(self, now: Now, *, by: float = RAISE_BPM) -> tuple[GoalChange, ...]:
        """Return the cards that have outgrown their goals, with goals raised by so many bpm."""
        self._beliefs.refresh()
        cards = [
            card_id
            for card_id, entry in self._catalogue.entries().items()
            if not entry.resting and self._has_outgrown(card_id, entry.goal_bpm, now)
        ]
        return self.changes(cards, by=by)

    def changes(
        self, cards: Iterable[str], *, to: float | None = None, by: float = 0.0
    ) -> tuple[GoalChange, ...]:
        """Return what a new goal, or so many bpm more or less, would change; nothing is changed."""
        found = []
        for card_id in cards:
            entry = self._catalogue.entry(card_id)
            wanted = entry.goal_bpm + by if to is None else to
            then = ASKED.nearest(wanted)
            if then != entry.goal_bpm:
                found.append(GoalChange(card_id, entry.row.title, entry.goal_bpm, then))
        return tuple(found)

    def changes_back(self, cards: Iterable[str]) -> tuple[GoalChange, ...]:
        """Return what the decks' own goals would change; nothing is changed."""
        wishes = self._archive.wishes()
        found = []
        for card_id in cards:
            wish, entry = wishes.get(card_id), self._catalogue.entry(card_id)
            if wish is not None and wish.goal_bpm is not None:
                change = (entry.goal_bpm, entry.deck_goal_bpm)
                found.append(GoalChange(card_id, entry.row.title, *change, own=False))
        return tuple(found)

    def make(self, changes: Sequence[GoalChange], *, at: datetime) -> None:
        """Change the goals, and keep those that stood before."""
        wishes = self._archive.wishes()
        earlier: list[list[Any]] = []
        for change in changes:
            wish = wishes.get(change.card_id)
            earlier.append([change.card_id, wish.goal_bpm if wish else None])
        self._keep(earlier, at)
        for change in changes:
            goal = change.then_bpm if change.own else None
            self._catalogue.wish_goal(change.card_id, at, goal_bpm=goal)

    def undo(self, *, at: datetime) -> int:
        """Take the last change of many goals back; returns of how many cards."""
        kept = [card for key in self._kept() for card in self._archive.settings()[key].value or []]
        known = self._catalogue.entries()
        back = [(card_id, goal) for card_id, goal in kept if card_id in known]
        for card_id, goal in back:
            self._catalogue.wish_goal(card_id, at, goal_bpm=goal)
        self._keep([], at)
        return len(back)

    def shift(self, deck_id: str, *, by: float, at: datetime) -> None:
        """Move the player's goal of every card of a deck by so many bpm."""
        for card_id, entry in list(self._catalogue.entries().items()):
            if deck_id in entry.deck_ids:
                self._catalogue.wish_goal(card_id, at, goal_bpm=ASKED.nearest(entry.goal_bpm + by))

    def set_climbing(self, ids: Iterable[str], *, climbs: bool, at: datetime) -> None:
        """Say of cards or decks, by their ids, whether they climb or are kept at their goals."""
        say_keep(self._archive, ids, keep=not climbs, at=at)

    def set_top(self, card_id: str, *, bpm: float | None, at: datetime) -> None:
        """Name the tempo past which a card is not to go; None leaves it to the hands."""
        say_top(self._archive, card_id, bpm, at=at)

    def _has_outgrown(self, card_id: str, goal_bpm: float, now: Now) -> bool:
        belief, parameters = self._beliefs.of(card_id), self._beliefs.parameters
        if belief.takes < OUTGROWN_TAKES:
            return False
        holds = state(belief, now.epoch_days, parameters, goal_bpm=goal_bpm) is State.HOLDING
        cold, _ = belief.cold(now.epoch_days, parameters)
        lasts = interval_days(belief, parameters, hold_bpm=goal_bpm, z=1.0)
        left = (belief.at or 0.0) + lasts - now.epoch_days
        return holds and cold - log2(goal_bpm) >= OUTGROWN_OCTAVES and left >= OUTGROWN_DAYS

    def _kept(self) -> list[str]:
        return [key for key in self._archive.settings() if key.startswith(BEFORE)]

    def _keep(self, earlier: list[list[Any]], at: datetime) -> None:
        chunks = [earlier[n : n + _CHUNK] for n in range(0, len(earlier), _CHUNK)]
        keys = [f"{BEFORE}{n}" for n in range(len(chunks))]
        for key in self._kept():
            if key not in keys:
                self._archive.put_setting(key, [], at)
        for key, chunk in zip(keys, chunks, strict=True):
            self._archive.put_setting(key, chunk, at)
