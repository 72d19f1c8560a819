"""What every app of ours wears: the palette, the style sheet, and two keys that work everywhere."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual import events
from textual.app import App
from textual.binding import Binding

from drillbox.app.theme import PAPER, STAGE


class StyledApp(App[int]):
    """An app in drillbox's colours, dark or light."""

    TITLE = "drillbox"
    # Absolute: a relative one would be looked up beside the module of each app.
    CSS_PATH = Path(__file__).with_name("app.tcss")
    VERTICAL_BREAKPOINTS = [(0, "-short"), (30, "-tall")]  # noqa: RUF012 - as Textual has it
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (120, "-wide")]  # noqa: RUF012 - as Textual has it
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar = [
        Binding("f2", "light", "light / dark", id="app.light", show=False),
        Binding("ctrl+c", "quit", "quit", id="app.stop", show=False, priority=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        # Dressed here, before the style sheet is read for the first time: later it would be read
        # twice.
        self.register_theme(STAGE)
        self.register_theme(PAPER)
        self.theme = STAGE.name

    async def on_event(self, event: events.Event) -> None:
        """Pass over a key that comes before the screen it is for has all its parts."""
        opens = bool(self.screen_stack) and not self.screen_stack[-1].is_mounted
        if not (opens and isinstance(event, events.Key)):
            await super().on_event(event)

    def action_command_palette(self) -> None:
        """Open the palette, where there is one."""
        from drillbox.app.palette import Palette  # noqa: PLC0415 - when the palette opens

        if self.use_command_palette and not isinstance(self.screen, Palette):
            self.push_screen(Palette())

    def action_light(self) -> None:
        """Change between dark and light."""
        self.theme = PAPER.name if self.theme == STAGE.name else STAGE.name
