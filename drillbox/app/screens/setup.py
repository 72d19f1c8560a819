"""Setup: the few things about a player and a room that no plan can guess."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillbox.app.clicks import next_clicks
from drillbox.app.refusals import says_refusals
from drillbox.app.words import counted

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk

LATENCY_STEP, LATENCY_MOST = 10, 500


class Setup(ModalScreen[None]):
    """Three settings; left and right change the highlighted one, and every change is kept at once."""

    BINDINGS: ClassVar = [
        Binding("right", "change(1)", "more", id="setup.more", priority=True),
        Binding("left", "change(-1)", "less", id="setup.less", priority=True),
        Binding("escape,enter", "close", "done", id="setup.done", priority=True),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk

    def compose(self) -> ComposeResult:
        """Lay the sheet out."""
        with Vertical(classes="sheet"):
            yield Static("Setup: up and down choose, left and right change", classes="sheet-title")
            yield OptionList(*(Option("", id=name) for name in self._rows()), id="setup-rows")
            yield Static("esc: done", markup=False)

    def on_mount(self) -> None:
        """Write the rows."""
        rows = self.query_one(OptionList)
        rows.highlighted = 0
        rows.focus()
        self._draw()

    def _rows(self) -> dict[str, str]:
        settings = self._desk.box.settings
        hand = "right" if settings.leading == "R" else "left"
        clicks = counted(settings.clicks, "click")
        return {
            "leading": f"Leading hand          {hand}",
            "clicks": f"Click                 {clicks} a beat",
            "latency_ms": f"Sound arrives late by {settings.latency_ms} ms  (Bluetooth: often 100 to 250)",
        }

    def _draw(self) -> None:
        rows = self.query_one(OptionList)
        for name, text in self._rows().items():
            rows.replace_option_prompt(name, text)

    @says_refusals
    def action_change(self, direction: int) -> None:
        """Change the highlighted setting."""
        rows = self.query_one(OptionList)
        if rows.highlighted is None:
            return
        name = rows.get_option_at_index(rows.highlighted).id
        box, now = self._desk.box, self._desk.clock.now()
        settings = box.settings
        if name == "leading":
            box.change_settings(at=now, leading="L" if settings.leading == "R" else "R")
        elif name == "clicks":
            box.change_settings(at=now, clicks=next_clicks(settings.clicks, direction))
        else:
            late = settings.latency_ms + direction * LATENCY_STEP
            box.change_settings(at=now, latency_ms=min(max(late, 0), LATENCY_MOST))
        self._draw()

    def action_close(self) -> None:
        """Close the sheet."""
        self.dismiss(None)
