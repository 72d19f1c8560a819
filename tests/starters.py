"""The starter decks: read when a test first asks for them, not while the tests are collected."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from drillbox.deckfile import read_starter_decks, starter_decks

if TYPE_CHECKING:
    from drillbox.deckfile import Card, Deck

NAMES = tuple(starter.name for starter in starter_decks())
"""The names of the decks, in the order of the course: what a test is tried with."""


@cache
def decks() -> dict[str, Deck]:
    """Return the starter decks by name."""
    return {deck.id: deck for deck in read_starter_decks()}


@cache
def all_cards() -> tuple[Card, ...]:
    """Return the cards of all starter decks."""
    return tuple(card for deck in decks().values() for card in deck.cards)
