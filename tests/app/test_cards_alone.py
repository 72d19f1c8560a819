"""What a card's page, its takes and the map decide, without a window."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest
from starters import all_cards

from drillbox.app.desk import Desk
from drillbox.app.screens.card import NO_TAKE, CardPage
from drillbox.app.screens.take_list import HOW, TakeList
from drillbox.app.screens.take_list import NO_TAKE as NO_TAKES
from drillbox.app.screens.vocabulary_map import (
    CELL_WIDTH,
    FIXED,
    NO_CARD_HERE,
    VocabularyMap,
    _crossed,
    _placed,
)
from drillbox.base.tempi import ASKED
from drillbox.memory import Grade
from drillbox.rhythm import Axis, Hand, Pattern
from drillbox.sound import Metronome, SilentClock

sys.path.insert(0, str(Path(__file__).parent))
from bare_screen import Bare, Part

if TYPE_CHECKING:
    from drillbox.app.widgets.row_table import RowTable
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


@pytest.fixture
def desk(box: Box, clock: ManualClock) -> Desk:
    """Return a desk with the small deck."""
    return Desk(box, clock, lambda: Metronome(SilentClock(clock.seconds)))


def played(desk: Desk, slug: str, *grades: Grade, bpm: int = 70) -> str:
    """Play takes of a card; return it."""
    card = desk.box.find(slug)
    for grade in grades:
        at = desk.clock.now()
        desk.box.record(card, bpm=bpm, grade=grade, at=at, seconds=40)
    return card


# a card's page


class BareCard(Bare, CardPage):
    """A card's page in no app, which draws no plot."""

    def _plot(self, takes: Any, slipping: Any, goal_bpm: float, today: int) -> Any:
        self.plotted = (len(takes), len(slipping), goal_bpm, today)


def page_of(desk: Desk, card: str) -> BareCard:
    """Return the page of a card."""
    page = BareCard(desk, card)
    page.on_mount()
    return page


def test_a_card_nobody_played_says_so_and_has_no_plot(desk: Desk) -> None:
    """Its state, its goal, its deck, what it asks of the hands, and how hard it is."""
    page = page_of(desk, desk.box.find("e"))
    pattern = desk.box.card(desk.box.find("e"), at=desk.clock.now()).pattern

    assert ("e of every beat", "waiting, goal 90") == (page.line("#title"), page.line("#clock"))
    assert page.line("#facts").startswith("Not begun. In First ghosts.\n")
    assert "Difficulty " in page.line("#work")
    assert NO_TAKE == page.line("#history-words")
    assert (pattern, Hand.RIGHT) == page.part("PatternView").drawn
    assert not page.part("#heard").display
    assert not hasattr(page, "plotted")


def test_a_card_that_fell_apart_is_not_together_yet(desk: Desk) -> None:
    """It says after how many takes."""
    page = page_of(desk, played(desk, "e", Grade.FELL_APART, Grade.FELL_APART))

    assert page.line("#facts").startswith("Not together yet after 2 takes. In First ghosts.")


def test_a_card_that_was_played_says_where_it_stands_and_when_it_slips(
    desk: Desk, clock: ManualClock
) -> None:
    """Its cold tempo with a band, the last take; before it slips when, after it since when."""
    card = played(desk, "e", Grade.STEADY, bpm=100)
    page = page_of(desk, card)
    first = page.line("#facts")
    view = desk.box.card(card, at=clock.now())
    assert view.returns_on is not None
    clock.forward(seconds=86_400.0 * (view.returns_on - desk.box.now(clock.now()).day))
    page.draw()
    on_the_day = page.line("#facts")
    clock.forward(seconds=86_400.0 * 3)
    page.draw()
    after = page.line("#facts")

    assert first.startswith("Cold now about ")
    assert ". 1 take, last today at 100. Slips under the goal " in first
    assert " Slips under the goal " in on_the_day or "Slipped" in on_the_day
    assert " Slipped under the goal " in after
    assert 1 == page.plotted[0]
    assert (90.0, desk.box.now(clock.now()).day) == page.plotted[2:]


