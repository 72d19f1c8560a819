"""Deck files: read, checked, refused whole where anything is wrong. docs/decks.md describes the format."""

from __future__ import annotations

from drillbox.deckfile.assignments import Assignment, assignments_in
from drillbox.deckfile.deck import Card, Deck
from drillbox.deckfile.files import StarterDeck, read, read_starter_decks, read_text, starter_decks
from drillbox.deckfile.reading import MAX_BYTES, MAX_CARDS, check, parse_deck

__all__ = [
    "MAX_BYTES",
    "MAX_CARDS",
    "Assignment",
    "Card",
    "Deck",
    "StarterDeck",
    "assignments_in",
    "check",
    "parse_deck",
    "read",
    "read_starter_decks",
    "read_text",
    "starter_decks",
]
