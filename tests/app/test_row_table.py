"""What a table does at a key, a click and another width, asked without a window."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest

from drillbox.app.day_sheet import DONE_COLUMNS
from drillbox.app.screens import shelf_screen, studio, take_list, today
from drillbox.app.widgets.row_table import RowTable


def size(width: int, height: int) -> object:
    """Return the size of a window or a widget."""
    return SimpleNamespace(width=width, height=height)


class Table:
    """What a table's methods look at, with a note of what they ask for."""

    def __init__(self, cursor: int = 0, *, first: int = 0, height: int = 6, rows: int = 20) -> None:
        self.cursor_row, self._records = cursor, [("",)] * rows
        self.size, self.scroll_offset = size(40, height), SimpleNamespace(y=first)
        self.moved: list[int] = []
        self.scrolled: list[int] = []
        self.posted: list[str] = []

    def scroll_to(self, *, y: int, **_: object) -> None:
        """Note where to."""
        self.scrolled.append(y)

    def move_to(self, row: int) -> None:
        """Note which row."""
        self.moved.append(row)

    def Opened(self, _: object) -> str:  # noqa: N802 - a message of the table
        """Return a message."""
        return "opened"

    def post_message(self, message: str) -> None:
        """Note a message."""
        self.posted.append(message)


@pytest.mark.parametrize(
    ("cursor", "height", "expected"),
    [(3, 6, []), (7, 6, []), (8, 6, [4]), (2, 6, [2]), (19, 6, [15]), (2, 1, [])],
)
def test_the_cursor_is_brought_into_view_by_the_least_move(
    cursor: int, height: int, expected: list[int]
) -> None:
    """Five rows under the head, from the fourth on: above it comes first, below it comes last."""
    table = Table(cursor, first=3, height=height)
    RowTable._show_cursor(cast("RowTable", table))

    assert expected == table.scrolled


def test_a_lower_window_keeps_the_cursor_in_view() -> None:
    """Whoever makes the window lower still sees the row that is chosen."""
    table = Table(7, first=3)
    lower = SimpleNamespace(**vars(table), scroll_to=table.scroll_to)
    lower._show_cursor = lambda: RowTable._show_cursor(cast("RowTable", lower))
    RowTable.on_resize(cast("RowTable", lower))
    before = table.scrolled.copy()
    lower.size = size(40, 4)
    RowTable.on_resize(cast("RowTable", lower))

    assert ([], [5]) == (before, table.scrolled)


def test_the_keys_move_by_a_row_by_what_is_in_view_and_to_the_ends() -> None:
    """A page is the height without the head, one row at least."""
    table = Table(10)
    as_table = cast("RowTable", table)
    for by in (-1, 1):
        RowTable.action_move(as_table, by)
        RowTable.action_page(as_table, by)
    RowTable.action_end(as_table, 0)
    RowTable.action_end(as_table, 1)
    low = Table(10, height=1)
    RowTable.action_page(cast("RowTable", low), 1)

    assert [9, 5, 11, 15, 0, 20] == table.moved
    assert [11] == low.moved


def test_a_moved_cursor_draws_two_rows_and_is_told() -> None:
    """The row it left and the row it came to, as they stand in view; it stays among the rows."""
    table = Table(5, first=3)
    drawn: list[tuple[int, int, int, int]] = []
    seen = SimpleNamespace(_show_cursor=lambda: drawn.append((0, 0, 0, 0)), refresh=drawn.append)
    seen.__dict__.update(vars(table), post_message=table.post_message)
    seen.Highlighted = lambda at: f"at {at.cursor_row}"
    for row in (6, 99, -4):
        RowTable.move_to(cast("RowTable", seen), row)

    assert ["at 6", "at 19", "at 0"] == table.posted
    assert [(0, 3, 40, 1), (0, 4, 40, 1), (0, 0, 0, 0)] == drawn[:3]
    seen._records = []
    RowTable.move_to(cast("RowTable", seen), 2)
    assert 0 == seen.cursor_row


@pytest.mark.parametrize(
    ("y", "moved", "posted"),
    [(0, [], []), (1, [3], []), (3, [], ["opened"]), (4, [6], []), (None, [], [])],
)
def test_a_click_moves_the_cursor_and_a_second_one_opens(
    y: int | None, moved: list[int], posted: list[str]
) -> None:
    """The head is no row; rows are counted from the first in view; below the last is nothing."""
    table = Table(5, first=3)
    event = cast(
        "Any",
        SimpleNamespace(get_content_offset=lambda _: None if y is None else SimpleNamespace(y=y)),
    )
    RowTable.on_click(cast("RowTable", table), event)
    end = Table(0, rows=3)
    for row in (3, 4):
        click = SimpleNamespace(get_content_offset=lambda _, row=row: SimpleNamespace(y=row))
        RowTable.on_click(cast("RowTable", end), cast("Any", click))

    assert (moved, posted) == (table.moved, table.posted)
    assert [2] == end.moved


@pytest.mark.parametrize(("width", "expected"), [(80, 61), (31, 12), (10, 12), (32, 13)])
def test_the_first_column_takes_what_the_others_leave(width: int, expected: int) -> None:
    """Each column has a blank on both sides; a title is never narrower than twelve."""
    table = SimpleNamespace(
        _columns=(("card", 0), ("state", 8), ("bpm ", 5)),
        scrollable_content_region=SimpleNamespace(width=width),
    )

    assert [expected, 8, 5] == RowTable._widths(cast("RowTable", table))


@pytest.mark.parametrize(
    ("columns", "width"),
    [
        (today.COLUMNS, 80),
        (shelf_screen.COLUMNS, 80),
        (take_list.COLUMNS, 80),
        (studio.COLUMNS, 80),
        (studio.WIDE_COLUMNS, 120),
        (DONE_COLUMNS, 80),
    ],
)
def test_a_table_fits_its_window_and_its_heads_their_columns(
    columns: tuple[tuple[str, int], ...], width: int
) -> None:
    """One column takes what is left, and that is no less than a short title."""
    fixed = [(name, wide) for name, wide in columns if wide]

    assert len(columns) - 1 == len(fixed)
    assert all(len(name.strip()) <= wide for name, wide in fixed)
    assert width - 2 * len(columns) - sum(wide for _, wide in fixed) >= 12