@pytest.mark.parametrize(
    ("goal", "direction", "then"),
    [(90, 1, 95), (90, -1, 85), (ASKED.most, 1, ASKED.most), (ASKED.least, -1, ASKED.least)],
)
def test_a_goal_moves_by_five_within_what_may_be_asked(
    desk: Desk, goal: int, direction: int, then: int
) -> None:
    """And the page says it at once."""
    card, now = desk.box.find("e"), desk.clock.now()
    desk.box.set_goal(card, bpm=goal, at=now)
    page = page_of(desk, card)
    page.action_goal(direction)

    assert then == desk.box.card(card, at=now).goal_bpm
    assert f"waiting, goal {then}" == page.line("#clock")


async def test_the_other_keys_of_a_cards_page(desk: Desk) -> None:
    """Rested and woken by one key, played, its takes opened, left; none was kept to be heard."""
    card = desk.box.find("e")
    page = page_of(desk, card)
    states = []
    for _ in range(2):
        page.action_rest()
        states.append(page.line("#clock").split(",")[0])
    await page.action_play_card()
    page.action_takes()
    ((takes, then),) = page.pushed
    played(desk, "e", Grade.FELL_APART)
    then(None)
    page.action_back()

    assert ["rested", "waiting"] == states
    assert [f"app.play_card({card!r})"] == page.ran
    assert isinstance(takes, TakeList)
    assert page.line("#facts").startswith("Not together yet after 1 take.")
    assert (False, True) == (page.offers("hear"), page.offers("rest"))
    assert [None] == page.closed_with


# its takes


class BareTakes(Bare, TakeList):
    """A card's takes in no app."""


def test_a_cards_takes_stand_newest_first_and_one_is_taken_back(desk: Desk) -> None:
    """Asked for twice; another row forgets the question; with none left the page says so."""
    card = played(desk, "e", Grade.CLEAN, Grade.SHAKY)
    page = BareTakes(desk, card)
    page.on_mount()
    table = page.part("RowTable")
    grades = [row[2] for row in table.rows]
    how = (page.line("#summary"), page.line("#clock"), page.line("#title"), table.has_keys)
    page.action_take_back()
    asked = page.line("#summary")
    told = cast("RowTable.Highlighted", SimpleNamespace(table=SimpleNamespace(cursor_row=0)))
    page.on_row_table_highlighted(told)
    still = page.line("#summary")
    other = cast("RowTable.Highlighted", SimpleNamespace(table=SimpleNamespace(cursor_row=1)))
    page.on_row_table_highlighted(other)
    forgotten = page.line("#summary")
    for _ in range(2):
        page.action_take_back()
    left = ([row[2] for row in table.rows], page.line("#summary"))
    for _ in range(2):
        page.action_take_back()
    none = (table.rows, page.line("#clock"))
    page.action_take_back()
    page.draw()

    assert ["shaky", "clean"] == grades
    assert (HOW, "2 takes", "e of every beat", True) == how
    assert asked.startswith("u again takes 70 bpm, shaky, of ")
    assert (asked, "") == (still, forgotten)
    assert (["clean"], True) == (left[0], left[1].startswith("Taken back: 70 bpm, shaky"))
    assert ([], "0 takes", NO_TAKES) == (*none, page.line("#summary"))
    assert () == desk.box.history(card)


def test_the_first_take_of_a_day_is_cold(desk: Desk) -> None:
    """The others are warm, with tempo and the start of the id."""
    card = played(desk, "e", Grade.CLEAN, Grade.CLEAN)
    page = BareTakes(desk, card)
    page.on_mount()
    first = desk.box.history(card)[0]

    assert ["warm", "cold"] == [row[3] for row in page.part("RowTable").rows]
    assert ("70", "clean", "cold", first.take_id[:8]) == page.part("RowTable").rows[1][1:]


# the map


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


@pytest.mark.parametrize("axis", [None, Axis.BASS, Axis.PLACE])
def test_every_column_of_the_map_is_as_wide_as_what_stands_in_it(axis: Axis | None) -> None:
    """Its name and its cells, and in the first column every row's name; each row fills its heads.

    Two columns name the row; there are cards in it.
    """
    patterns = {card.pattern for card in all_cards()}
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
    shown = [one for ids in vocabulary._cards for one in ids if one]

    assert [(0, FIXED)] == grid.moved
    assert {len(grid.heads)} == {len(cells) for cells in grid.rows}
    assert grid.rows[row][column].strip()
    assert f"1 of {len(shown)} cards holding" == vocabulary.line("#clock")
    assert (True, True) == (grid.display, vocabulary.part("#legend").display)
    assert grid.has_keys
    assert vocabulary.looked_at_keys
    assert vocabulary.offers("play")


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
