"""Assignments in deck files: read, refused with a place, and found again in a deck's text."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from strategies import damaged_bytes

from drillbox.deckfile import Assignment, assignments_in, parse_deck
from drillbox.deckfile.assignments import MAX_ASSIGNMENTS
from drillbox.errors import DeckError

DECK = """\
[deck]
id = "d"
title = "d"
[[card]]
id = "one"
title = "one"
snare = "(e)"
[[card]]
id = "two"
title = "two"
snare = "(a)"
"""


def test_an_assignment_has_a_day_cards_and_a_tempo() -> None:
    """Without cards it is about all of them, without a goal it asks for each card's own."""
    text = DECK + (
        '[[assignment]]\nby = 2026-12-20\ncards = ["two"]\ngoal = 84\n'
        "[[assignment]]\nby = 2027-01-31\n"
    )
    some, every = parse_deck(text, name="d.toml").assignments

    assert Assignment(date(2026, 12, 20), ("two",), 84.0) == some
    assert Assignment(date(2027, 1, 31), (), None) == every
    assert (False, True) == (some.means("one"), some.means("two"))
    assert every.means("one")


def test_a_stored_text_gives_the_same_assignments() -> None:
    """The box keeps the deck's text.

    What is assigned is read from it again, however it is written.
    """
    written = DECK + '[[assignment]]\nby = 2026-12-20\ncards = ["two"]\ngoal = 84\n'
    inline = 'assignment = [{by = 2026-12-20, cards = ["two"], goal = 84}]\n' + DECK

    for text in (written, inline, written.replace("\n", "\r\n")):
        assert parse_deck(text, name="d.toml").assignments == assignments_in(text)
    assert () == assignments_in(DECK)
    assert () == assignments_in(DECK.replace('"two"\nsnare', '"an assignment"\nsnare'))


WRITTEN = DECK + '[[assignment]]\nby = 2026-12-20\ncards = ["two"]\ngoal = 84\n'


@pytest.mark.parametrize(
    "more",
    [
        "[[assignment",
        "[[assignment]]\nby = " + "9" * 5000,
        "x = " + "[" * 5000,
        "pace = \u0663",
    ],
)
def test_a_stored_text_that_cannot_be_read_any_more_asks_for_nothing(more: str) -> None:
    """Another program was at it; a day's plan is not to end with it."""
    assert () == assignments_in(f"{WRITTEN}{more}\n")


@pytest.mark.parametrize(
    "wrong",
    [
        "by = 'soon'", "by = 2026-12-20T10:00:00", "by = 2026-12-20\ncards = 7", "goal = 84",
        "by = 2026-12-20\ngoal = 'fast'", "by = 2026-12-20\ngoal = 1e308", "by = 2026-12-20\nx = 1",
    ],
)  # fmt: skip
def test_a_stored_assignment_that_makes_no_sense_is_passed_over(wrong: str) -> None:
    """The others of its deck still ask."""
    (right,) = assignments_in(WRITTEN)

    assert (right,) == assignments_in(f"{WRITTEN}[[assignment]]\n{wrong}\n")
    assert () == assignments_in(f"assignment = 7\n{DECK}")
    assert () == assignments_in(f"assignment = [7]\n{DECK}")


@given(damaged_bytes(WRITTEN.encode()))
def test_whatever_became_of_a_stored_text_it_is_read(content: bytes) -> None:
    """Of a text that can still be read as a deck, what the deck asks."""
    text = content.decode(errors="replace")
    found = assignments_in(text)
    try:
        deck = parse_deck(text, name="d.toml")
    except DeckError:
        assert isinstance(found, tuple)
    else:
        assert deck.assignments == found


@pytest.mark.parametrize(
    ("lines", "complaint"),
    [
        ("by = 2026-12-20\ncards = ['three']", r":14:10: the assignment names no card: 'three'; "),
        ("by = 2026-12-20\ncards = ['tw']", r":14:10: .*did you mean 'two'"),
        ("cards = ['two']", r":12:1: by is missing; add a line that begins with 'by ='"),
        ("by = '2026-12-20'", r":13:6: by is not a date; write the day without quotes"),
        ("by = 2026-12-20T10:00:00", r":13:6: by is not a date"),
        ("by = 10:00:00", r":13:6: by is not a date"),
        ("by = 2026-12-20\ngoal = 1000", r":14:8: goal = 1000 is out of range"),
        ("by = 2026-12-20\nuntil = 1", r":14:1: unknown key 'until'"),
    ],
)
def test_a_wrong_assignment_is_refused_with_its_place(lines: str, complaint: str) -> None:
    """The whole deck is refused, for the assignment's line and column."""
    with pytest.raises(DeckError, match=complaint):
        parse_deck(f"{DECK}[[assignment]]\n{lines}\n", name="d.toml")


def test_assignments_of_another_shape_or_number_are_refused() -> None:
    """One table where a list is wanted, and more than anyone can practise for."""
    with pytest.raises(DeckError, match="assignment is not a list of tables; begin every"):
        parse_deck(f"{DECK}[assignment]\nby = 2026-12-20\n", name="d.toml")
    many = "[[assignment]]\nby = 2026-12-20\n" * (MAX_ASSIGNMENTS + 1)
    with pytest.raises(DeckError, match=r":212:1: more than 100 assignments"):
        parse_deck(DECK + many, name="d.toml")


def test_a_broken_card_is_complained_of_once() -> None:
    """An assignment for a card whose rhythm cannot be read adds nothing to the complaint."""
    broken = DECK.replace('"(a)"', '"(9)"') + "[[assignment]]\nby = 2026-12-20\ncards = ['two']\n"

    with pytest.raises(DeckError, match=r":11:11: "):
        parse_deck(broken, name="d.toml")
