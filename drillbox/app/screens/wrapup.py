"""The wrap-up: what was done today, what comes when, and a caution where it matters."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.screen import Screen
from textual.widgets import Footer, Static

from drillbox.app.words import CAUTIONS, bpm_words, day_words, minutes_seconds

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.views import TakeView

BREAK_AFTER_SECONDS = 30 * 60
"""A five-minute break each half hour: British Association for Performing Arts Medicine."""


class WrapUp(Screen[None]):
    """The day in a table of words."""

    BINDINGS: ClassVar = [
        Binding("enter", "app.home", "done", id="wrapup.done", tooltip="Back to today"),
        Binding("s", "app.shelf", "shelf", id="wrapup.shelf", tooltip="All decks and cards"),
        Binding("question_mark", "app.keys", "keys", id="wrapup.keys", key_display="?"),
        Binding("q", "app.quit", "quit", id="wrapup.quit"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk

    def compose(self) -> ComposeResult:
        """Write the day down."""
        now = self._desk.clock.now()
        day = self._desk.box.day(now)
        cards = "1 card" if len(day.cards) == 1 else f"{len(day.cards)} cards"
        takes = "1 take" if len(day.takes) == 1 else f"{len(day.takes)} takes"
        with Horizontal(classes="headline"):
            yield Static("Wrap-up", id="title")
            yield Static(f"{minutes_seconds(day.seconds)} played", id="clock")
        yield Static(f"{cards}, {takes}. Every one is saved.", classes="sentence")
        with VerticalScroll(id="done"):
            yield Static(self._table(day.takes), id="done-table", markup=False)
            yield Static(self._coming(), id="coming", markup=False)
        yield Static(
            "A take-five is due: rest five minutes in every half hour."
            if day.seconds >= BREAK_AFTER_SECONDS
            else CAUTIONS[1],
            classes="caution",
            markup=False,
        )
        yield Footer(show_command_palette=False)

    def _table(self, takes: tuple[TakeView, ...]) -> str:
        box, now = self._desk.box, self._desk.clock.now()
        by_card: dict[str, list[TakeView]] = {}
        for take in takes:
            by_card.setdefault(take.card_id, []).append(take)
        lines = [f"{'played':<38} {'takes, bpm and grade':<26} back"]
        for card_id, played in by_card.items():
            card = box.card(card_id, at=now)
            course = ", ".join(f"{bpm_words(take.bpm)} {take.grade.label}" for take in played[-2:])
            more = f"{len(played)}× " if len(played) > 2 else ""
            back = day_words(card.returns, now) if card.returns else "soon"
            lines.append(f"{card.title[:38]:<38} {more + course:<26} {back}")
        return "\n".join(lines)

    def _coming(self) -> str:
        coming = self._desk.box.coming(at=self._desk.clock.now(), days=7)
        if not coming:
            return "\nNothing slips within a week."
        now = self._desk.clock.now()
        slips = [f"  {day_words(card.returns, now):<12} {card.title}" for card in coming[:6]]
        return "\n".join(["", "slipping within a week, if left alone", *slips])
