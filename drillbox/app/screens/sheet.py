"""On paper: a look at what would be printed, and a file name whose ending says as what."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input, Static
from textual.worker import get_current_worker

from drillbox.app.named_file import named_file
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.errors import DrillboxError

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from textual.app import ComposeResult
    from textual.worker import Worker

    from drillbox.paper import Form, Sheet
    from drillbox.rhythm import Hand

ENDINGS = ".pdf .html .svg to print, .musicxml .mid for other programs, .txt"
PREVIEW_WIDTH = 72


class SheetPage(ModalScreen[None]):
    """A sheet before it is written."""

    BINDINGS: ClassVar = [
        Binding("enter", "write", "write", id="sheet.write", priority=True),
        Binding("up", "scroll(-1)", "read on", id="sheet.up", priority=True, key_display="↑ ↓"),
        Binding("down", "scroll(1)", "down", id="sheet.down", priority=True, show=False),
        Binding("escape", "close", "leave", id="sheet.close", tooltip="Without a file"),
    ]
    DEFAULT_CSS = """
    SheetPage { align: center middle; }
    SheetPage > Vertical {
      width: 78; max-width: 100%; height: 90%; background: $panel; padding: 1 2;
    }
    SheetPage VerticalScroll { height: 1fr; margin-bottom: 1; }
    SheetPage Input { margin-bottom: 1; }
    """

    def __init__(self, sheet: Sheet, *, leading: Hand, at: datetime) -> None:
        super().__init__()
        self._sheet = sheet
        self._leading = leading
        self._at = at
        self._drawing: Worker[None] | None = None

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        with Vertical():
            yield Static("On paper", classes="sheet-title")
            with VerticalScroll(can_focus=False):
                yield Static("", id="sheet-preview", markup=False)
            yield Input(value="sheet.pdf", id="sheet-name", select_on_focus=False)
            yield Static("", id="sheet-word", markup=False)
        yield FitFooter()

    def on_mount(self) -> None:
        """Show the sheet as text, and take the keys to the file's name."""
        from drillbox.paper import text_sheet  # noqa: PLC0415 - loads when opened

        text = text_sheet(self._sheet, width=PREVIEW_WIDTH, leading=self._leading)
        self.query_one("#sheet-preview", Static).update(text)
        self.query_one(Input).focus()

    def on_input_changed(self, event: Input.Changed) -> None:
        """Say in which folder the file would be written."""
        try:
            folder = named_file(event.value).absolute().parent
        except DrillboxError as refusal:
            self._say(refusal.sentence())
        else:
            self._say(f"enter writes it in {folder}; {ENDINGS}")

    def action_write(self) -> None:
        """Write the file, beside the screen's own work: a deck takes a second or two."""
        from drillbox.paper import form_of  # noqa: PLC0415

        try:
            path = named_file(self.query_one(Input).value)
            form = form_of(path.name)
        except DrillboxError as refusal:
            self._say(refusal.sentence())
            return
        self._say("Drawing; esc leaves without a file.")
        self._drawing = self.run_worker(
            lambda: self._write(path, form), thread=True, exclusive=True
        )

    def _write(self, path: Path, form: Form) -> None:
        """Write the file or files, and say where they are; runs in a thread of its own.

        Nothing is written where the page was left while it was drawn.
        """
        from drillbox.paper import SheetForm, rendered  # noqa: PLC0415
        from drillbox.paper.formats import write_files  # noqa: PLC0415

        try:
            files = rendered(self._sheet, form, SheetForm(leading=self._leading), at=self._at)
            if get_current_worker().is_cancelled:
                return
            names = write_files(files, path)
        except DrillboxError as refusal:
            word = refusal.sentence()
        else:
            word = f"Written: {names[0].resolve()}"
            if len(names) > 1:
                word += f" and {len(names) - 1} more"
        self.app.call_from_thread(self._say, word)

    def _say(self, word: str) -> None:
        if self.is_current:
            self.query_one("#sheet-word", Static).update(word)

    def action_scroll(self, direction: int) -> None:
        """Move the preview; the keys stay with the file's name."""
        self.query_one(VerticalScroll).scroll_relative(y=4 * direction, animate=False)

    def action_close(self) -> None:
        """Put the page away; what is being drawn is not written."""
        if self._drawing is not None:
            self._drawing.cancel()
        self.dismiss(None)
