"""What every app of ours wears: the palette, the style sheet, and two keys that work everywhere."""

from __future__ import annotations

from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import events, on
from textual.app import App
from textual.binding import Binding
from textual.driver import Driver

from drillbox.app.theme import PAPER, STAGE

if TYPE_CHECKING:
    from textual.notifications import SeverityLevel


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
        Binding("ctrl+z", "suspend_process", "suspend", id="app.suspend", show=False),
        Binding("ctrl+c", "quit", "quit", id="app.stop", show=False, priority=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        # Dressed here, before the style sheet is read for the first time: later it would be read
        # twice.
        self.register_theme(STAGE)
        self.register_theme(PAPER)
        self.theme = STAGE.name
        self._errors_shown: list[str] = []

    def notify(
        self,
        message: str,
        *,
        title: str = "",
        severity: SeverityLevel = "information",
        timeout: float | None = None,
        markup: bool = True,
    ) -> None:
        """Show a notice over the page, and know for how long an error stands there."""
        super().notify(message, title=title, severity=severity, timeout=timeout, markup=markup)
        if severity == "error":
            self._errors_shown.append(message)
            self.set_timer(timeout or self.NOTIFICATION_TIMEOUT, partial(self._gone, message))

    def _gone(self, message: str) -> None:
        with suppress(ValueError):  # a page with a line of its own has taken it
            self._errors_shown.remove(message)

    def take_errors(self) -> str:
        """Return what errors stand over the page, and take them away: it has a line for them."""
        errors = " ".join(dict.fromkeys(self._errors_shown))
        if errors:
            self._errors_shown.clear()
            self.clear_notifications()
        return errors

    @on(Driver.SignalResume)
    def draw_again(self) -> None:
        """Draw the whole page when the shell lets the app go on: what stood there is gone."""
        self.refresh(layout=True)

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
