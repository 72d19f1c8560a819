"""The page of all titles: every card of the starter decks, by deck and family, as they are now.

``python tests/deckfile/test_titles_page.py`` writes the page anew.
"""

from __future__ import annotations

from pathlib import Path

from drillbox.deckfile import read_starter_decks

PAGE = Path(__file__).parents[2] / "docs" / "titles.md"


def page() -> str:
    """Return the page."""
    decks = read_starter_decks()
    cards = [card for deck in decks for card in deck.cards]
    rhythms = len({card.card_id for card in cards})
    parts = [
        "# All titles\n",
        (
            "Every card of the starter decks, in its order by deck and family: "
            f"{len(cards)} cards, {rhythms} rhythms.\n"
            "The same rhythm has the same title everywhere; "
            "[Titles](decks.md#titles) says how to read them.\n"
        ),
    ]
    for deck in decks:
        parts.append(f"## {deck.id}\n")
        for name in dict.fromkeys(card.family for card in deck.cards):
            titles = [card.title for card in deck.cards if card.family == name]
            parts.append(f"**{name}** · {' · '.join(titles)}\n")
    return "\n".join(parts)


def test_the_page_has_every_title() -> None:
    """It is what the decks say; write it anew where they have changed."""
    assert page() == PAGE.read_text(encoding="utf-8")


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
