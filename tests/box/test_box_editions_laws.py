"""Laws of editions.

Whatever a teacher does to a deck and a student plays in between, nothing is lost or believed twice.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import count
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from drillbox import Box, Grade
from drillbox.base.clock import ManualClock
from drillbox.deckfile import Deck, parse_deck
from drillbox.memory import State

if TYPE_CHECKING:
    from collections.abc import Mapping

START = datetime(2026, 3, 2, 9, 0, tzinfo=ZoneInfo("Europe/Zurich"))
RHYTHMS = ("(e)", "(a)", "(e) (a)", "(1e)", "(/a)")
SLUGS = ("one", "two", "three")

contents = st.dictionaries(
    st.sampled_from(SLUGS), st.sampled_from(RHYTHMS), min_size=1, max_size=3
).filter(lambda cards: len(set(cards.values())) == len(cards))
plays = st.tuples(
    st.sampled_from(SLUGS), st.sampled_from(list(Grade)), st.sampled_from([0.001, 1, 9])
)
steps = st.lists(contents | plays, min_size=1, max_size=10)


def edition(number: int, cards: Mapping[str, str]) -> Deck:
    """Return an edition with some cards."""
    head = f'[deck]\nid = "d"\ntitle = "d"\nedition = {number}\n[groove]\nhat = "beat &"\n'
    text = "".join(
        f'[[card]]\nid = "{slug}"\ntitle = "{slug}"\nsnare = "{rhythm}"\n'
        for slug, rhythm in cards.items()
    )
    return parse_deck(head + text, name="d.toml")


def live(box: Box, clock: ManualClock, life: list[object]) -> dict[str, str]:
    """Take the steps, and return the last edition's cards by name."""
    cards: dict[str, str] = {"one": RHYTHMS[0]}
    box.put_deck(edition(1, cards), at=clock.now())
    for number, step in enumerate(life, start=2):
        clock.forward(seconds=60)
        if isinstance(step, dict):
            cards = step
            box.put_deck(edition(number, cards), at=clock.now())
        elif isinstance(step, tuple) and step[0] in cards:
            slug, grade, days = step
            clock.forward(days=days)
            box.record(box.find(f"d/{slug}"), bpm=80, grade=grade, at=clock.now(), seconds=30)
    return cards


@examples(60)
@given(steps)
def test_after_any_editions_beliefs_are_those_of_a_fresh_replay(life: list[object]) -> None:
    """The log and the links alone say what is believed.

    Checked, recomputed, and in another box they travelled to.
    """
    clock, numbers = ManualClock(START), count(1)
    with Box.open(":memory:", clock=clock, new_id=lambda: f"{next(numbers):032x}") as box:
        cards = live(box, clock, life)
        shown = box.cards(at=clock.now())
        assert frozenset() == box.wrong_beliefs()
        box.forget_beliefs()
        assert shown == box.cards(at=clock.now())
        with Box.open(":memory:", clock=clock) as other:
            other.put_deck(edition(99, cards), at=clock.now() + timedelta(seconds=1))
            other.join(box.holdings())
            expected = {card.card_id: card for card in shown}
            for card in other.cards(at=clock.now()):
                same = expected[card.card_id]
                assert (same.takes, same.cold_bpm) == (card.takes, card.cold_bpm)


@examples(60)
@given(steps)
def test_the_shelf_holds_the_edition_awake_and_the_rest_at_rest(life: list[object]) -> None:
    """The edition's cards under their names, none of them resting.

    Every other card of the shelf rests with its takes.
    """
    clock, numbers = ManualClock(START), count(1)
    with Box.open(":memory:", clock=clock, new_id=lambda: f"{next(numbers):032x}") as box:
        cards = live(box, clock, life)
        now = {card.card_id: card.slug for card in edition(99, cards).cards}
        shelf = {card.card_id: card for card in box.cards(at=clock.now())}

        assert set(now) <= set(shelf)
        for card_id, card in shelf.items():
            assert (card.state is State.RESTED) == (card_id not in now)
            assert card.takes == len(box.history(card_id))
        played = {entry.id for entry in box.log()}
        assert played >= {take.take_id for card_id in shelf for take in box.history(card_id)}
