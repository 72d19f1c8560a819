"""What a deck file holds, once it has been read: a deck and its cards."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from drillbox.rhythm import spell

if TYPE_CHECKING:
    from drillbox.deckfile.assignments import Assignment
    from drillbox.rhythm import Pattern

__all__ = ["Card", "Deck", "LeftOut"]


@dataclass(frozen=True, slots=True)
class Card:
    """One card of a deck.

    Parameters
    ----------
    deck_id, slug
        The deck it belongs to, and its name there, which stays the same from edition to edition.
    title
        What a player calls it.
    pattern
        All that is to be played, the groove included.
    card_id
        The fingerprint of the pattern: the same rhythm in another deck is the same card.
    goal_bpm
        The tempo to hold it at.
    importance
        How much it counts against others; 1 is usual.
    after
        Slugs of cards of this deck that come before it.
    family, note
        What it belongs with, and a word to the player; may be empty.
    """

    deck_id: str
    slug: str
    title: str
    pattern: Pattern
    card_id: str
    goal_bpm: float
    importance: float
    after: tuple[str, ...]
    family: str
    note: str


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A card that a family would have, and the reason why it has not."""

    slug: str
    title: str
    reason: str


_SAID = ("id", "title", "edition", "author", "licence", "about", "goal_bpm", "assignments", "pace")
"""What a deck says of itself."""


@dataclass(frozen=True, slots=True)
class Deck:
    """A deck: who made it, what it is for, and its cards in the teacher's order.

    Parameters
    ----------
    id, title, edition, author, licence, about
        As in the file.
    goal_bpm
        The goal tempo of cards that name none.
    assignments
        What is to be in hand by which day.
    cards
        In the order of the file; where there are families, each after what it builds on.
    text
        The file as it was read.
    pace
        New cards a day; None where the deck does not say.
    keep
        Whether its cards are to be kept at their goals; else they climb past them.
    left_out
        What families would have made, and why it is not there.
    doubts
        What can be read and is hardly meant, each with its place.
    """

    id: str
    title: str
    edition: int
    author: str
    licence: str
    about: str
    goal_bpm: float
    assignments: tuple[Assignment, ...]
    cards: tuple[Card, ...]
    text: str
    pace: int | None = None
    keep: bool = False
    left_out: tuple[LeftOut, ...] = ()
    doubts: tuple[str, ...] = ()

    @property
    def digest(self) -> str:
        """SHA-256 of what the deck says, whatever its layout and comments.

        Equal digests, equal decks.
        """
        said = [repr(getattr(self, name)) for name in _SAID]
        if self.keep:  # only then, so that decks without the key are the same as ever
            said.append("keep")
        for card in self.cards:
            values = [
                getattr(card, field.name) for field in fields(card) if field.name != "pattern"
            ]
            said.append(repr((*values, spell(card.pattern))))
        return hashlib.sha256("\n".join(said).encode()).hexdigest()
