"""Paths and tables: what comes before what, and many cards on one page."""

from __future__ import annotations

from drillbox.deckfile import draw_cards, draw_path, parse_deck, path_to, read_starter_decks, steps
from drillbox.rhythm import difficulty

DECK = parse_deck(
    '[deck]\nid = "d"\ntitle = "d"\n[groove]\nsnare = ">2 >4"\n[[family]]\nid = "s"\n', name="d"
)


def test_steps_go_up_one_by_one() -> None:
    """The step of a set is its size; a card stands one step after the last of what it builds on."""
    sizes = [[len(card.slug.split("-")) - 1 for card in step] for step in steps(DECK.cards)]

    assert [[1] * 4, [2] * 6, [3] * 4, [4]] == sizes


def test_long_steps_are_several() -> None:
    """At most eight cards a step, in the deck's order; what a card builds on stands before it."""
    for deck in read_starter_decks():
        found = steps(deck.cards)
        number = {card.slug: step for step, cards in enumerate(found) for card in cards}

        assert len(deck.cards) == len(number)
        assert all(1 <= len(step) <= 8 for step in found)
        for card in deck.cards:
            assert all(number[before] < number[card.slug] for before in card.after)


def test_a_path_has_all_that_comes_before_and_no_more() -> None:
    """Seven sets lead to e, & and a: its non-empty subsets, 2^3 - 1."""
    path = path_to(DECK, "s-e-and-a")

    assert 2**3 - 1 == len(path)
    assert "s-e-and-a" == path[-1].slug
    assert {"e", "and", "a"} == {name for card in path for name in card.slug.split("-")[1:]}


def test_every_starter_deck_has_a_path_to_every_card() -> None:
    """Whatever leads to a card stands before it, from a first card on."""
    for deck in read_starter_decks():
        for card in deck.cards:
            path = path_to(deck, card.slug)
            assert {name for one in path for name in one.after} <= {one.slug for one in path}
            assert () == path[0].after


def test_a_path_is_drawn_in_eighty_columns() -> None:
    """A number a step, longer steps go on in the next line."""
    lines = draw_path(DECK.cards).splitlines()

    assert [" 1", " 2", " 3", " 4"] == [line[:2] for line in lines if line[:2].strip()]
    assert all(len(line) <= 80 for line in lines)
    assert "accents on 2 and 4" in lines[-1]


def test_cards_are_drawn_as_a_table() -> None:
    """Every voice, the goal, the cold tempo where there is one, the difficulty, the title.

    Within the width: a long title goes on in the next line.
    """
    card = next(card for card in DECK.cards if card.slug == "s-e-a")
    head, line = draw_cards([card], {card.card_id: "(84)"}, width=100).splitlines()

    assert "                            goal  cold  hard  card" == head
    facts = f"snare  ·o·o >o·o ·o·o >o·o   100  (84)  {difficulty(card.pattern):>4.0f}  "
    assert facts + card.title == line
    assert all(len(row) <= 60 for row in draw_cards(DECK.cards, width=60).splitlines())


def test_what_cards_share_is_drawn_once() -> None:
    """A voice that all have alike stands on top; each card has lines for the others."""
    deck = parse_deck(
        '[deck]\nid = "d"\ntitle = "d"\n[groove]\nhat = "beat &"\nsnare = ">2 >4"\n[[family]]\n'
        'id = "s"\nsets = ["e"]\nbasses = ["home", "push"]\nlowest = 60\n',
        name="d",
    )
    drawn = [line.rstrip() for line in draw_cards(deck.cards, width=100).splitlines()]

    assert ["hat    x·x· x·x· x·x· x·x·", "snare  ·o·· >o·· ·o·· >o··", ""] == drawn[1:4]
    assert drawn[4].startswith("bass   O··· ···· O··· ····")
    assert drawn[5].startswith("bass   O··· ··O· ··O· ····")
