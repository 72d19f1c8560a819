"""What the map of the vocabulary shows and chooses, without a window."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest

from drillbox.app.screens.vocabulary_map import (
    CELL_WIDTH,
    FIXED,
    NO_CARD_HERE,
    VocabularyMap,
    _crossed,
    _placed,
)
from drillbox.deckfile import parse_deck, starter_decks
from drillbox.memory import Grade
from drillbox.rhythm import Axis, Pattern

sys.path.insert(0, str(Path(__file__).parent))
from bare_screen import Bare, Part
from still_desk import played, still_desk

if TYPE_CHECKING:
    from drillbox.app.desk import Desk
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


@pytest.fixture
def desk(box: Box, clock: ManualClock) -> Desk:
    """Return a desk with the small deck."""
    return still_desk(box, clock)


class Grid(Part):
    """The map's table: its columns, rows and cursor."""

    def __init__(self) -> None:
        super().__init__()
        self.heads: list[str] = []
        self.cursor_coordinate = cast("Any", SimpleNamespace(row=0, column=0))
        self.moved: list[tuple[int, int]] = []

    def clear(self, *, columns: bool) -> None:
        """Forget all."""
        assert columns
        self.heads, self.rows = [], []

    def add_column(self, name: str, *, width: int) -> None:
        """Note a column."""
        assert width >= 0
        self.heads.append(name)

    def add_row(self, *cells: object) -> None:
        """Note a row."""
        self.rows.append(tuple(str(cell) for cell in cells))

    def move_cursor(self, *, row: int, column: int) -> None:
        """Note where the cursor goes."""
        self.moved.append((row, column))


class BareMap(Bare, VocabularyMap):
    """The map in no app."""

    def at(self, row: int, column: int) -> None:
        """Put the cursor on a cell."""
        place = cast("Any", _Place((row, column)))
        cast("Grid", self.part("DataTable")).cursor_coordinate = place
        self.on_data_table_cell_highlighted()


class _Place(tuple[int, int]):
    """A place in a table: row and column, by position or by name."""

    __slots__ = ()

    @property
    def row(self) -> int:
        """The row."""
        return self[0]

    @property
    def column(self) -> int:
        """The column."""
        return self[1]


@pytest.fixture
def vocabulary(desk: Desk) -> BareMap:
    """Return the map of the small deck, e held, its cards found by what they are."""
    played(desk, "e", *[Grade.AUTOMATIC] * 3, bpm=120)
    page = BareMap(desk)
    grid = Grid()
    grid.cursor_coordinate = cast("Any", _Place((0, 0)))
    page.parts["DataTable"] = grid
    page.app.call_later = lambda call, *args: page.posted.append(args)
    page.on_mount()
    page.on_screen_resume()
    return page


@pytest.mark.parametrize(
    ("axis", "deck"),
    [
        (None, "sixteenth-triplet-ghosts"),
        (Axis.BASS, "ghosts-over-bass"),
        (Axis.PLACE, "across-the-kit"),
    ],
)
def test_every_column_of_the_map_is_as_wide_as_what_stands_in_it(
    axis: Axis | None, deck: str
) -> None:
    """Its name and its cells, and in the first column every row's name; each row fills its heads.

    Two columns name the row; there are cards in it.
    """
    (starter,) = (one for one in starter_decks() if one.name == deck)
    patterns = {card.pattern for card in starter.read().cards}
    cards: list[tuple[Pattern, float | None, str]] = [
        (pattern, None, str(number)) for number, pattern in enumerate(patterns)
    ]
    head, rows = _placed(cards) if axis is None else _crossed(cards, axis)
    names = [name for name, _ in rows]

    assert any(any(cells) for _, cells in rows)
    assert {len(head)} == {FIXED + len(cells) for _, cells in rows}
    for number, (name, width) in enumerate(head):
        assert len(name) <= width or (name, width) == ("", 0)
        assert number < FIXED or width == max(CELL_WIDTH, len(name.strip()))
        assert number >= FIXED or all(len(one[number]) <= width for one in names)


