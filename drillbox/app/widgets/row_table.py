"""A table of rows, one of whose columns takes the width that the others leave.

It draws the rows that are in view and asks for no others, so that thousands cost what a screenful
does.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar, overload

from rich.segment import Segment
from textual.binding import Binding
from textual.geometry import Region, Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

if TYPE_CHECKING:
    from collections.abc import Callable

    from rich.style import Style
    from textual import events

    Record = Sequence[str]
    Columns = Sequence[tuple[str, int]]

NARROWEST = 12
PADDING = 1
"""Blank columns on either side of a cell."""


class MadeInView(Sequence["Record"]):
    """Records that are made when they are first looked at.

    Parameters
    ----------
    count
        How many there are.
    make
        Gives the one at an index.
    """

    def __init__(self, count: int, make: Callable[[int], Record]) -> None:
        self._make = make
        self._made: list[Record | None] = [None] * count

    def __len__(self) -> int:
        return len(self._made)

    @overload
    def __getitem__(self, index: int) -> Record: ...

    @overload
    def __getitem__(self, index: slice) -> Sequence[Record]: ...

    def __getitem__(self, index: int | slice) -> Record | Sequence[Record]:
        if isinstance(index, slice):
            return [self[one] for one in range(*index.indices(len(self)))]
        found = self._made[index]
        if found is None:
            found = self._made[index] = self._make(index)
        return found


class RowTable(ScrollView, can_focus=True):
    """A table for reading, one row a record, with a cursor on one of them.

    What a cell says is shown as it is, square brackets and all.

    Parameters
    ----------
    columns
        Name and width of each column; a width of 0 takes what is left. A name that ends in a space
        is of numbers and stands at the right.
    """

    DEFAULT_CSS = """
    RowTable { background: $background; overflow-x: hidden; scrollbar-size-vertical: 1; }
    RowTable > .rows--head { color: $foreground 65%; text-style: bold; }
    RowTable > .rows--cursor { background: $panel; color: $accent; text-style: bold; }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"rows--head", "rows--cursor"}
    BINDINGS: ClassVar = [
        Binding("up", "move(-1)", show=False),
        Binding("down", "move(1)", show=False),
        Binding("pageup", "page(-1)", show=False),
        Binding("pagedown", "page(1)", show=False),
        Binding("home,ctrl+home", "end(0)", show=False),
        Binding("end,ctrl+end", "end(1)", show=False),
    ]

    class Highlighted(Message):
        """The cursor is on another row, or the rows are others."""

        def __init__(self, table: RowTable) -> None:
            super().__init__()
            self.table = table

        @property
        def control(self) -> RowTable:
            """The table it happened in."""
            return self.table

    class Opened(Highlighted):
        """The row under the cursor was clicked."""

    def __init__(self, columns: Columns, *, id: str) -> None:  # noqa: A002 - Textual's own name
        super().__init__(id=id)
        self._columns = tuple(columns)
        self._records: Sequence[Record] = ()
        self.cursor_row = 0

    def fill(self, records: Sequence[Record], columns: Columns | None = None) -> None:
        """Show these rows; the cursor stays where it was as far as there are rows.

        `columns` take the place of those there were, as where the window has become wider.
        """
        self._columns = self._columns if columns is None else tuple(columns)
        self._records = records
        self.virtual_size = Size(0, len(records) + 1)
        self.move_to(self.cursor_row)
        self.refresh()

    def move_to(self, row: int) -> None:
        """Put the cursor on a row, or on the nearest there is, and bring it into view."""
        before, self.cursor_row = self.cursor_row, max(0, min(row, len(self._records) - 1))
        for stale in (before, self.cursor_row):
            self.refresh(Region(0, stale + 1 - self.scroll_offset.y, self.size.width, 1))
        self._show_cursor()
        self.post_message(self.Highlighted(self))

    def on_resize(self) -> None:
        """Keep the cursor in view."""
        self._show_cursor()

    def _show_cursor(self) -> None:
        first, room = self.scroll_offset.y, self.size.height - 1
        if room > 0 and not first <= self.cursor_row < first + room:
            above = self.cursor_row < first
            self.scroll_to(
                y=self.cursor_row if above else self.cursor_row - room + 1,
                animate=False,
                immediate=True,
            )

    def action_move(self, by: int) -> None:
        """Move the cursor by rows."""
        self.move_to(self.cursor_row + by)

    def action_page(self, direction: int) -> None:
        """Move the cursor by as many rows as are in view."""
        self.move_to(self.cursor_row + direction * max(self.size.height - 1, 1))

    def action_end(self, end: int) -> None:
        """Move the cursor to the first row (0) or to the last one (1)."""
        self.move_to(end * len(self._records))

    def on_click(self, event: events.Click) -> None:
        """Put the cursor on the row; on the row that has it, open the row."""
        offset = event.get_content_offset(self)
        row = -1 if offset is None or not offset.y else offset.y - 1 + self.scroll_offset.y
        if row == self.cursor_row and self._records:
            self.post_message(self.Opened(self))
        elif 0 <= row < len(self._records):
            self.move_to(row)

    def render_line(self, y: int) -> Strip:
        """Draw the head, or the row that stands there."""
        if y == 0:
            return self._strip([name for name, _ in self._columns], self._part("head"))
        row = y - 1 + self.scroll_offset.y
        if not 0 <= row < len(self._records):
            return Strip.blank(self.size.width, self.rich_style)
        style = self._part("cursor") if row == self.cursor_row else self.rich_style
        return self._strip(self._records[row], style)

    def _part(self, name: str) -> Style:
        return self.get_component_rich_style(f"rows--{name}")

    def _strip(self, cells: Record, style: Style) -> Strip:
        gap = " " * PADDING
        told = zip(self._columns, cells, self._widths(), strict=True)
        text = "".join(f"{gap}{_set(name, cell, width)}{gap}" for (name, _), cell, width in told)
        return Strip([Segment(text, style)]).adjust_cell_length(self.size.width, style)

    def _widths(self) -> list[int]:
        padding = 2 * PADDING * len(self._columns)
        fixed = sum(width for _, width in self._columns)
        spare = self.scrollable_content_region.width - padding - fixed
        return [width or max(NARROWEST, spare) for _, width in self._columns]


def _set(column: str, text: str, width: int) -> str:
    if column.endswith(" "):
        return text.strip().rjust(width)
    return text.ljust(width) if len(text) <= width else f"{text[: width - 1]}…"
