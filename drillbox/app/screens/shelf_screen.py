"""The shelf: every card as it stands, when it was played and comes back, searched and sorted."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.screen import Screen
from textual.widgets import Input, Static

from drillbox.app.grade_signs import GRADE_LEGEND, GRADE_SIGNS
from drillbox.app.refusals import draws_when_it_can, says_refusals
from drillbox.app.today_words import no_card
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.app.widgets.headline import headline
from drillbox.app.widgets.pattern_view import PatternView
from drillbox.app.widgets.row_table import MadeInView, RowTable
from drillbox.app.widgets.tempo_bar import LEGEND, WIDTH, tempo_bar
from drillbox.app.words import day_words
from drillbox.base.wording import bpm_words, counted
from drillbox.box.finding import found, typed
from drillbox.box.views import Lately
from drillbox.errors import UsageError
from drillbox.rhythm import Hand

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.box.views import CardView

COLUMNS = (("card", 0), ("state", 8), ("cold ", 5), ("goal ", 5), ("played", 9), ("slips", 9))
WIDE = 100
"""Columns of the window from which the last grades and a bar of the tempo are shown as well."""
TALL = 30
LATELY_WIDTH, LONGEST_TITLE, WIDEST_BAR = 4, 44, 51
DRAWING_ROWS = 9
"""For the chosen card's rhythm, in a tall window."""


def _soonest(at: datetime | None) -> tuple[float, ...]:
    return (1.0,) if at is None else (0.0, at.timestamp())


def _latest(at: datetime | None) -> tuple[float, ...]:
    return (1.0,) if at is None else (0.0, -at.timestamp())


def _slowest(cold_bpm: float | None, goal_bpm: float) -> tuple[float, ...]:
    return (1.0,) if cold_bpm is None else (0.0, cold_bpm / goal_bpm)


ORDERS: tuple[tuple[str, Callable[[CardView], tuple[float | str, ...]]], ...] = (
    ("in deck order", lambda _: ()),
    ("slipping first", lambda card: _soonest(card.returns)),
    ("slowest against goal first", lambda card: _slowest(card.cold_bpm, card.goal_bpm)),
    ("last played first", lambda card: _latest(card.last_played)),
    ("by title", lambda card: (card.title.casefold(),)),
)


