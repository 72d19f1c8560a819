"""The wrap-up: what was done today, what comes when, and a caution where it matters."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Horizontal
from textual.screen import Screen
from textual.widgets import Footer, Static

from drillbox.app.refusals import draws_when_it_can, says_refusals
from drillbox.app.widgets.row_table import RowTable
from drillbox.app.words import HANDS, bpm_words, day_words, minutes_seconds
from drillbox.base.now import day_name
from drillbox.base.wording import counted

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.box.views import TakeView

COLUMNS = (("card", 0), ("takes ", 6), ("tempo", 10), ("last grade", 10), ("slips", 9))
READ_FIRST_SECONDS = 2.0
"""Learning takes about a second: it begins once the page can be read."""
BREAK = "Rest your hands and ears for five minutes now: a break is due in every half hour."
BREAK_AFTER_SECONDS = 30 * 60
"""A five-minute break each half hour: British Association for Performing Arts Medicine."""


class WrapUp(Screen[None]):
    """The day in a table, and the days after it."""

    BINDINGS: ClassVar = [
        Binding(
            "enter",
            "app.home",
            "done",
            id="wrapup.done",
            tooltip="Back to today",
            priority=True,
        ),
        Binding("s", "app.shelf", "shelf", id="wrapup.shelf", tooltip="All decks and cards"),
        Binding("question_mark", "app.keys", "keys", id="wrapup.keys", key_display="?"),
        Binding("q", "app.quit", "quit", id="wrapup.quit"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        with Horizontal(classes="headline"):
            yield Static("Wrap-up", id="title")
            yield Static("", id="clock")
        yield Static("", id="summary", classes="sentence", markup=False)
        yield RowTable(COLUMNS, id="done")
        yield Static("", id="coming", classes="sentence", markup=False)
        yield Static(HANDS, id="caution", classes="caution", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Write the day down."""
        self.draw()

    @draws_when_it_can
    def draw(self) -> None:
        """Read the day and show it."""
        now = self._desk.clock.now()
        day = self._desk.box.day(now)
        cards, takes = counted(len(day.cards), "card"), counted(len(day.takes), "take")
        saved = self._desk.unsaved.sentence() or "Every one is saved."
        self.query_one("#clock", Static).update(f"{minutes_seconds(day.seconds)} played")
        self.query_one("#summary", Static).update(f"{cards}, {takes}. {saved}")
        self.query_one("#coming", Static).update(self._coming())
        if day.seconds >= BREAK_AFTER_SECONDS:
            self.query_one("#caution", Static).update(BREAK)
        self.query_one(RowTable).fill(self._played(day.takes))
        if self._desk.box.learning_is_due(at=now):
            self.set_timer(READ_FIRST_SECONDS, self._learn)

    @says_refusals
    def _learn(self) -> None:
        lesson = self._desk.box.learn(at=self._desk.clock.now())
        if lesson.changed:
            self.query_one("#coming", Static).update("\n".join((*lesson.sentences, self._coming())))

    def _played(self, takes: tuple[TakeView, ...]) -> list[tuple[str, ...]]:
        box, now = self._desk.box, self._desk.clock.now()
        today = box.now(now).day
        by_card: dict[str, list[TakeView]] = {}
        for take in takes:
            by_card.setdefault(take.card_id, []).append(take)
        rows: list[tuple[str, ...]] = []
        for card_id, played in by_card.items():
            card = box.card(card_id, at=now)
            first, last = bpm_words(played[0].bpm), bpm_words(played[-1].bpm)
            tempo = first if first == last else f"{first} to {last}"
            slips = day_words(card.returns_on, today) if card.holds else card.state.value
            rows.append((card.title, str(len(played)), tempo, played[-1].grade.label, slips))
        return rows

    def _coming(self) -> str:
        box, now = self._desk.box, self._desk.clock.now()
        lines, today = [], box.now(now).day
        day, plan = box.next_practice(at=now)
        titles = [f"{box.title(item.card_id)} {item.bpm}" for item in plan.items]
        if titles:
            when = "Tomorrow" if day == today + 1 else day_name(day)
            more = f", and {len(titles) - 4} more" if len(titles) > 4 else ""
            lines.append(f"{when}: {', '.join(titles[:4])}{more}.")
        slipping = box.coming(at=now, days=7)
        if slipping:
            cards = ", ".join(
                f"{card.title} {day_words(card.returns_on, today)}" for card in slipping[:4]
            )
            lines.append(f"Slipping under the goal if left alone: {cards}.")
        return "\n".join(lines)
