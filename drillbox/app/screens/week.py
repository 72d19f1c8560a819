"""The week: a page to look at on Sunday, and to show to a teacher."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from drillbox.app.refusals import draws_when_it_can, says_refusals
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.app.widgets.headline import headline
from drillbox.base.now import day_name
from drillbox.report.strides import WEEK_DAYS, week, week_sections

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk

WIDEST = 100
"""A line longer than this is hard to read, however wide the window."""


class WeekPage(Screen[None]):
    """One page to scroll through."""

    BINDINGS: ClassVar = [
        Binding("y", "app.year", "year", id="week.year", tooltip="All that was ever played"),
        Binding("h", "hand_in", "hand in", id="week.hand_in", tooltip="To your teacher"),
        Binding("question_mark", "app.keys", "keys", id="week.keys", key_display="?"),
        Binding("escape", "back", "back", id="week.back"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield headline("The week")
        yield Static("", id="week-done", classes="sentence", markup=False)
        with VerticalScroll(id="year"):
            yield Static("", id="week-text", markup=False)
        yield FitFooter()

    def on_mount(self) -> None:
        """Take the keys to the page, so that the arrows scroll it."""
        self.query_one("#year").focus()
        self.say_done("")

    @draws_when_it_can
    def on_resize(self) -> None:
        """Draw for the new width."""
        box, now = self._desk.box, self._desk.clock.now()
        shown = week(box, at=now)
        last = shown.first + WEEK_DAYS - 1
        self.query_one("#clock", Static).update(f"{day_name(shown.first)} to {day_name(last)}")
        width = min(max(self.size.width - 4, 40), WIDEST)
        page = Text()
        for title, body in week_sections(shown, width=width):
            page.append(f"{title}\n", style="bold").append(f"{body}\n\n")
        self.query_one("#week-text", Static).update(page)

    @says_refusals
    def action_hand_in(self) -> None:
        """Hand progress in from here, and come back here."""
        from drillbox.app.screens.hand_over import HandInSheet  # noqa: PLC0415 - loads when opened

        self.app.push_screen(HandInSheet(self._desk), self.say_done)

    def say_done(self, done: str | None) -> None:
        """Say over the page what was done."""
        line = self.query_one("#week-done", Static)
        line.update(done or "")
        line.display = bool(done)

    def action_back(self) -> None:
        """Go back."""
        self.dismiss(None)
