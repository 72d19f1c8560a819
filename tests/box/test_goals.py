"""Goals changed many at once, outgrown goals, and cards that climb or are kept."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from drillbox.box.manners import keeps
from drillbox.deckfile import parse_deck
from drillbox.memory import Grade

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.box.catalogue import Entry
    from drillbox.deckfile import Deck


def goals(box: Box, clock: ManualClock) -> dict[str, float]:
    """Return every card's goal."""
    return {card.card_id: card.goal_bpm for card in box.cards(at=clock.now())}


def grow(box: Box, clock: ManualClock, name: str) -> str:
    """Play a card for some weeks until it stands far over its goal of 90."""
    card = box.find(name)
    for n in range(9):
        at = clock.now() + timedelta(days=2 * n)
        box.record(card, bpm=100 + 5 * n, grade=Grade.AUTOMATIC, at=at, seconds=40)
    clock.forward(days=18)
    return card


def test_a_change_of_goals_is_seen_before_and_taken_back(box: Box, clock: ManualClock) -> None:
    """A preview changes nothing; made, it holds; undone, goals are as before, the player's too."""
    a, e = box.find("a"), box.find("e")
    box.set_goal(a, bpm=77, at=clock.now())
    before = goals(box, clock)
    changes = box.goals.changes([a, e], by=5)
    assert [(77.0, 82.0), (90.0, 95.0)] == [(c.now_bpm, c.then_bpm) for c in changes]
    assert before == goals(box, clock)
    box.goals.make(changes, at=clock.now())
    assert {82.0, 95.0} == {goals(box, clock)[card] for card in (a, e)}
    assert 2 == box.goals.undo(at=clock.now())
    assert before == goals(box, clock)
    assert 0 == box.goals.undo(at=clock.now())


def test_the_way_back_to_the_decks_goal(box: Box, clock: ManualClock) -> None:
    """Where the player chose a goal, the deck's comes back, and follows its editions again."""
    a = box.find("a")
    box.set_goal(a, bpm=120, at=clock.now())
    changes = box.goals.changes_back(card.card_id for card in box.cards(at=clock.now()))
    assert [(a, 120.0, 90.0)] == [(c.card_id, c.now_bpm, c.then_bpm) for c in changes]
    box.goals.make(changes, at=clock.now())
    assert 90.0 == goals(box, clock)[a]
    assert box.archive.wishes()[a].goal_bpm is None


def test_a_card_outgrows_its_goal_and_is_only_proposed(box: Box, clock: ManualClock) -> None:
    """Held far over its goal for long it is proposed a higher one; nothing is raised by itself."""
    assert () == box.goals.outgrown(box.now(clock.now()))
    a = grow(box, clock, "a")
    (change,) = box.goals.outgrown(box.now(clock.now()))
    assert (a, 90.0, 95.0) == (change.card_id, change.now_bpm, change.then_bpm)
    assert 90.0 == goals(box, clock)[a]
    box.goals.make([change], at=clock.now())
    assert 95.0 == goals(box, clock)[a]


def test_one_automatic_take_proves_no_outgrown_goal(box: Box, clock: ManualClock) -> None:
    """A single easy take is no reason to raise anything."""
    box.record(box.find("a"), bpm=140, grade=Grade.AUTOMATIC, at=clock.now(), seconds=40)
    assert () == box.goals.outgrown(box.now(clock.now()))


def entry(box: Box, card: str) -> Entry:
    """Return a card's entry in the box."""
    return box._catalogue.entry(card)


def tempi_of(box: Box, clock: ManualClock, card: str) -> list[int]:
    """Return the tempi that today's plan has for a card, were it the only one."""
    others = [c.card_id for c in box.cards(at=clock.now()) if c.card_id != card]
    return [i.bpm for i in box.plan(at=clock.now(), minutes=30, without=others).items]


def test_a_card_climbs_unless_it_is_to_be_kept(box: Box, clock: ManualClock) -> None:
    """Far over its goal it is asked for more.

    Kept at its goal, itself or its deck, or at the top tempo that the player names, it holds for
    months: then nothing is worth its seconds, and the day ends early.
    """
    a = grow(box, clock, "a")
    box.goals.set_top(a, bpm=400, at=clock.now())
    assert min(tempi_of(box, clock, a)) > 100
    box.goals.set_top(a, bpm=105, at=clock.now())
    assert [] == tempi_of(box, clock, a)
    box.goals.set_top(a, bpm=400, at=clock.now())
    (deck,) = entry(box, a).deck_ids
    box.goals.set_climbing([deck], climbs=False, at=clock.now())
    assert [] == tempi_of(box, clock, a)
    box.goals.set_climbing([a], climbs=True, at=clock.now())
    assert min(tempi_of(box, clock, a)) > 100


def test_a_deck_file_keeps_its_cards_below_the_players_word(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """Cards of a deck that says keep stay at their goals, until the player lets one climb."""
    text = small_deck.text.replace("edition = 1", "edition = 2\nkeep = true")
    settings = box.archive.settings
    a = box.find("a")
    assert not keeps(entry(box, a), settings())
    box.put_deck(parse_deck(text, name="kept.toml"), at=clock.now())
    assert keeps(entry(box, a), settings())
    box.goals.set_climbing([a], climbs=True, at=clock.now())
    assert not keeps(entry(box, a), settings())
    assert keeps(entry(box, box.find("e")), settings())
