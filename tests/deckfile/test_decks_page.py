"""The page on deck files.

Its example is read, its fragments fit, its tables know every key and limit.
"""

from __future__ import annotations

import re
import zipfile
from io import BytesIO
from pathlib import Path

import pytest

from drillbox.deckfile import (
    MAX_BYTES,
    MAX_CARDS,
    MAX_DECKS,
    MAX_PACKED_BYTES,
    edition_changes,
    pack,
    parse_deck,
    read_starter_decks,
)
from drillbox.deckfile.assignments import ASSIGNMENT_KEYS, MAX_ASSIGNMENTS
from drillbox.deckfile.card_tables import CARD_KEYS
from drillbox.deckfile.families import FAMILY_KEYS, OVERRIDE_KEYS
from drillbox.deckfile.packing import MAX_RATIO
from drillbox.deckfile.reading import DECK_KEYS
from drillbox.errors import DeckError
from drillbox.rhythm import Voice
from drillbox.rhythm.generators import STOCK_GROOVES

PAGE = (Path(__file__).parents[2] / "docs" / "decks.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(\w+)\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
(EXAMPLE,) = (text for kind, text in BLOCKS if kind == "toml")


def test_the_example_is_a_deck() -> None:
    """The example can be read, and its cards build on one another."""
    deck = parse_deck(EXAMPLE, name="first-ghosts.toml")

    assert ("first-ghosts", 3) == (deck.id, len(deck.cards))
    assert ("e", "a") == deck.cards[2].after


@pytest.mark.parametrize("card", [text for kind, text in BLOCKS if kind == "card"])
def test_every_fragment_fits_the_example(card: str) -> None:
    """Each card that the page shows can be added to the example."""
    assert 4 == len(parse_deck(f"{EXAMPLE}\n[[card]]\n{card}", name="first-ghosts.toml").cards)


@pytest.mark.parametrize("text", [text for kind, text in BLOCKS if kind == "assignment"])
def test_every_assignment_fits_the_example(text: str) -> None:
    """What the page assigns are cards of its own example."""
    deck = parse_deck(f"{EXAMPLE}\n[[assignment]]\n{text}", name="first-ghosts.toml")

    assert {card.slug for card in deck.cards} >= set(deck.assignments[0].cards)


@pytest.mark.parametrize("family", [text for kind, text in BLOCKS if kind == "family"])
def test_every_family_shown_adds_cards(family: str) -> None:
    """Each family that the page shows can be added to the example, and makes something."""
    assert 3 < len(parse_deck(f"{EXAMPLE}\n[[family]]\n{family}", name="first-ghosts.toml").cards)


def test_the_answer_is_given() -> None:
    """The complaint that the page shows is the one for a misspelt goal."""
    (answer,) = (text for kind, text in BLOCKS if kind == "answer")
    bad = EXAMPLE.replace("goal = 92", "gaol = 92")

    with pytest.raises(DeckError) as caught:
        parse_deck(bad, name="first-ghosts.toml")
    assert answer.strip() == str(caught.value)


def test_every_key_and_limit_is_described() -> None:
    """No key of the format is missing from the page; counts and sizes are the program's."""
    described = set(re.findall(r"`(\w+)`", PAGE))

    assert {*DECK_KEYS, *CARD_KEYS, *ASSIGNMENT_KEYS} - {*map(str, Voice)} <= described
    assert {*FAMILY_KEYS, *OVERRIDE_KEYS} - {*map(str, Voice), "card", "meter"} <= described
    known = PAGE.partition("known by their names:")[2].partition("\n\n")[0]
    assert [*STOCK_GROOVES] == re.findall(r"`([^`]+)`", known)
    assert f"{MAX_CARDS:,} cards" in PAGE
    assert f"{MAX_BYTES:,} bytes" in PAGE
    assert f"up to {MAX_ASSIGNMENTS} of them" in PAGE


def test_the_comparison_is_said() -> None:
    """What the page shows is what is said of such an edition of its example."""
    (shown,) = (text for kind, text in BLOCKS if kind == "console")
    new = EXAMPLE.replace('snare = "(e)"\n', 'snare = "(/e)"\ngoal = 100\n')
    new += '\n[[card]]\nid = "a-4"\ntitle = "a of 4"\nsnare = "(4a)"\n'
    old, now = (parse_deck(text, name="first-ghosts.toml") for text in (EXAMPLE, new))

    assert list(edition_changes(old, now)) == shown.splitlines()[1:]


def test_the_manifest_is_as_shown() -> None:
    """The page's manifest has the keys of a real one, in their order and layout."""
    (shown,) = (text for kind, text in BLOCKS if kind == "manifest")
    packed = pack([parse_deck(EXAMPLE, name="first-ghosts.toml")])
    with zipfile.ZipFile(BytesIO(packed)) as archive:
        real = archive.read("manifest.json").decode()

    def keys(text: str) -> str:
        return re.sub(r'"[0-9a-f]{64}"|\d{3,4}', "", text)

    assert keys(real) == keys(shown.rstrip())
    assert f"{MAX_PACKED_BYTES:,} bytes" in PAGE
    assert f"{MAX_DECKS} decks" in PAGE
    assert f"{MAX_RATIO} times" in PAGE


def test_the_starter_decks_are_listed() -> None:
    """Each starter deck has its row, with its number of cards."""
    for deck in read_starter_decks():
        assert re.search(rf"^\| `{deck.id}` \| .* \| {len(deck.cards)} \|$", PAGE, re.MULTILINE)


def test_every_course_has_its_section() -> None:
    """The page on courses says of each starter deck whom it is for."""
    courses = (Path(__file__).parents[2] / "docs" / "courses.md").read_text(encoding="utf-8")
    for deck in read_starter_decks():
        section = courses.partition(f"\n## {deck.id}\n")[2].partition("\n## ")[0]
        assert "**For** " in section
