"""The map of the vocabulary: every set of partials of a grid, plain, doubled and buzzed.

A cell has the cold tempo with the signs of `MAP_LEGEND`; nothing is told by colour.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.binding import Binding
from textual.containers import Horizontal
from textual.screen import Screen
from textual.widgets import DataTable, Static

from drillbox.app.refusals import draws_when_it_can
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.base.wording import counted
from drillbox.box.views import MAP_LEGEND
from drillbox.rhythm import MAP_EMBELLISHMENTS, map_cells, map_rows

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk

GRID_WIDTH, PARTIALS_WIDTH, CELL_WIDTH = 19, 9, 9


class VocabularyMap(Screen[None]):
    """The map as a table with a cursor; enter or a click on the chosen cell opens its card."""

    BINDINGS: ClassVar = [
        Binding("enter", "open_card", "card", id="map.open", priority=True),
        Binding("question_mark", "app.keys", "keys", id="map.keys", key_display="?"),
        Binding("escape", "back", "back", id="map.back"),
    ]
    DEFAULT_CSS = """
    VocabularyMap DataTable { height: 1fr; margin: 0 1; background: $background; }
    VocabularyMap DataTable > .datatable--header { background: $background; }
    VocabularyMap DataTable:focus { background-tint: $foreground 0%; }
    VocabularyMap DataTable > .datatable--fixed { background: $background; color: $foreground; }
    VocabularyMap DataTable > .datatable--cursor { text-style: reverse bold; }
    VocabularyMap #chosen { height: 1; padding: 0 1; color: $accent; }
    VocabularyMap #legend { height: auto; padding: 0 1; color: $foreground 80%; }
    """

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._cards: list[tuple[str, ...]] = []

    def compose(self) -> ComposeResult:
        """Lay the map out."""
        with Horizontal(classes="headline"):
            yield Static("The map: ghosts on every beat", id="title")
            yield Static("", id="clock", markup=False)
        yield DataTable[Text](zebra_stripes=False, fixed_columns=2)
        yield Static("", id="chosen", markup=False)
        yield Static(MAP_LEGEND, id="legend", markup=False)
        yield FitFooter()

    def on_mount(self) -> None:
        """Name the columns, and take the keys to the table."""
        table = self.query_one(DataTable)
        table.add_column("grid", width=GRID_WIDTH)
        table.add_column("partials", width=PARTIALS_WIDTH)
        for word in MAP_EMBELLISHMENTS:
            table.add_column(word.rjust(CELL_WIDTH), width=CELL_WIDTH)
        table.focus()

    @draws_when_it_can
    def on_screen_resume(self) -> None:
        """Read the cards anew: a card page may have changed one."""
        cards = {card.card_id: card for card in self._desk.box.cards(at=self._desk.clock.now())}
        cells = map_cells((card.pattern, card.cold_bpm, card.card_id) for card in cards.values())
        table = self.query_one(DataTable)
        place, last = table.cursor_coordinate, ""
        table.clear()
        self._cards = []
        for row in map_rows(cells):
            ids = tuple(cells.get(placed, "") for placed in row.cells)
            words = [cards[one].standing if one else "" for one in ids]
            grid, last = row.grid if row.grid != last else "", row.grid
            table.add_row(grid, row.partials, *(Text(word.rjust(CELL_WIDTH)) for word in words))
            self._cards.append(ids)
        known = [cards[one] for ids in self._cards for one in ids if one]
        held = sum(card.holds for card in known)
        self.query_one("#clock", Static).update(f"{held} of {counted(len(known), 'card')} holding")
        if known:
            table.move_cursor(row=place.row, column=max(place.column, 2))
        else:
            self.query_one("#chosen", Static).update("No card has ghosts of a grid on every beat.")

    @draws_when_it_can
    def on_data_table_cell_highlighted(self) -> None:
        """Say in a line what stands under the cursor."""
        card_id = self._chosen()
        words = "no card in the box"
        if card_id:
            card = self._desk.box.card(card_id, at=self._desk.clock.now())
            words = f"{card.title}: {card.state.value}, goal {card.goal_bpm:.0f}"
        self.query_one("#chosen", Static).update(words)

    def on_data_table_cell_selected(self) -> None:
        """Open the cell that was clicked."""
        self.action_open_card()

    def action_open_card(self) -> None:
        """Open the card under the cursor."""
        card_id = self._chosen()
        if card_id:
            from drillbox.app.screens.card import CardPage  # noqa: PLC0415 - loads when opened

            self.app.push_screen(CardPage(self._desk, card_id))

    def action_back(self) -> None:
        """Go back."""
        self.dismiss(None)

    def _chosen(self) -> str:
        row, column = self.query_one(DataTable).cursor_coordinate
        return self._cards[row][column - 2] if row < len(self._cards) and column > 1 else ""