def place_of(page: BareMap, card: str) -> tuple[int, int]:
    """Return where a card stands."""
    return next(
        (row, FIXED + column)
        for row, ids in enumerate(page._cards)
        for column, one in enumerate(ids)
        if one == card
    )


def test_the_map_has_each_card_in_its_cell_and_counts_who_holds(
    vocabulary: BareMap, desk: Desk
) -> None:
    """The cursor starts on the first column of cells; a row has as many cells as heads."""
    grid = cast("Grid", vocabulary.part("DataTable"))
    row, column = place_of(vocabulary, desk.box.find("e"))
    shown = {one for ids in vocabulary._cards for one in ids if one}

    assert [(0, FIXED)] == grid.moved
    assert {len(grid.heads)} == {len(cells) for cells in grid.rows}
    assert grid.rows[row][column].strip()
    assert f"1 of {len(shown)} cards holding" == vocabulary.line("#clock")
    assert (True, True) == (grid.display, vocabulary.part("#legend").display)
    assert grid.has_keys
    assert vocabulary.looked_at_keys
    assert vocabulary.offers("play")


def test_a_card_that_stands_under_two_grids_is_counted_once(desk: Desk) -> None:
    """Ghosts on the beats have no grid of their own: they stand in sixteenths and in triplets."""
    deck = """
[deck]
id = "beats"
title = "Beats"
[groove]
hat = "beat &"
snare = ">2 >4"
[[card]]
id = "beats"
snare = "(1) (3)"
[[card]]
id = "sixteenths"
grid = "16"
snare = "(e)"
[[card]]
id = "triplets"
grid = "8t"
groove = false
hat = "beat"
snare = "(t)"
"""
    for view in desk.box.decks(at=desk.clock.now()):
        desk.box.remove_deck(view.deck_id)
    desk.box.put_deck(parse_deck(deck, name="beats"), at=desk.clock.now())
    card = played(desk, "beats/beats", *[Grade.AUTOMATIC] * 3, bpm=120)
    page = BareMap(desk)
    page.parts["DataTable"] = Grid()
    page.on_screen_resume()
    cells = [one for ids in page._cards for one in ids if one]

    assert (2, 4) == (cells.count(card), len(cells))
    assert "1 of 3 cards holding" == page.line("#clock")


def test_what_stands_under_the_cursor_is_said_and_drawn_in_a_tall_window(
    vocabulary: BareMap, desk: Desk
) -> None:
    """An empty cell says that there is no card; enter and c say it louder."""
    card = desk.box.find("e")
    told = []
    for height in (24, 50):
        vocabulary.window = (80, height)
        vocabulary.at(*place_of(vocabulary, card))
        told.append((vocabulary.line("#under-cursor"), vocabulary.part("PatternView").display))
    vocabulary.action_play()
    vocabulary.on_data_table_cell_selected()
    vocabulary.action_open_card()
    empty = next(
        (row, FIXED + n)
        for row, ids in enumerate(vocabulary._cards)
        for n, one in enumerate(ids)
        if not one
    )
    vocabulary.at(*empty)
    nothing = (vocabulary.line("#under-cursor"), vocabulary.part("PatternView").display)
    vocabulary.action_play()
    louder = [vocabulary.line("#under-cursor")]
    vocabulary.part("#under-cursor").words = ""
    vocabulary.action_open_card()
    louder.append(vocabulary.line("#under-cursor"))

    assert ["e of every beat: holding, goal 90"] * 2 == [words for words, _ in told]
    assert [False, True] == [drawn for _, drawn in told]
    assert 2 == len(vocabulary.posted)
    assert f"app.play_card({card!r})" == vocabulary.posted[0][-1]
    assert [card] == [page._card_id for page, _ in vocabulary.pushed]
    assert not nothing[1]
    assert [NO_CARD_HERE] * 2 == louder


def test_the_map_is_laid_out_by_each_list_in_turn(vocabulary: BareMap) -> None:
    """Three of them, and round; each has its title."""
    titles = []
    for _ in range(4):
        titles.append(vocabulary.line("#title"))
        vocabulary.action_arrange()
    vocabulary.action_back()

    assert 3 == len(set(titles))
    assert titles[0] == titles[3]
    assert [None] == vocabulary.closed_with
