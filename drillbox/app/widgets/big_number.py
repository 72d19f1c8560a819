"""A number as large as its place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from drillbox.app.big_digits import big, rows_that_fit

if TYPE_CHECKING:
    from drillbox.app.big_digits import Rows


class BigNumber(Widget):
    """A whole number in digits that fill the widget, with a word under it."""

    def __init__(self, unit: str = "", *, id: str | None = None) -> None:  # noqa: A002 - Textual's own name
        super().__init__(id=id)
        self._unit = unit
        self._number = ""
        self._rows: Rows = ()

    def show(self, number: str) -> None:
        """Draw another number."""
        if number != self._number:
            self._number = number
            self._build()

    def on_resize(self) -> None:
        """Draw for the new size."""
        self._build()

    def _build(self) -> None:
        width, height = self.size.width, self.size.height
        under = (self._unit,) if self._unit and height > 1 else ()
        rows = rows_that_fit(self._number, width, height - len(under)) if width else 0
        drawn = big(self._number, rows) if rows else (self._number,)
        self._rows = tuple(row.center(width) for row in (*drawn, *under))
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """Draw one row; the number stands in the middle."""
        row = y - (self.size.height - len(self._rows)) // 2
        text = self._rows[row] if 0 <= row < len(self._rows) else ""
        width = self.size.width
        return Strip([Segment(text[:width].ljust(width), self.rich_style)], width)
