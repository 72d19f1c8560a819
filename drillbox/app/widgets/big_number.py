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

    def __init__(self, unit: str = "", *, id: str | None = None) -> None:  # noqa: A002 - Textual's
        super().__init__(id=id)
        self._unit = unit
        self._number = ""
        self._rows: Rows = ()
        self._drawn_for = ("", 0, 0)

    def show(self, number: str) -> None:
        """Draw another number."""
        if number != self._number:
            self._number = number
            self.refresh()

    def _build(self) -> None:
        """Draw the number for the size that it has now, unless that is done."""
        width, height = self.size
        if self._drawn_for == (self._number, width, height):
            return
        self._drawn_for = (self._number, width, height)
        under = (self._unit,) if self._unit and height > 1 else ()
        rows = rows_that_fit(self._number, width, height - len(under)) if width else 0
        drawn = big(self._number, rows) if rows else (self._number,)
        self._rows = tuple(row.center(width) for row in (*drawn, *under))

    def render_line(self, y: int) -> Strip:
        """Draw one row; the number stands in the middle."""
        self._build()
        row = y - (self.size.height - len(self._rows)) // 2
        text = self._rows[row] if 0 <= row < len(self._rows) else ""
        width = self.size.width
        return Strip([Segment(text[:width].ljust(width), self.rich_style)], width)
