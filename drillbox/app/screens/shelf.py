"""The shelf.

Every card with its state, cold tempo, goal, last play and return; searched and sorted by key.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Horizontal
from textual.screen import Screen
from textual.widgets import Input, Static

from drillbox.app.refusals import draws_when_it_can, says_refusals
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.app.widgets.row_table import RowTable
from drillbox.app.widgets.tempo_bar import WIDTH, tempo_bar
from drillbox.app.words import bpm_words, day_words
from drillbox.base.wording import counted
from drillbox.box.finding import found
from drillbox.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.box.views import CardView

COLUMNS = (("card", 0), ("state", 8), ("cold ", 5), ("goal ", 5), ("played", 9), ("slips", 9))
BAR_COLUMN = ("against goal", WIDTH)
BAR_FROM = 100
"""Columns of the window from which each card's tempo is drawn against its goal as well."""


def _soonest(at: datetime | None) -> tuple[float, ...]:
    return (1.0,) if at is None else (0.0, at.timestamp())


def _latest(at: datetime | None) -> tuple[float, ...]:
    return (1.0,) if at is None else (0.0, -at.timestamp())


ORDERS: tuple[tuple[str, Callable[[CardView], tuple[float | str, ...]]], ...] = (
    ("in deck order", lambda _: ()),
    ("slipping first", lambda card: _soonest(card.returns)),
    ("slowest against goal first", lambda card: ((card.cold_bpm or 0.0) / card.goal_bpm,)),
    ("last played first", lambda card: _latest(card.last_played)),
    ("by title", lambda card: (card.title.casefold(),)),
)


class Shelf(Screen[None]):
    """All cards in one table."""

    BINDINGS: ClassVar = [
        Binding("enter", "open_card", "card", id="shelf.open", priority=True),
        Binding("slash", "search", "search", id="shelf.search", key_display="/"),
        Binding("o", "order", "order", id="shelf.order", tooltip="Another order"),
        Binding(
            "x", "rest", "rest / wake", id="shelf.rest", tooltip="Set a card aside, or wake it"
        ),
        Binding("v", "app.map", "map", id="shelf.map", tooltip="The map of the vocabulary"),
        Binding("a", "app.add_deck", "add deck", id="shelf.add", tooltip="Add a starter deck"),
        Binding("e", "paper", "on paper", id="shelf.paper", show=False),
        Binding("question_mark", "app.keys", "keys", id="shelf.keys", key_display="?"),
        Binding("escape", "back", "back", id="shelf.back"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._order = 0
        self._cards: list[CardView] = []

    def compose(self) -> ComposeResult:
        """Lay the shelf out."""
        with Horizontal(classes="headline"):
            yield Static("The shelf", id="title")
            yield Static("", id="clock", markup=False)
        yield Input(
            placeholder="triplet holding -doubled goal>90 cold<80 away>30 slips<7 takes>5",
            id="search",
        )
        yield RowTable(COLUMNS, id="shelf-table")
        yield FitFooter()

    def on_mount(self) -> None:
        """Take the keys to the table."""
        self.query_one(RowTable).focus()

    def on_screen_resume(self) -> None:
        """Read the cards anew: a card page may have changed one."""
        self.draw()

    def on_resize(self) -> None:
        """Draw for the new width."""
        self.draw()

    @draws_when_it_can
    def draw(self) -> None:
        """Fill the table with what the search leaves, in the order chosen."""
        now = self._desk.clock.now()
        today = self._desk.box.now(now).day
        words = self.query_one("#search", Input).value.split()
        name, key = ORDERS[self._order]
        cards = self._desk.box.cards(at=now)
        try:
            self._cards = sorted(found(cards, words, today=today), key=key)
        except UsageError as unfinished:  # as "goal>" is while it is being typed
            self.query_one("#clock", Static).update(unfinished.what)
            return
        bars = self.size.width >= BAR_FROM
        self.query_one(RowTable).fill(
            [
                (
                    card.title,
                    card.state.value,
                    bpm_words(card.cold_bpm),
                    bpm_words(card.goal_bpm),
                    *([tempo_bar(card.cold_bpm, card.goal_bpm)] if bars else []),
                    day_words(card.last_day, today),
                    day_words(card.returns_on, today),
                )
                for card in self._cards
            ],
            (*COLUMNS[:4], BAR_COLUMN, *COLUMNS[4:]) if bars else COLUMNS,
        )
        self.query_one("#clock", Static).update(f"{counted(len(self._cards), 'card')}, {name}")

    def action_search(self) -> None:
        """Open the search line."""
        line = self.query_one("#search", Input)
        line.add_class("-open")
        line.focus()

    def on_input_changed(self) -> None:
        """Search while typing."""
        self.draw()

    def action_order(self) -> None:
        """Go to the next order."""
        self._order = (self._order + 1) % len(ORDERS)
        self.draw()

    @says_refusals
    def action_rest(self) -> None:
        """Set the highlighted card aside, or wake it."""
        card = self._chosen()
        if card is not None:
            self._desk.box.rest(
                card.card_id, resting=card.state.value != "rested", at=self._desk.clock.now()
            )
            self.draw()

    @says_refusals
    def action_paper(self) -> None:
        """Show the cards that the search leaves as a sheet."""
        from drillbox.app.paper import cards_on_paper  # noqa: PLC0415 - loads when asked for

        cards_on_paper(self.app, self._desk, self._cards)

    def action_open_card(self) -> None:
        """Open the highlighted card; from the search line, go to the table first."""
        line = self.query_one("#search", Input)
        if line.has_focus:
            self.query_one(RowTable).focus()
            return
        card = self._chosen()
        if card is not None:
            from drillbox.app.screens.card import CardPage  # noqa: PLC0415 - loads when opened

            self.app.push_screen(CardPage(self._desk, card.card_id))

    def action_back(self) -> None:
        """Close the search line first, then the shelf."""
        line = self.query_one("#search", Input)
        if line.has_class("-open"):
            line.value = ""
            line.remove_class("-open")
            self.query_one(RowTable).focus()
            self.draw()
        else:
            self.dismiss(None)

    def _chosen(self) -> CardView | None:
        row = self.query_one(RowTable).cursor_row
        return self._cards[row] if 0 <= row < len(self._cards) else None
