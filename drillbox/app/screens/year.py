"""The player's year.

Vocabulary in hand over time, minutes by day, what comes back when, records.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from drillbox.app.refusals import draws_when_it_can, says_refusals
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.report.year import year_sections

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk


class Year(Screen[None]):
    """One page to scroll through."""

    BINDINGS: ClassVar = [
        Binding("s", "app.shelf", "shelf", id="year.shelf"),
        Binding("e", "paper", "on paper", id="year.paper", show=False),
        Binding("question_mark", "app.keys", "keys", id="year.keys", key_display="?"),
        Binding("escape", "back", "back", id="year.back"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        with Horizontal(classes="headline"):
            yield Static("The year", id="title")
            yield Static("", id="clock", markup=False)
        with VerticalScroll(id="year"):
            yield Static("", id="year-text", markup=False)
        yield FitFooter()

    def on_mount(self) -> None:
        """Take the keys to the page, so that the arrows scroll it."""
        self.query_one("#year").focus()

    @draws_when_it_can
    def on_resize(self) -> None:
        """Draw for the new width."""
        box, now = self._desk.box, self._desk.clock.now()
        sections = year_sections(box, at=now, width=max(self.size.width - 4, 40))
        text = "\n\n".join(f"{title}\n\n{body}" for title, body in sections)
        self.query_one("#year-text", Static).update(text)

    @says_refusals
    def action_paper(self) -> None:
        """Show the map of the vocabulary as a sheet."""
        from drillbox.app.paper import map_on_paper  # noqa: PLC0415 - loads when asked for

        map_on_paper(self.app, self._desk)

    def action_back(self) -> None:
        """Go back."""
        self.dismiss(None)
