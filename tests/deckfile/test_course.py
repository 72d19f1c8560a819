"""The course: every starter deck has its place, and the page says what the program says."""

from __future__ import annotations

from pathlib import Path

from drillbox.deckfile import FIRST_MONTH, ROUTES, SERVES, draw_course, next_deck, starter_decks

PAGE = (Path(__file__).parents[2] / "docs" / "courses.md").read_text(encoding="utf-8")
NAMES = [starter.name for starter in starter_decks()]


def test_every_deck_serves_somebody_and_is_on_a_route() -> None:
    """In the order of the course; a player comes to every deck sooner or later."""
    on_route = {name for stage in ROUTES for name in (*stage.begin, *stage.then)}
    first = {name for week in FIRST_MONTH for name in week.decks}

    assert NAMES == list(SERVES)
    assert 4 == len(FIRST_MONTH)
    assert set(NAMES) == (on_route | first) - {"decks of your own"}
    assert all(0 < row.half <= row.most for row in SERVES.values())


def test_the_page_says_what_the_program_says() -> None:
    """Whom each deck serves, its days, and the weeks of the first month."""
    for name, row in SERVES.items():
        assert f"| `{name}` | {row.whom} |" in PAGE
        assert f"| {row.half} days | {row.most} days |" in PAGE
    for stage in ROUTES:
        assert stage.able in PAGE


def test_the_course_is_drawn_in_eighty_columns() -> None:
    """With what the player has in hand beside the decks that are in the box."""
    drawn = draw_course(dict.fromkeys(NAMES, 20), {"doubles": (3, 70)})

    assert all(len(line) <= 84 for line in drawn.splitlines())
    assert "yours: 3 of 70 in hand" in drawn
    assert all(name in drawn for name in NAMES)


def test_the_next_deck_goes_on_from_where_the_player_began() -> None:
    """The first of the course for an empty box; nothing that was passed over; none at its end."""
    course = list(SERVES)
    assert course[0] == next_deck([])
    assert course[2] == next_deck(course[:2])
    assert course[5] == next_deck(["my-own", course[4]])
    assert next_deck(course) is None
    assert next_deck([course[-1]]) is None
