"""The starter decks: complete, in a teacher's order, playable by one pair of hands."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest

from drillbox.deckfile import Deck, read_starter_decks
from drillbox.rhythm import Hand, Pattern, draw, fingerprint, hands, overlay, parse, spell

DECKS = {deck.id: deck for deck in read_starter_decks()}
SETS = {
    "sixteenth-ghosts": ("", ("beat", "e", "&", "a"), "hat: beat &\nsnare: >2 >4\nbass: 1 3", 15),
    "triplet-ghosts": ("grid: 8t\n", ("beat", "t", "l"), "hat: beat l\nsnare: >2 >4\nbass: 1 3", 7),
}


@pytest.fixture(params=DECKS, name="deck")
def any_deck(request: pytest.FixtureRequest) -> Deck:
    """Return each starter deck in turn."""
    return DECKS[request.param]


@pytest.mark.parametrize("name", SETS)
def test_every_set_of_partials_is_there(name: str) -> None:
    """All 2^n - 1 sets of the grid's partials (elementary combinatorics), on every beat round the backbeats."""
    header, partials, groove, size = SETS[name]
    ids = {card.card_id for card in DECKS[name].cards}
    wanted = {
        fingerprint(
            overlay(
                parse(header + groove),
                parse(f"{header}snare: {' '.join(f'({p})' for p in chosen)}"),
            )
        )
        for count in range(1, len(partials) + 1)
        for chosen in combinations(partials, count)
    }

    assert size == 2 ** len(partials) - 1 == len(wanted)
    assert wanted <= ids


def test_what_comes_first_stands_first(deck: Deck) -> None:
    """Reading from the top, a card's `after` has always been met; only the plain groove needs nothing before it."""
    met: set[str] = set()
    for card in deck.cards:
        assert set(card.after) <= met
        assert bool(card.after) == bool(met)
        met.add(card.slug)


def test_a_card_is_not_quicker_than_what_it_builds_on(deck: Deck) -> None:
    """Goals fall, or stay, from a card to those that come after it."""
    goals = {card.slug: card.goal_bpm for card in deck.cards}
    for card in deck.cards:
        assert all(card.goal_bpm <= goals[slug] for slug in card.after)


def test_titles_are_different_and_say_the_counts(deck: Deck) -> None:
    """No two cards have one title; every deck says that its goals are suggestions, and is in the public domain."""
    titles = [card.title for card in deck.cards]

    assert len(titles) == len(set(titles))
    assert "suggestions" in deck.about
    assert ("drillbox", "CC0-1.0") == (deck.author, deck.licence)
    assert all(card.family for card in deck.cards)


def test_every_card_is_written_and_drawn(deck: Deck) -> None:
    """Each pattern reads back from its own text and fits 80 columns."""
    for card in deck.cards:
        assert card.pattern == parse(spell(card.pattern))
        assert all(len(line) <= 80 for line in draw(card.pattern).splitlines())


def shortest_gap(pattern: Pattern, hand: Hand, bpm: float) -> float:
    """Return the shortest time between two strokes of a hand, over the repeat too, in seconds."""
    played = zip(pattern.strokes, hands(pattern), strict=True)
    times = [float(stroke.at) for stroke, by in played if by is hand]
    around = [*times, *(time + pattern.beats for time in times[:1])]
    gaps = [later - earlier for earlier, later in pairwise(around)]
    return min(gaps, default=float(pattern.beats)) * pattern.meter.beat_seconds(bpm)


def test_goals_are_within_one_hands_reach(deck: Deck) -> None:
    """At its goal no card asks one hand for more than 7 strokes a second.

    The limit of ordinary people's single hands is 5 to 7 a second: Fujii, Kudo, Ohtsuki and Oda 2009, Neuroscience
    Letters 459:69-73.
    """
    for card in deck.cards:
        for hand in Hand:
            assert shortest_gap(card.pattern, hand, card.goal_bpm) >= 1 / 7
