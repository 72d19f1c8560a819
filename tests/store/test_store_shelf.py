from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from store_kit import CARD, NOW, OTHER, card, deck, open_box, take

from drillbox.errors import UnknownCardError, UsageError
from drillbox.store import Setting, Wish


def test_a_deck_comes_back_as_it_went_in() -> None:
    """Deck and cards, with every field."""
    box = open_box()
    cards = [card(1, after=()), card(2, note="slow\nand even", after=(CARD, OTHER))]
    box.put_deck(deck(archived=True), cards)
    assert [deck(archived=True)] == box.decks()
    assert cards == box.cards()


def test_an_edition_replaces_the_whole_deck() -> None:
    """Cards that the new edition does not have are gone; those of other decks stay."""
    box = open_box()
    box.put_deck(deck(), [card(1), card(2)])
    box.put_deck(deck("triplets", added_at=NOW + timedelta(days=1)), [card(1, "triplets")])
    box.put_deck(deck(edition=2), [card(2), card(3)])
    assert [2, 1] == [row.edition for row in box.decks()]
    assert ["card-2", "card-3", "card-1"] == [row.slug for row in box.cards()]


def test_a_deck_with_a_wrong_card_is_refused_whole() -> None:
    """A card of another deck or a second card of one name: the earlier edition stays."""
    box = open_box()
    box.put_deck(deck(), [card(1)])
    with pytest.raises(UsageError, match="belongs to deck other"):
        box.put_deck(deck(edition=2), [card(2), card(3, "other")])
    with pytest.raises(UsageError, match="two cards have this name"):
        box.put_deck(deck(edition=2), [card(2), card(3, slug="card-2")])
    assert [deck()] == box.decks()
    assert [card(1)] == box.cards()


def test_removing_a_deck_leaves_the_takes() -> None:
    """The history belongs to the rhythm, not to the deck."""
    box = open_box()
    box.put_deck(deck(), [card(1)])
    box.add_take(take(1))
    box.remove_deck("ghosts")
    assert [] == box.decks()
    assert [] == box.cards()
    assert [take(1)] == box.takes()
    with pytest.raises(UnknownCardError, match="no such deck"):
        box.remove_deck("ghosts")


def test_cards_come_in_the_order_of_their_decks() -> None:
    """Decks by when they were added, cards by their position; names do not matter."""
    box = open_box()
    box.put_deck(deck("alpha", added_at=NOW + timedelta(days=1)), [card(1, "alpha")])
    box.put_deck(deck("omega"), [card(2, "omega", position=1), card(3, "omega", position=0)])
    assert ["omega", "alpha"] == [row.id for row in box.decks()]
    assert [3, 2, 1] == [int(row.card_id, 16) for row in box.cards()]


def test_a_wish_replaces_the_cards_earlier_one() -> None:
    """One wish a card, the last put, dated after the earlier even if the clock was set back."""
    box = open_box()
    box.put_wish(Wish(CARD, 120.0, None, resting=False, at=NOW))
    box.put_wish(Wish(OTHER, None, 2.0, resting=True, at=NOW))
    latest = Wish(CARD, None, 0.5, resting=True, at=NOW - timedelta(days=1))
    box.put_wish(latest)
    stored = replace(latest, at=NOW + timedelta(microseconds=1))
    assert {CARD: stored, OTHER: Wish(OTHER, None, 2.0, resting=True, at=NOW)} == box.wishes()


@pytest.mark.parametrize(
    "value", [15, 2.5, "left", None, True, [1, {"a": [None]}], {"days": ["mon"]}]
)
def test_a_setting_is_any_json_value(value: object) -> None:
    """It comes back equal, and of the same type."""
    box = open_box()
    box.put_setting("what", "something else", NOW - timedelta(days=1))
    box.put_setting("what", value, NOW)
    assert value == box.setting("what")
    assert type(value) is type(box.setting("what"))
    assert {"what": Setting("what", value, NOW)} == box.settings()


def test_a_setting_changed_under_a_clock_set_back_is_dated_after_the_earlier_one() -> None:
    """So the earlier value does not come back with the next merge, as the newest.

    The last moment there is stays.
    """
    box = open_box()
    box.put_setting("what", 1, NOW)
    box.put_setting("what", 2, NOW - timedelta(days=1))
    assert Setting("what", 2, NOW + timedelta(microseconds=1)) == box.settings()["what"]
    last = datetime.max.replace(tzinfo=UTC)
    for value in (3, 4):
        box.put_setting("what", value, last)
    assert Setting("what", 4, last) == box.settings()["what"]


def test_a_setting_nobody_made_is_none() -> None:
    """There are no settings in a new box."""
    assert open_box().setting("minutes") is None
    assert {} == open_box().settings()


def test_the_order_of_decks_survives_an_edition() -> None:
    """A new edition put with the old moment keeps its place on the shelf."""
    box = open_box()
    first, second = deck("first"), deck("second", added_at=NOW + timedelta(days=1))
    box.put_deck(first, [])
    box.put_deck(second, [])
    box.put_deck(replace(first, edition=2), [])
    assert ["first", "second"] == [row.id for row in box.decks()]


def test_what_is_counted_in_a_rhythm_is_kept_for_its_rules_alone() -> None:
    """Numbers come back to the bit; other rules have none."""
    with open_box() as box:
        box.put_features({CARD: (0.1, -2.0, 1e300), OTHER: ()}, version="1")
        box.put_features({OTHER: (5.0,)}, version="2")

        assert {CARD: (0.1, -2.0, 1e300)} == box.features("1")
        assert {OTHER: (5.0,)} == box.features("2")
