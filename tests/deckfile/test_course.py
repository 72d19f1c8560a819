"""The course: every starter deck has its place, and the page says what the program says."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from starters import NAMES, decks

from drillbox.deckfile import (
    FIRST_MONTH,
    ROUTES,
    SERVES,
    draw_course,
    next_deck,
)

if TYPE_CHECKING:
    from drillbox.deckfile import Card

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "courses.md").read_text(encoding="utf-8")
BEGINNERS = ("first-week", "accents-and-taps", "levels")


@cache
def by_name() -> dict[tuple[str, str], Card]:
    """Return every starter card by the names of its deck and its own."""
    return {(deck.id, card.slug): card for deck in decks().values() for card in deck.cards}


def test_every_deck_serves_somebody_and_is_on_a_route() -> None:
    """In the order of the course; a player comes to every deck sooner or later."""
    on_route = {name for stage in ROUTES for name in (*stage.begin, *stage.then)}

    assert list(NAMES) == list(SERVES)
    assert {deck.id: len(deck.cards) for deck in decks().values()} == {
        name: row.cards for name, row in SERVES.items()
    }
    assert set(NAMES) == on_route - {"decks of your own"}
    for row in SERVES.values():
        assert 0 < row.half[0] <= row.half[1]
        assert all(half <= most for half, most in zip(row.half, row.most, strict=True))


def test_the_first_month_can_be_handed_out() -> None:
    """Four weeks; what a card builds on stands before it, and goals of new cards are modest."""
    met: set[tuple[str, str]] = set()
    for week in FIRST_MONTH:
        for deck, slug in week.cards:
            before = {(deck, name) for name in by_name()[deck, slug].after}
            known = met | {("accents-and-taps", slug) for _, slug in met}
            assert before <= known, slug
            met.add((deck, slug))

    assert 4 == len(FIRST_MONTH)
    assert ("first-week", "quarters") == FIRST_MONTH[0].cards[0]
    assert all(4 <= len(week.cards) <= 6 for week in FIRST_MONTH)


def test_a_rhythm_of_the_first_week_has_one_goal() -> None:
    """The highest goal of a card's decks holds, so another deck must not raise a beginner's."""
    first = {
        card.card_id: card.goal_bpm for (deck, _), card in by_name().items() if deck == NAMES[0]
    }
    shared = [
        (card, first[card.card_id])
        for (deck, _), card in by_name().items()
        if card.card_id in first and deck in BEGINNERS
    ]

    assert {"quarters", "eighths", "eighths-plain"} <= {card.slug for card, _ in shared}
    assert all(goal == card.goal_bpm for card, goal in shared)


def test_the_first_sixteenths_can_be_held_by_a_beginner() -> None:
    """On the pad at 66 to 76: eighths at 84 are sixteenths at 42 (common practice, no source)."""
    new = {by_name()[name].card_id for week in FIRST_MONTH for name in week.cards}
    pad = {
        card.slug: card.goal_bpm
        for (deck, _), card in by_name().items()
        if deck in BEGINNERS and card.card_id in new and not card.pattern.strokes[0].voice.is_cymbal
    }

    assert {"sixteenths", "sixteenths-tap", "sixteenth-beat", "sixteenth-and"} <= set(pad)
    assert all(66 <= goal <= 90 for goal in pad.values())
    assert all(66 <= goal <= 76 for slug, goal in pad.items() if slug.startswith("sixteenth"))


def test_the_page_says_what_the_program_says() -> None:
    """Whom each deck serves, its weeks, the weeks of the first month, the number of rhythms."""
    for name, row in SERVES.items():
        assert f"| `{name}` | {row.whom} |" in PAGE
        for first, last in (row.half, row.most):
            assert f"| {first} to {last} weeks |" in PAGE
    for stage in ROUTES:
        assert stage.able in PAGE
    for number, week in enumerate(FIRST_MONTH, start=1):
        assert f"**Week {number}**, `{'`, `'.join(week.decks)}`: {week.about}." in PAGE
        rows = "".join(
            f"| {card.title} | {card.goal_bpm:.0f} | {card.note} |\n"
            for card in (by_name()[name] for name in week.cards)
        )
        assert rows in PAGE
    rhythms = len({card.card_id for card in by_name().values()})
    assert (
        f"{len(decks())} decks have {len(by_name())} cards and {rhythms} different rhythms" in PAGE
    )
    assert f"{rhythms} rhythms" in (ROOT / "README.md").read_text(encoding="utf-8")
    assert f"{rhythms} rhythms" in (ROOT / "docs" / "changelog.md").read_text(encoding="utf-8")


def test_the_course_is_drawn_in_eighty_columns() -> None:
    """With what the player has in hand beside the decks that are in the box."""
    drawn = draw_course(tuple(decks().values()), {"doubles": (3, 70)})

    assert all(len(line) <= 80 for line in drawn.splitlines())
    assert "(yours: 3 of 70 in hand)" in " ".join(drawn.split())
    assert all(name in drawn for name in NAMES)
    assert all(by_name()[name].title in drawn for week in FIRST_MONTH for name in week.cards)


def test_the_next_deck_goes_on_from_where_the_player_began() -> None:
    """The first of the course for an empty box; nothing that was passed over; none at its end."""
    course = list(SERVES)
    assert course[0] == next_deck([])
    assert course[2] == next_deck(course[:2])
    assert course[5] == next_deck(["my-own", course[4]])
    assert next_deck(course) is None
    assert next_deck([course[-1]]) is None
