"""The sheet on which a teacher writes one student a reply."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Label, Static

from drillbox.base.files import written_whole
from drillbox.errors import DrillboxError, UsageError
from drillbox.studio.lesson_notes import BETWEEN
from drillbox.studio.reply_writing import (
    next_lesson,
    proposed,
    proposed_goals,
    reply_content,
    reply_file_name,
    reply_for,
)

if TYPE_CHECKING:
    from datetime import datetime

    from textual.app import ComposeResult

    from drillbox.studio import StudentFigures

FIELDS = {
    "note": "A word",
    "wanted": f"Cards wanted, {BETWEEN.strip()} between them, =BPM after one for a tempo",
    "by": "By",
    "goals": f"Other goals, as CARD=96{BETWEEN}CARD=84",
    "teacher": "From",
}


class ReplySheet(ModalScreen[str]):
    """Fields with what the studio proposes; enter writes the file, escape writes nothing."""

    BINDINGS: ClassVar = [Binding("escape", "close", "nothing is written", id="reply.close")]

    def __init__(self, one: StudentFigures, now: datetime) -> None:
        super().__init__()
        self._one = one
        self._now = now

    def compose(self) -> ComposeResult:
        """Lay the sheet out."""
        values = {
            "wanted": BETWEEN.join(proposed(self._one)),
            "goals": BETWEEN.join(proposed_goals(self._one)),
            "by": f"{next_lesson(self._now)}",
        }
        with Vertical(classes="sheet"):
            yield Static(f"Reply to {self._one.label}", classes="sheet-title", markup=False)
            for name, words in FIELDS.items():
                yield Label(words, markup=False)
                yield Input(values.get(name, ""), id=f"reply-{name}", compact=True)
            yield Static("enter: write the file, esc: write nothing", id="reply-said", markup=False)

    def on_input_submitted(self) -> None:
        """Write the file, or say what cannot be meant."""
        try:
            self.dismiss(self._written())
        except DrillboxError as error:
            self.query_one("#reply-said", Static).update(error.sentence())

    def _written(self) -> str:
        said = {name: self.query_one(f"#reply-{name}", Input).value for name in FIELDS}
        try:
            by = date.fromisoformat(said["by"].strip()) if said["by"].strip() else None
        except ValueError:
            raise UsageError(f"{said['by']!r} is no day", fix="write it as 2026-12-10") from None
        reply = reply_for(
            self._one,
            note=said["note"],
            wanted=_parts(said["wanted"]),
            by=by,
            goals=_parts(said["goals"]),
            teacher=said["teacher"],
            now=self._now,
        )
        path = Path(reply_file_name(self._one, self._now))
        with written_whole(path) as file:
            file.write(reply_content(reply))
        return f"Written: {path}. Mail it; {self._one.label} takes it in with decks add."

    def action_close(self) -> None:
        """Close the sheet."""
        self.dismiss("")


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(BETWEEN.strip()) if part.strip()]