class Shelf(Screen[None]):
    """All cards in one table."""

    BINDINGS: ClassVar = [
        Binding("enter", "open_card", "card", id="shelf.open", priority=True),
        Binding("p", "play_card", "play", id="shelf.play", tooltip="To the stand"),
        Binding("slash", "search", "search", id="shelf.search", key_display="/"),
        Binding("o", "order", "order", id="shelf.order", tooltip="Another order"),
        Binding("x", "rest", "rest", id="shelf.rest", tooltip="Set a card aside, or wake it"),
        Binding("v", "app.map", "map", id="shelf.map", tooltip="The map of the vocabulary"),
        Binding("a", "app.add_deck", "add", id="shelf.add", tooltip="Add a starter deck"),
        Binding("e", "paper", "on paper", id="shelf.paper", show=False),
        Binding("question_mark", "app.keys", "keys", id="shelf.keys", key_display="?"),
        Binding("escape", "back", "back", id="shelf.back"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._order = 0
        self._today = 0
        self._all: tuple[CardView, ...] = ()
        self._no_card = ""  # until the box was asked
        self._cards: list[CardView] = []
        self._lately: dict[str, Lately] = {}

    def compose(self) -> ComposeResult:
        """Lay the shelf out."""
        yield headline("The shelf")
        yield Input(
            placeholder="triplet holding -doubled goal>90 cold<80 away>30 slips<7 takes>5",
            id="search",
        )
        yield Static("", id="shelf-word", classes="sentence", markup=False)
        yield RowTable(COLUMNS, id="shelf-table")
        yield PatternView(id="pattern")
        yield Static(f"{LEGEND} · {GRADE_LEGEND}", id="legend", markup=False)
        yield FitFooter()

    def on_mount(self) -> None:
        """Take the keys to the table."""
        self.query_one(RowTable).focus()

    def on_screen_resume(self) -> None:
        """Read the cards anew: a card page may have changed one."""
        self.draw()

    def on_resize(self) -> None:
        """Draw for the new width."""
        self._show()

    @draws_when_it_can
    def draw(self) -> None:
        """Read the cards, and show them."""
        now = self._desk.clock.now()
        self._today = self._desk.box.now(now).day
        self._all = self._desk.box.cards(at=now)
        self._lately.clear()
        if not self._all:
            self._no_card = no_card(self._desk.box, key="a")
        self._show()

    def _show(self) -> None:
        """Fill the table with what the search leaves, in the order chosen."""
        words = typed(self.query_one("#search", Input).value)
        name, key = ORDERS[self._order]
        try:
            self._cards = found(sorted(self._all, key=key), words, today=self._today)
        except UsageError as unfinished:  # as "goal>" is while it is being typed
            self.query_one("#clock", Static).update(unfinished.what)
            return
        word = self.query_one("#shelf-word", Static)
        word.update(self._why_empty() if not self._cards else "")
        word.display = not self._cards
        bar = self._bar_width()
        make = partial(self._row, bar=bar)
        wide = (("lately", LATELY_WIDTH + 2), ("cold to goal", bar)) if bar else ()
        self.query_one(RowTable).fill(
            MadeInView(len(self._cards), make), (*COLUMNS[:4], *wide, *COLUMNS[4:])
        )
        self.query_one("#legend").display = bool(bar)
        self.query_one("#clock", Static).update(f"{counted(len(self._cards), 'card')}, {name}")

    def _why_empty(self) -> str:
        if self._all:
            return "No card has all of these words: esc ends the search."
        return self._no_card

    def _bar_width(self) -> int:
        """Return the columns for the tempo bars, an odd number; 0 where there is no room."""
        if self.size.width < WIDE:
            return 0
        fixed = sum(width for _, width in COLUMNS) + LATELY_WIDTH + 2 + 2 * (len(COLUMNS) + 2)
        room = min(max(self.size.width - fixed - LONGEST_TITLE - 4, WIDTH), WIDEST_BAR)
        return room - 1 + room % 2

    def _row(self, index: int, *, bar: int) -> tuple[str, ...]:
        card = self._cards[index]
        wide: tuple[str, ...] = ()
        if bar:
            lately = self._lately_of(card)
            signs = "".join(GRADE_SIGNS[grade] for grade in lately.grades)
            wide = (signs, tempo_bar(card.cold_bpm, card.goal_bpm, lately.best_bpm, width=bar))
        return (
            card.title,
            card.state.value,
            bpm_words(card.cold_bpm),
            bpm_words(card.goal_bpm),
            *wide,
            day_words(card.last_day, self._today),
            day_words(card.returns_on, self._today),
        )

    def _lately_of(self, card: CardView) -> Lately:
        if card.card_id not in self._lately:
            played = self._desk.box.lately(card.card_id) if card.takes else Lately((), None)
            self._lately[card.card_id] = played
        return self._lately[card.card_id]

    def on_row_table_highlighted(self) -> None:
        """Draw the chosen card's rhythm, where the window is tall."""
        view, card = self.query_one(PatternView), self._chosen()
        view.display = card is not None and self.size.height >= TALL
        if card is not None and view.display:
            view.show(card.pattern, leading=Hand(self._desk.settings.leading))
            view.settle(width=self.size.width - 2, most=DRAWING_ROWS)

    def action_search(self) -> None:
        """Open the search line."""
        line = self.query_one("#search", Input)
        line.add_class("-open")
        line.focus()

    def on_input_changed(self) -> None:
        """Search while typing."""
        self._show()

    def action_order(self) -> None:
        """Go to the next order."""
        self._order = (self._order + 1) % len(ORDERS)
        self._show()

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

    async def action_play_card(self) -> None:
        """Take the highlighted card to the stand."""
        card = self._chosen()
        if card is not None:
            await self.run_action(f"app.play_card({card.card_id!r})")

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

    def on_row_table_opened(self) -> None:
        """Open the row that was clicked."""
        self.action_open_card()

    def action_back(self) -> None:
        """Close the search line first, then the shelf."""
        line = self.query_one("#search", Input)
        if line.has_class("-open"):
            line.value = ""
            line.remove_class("-open")
            self.query_one(RowTable).focus()
            self._show()
        else:
            self.dismiss(None)

    def _chosen(self) -> CardView | None:
        row = self.query_one(RowTable).cursor_row
        return self._cards[row] if 0 <= row < len(self._cards) else None
