"""A card's takes, newest first: each can be taken back, so that it counts no longer."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.screen import Screen
from textual.widgets import Static

from drillbox.app.refusals import draws_when_it_can, says_refusals
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.app.widgets.headline import headline
from drillbox.app.widgets.row_table import RowTable
from drillbox.base.now import day_name
from drillbox.base.wording import counted

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.box.take_views import TakeView

COLUMNS = (("when", 0), ("bpm ", 5), ("grade", 12), ("played", 6), ("take", 8))

HOW = "u takes the chosen take back: it stays in the log, and counts no longer."
NO_TAKE = "No take of this card counts yet."


class TakeList(Screen[None]):
    """The takes of one card."""

    BINDINGS: ClassVar = [
        Binding(
            "u", "take_back", "take back", id="takes.back", tooltip="This take counts no longer"
        ),
        Binding("question_mark", "app.keys", "keys", id="takes.keys", key_display="?"),
        Binding("escape", "back", "back", id="takes.leave"),
    ]

    def __init__(self, desk: Desk, card_id: str) -> None:
        super().__init__()
        self._desk = desk
        self._card_id = card_id
        self._takes: tuple[TakeView, ...] = ()
        self._asked: TakeView | None = None

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield headline()
        yield Static("", id="summary", classes="sentence", markup=False)
        yield RowTable(COLUMNS, id="takes")
        yield FitFooter()

    def on_mount(self) -> None:
        """Fill the page."""
        self.draw()
        self.query_one(RowTable).focus()

    @draws_when_it_can
    def draw(self) -> None:
        """Read the card's takes and show them."""
        box = self._desk.box
        self._takes = box.history(self._card_id)[::-1]
        self.query_one("#title", Static).update(box.title(self._card_id))
        self.query_one("#clock", Static).update(counted(len(self._takes), "take"))
        self.query_one(RowTable).fill([_row(take) for take in self._takes])
        self._say(HOW if self._takes else NO_TAKE)

    def _say(self, sentence: str) -> None:
        self.query_one("#summary", Static).update(sentence)

    def on_row_table_highlighted(self, event: RowTable.Highlighted) -> None:
        """Forget what was asked about another take."""
        chosen = self._chosen(event.table.cursor_row)
        if self._asked is not None and self._asked != chosen:
            self._asked = None
            self._say("")

    def _chosen(self, row: int) -> TakeView | None:
        return self._takes[row] if 0 <= row < len(self._takes) else None

    @says_refusals
    def action_take_back(self) -> None:
        """Take the chosen take back, when asked for twice."""
        take = self._chosen(self.query_one(RowTable).cursor_row)
        if take is None:
            return
        if self._asked != take:
            self._asked = take
            self._say(f"u again takes {_words(take)} back, for good.")
            return
        self._asked = None
        self._desk.box.retract(take.take_id, at=self._desk.clock.now())
        self.draw()
        self._say(f"Taken back: {_words(take)}.")

    def action_back(self) -> None:
        """Go back to the card."""
        self.dismiss(None)


def _row(take: TakeView) -> tuple[str, ...]:
    on = date.fromordinal(take.day)
    played = f"{day_name(on)} {on.year}, {take.at:%H:%M}"
    warmth = "cold" if take.cold else "warm"
    return played, f"{take.bpm:.0f}", take.grade.label, warmth, take.short_id


def _words(take: TakeView) -> str:
    return f"{take.bpm:.0f} bpm, {take.grade.label}, of {day_name(take.day)} {take.at:%H:%M}"
