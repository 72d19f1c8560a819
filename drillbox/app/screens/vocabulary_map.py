"""The map of the vocabulary: ghosts by embellishment, by bass line, by place.

A cell has the cold tempo with the signs of `MAP_LEGEND`; nothing is told by colour.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.binding import Binding
from textual.screen import Screen
from textual.widgets import DataTable, Static

from drillbox.app.refusals import draws_when_it_can
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.app.widgets.headline import headline
from drillbox.app.widgets.pattern_view import PatternView
from drillbox.base.wording import counted
from drillbox.box.views import MAP_LEGEND
from drillbox.rhythm import MAP_EMBELLISHMENTS, Axis, Hand, crossed, map_cells, map_rows

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.rhythm import Pattern

    Head = tuple[str, int]
    Line = tuple[tuple[str, str], tuple[str, ...]]

GRID_WIDTH, PARTIALS_WIDTH, CELL_WIDTH = 19, 9, 9
TALL, DRAWING_ROWS = 30, 17
"""Rows of a window from which the chosen rhythm is drawn, and those it gets at most."""
FIXED = 2
"""Columns that name a row."""
TITLES: dict[Axis | None, str] = {
    None: "The map: ghosts on every beat",
    Axis.BASS: "The map by bass line",
    Axis.PLACE: "The map by place",
}
EMPTY: dict[Axis | None, str] = {
    None: "This map shows ghosts on every beat: which ones, by grid and embellishment. No card in"
    " the box has any: o shows another map, esc goes back to the shelf, where a adds a deck.",
    Axis.BASS: "This map shows the same ghosts over several bass lines. No ghosts in the box have"
    " two: o shows another map, esc goes back.",
    Axis.PLACE: "This map shows the same ghosts on several drums. No ghosts in the box are on two:"
    " o shows another map, esc goes back.",
}
NO_CARD = "no card in the box"
NO_CARD_HERE = "There is no card in this cell: the arrows go to one that has."


class VocabularyMap(Screen[None]):
    """The map as a table with a cursor; enter or a click on the chosen cell plays its card."""

    BINDINGS: ClassVar = [
        Binding("enter", "play", "play", id="map.play", tooltip="To the stand", priority=True),
        Binding("o", "arrange", "other map", id="map.arrange", tooltip="By bass line, by place"),
        Binding("c", "open_card", "card", id="map.open", tooltip="The card's page"),
        Binding("question_mark", "app.keys", "keys", id="map.keys", key_display="?"),
        Binding("escape", "back", "back", id="map.back"),
    ]
    DEFAULT_CSS = """
    VocabularyMap DataTable { height: 1fr; margin: 0 1; background: $background; }
    VocabularyMap DataTable > .datatable--header { background: $background; }
    VocabularyMap DataTable:focus { background-tint: $foreground 0%; }
    VocabularyMap DataTable > .datatable--fixed { background: $background; color: $foreground; }
    VocabularyMap DataTable > .datatable--cursor { text-style: reverse bold; }
    VocabularyMap PatternView { height: auto; margin: 1 1 0 1; }
    VocabularyMap #under-cursor { height: auto; padding: 0 1; color: $accent; }
    VocabularyMap #legend { height: auto; padding: 0 1; color: $foreground 80%; }
    """

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._by: Axis | None = None
        self._cards: list[tuple[str, ...]] = []

    def compose(self) -> ComposeResult:
        """Lay the map out."""
        yield headline()
        yield DataTable[Text](zebra_stripes=False, fixed_columns=FIXED)
        yield Static("", id="under-cursor", markup=False)
        yield PatternView(id="pattern")
        yield Static(MAP_LEGEND, id="legend", markup=False)
        yield FitFooter()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer a card's page and its play where the map has a card."""
        del parameters
        return action not in {"play", "open_card"} or any(map(any, self._cards))

    def on_mount(self) -> None:
        """Take the keys to the table."""
        self.query_one(DataTable).focus()

    @draws_when_it_can
    def on_screen_resume(self) -> None:
        """Read the cards anew: a card page may have changed one."""
        cards = {card.card_id: card for card in self._desk.box.cards(at=self._desk.clock.now())}
        table, place = self.query_one(DataTable), self.query_one(DataTable).cursor_coordinate
        known = [(card.pattern, card.cold_bpm, card.card_id) for card in cards.values()]
        head, rows = _crossed(known, self._by) if self._by else _placed(known)
        table.clear(columns=True)
        for name, width in head:
            table.add_column(name, width=width)
        self._cards = [ids for _, ids in rows]
        widths = [width for _, width in head[FIXED:]]
        for names, ids in rows:
            words = [cards[one].standing if one else "" for one in ids]
            cells = (Text(w.rjust(width)) for w, width in zip(words, widths, strict=True))
            table.add_row(*names, *cells)
        # Ghosts on the beats alone stand under every grid; they are one card.
        shown = [cards[one] for one in {one for ids in self._cards for one in ids if one}]
        table.display = self.query_one("#legend").display = bool(shown)
        held = sum(card.holds for card in shown)
        self.query_one("#title", Static).update(TITLES[self._by])
        holding = f"{held} of {counted(len(shown), 'card')} holding" if shown else ""
        self.query_one("#clock", Static).update(holding)
        if shown:
            table.focus()
            table.move_cursor(row=place.row, column=max(place.column, FIXED))
        else:
            self.query_one("#under-cursor", Static).update(EMPTY[self._by])
            self.query_one(PatternView).display = False
        self.refresh_bindings()

    def action_arrange(self) -> None:
        """Lay the map out by another list: embellishment, bass line, place."""
        order = list(TITLES)
        self._by = order[(order.index(self._by) + 1) % len(order)]
        self.on_screen_resume()

    @draws_when_it_can
    def on_data_table_cell_highlighted(self) -> None:
        """Say in a line what stands under the cursor."""
        card_id = self._chosen()
        if not self.query_one(DataTable).display:
            return  # what is said is why it is empty
        words = NO_CARD
        if card_id:
            card = self._desk.box.card(card_id, at=self._desk.clock.now())
            words = f"{card.title}: {card.state.value}, goal {card.goal_bpm:.0f}"
            self._draw(card.pattern)
        self.query_one(PatternView).display = bool(card_id) and self.size.height >= TALL
        self.query_one("#under-cursor", Static).update(words)

    def _draw(self, pattern: Pattern) -> None:
        """Draw the rhythm under the cursor, where the window is tall."""
        view = self.query_one(PatternView)
        view.show(pattern, leading=Hand(self._desk.settings.leading))
        view.settle(width=self.size.width - 2, most=DRAWING_ROWS)

    def on_data_table_cell_selected(self) -> None:
        """Play the cell that was clicked."""
        self.action_play()

    def action_play(self) -> None:
        """Take the card under the cursor to the stand, or say that there is none."""
        card_id = self._chosen()
        if card_id:
            self.app.call_later(self.run_action, f"app.play_card({card_id!r})")
        else:
            self._say_no_card()

    def _say_no_card(self) -> None:
        self.query_one("#under-cursor", Static).update(NO_CARD_HERE)

    def action_open_card(self) -> None:
        """Open the card under the cursor, or say that there is none."""
        card_id = self._chosen()
        if not card_id:
            self._say_no_card()
        else:
            from drillbox.app.screens.card import CardPage  # noqa: PLC0415 - loads when opened

            self.app.push_screen(CardPage(self._desk, card_id))

    def action_back(self) -> None:
        """Go back."""
        self.dismiss(None)

    def _chosen(self) -> str:
        row, column = self.query_one(DataTable).cursor_coordinate
        known = row < len(self._cards) and column >= FIXED
        return self._cards[row][column - FIXED] if known else ""


def _placed(cards: list[tuple[Pattern, float | None, str]]) -> tuple[list[Head], list[Line]]:
    """Return ghosts on every beat: a row a set of partials, a column an embellishment."""
    cells = map_cells(cards)
    head = [("grid", GRID_WIDTH), ("partials", PARTIALS_WIDTH)]
    head += [(word.rjust(CELL_WIDTH), CELL_WIDTH) for word in MAP_EMBELLISHMENTS]
    rows: list[Line] = []
    last = ""
    for row in map_rows(cells):
        names = (row.grid if row.grid != last else "", row.partials)
        rows.append((names, tuple(cells.get(placed, "") for placed in row.cells)))
        last = row.grid
    return head, rows


def _crossed(
    cards: list[tuple[Pattern, float | None, str]], by: Axis
) -> tuple[list[Head], list[Line]]:
    """Return every ghost set by bass line or by place."""
    columns, rows = crossed(cards, by)
    widths = [max(CELL_WIDTH, len(name)) for name in columns]
    head = [("ghosts", max([GRID_WIDTH, *(len(name) for name, _ in rows)])), ("", 0)]
    head += [(name.rjust(width), width) for name, width in zip(columns, widths, strict=True)]
    return head, [((name, ""), ids) for name, ids in rows]
