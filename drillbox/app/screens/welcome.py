"""First start: pick a starter deck, name a goal, read two cautions, go."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Horizontal
from textual.screen import Screen
from textual.widgets import Digits, Footer, OptionList, Static
from textual.widgets.option_list import Option

from drillbox.app.refusals import says_refusals
from drillbox.app.words import CAUTIONS

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.deckfile import Deck

GOAL_STEP, LOWEST_GOAL, HIGHEST_GOAL = 5, 40, 240


class DeckChoice(Screen[bool]):
    """One starter deck and the tempo to hold its cards at. Closes with whether a deck was added."""

    BINDINGS: ClassVar = [
        Binding("enter", "take", "take this deck", id="welcome.take", priority=True),
        Binding("right", "goal(1)", "goal +5", id="welcome.faster", priority=True),
        Binding("left", "goal(-1)", "goal −5", id="welcome.slower", priority=True),
        Binding("escape", "back", "not now", id="welcome.back"),
    ]

    def __init__(self, desk: Desk, decks: tuple[Deck, ...], *, first_start: bool) -> None:
        super().__init__()
        self._desk = desk
        self._decks = decks
        self._first_start = first_start
        self._goal = 0

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield Static(
            "Welcome. Fifteen minutes a day; which vocabulary first?"
            if self._first_start
            else "Add a starter deck",
            id="title",
            classes="headline",
        )
        yield OptionList(
            *(
                Option(f"{deck.title}  ({len(deck.cards)} cards)", id=deck.id)
                for deck in self._decks
            ),
            id="welcome-decks",
            markup=False,
        )
        yield Static("", id="about", classes="sentence", markup=False)
        with Horizontal(id="goal-row"):
            yield Static("Goal tempo, to be held cold:", id="goal-words")
            yield Digits("", id="goal")
        yield Static("\n".join(CAUTIONS), classes="caution", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Highlight the first deck."""
        decks = self.query_one("#welcome-decks", OptionList)
        decks.highlighted = 0 if self._decks else None
        decks.focus()

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """Show what the deck is about and the goal it suggests."""
        deck = self._decks[event.option_index]
        self._goal = round(deck.goal_bpm)
        self.query_one("#about", Static).update(deck.about)
        self.query_one("#goal", Digits).update(str(self._goal))

    def action_goal(self, direction: int) -> None:
        """Move the goal."""
        moved = self._goal + direction * GOAL_STEP
        self._goal = min(max(moved, LOWEST_GOAL), HIGHEST_GOAL)
        self.query_one("#goal", Digits).update(str(self._goal))

    @says_refusals
    def action_take(self) -> None:
        """Put the deck in the box, with the player's goal where it differs from the deck's."""
        index = self.query_one("#welcome-decks", OptionList).highlighted
        if index is None:
            return
        deck, now = self._decks[index], self._desk.clock.now()
        self._desk.box.put_deck(deck, at=now)
        if self._goal != round(deck.goal_bpm):
            self._desk.box.shift_goals(deck.id, by=self._goal - deck.goal_bpm, at=now)
        self.dismiss(True)

    def action_back(self) -> None:
        """Leave without a deck."""
        self.dismiss(False)
