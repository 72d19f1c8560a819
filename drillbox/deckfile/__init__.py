"""Deck files: read, checked, and refused whole where anything is wrong (docs/decks.md)."""

from __future__ import annotations

from drillbox.deckfile.assignments import Assignment, assignments_in
from drillbox.deckfile.course import FIRST_MONTH, ROUTES, SERVES, draw_course, next_deck
from drillbox.deckfile.deck import Card, Deck, LeftOut
from drillbox.deckfile.draft_text import draft_text
from drillbox.deckfile.edition_changes import changed_cards, edition_changes
from drillbox.deckfile.following import DeckFollower, SavedDeck
from drillbox.deckfile.packing import MAX_DECKS, MAX_PACKED_BYTES, pack, read_decks, unpack
from drillbox.deckfile.paths import draw_cards, draw_path, path_to, steps
from drillbox.deckfile.reading import MAX_BYTES, MAX_CARDS, check, parse_deck
from drillbox.deckfile.starter_decks import (
    StarterDeck,
    read,
    read_starter_decks,
    read_text,
    starter_decks,
)
from drillbox.deckfile.template import deck_template

__all__ = [
    "FIRST_MONTH",
    "MAX_BYTES",
    "MAX_CARDS",
    "MAX_DECKS",
    "MAX_PACKED_BYTES",
    "ROUTES",
    "SERVES",
    "Assignment",
    "Card",
    "Deck",
    "DeckFollower",
    "LeftOut",
    "SavedDeck",
    "StarterDeck",
    "assignments_in",
    "changed_cards",
    "check",
    "deck_template",
    "draft_text",
    "draw_cards",
    "draw_course",
    "draw_path",
    "edition_changes",
    "next_deck",
    "pack",
    "parse_deck",
    "path_to",
    "read",
    "read_decks",
    "read_starter_decks",
    "read_text",
    "starter_decks",
    "steps",
    "unpack",
]
