"""A table of rows, one of whose columns takes the width that the others leave."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text
from textual.widgets import DataTable

if TYPE_CHECKING:
    from collections.abc import Sequence

NARROWEST = 12


class RowTable(DataTable[Text]):
    """A `DataTable` for reading, one row a record.

    What a cell says is shown as it is, square brackets and all.

    Parameters
    ----------
    columns
        Name and width of each column; a width of 0 takes what is left. A name that ends in a space
        is of numbers and stands at the right.
    """

    DEFAULT_CSS = """
    RowTable { background: $background; background-tint: $background; }
    RowTable { overflow-x: hidden; scrollbar-size-vertical: 1; }
    RowTable:focus { background-tint: $foreground 0%; }
    RowTable > .datatable--header { background: $background; color: $foreground 65%; }
    RowTable > .datatable--header { text-style: bold; }
    RowTable > .datatable--cursor { background: $panel; color: $accent; text-style: bold; }
    """

    def __init__(self, columns: Sequence[tuple[str, int]], *, id: str) -> None:  # noqa: A002 - Textual's own name
        super().__init__(id=id, cursor_type="row")
        self._given = tuple(columns)
        self._records: tuple[Sequence[str], ...] = ()

    def fill(
        self, records: Sequence[Sequence[str]], columns: Sequence[tuple[str, int]] | None = None
    ) -> None:
        """Show these rows; the cursor stays where it was as far as there are rows.

        `columns` take the place of those there were, as where the window has become wider.
        """
        self._given = self._given if columns is None else tuple(columns)
        self._records = tuple(records)
        self._build()

    def on_resize(self) -> None:
        """Share the width out anew."""
        self._build()

    def _build(self) -> None:
        row, widths = self.cursor_row, self._widths()
        self.clear(columns=True)
        for (name, _), width in zip(self._given, widths, strict=True):
            self.add_column(_set(name, name, width), key=name, width=width)
        for record in self._records:
            cells = zip(self._given, record, widths, strict=True)
            self.add_row(*(Text(_set(name, cell, width)) for (name, _), cell, width in cells))
        if self._records:
            self.move_cursor(row=min(row, len(self._records) - 1))

    def _widths(self) -> list[int]:
        padding = 2 * self.cell_padding * len(self._given)
        spare = self.size.width - padding - sum(width for _, width in self._given) - 1
        return [width or max(NARROWEST, spare) for _, width in self._given]


def _set(column: str, text: str, width: int) -> str:
    if column.endswith(" "):
        return text.strip().rjust(width)
    return text if len(text) <= width else f"{text[: width - 1]}…"
