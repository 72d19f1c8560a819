"""Files between a student and a teacher: take the teacher's reply in, hand progress in again.

Nothing is looked for and nothing is written by itself: the player types where, and reads first.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar
from uuid import uuid4

from textual.binding import Binding
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Checkbox, Input, Static

from drillbox.app.named_file import named_file
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.errors import DrillboxError
from drillbox.report.progress_file import (
    contents,
    hand_in,
    last_decks,
    last_place,
    progress_of,
)
from drillbox.report.reply_file import take_in_file

if TYPE_CHECKING:
    from pathlib import Path

    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.studio import Progress

HEARD_TOO = "also what was heard: how even your takes were, by month (space)"


class PathSheet(ModalScreen[str]):
    """A sheet that asks for a file; it returns what was done, in words, or nothing."""

    BINDINGS: ClassVar = [Binding("escape", "close", "leave", id="file.close")]
    TITLE_TEXT, HINT, EXAMPLE = "", "", ""
    FIRST_FIELD = "file-path"

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk

    def compose(self) -> ComposeResult:
        """Lay the sheet out."""
        with Vertical(classes="sheet"):
            yield Static(self.TITLE_TEXT, classes="sheet-title", markup=False)
            yield Static("", id="file-told", markup=False)
            yield from self.fields()
            yield Input(placeholder=self.EXAMPLE, id="file-path")
            yield Static(self.HINT, id="file-said", markup=False)
        yield FitFooter()

    def fields(self) -> ComposeResult:
        """Lay out what is asked besides the file."""
        return ()

    def on_mount(self) -> None:
        """Show what there is to read before the file is named."""
        try:
            path, told = self.before()
        except DrillboxError as error:
            self.dismiss(error.sentence())
            return
        self.query_one("#file-told", Static).update(told)
        self.query_one("#file-path", Input).value = path
        first = self.query_one(f"#{self.FIRST_FIELD}", Input)
        first.focus()
        first.select_all()  # what is typed replaces it, also where it has had the focus all along

    def on_input_submitted(self) -> None:
        """Do it, or say why it cannot be done."""
        try:
            self.dismiss(self.do(named_file(self.query_one("#file-path", Input).value)))
        except DrillboxError as error:
            self.query_one("#file-said", Static).update(error.sentence())

    def action_close(self) -> None:
        """Close the sheet; nothing is done."""
        self.dismiss("")

    def before(self) -> tuple[str, str]:
        """Return the path to begin with, and what is to be read first."""
        return "", ""

    def do(self, path: Path) -> str:
        """Do it and return it in words."""
        raise NotImplementedError


class TakeInSheet(PathSheet):
    """Takes a teacher's reply in."""

    TITLE_TEXT = "Take in a reply from your teacher"
    HINT = "enter: take it in, esc: leave it"
    EXAMPLE = "where it is, such as ~/Downloads/mia.reply"

    def do(self, path: Path) -> str:
        """Take the reply in and return what it says."""
        return "\n".join(take_in_file(self._desk.box, path, at=self._desk.clock.now()))


class TickBox(Checkbox):
    """A box that is empty where it is not ticked: its colour alone must not say so."""

    def __init__(self, label: str, *, id: str) -> None:  # noqa: A002 - as every widget calls it
        super().__init__(label, id=id, compact=True)
        self.BUTTON_INNER = " "

    def watch_value(self) -> None:
        """Draw the cross, or take it away."""
        self.BUTTON_INNER = "X" if self.value else " "
        super().watch_value()


class HandInSheet(PathSheet):
    """Writes the player's progress for the teacher, after it was read what is in it."""

    TITLE_TEXT = "Hand your progress in"
    HINT = "enter: write the file, tab: next field, esc: write nothing"
    EXAMPLE = "where it goes, such as mia.jsonl"
    FIRST_FIELD = "file-name"

    def fields(self) -> ComposeResult:
        """Ask what to be called, and whether what was heard goes along."""
        yield Input(placeholder="your name on it, or nothing", id="file-name")
        yield TickBox(HEARD_TOO, id="file-heard")

    def before(self) -> tuple[str, str]:
        """Return where the last file went, and what this one tells."""
        self._at = self._desk.clock.now()
        self._decks = last_decks(self._desk.box)
        self._progress = self._made(heard=True)
        self.query_one("#file-name", Input).value = self._progress.name
        self.query_one("#file-heard", Checkbox).display = bool(self._progress.heard)
        return str(last_place(self._desk.box) or "progress.jsonl"), self._told()

    def on_input_changed(self, event: Input.Changed) -> None:
        """Tell what the file says with the name as it stands."""
        if event.input.id == "file-name":
            self._progress = replace(self._progress, name=event.value.strip())
            self.query_one("#file-told", Static).update(self._told())

    def on_checkbox_changed(self) -> None:
        """Tell what the file says with what was heard, or without."""
        self.query_one("#file-told", Static).update(self._told())

    def do(self, path: Path) -> str:
        """Write the file that was told of."""
        name = self.query_one("#file-name", Input).value
        progress = self._made(name=name, heard=self._sends_heard)
        hand_in(self._desk.box, progress, path, self._decks, at=self._at)
        return f"Your progress is in {path.absolute()}."

    @property
    def _sends_heard(self) -> bool:
        """Whether the player has chosen to send what was heard as well."""
        return self.query_one("#file-heard", Checkbox).value

    def _told(self) -> str:
        shown = self._progress if self._sends_heard else replace(self._progress, heard=())
        return "\n".join(contents(shown))

    def _made(self, *, heard: bool, name: str | None = None) -> Progress:
        return progress_of(
            self._desk.box,
            at=self._at,
            new_id=lambda: uuid4().hex,
            name=name,
            deck_ids=self._decks,
            heard=heard,
        )
