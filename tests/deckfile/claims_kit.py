"""What the tests of words and promises ask of the starter decks' cards."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.rhythm import Hand, Level, Ornament, Voice, hands

if TYPE_CHECKING:
    from fractions import Fraction

    from drillbox.deckfile import Card, Deck
    from drillbox.rhythm import Stroke


def ghosts(card: Card) -> list[Stroke]:
    """Return a card's ghosts."""
    return [s for s in card.pattern.strokes if s.level is Level.GHOST]


def accents(card: Card) -> list[Stroke]:
    """Return a card's accents."""
    return [s for s in card.pattern.strokes if s.level is Level.ACCENT]


def at(card: Card, voice: Voice) -> set[Fraction]:
    """Return where a voice is struck."""
    return {s.at for s in card.pattern.strokes if s.voice is voice}


def levels(card: Card) -> set[Level]:
    """Return the levels of a card."""
    return {s.level for s in card.pattern.strokes}


def by_hand(card: Card) -> list[tuple[Stroke, Hand]]:
    """Return strokes with their hands."""
    found = zip(card.pattern.strokes, hands(card.pattern), strict=True)
    return [(stroke, hand) for stroke, hand in found if hand is not None]


def accent_gap(card: Card) -> Fraction:
    """Return the distance of a card's first two accents."""
    first, second = (s.at for s in accents(card)[:2])
    return second - first


def embellished(card: Card, ornament: Ornament) -> int:
    """Return how many strokes have an ornament."""
    return sum(s.ornament is ornament for s in card.pattern.strokes)


def family(deck: Deck, *names: str) -> list[Card]:
    """Return the cards of some families."""
    found = [card for card in deck.cards if card.family in names]
    assert found, names
    return found


def fill_of(card: Card) -> set[Fraction]:
    """Return where drums are struck after the last cymbal."""
    last = max(s.at for s in card.pattern.strokes if s.voice.is_cymbal)
    return {s.at for s in card.pattern.strokes if s.at > last and not s.voice.is_foot}
