"""The map crossed: ghost sets by bass line, and by the drums they are on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.deckfile import read_starter_decks
from drillbox.rhythm import BASS_LINES, Axis, crossed, parse

if TYPE_CHECKING:
    from drillbox.rhythm import Pattern


def cards(*lines: tuple[str, str]) -> list[tuple[Pattern, float | None, str]]:
    """Return a card for each ghost set and bass line, a groove at 80."""
    return [
        (parse(f"hat: beat &\nsnare: >2 >4 {ghosts}\nbass: {bass}"), 80.0, f"{ghosts}/{bass}")
        for ghosts, bass in lines
    ]


def test_ghost_sets_are_crossed_with_bass_lines() -> None:
    """A row a set, a column a line, as the deck multiplies them; what is missing is empty."""
    table = crossed(cards(("(e)", "1 3"), ("(e)", "1 2& 3"), ("(a)", "1 3"), ("(a)", "1 2& 3"),
                          ("(e)", "1 1a 3"), ("(&)", "1 3"),
                          ("(&)", "1 1a 3")), Axis.BASS)  # fmt: skip

    assert ("1 3", "1 2& 3", "1 1a 3") == table.columns
    assert ("e of every beat", ("(e)/1 3", "(e)/1 2& 3", "(e)/1 1a 3")) == table.rows[0]
    assert ("a of every beat", ("(a)/1 3", "(a)/1 2& 3", "")) == table.rows[1]


def test_what_crosses_nothing_is_left_out() -> None:
    """A row of one cell and a column of one cell say nothing that the shelf does not."""
    table = crossed(cards(("(e)", "1 3"), ("(a)", "1 2& 3")), Axis.BASS)

    assert ((), ()) == table


def test_the_fastest_of_several_cards_stands_in_a_cell() -> None:
    """Two time lines over one bass line are one cell."""
    slow, fast, other = (
        parse(f"{time}\nsnare: >2 >4 (e)\nbass: {bass}")
        for time, bass in (("hat: beat &", "1 3"), ("hat: beat", "1 3"), ("hat: beat", "1 3 3&"))
    )
    more = cards(("(a)", "1 3"), ("(a)", "1 3 3&"))
    table = crossed([(slow, 70.0, "slow"), (fast, 90.0, "fast"), (other, None, "-"), *more],
                    Axis.BASS)  # fmt: skip

    assert ("fast", "-") == table.rows[0][1]


def test_the_starter_decks_fill_both_maps() -> None:
    """Every sixteenth bass line that families know by name is a column; drums are the other."""
    known = [(card.pattern, None, "x") for deck in read_starter_decks() for card in deck.cards]
    by_bass, by_place = (crossed(known, by) for by in (Axis.BASS, Axis.PLACE))

    assert set(BASS_LINES["16"].values()) <= set(by_bass.columns)
    assert {"snare", "rim", "tom", "floor"} <= set(by_place.columns)
    for _, cells in (*by_bass.rows, *by_place.rows):
        assert sum(map(bool, cells)) > 1
