"""The wrap-up: what was done today, what it brought, what comes when, and a caution."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.screen import Screen
from textual.widgets import Static

from drillbox.app.day_sheet import DONE_COLUMNS, coming_words, done_rows, gone_words
from drillbox.app.next_steps import NextSteps
from drillbox.app.refusals import draws_when_it_can, says_refusals
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.app.widgets.headline import headline
from drillbox.app.widgets.pattern_view import PatternView
from drillbox.app.widgets.row_table import RowTable
from drillbox.app.words import HANDS, minutes_seconds
from drillbox.base.wording import counted
from drillbox.report.strides import week
from drillbox.rhythm import Hand

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk

CHECKED = "The tempo check is done: cards you have not played yet start where it says."
READ_FIRST_SECONDS = 2.0
"""Learning takes about a second: it begins once the page can be read."""
MOST_DRAWING = 7
"""Rows for the first rhythm of a deck that is offered."""
BREAK = "Rest your hands and ears for five minutes now: a break is due in every half hour."
BREAK_AFTER_SECONDS = 30 * 60
"""A five-minute break each half hour: British Association for Performing Arts Medicine."""


class WrapUp(Screen[None]):
    """The day in a table, and the days after it; `checked` where it began with a tempo check."""

    BINDINGS: ClassVar = [
        Binding(
            "enter,escape",
            "app.home",
            "done",
            id="wrapup.done",
            tooltip="Back to today",
            priority=True,
        ),
        Binding(
            "u,backspace",
            "app.take_back",
            "undo",
            id="wrapup.undo",
            tooltip="Take the last grade back, and give it again",
        ),
        Binding("p", "app.play_on", "play on", id="wrapup.play_on", tooltip="Five minutes more"),
        Binding("r", "raise_goals", "goals", id="wrapup.raise", tooltip="Raise outgrown goals"),
        Binding("a", "add_deck", "add deck", id="wrapup.add", tooltip="The course's next deck"),
        Binding("w", "app.week", "week", id="wrapup.week", tooltip="The week, to show around"),
        Binding("s", "app.shelf", "shelf", id="wrapup.shelf", tooltip="All decks and cards"),
        Binding("question_mark", "app.keys", "keys", id="wrapup.keys", key_display="?"),
        Binding("q", "app.quit", "quit", id="wrapup.quit"),
    ]

    def __init__(self, desk: Desk, *, checked: bool = False) -> None:
        super().__init__()
        self._checked = checked
        self._desk = desk
        self._steps = NextSteps(desk)
        self._just_done = ""

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield headline("Wrap-up")
        yield Static("", id="brought", classes="sentence", markup=False)
        yield RowTable(DONE_COLUMNS, id="done")
        yield Static("", id="coming", classes="sentence", markup=False)
        yield Static("", id="steps", classes="sentence", markup=False)
        yield PatternView(id="pattern")
        yield Static(HANDS, id="caution", classes="caution", markup=False)
        yield FitFooter()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Show the keys of what is offered only."""
        del parameters
        if action == "raise_goals":
            return self._steps.may_raise
        return self._steps.deck is not None if action == "add_deck" else True

    def on_mount(self) -> None:
        """Write the day down."""
        self.draw()

    @draws_when_it_can
    def draw(self) -> None:
        """Read the day and show it."""
        box, now = self._desk.box, self._desk.clock.now()
        day = box.day(now)
        cards, takes = counted(len(day.cards), "card"), counted(len(day.takes), "take")
        saved = self._desk.unsaved.sentence() or "every one is saved."
        self.query_one("#clock", Static).update(f"{minutes_seconds(day.seconds)} played")
        over = _over(day.seconds, self._desk.minutes_today())
        brought = (
            f"Today: {cards}, {takes}; {saved}{over}",
            CHECKED if self._checked else "",
            gone_words(box, at=now),
            week(box, at=now).sentence(),
        )
        self.query_one("#brought", Static).update("\n".join(filter(None, brought)))
        self.query_one("#coming", Static).update(coming_words(box, at=now))
        if day.seconds >= BREAK_AFTER_SECONDS:
            self.query_one("#caution", Static).update(BREAK)
        self.query_one(RowTable).fill(done_rows(box, at=now, played_as=self._desk.played))
        self._offer()
        if box.learning_is_due(at=now):
            self.set_timer(READ_FIRST_SECONDS, self._learn)

    def _offer(self) -> None:
        """Say what may be done next, and draw the first rhythm of a deck that is offered."""
        self._steps.look(at=self._desk.clock.now())
        parts, deck = (self._just_done, self._steps.sentences()), self._steps.deck
        told = "\n".join(part for part in parts if part)
        line, view = self.query_one("#steps", Static), self.query_one(PatternView)
        line.update(told)
        line.display, view.display = bool(told), deck is not None
        if deck is not None:
            view.show(deck.cards[0].pattern, leading=Hand(self._desk.settings.leading))
            view.settle(width=self.size.width - 2, most=MOST_DRAWING)
        self.refresh_bindings()

    @says_refusals
    def action_raise_goals(self) -> None:
        """Raise the goals that are outgrown, or take that back."""
        self._steps.raise_or_take_back(at=self._desk.clock.now())
        self.draw()

    @says_refusals
    def action_add_deck(self) -> None:
        """Put the next deck of the course into the box."""
        self._just_done = self._steps.add_deck(at=self._desk.clock.now())
        self.draw()

    @says_refusals
    def _learn(self) -> None:
        box, now = self._desk.box, self._desk.clock.now()
        lesson = box.learn(at=now)
        if lesson.changed:
            told = "\n".join((*lesson.sentences, coming_words(box, at=now)))
            self.query_one("#coming", Static).update(told)


def _over(seconds: float, minutes: int) -> str:
    """Return why more was played than the day has minutes, where it was."""
    if seconds <= minutes * 60:
        return ""
    return f" The last take was finished past the day's {counted(minutes, 'minute')}."
