"""First start: pick a starter deck, see and hear its first rhythm, name a goal, read two cautions.

The goal that is shown is the goal that is used: the one of the rhythm that is drawn. The deck's
other rhythms keep their distance to it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillbox.app.accompaniment import listening_program
from drillbox.app.refusals import says_refusals
from drillbox.app.widgets.choice_list import ChoiceList
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.app.widgets.pattern_view import FRAMES_PER_SECOND, PatternView
from drillbox.app.words import CAUTIONS
from drillbox.base.tempi import FIRST_GOAL
from drillbox.rhythm import Hand

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.timer import Timer

    from drillbox.app.desk import Desk
    from drillbox.deckfile import Deck, StarterDeck

GOAL_STEP = 5
SMALLEST_DRAWING, OTHER_ROWS = 6, 25
"""Rows for the first rhythm, at least, and what all the others take in a tall window."""


class DeckChoice(Screen[bool]):
    """One starter deck and the tempo to hold its cards at. Closes with whether a deck was added."""

    BINDINGS: ClassVar = [
        Binding("enter", "take", "take this deck", id="welcome.take", priority=True),
        Binding(
            "right",
            "goal(1)",
            "goal",
            id="welcome.faster",
            tooltip="Five bpm higher, or lower",
            priority=True,
            key_display="← →",
        ),
        Binding("left", "goal(-1)", "goal −5", id="welcome.slower", priority=True, show=False),
        Binding("l", "listen", "hear it", id="welcome.listen", tooltip="Hear it, or stop"),
        Binding("question_mark", "app.keys", "keys", id="welcome.keys", key_display="?"),
        Binding("escape", "back", "not now", id="welcome.back"),
    ]

    def __init__(self, desk: Desk, decks: tuple[StarterDeck, ...], *, first_start: bool) -> None:
        super().__init__()
        self._desk = desk
        self._decks = decks
        self._first_start = first_start
        self._in_box = desk.box.deck_titles()
        self._longest = max((len(deck.title()) for deck in decks), default=0)
        self._deck: Deck | None = None
        self._shift = 0
        self._playhead: Timer | None = None

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        asked = (
            "Welcome. Fifteen minutes a day; which rhythms first?"
            if self._first_start
            else "Add a starter deck"
        )
        yield Static(f"{asked} ({len(self._decks)} decks)", id="title", classes="headline")
        yield ChoiceList(
            *(Option(self._line(deck), id=deck.name) for deck in self._decks),
            id="welcome-decks",
            markup=False,
        )
        yield Static("", id="about", classes="sentence", markup=False)
        yield PatternView(id="pattern")
        yield Static("", id="goal-words", markup=False)
        yield Static("\n".join(CAUTIONS), classes="caution", markup=False)
        yield FitFooter()

    def on_mount(self) -> None:
        """Highlight the first deck that is not in the box yet."""
        decks = self.query_one("#welcome-decks", ChoiceList)
        others = (n for n, deck in enumerate(self._decks) if deck.name not in self._in_box)
        decks.highlighted = next(others, 0) if self._decks else None
        decks.focus()

    def _line(self, deck: StarterDeck) -> str:
        """Return what the list says of a deck, and whether it is in the box already."""
        there = "  in your box" if deck.name in self._in_box else ""
        return f"{deck.title():<{self._longest}}  {deck.cards:>4} cards{there}"

    def on_unmount(self) -> None:
        """Let the first rhythm fall silent."""
        if self._playhead is not None:
            self._desk.metronome.stop()

    def on_resize(self) -> None:
        """Share the rows out anew."""
        self._share_rows()

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """Show what the deck is about, its first rhythm, and the goal it suggests."""
        self._silence()
        self._deck, self._shift = self._decks[event.option_index].read(), 0
        self.query_one("#about", Static).update(self._deck.about)
        self.query_one(PatternView).show(
            self._deck.cards[0].pattern, leading=Hand(self._desk.settings.leading)
        )
        self._share_rows()
        self._show_goal()

    def _share_rows(self) -> None:
        most = max(SMALLEST_DRAWING, self.size.height - OTHER_ROWS)
        self.query_one(PatternView).settle(width=self.size.width - 2, most=most)

    def _goals(self) -> list[int]:
        return (
            [round(card.goal_bpm) + self._shift for card in self._deck.cards] if self._deck else []
        )

    def _show_goal(self) -> None:
        if self._deck is None:
            return
        goals = self._goals()
        others = sorted(set(goals))
        span = f" (the whole deck {others[0]} to {others[-1]})" if len(others) > 1 else ""
        now = f"You hear it at {goals[0]} bpm; l stops it." if self._playhead else ""
        self.query_one("#goal-words", Static).update(
            now
            or f"Goal {goals[0]} bpm{span}: where “{self._deck.cards[0].title}” shall come off"
            " cold, that is at the first try of a day, without warming up."
        )

    def action_goal(self, direction: int) -> None:
        """Move the goal, and those of the other rhythms with it."""
        goals = self._goals()
        if goals and FIRST_GOAL.least <= goals[0] + direction * GOAL_STEP <= FIRST_GOAL.most:
            self._shift += direction * GOAL_STEP
            self._show_goal()

    def action_listen(self) -> None:
        """Hear the first rhythm at its goal, or stop it."""
        if self._playhead or self._deck is None:
            self._silence()
            return
        card, settings = self._deck.cards[0], self._desk.settings
        program = listening_program(card.pattern, self._goals()[0], settings, slow=False)
        self._desk.metronome.start(program)
        self._playhead = self.set_interval(1 / FRAMES_PER_SECOND, self._follow)
        self._show_goal()
        if self._desk.metronome.notice:
            self.notify(self._desk.metronome.notice, markup=False)

    def _silence(self) -> None:
        if self._playhead is not None:
            self._desk.metronome.stop()
            self._playhead.stop()
            self._playhead = None
            self.query_one(PatternView).point_at(None)
            self._show_goal()

    def _follow(self) -> None:
        """Show which beat sounds, and fall silent at the end."""
        position = self._desk.metronome.position()
        if position is None or self._deck is None:
            return
        if position.done:
            self._silence()
        else:
            beats = self._deck.cards[0].pattern.meter.beats
            beat = position.bar_in_pass * beats + position.beat + position.fraction
            self.query_one(PatternView).point_at(beat)

    @says_refusals
    def action_take(self) -> None:
        """Put the deck in the box, with the player's goals where they differ from the deck's."""
        if self._deck is None:
            return
        now = self._desk.clock.now()
        self._desk.box.put_deck(self._deck, at=now)
        if self._shift:
            self._desk.box.shift_goals(self._deck.id, by=self._shift, at=now)
        self.dismiss(True)

    def action_back(self) -> None:
        """Leave without a deck."""
        self.dismiss(False)
