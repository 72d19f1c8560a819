"""What goes on paper is what the deck, the plan and the box say."""

from __future__ import annotations

from datetime import date
from statistics import median
from typing import TYPE_CHECKING

import pytest
from conftest import SMALL_DECK

from drillbox.deckfile import parse_deck
from drillbox.errors import UsageError
from drillbox.memory import Grade
from drillbox.report.sheet_contents import (
    cards_sheet,
    deck_sheet,
    lesson,
    standing,
    todays_plan,
    vocabulary,
)
from drillbox.rhythm import Hand

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.deckfile import Deck
    from drillbox.paper import Sheet

TEN = date(2026, 3, 10).toordinal()
"""10 March 2026, a Tuesday (ISO 8601)."""


def asking(*assignments: str) -> Deck:
    """Return the small deck with assignments."""
    added = "".join(f"\n[[assignment]]\n{one}\n" for one in assignments)
    return parse_deck(f"{SMALL_DECK}{added}", name="d.toml")


def lesson_of(deck: Deck, *, words: str = "", cold: dict[str, float | None] | None = None) -> Sheet:
    """Return Mia's lesson sheet on 10 March 2026."""
    known = cold or {}
    return lesson(
        deck, student="Mia", words=words, day=TEN, cold=known, goals={}, leading=Hand.RIGHT
    )


def asked(sheet: Sheet) -> list[str]:
    """Return the lines that say what is wanted of a card."""
    return [line for line in (sheet.text or "").splitlines() if " target " in line]


def test_a_lesson_asks_for_what_is_assigned_from_today_on() -> None:
    """Today counts; what has passed is left out; of two dates the nearer one is asked for."""
    deck = asking(
        'by = 2026-03-09\ncards = ["a-doubled"]',
        'by = 2026-03-20\ncards = ["a", "e"]\ngoal = 88',
        'by = 2026-03-10\ncards = ["a"]\ngoal = 70',
    )

    assert [
        "1  e of every beat: target 88 bpm by Fri 20 Mar",
        "2  a of every beat: target 70 bpm by Tue 10 Mar",
    ] == asked(lesson_of(deck))


def test_a_lesson_without_assignments_asks_for_the_whole_deck() -> None:
    """At the deck's goals, without a day, and with the tempo that the student has."""
    deck = asking()
    lines = asked(lesson_of(deck, cold={deck.cards[0].card_id: 71.6}))

    assert "1  e of every beat: now 72, target 90 bpm" == lines[0]
    assert "4  a of every beat, doubled: target 80 bpm" == lines[3]


def test_a_lesson_whose_days_have_passed_is_refused() -> None:
    """In a sentence that names the deck."""
    with pytest.raises(UsageError, match="first-ghosts asks for nothing from today on"):
        lesson_of(asking('by = 2026-03-09\ncards = ["a"]'))


def test_the_teachers_words_head_the_lesson() -> None:
    """Under the day and the deck; where there are none, nothing stands there."""
    assert ("Tue 10 Mar, First ghosts", "Lower.") == lesson_of(asking(), words="Lower.").lines
    assert ("Tue 10 Mar, First ghosts",) == lesson_of(asking()).lines


def test_a_sheet_of_cards_is_called_after_them(box: Box, clock: ManualClock) -> None:
    """One by its title, more by their number, with goals and what the player has."""
    box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    views = box.cards(at=clock.now())
    one = cards_sheet(views[:1], leading=Hand.RIGHT)
    exercise = one.collection.exercises[0]

    assert views[0].title == one.title
    assert "4 cards" == cards_sheet(views, leading=Hand.RIGHT).title
    assert (views[0].goal_bpm, views[0].cold_bpm) == (exercise.bpm, exercise.now_bpm)


def test_a_decks_sheet_carries_its_first_sentence_and_its_rights() -> None:
    """A long about is for the deck's page; author and licence go with every copy."""
    text = SMALL_DECK.replace("Four cards for tests.", "Four cards. For\\ntests. And more.")
    sheet = deck_sheet(parse_deck(text, name="d.toml"), leading=Hand.RIGHT, cold={})
    bare = SMALL_DECK.replace('about = "Four cards for tests."\n', "")

    assert ("Four cards.",) == sheet.lines
    assert ("a teacher", "CC0-1.0") == (sheet.collection.author, sheet.collection.licence)
    assert () == deck_sheet(parse_deck(bare, name="d.toml"), leading=Hand.RIGHT, cold={}).lines


def test_the_days_sheet_is_the_days_plan(box: Box, clock: ManualClock) -> None:
    """Each card once, at its first tempo, in the plan's order."""
    items = box.plan(at=clock.now(), minutes=15).items
    ids = list(dict.fromkeys(item.card_id for item in items))
    sheet = todays_plan(box, at=clock.now(), minutes=15, leading=Hand.RIGHT)
    order = " ".join(str(ids.index(item.card_id) + 1) for item in items)

    assert "Mon 2 Mar, 15 minutes" == sheet.title
    assert f"In this order: {order}" == sheet.lines[1]
    assert [box.card(card_id, at=clock.now()).title for card_id in ids] == [
        one.title for one in sheet.collection.exercises
    ]
    assert [next(i.bpm for i in items if i.card_id == c) for c in ids] == [
        one.bpm for one in sheet.collection.exercises
    ]


def test_where_nothing_was_played_nothing_stands(box: Box, clock: ManualClock) -> None:
    """After one take: how many of each family were played, the span of tempos, the middle goal."""
    with pytest.raises(UsageError, match="nothing was played yet"):
        standing(box, at=clock.now(), leading=Hand.RIGHT)
    box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    sheet = standing(box, at=clock.now(), leading=Hand.RIGHT)
    views = box.cards(at=clock.now())
    (row,) = (sheet.text or "").splitlines()

    assert "1 of 4 cards played" in sheet.lines[0]
    assert "   1 of   4 " in row
    assert row.endswith(f"goal {median(view.goal_bpm for view in views):>3.0f}")
    low, high = row.split("of   4")[1].split("goal")[0].split(" to ")
    assert float(low) <= float(high)


def test_the_map_needs_ghosts_of_a_grid(box: Box, clock: ManualClock) -> None:
    """It is dated, and refused in a sentence where no card would be on it."""
    sheet = vocabulary(box.cards(at=clock.now()), day=TEN, leading=Hand.RIGHT)

    assert ("Tue 10 Mar",) == sheet.lines
    with pytest.raises(UsageError, match="no card has ghosts of a grid"):
        vocabulary([], day=TEN, leading=Hand.RIGHT)
