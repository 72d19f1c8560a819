"""Today: what to play, how long it takes, why; and when it is played, what it brought."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Container, Vertical
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Static

from drillbox.app.day_sheet import DONE_COLUMNS, coming_words, done_rows
from drillbox.app.refusals import SHOWN_SECONDS, draws_when_it_can, says_refusals
from drillbox.app.styled import StyledApp
from drillbox.app.today_words import asked_for, asked_of, beginning, no_card, over
from drillbox.app.widgets.fit_footer import PALETTE, FitFooter
from drillbox.app.widgets.headline import headline
from drillbox.app.widgets.row_table import RowTable
from drillbox.app.words import minutes_seconds
from drillbox.base.now import day_name
from drillbox.base.wording import NOTHING_TO_PLAY, counted, open_minutes

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from textual.app import ComposeResult
    from textual.timer import Timer

    from drillbox.app.desk import Desk
    from drillbox.app.next_steps import NextSteps
    from drillbox.app.widgets.pattern_view import PatternView
    from drillbox.box.views import CardView
    from drillbox.plan import Item
    from drillbox.rhythm import Pattern

COLUMNS = (("card", 0), ("bpm ", 5), ("takes ", 6), ("time ", 6))
FEWEST_TO_CHECK = 24
"""With fewer cards a dozen of them would be most."""
FRAME_FIRST_SECONDS = 0.02
MINUTES_STEP = 5
SMALLEST_DRAWING, DRAWING_SHARE = 6, 0.38
"""Rows for the rhythm under the plan, at least, and its share of a taller window."""
LOW, LOW_AND_SLIM, SLIM = 20, 26, 60
"""Rows under which there is no drawing, and those of a window so slim that its words take more."""
WIDE, OTHER_ROWS = 120, 12
"""Columns from which the rhythm stands beside the plan, and rows that it leaves to words there."""


class Today(Screen[None]):
    """The day's plan; Enter plays the chosen row."""

    BINDINGS: ClassVar = [
        Binding("enter", "play", "play", id="today.play", tooltip="Play this card", priority=True),
        Binding("enter,a", "add_first_deck", "add a deck", id="today.first_deck", priority=True),
        Binding("p", "play_on", "play on", id="today.play_on", tooltip="Five minutes more"),
        Binding(
            "right",
            "minutes(1)",
            "time",
            id="today.longer",
            tooltip="Five minutes more, or less, today",
            priority=True,
            key_display="← →",
        ),
        Binding("left", "minutes(-1)", "shorter", id="today.shorter", priority=True, show=False),
        Binding("r", "raise_goals", "goals", id="today.raise", tooltip="Raise outgrown goals"),
        Binding("a", "add_deck", "add deck", id="today.add", tooltip="The course's next deck"),
        Binding("g", "tempo_check", "tempo check", id="today.check", tooltip="Find your tempi"),
        Binding("s", "app.shelf", "shelf", id="today.shelf", tooltip="All decks and cards"),
        Binding("question_mark", "app.keys", "keys", id="today.keys", key_display="?"),
        Binding("q", "app.quit", "quit", id="today.quit"),
        Binding("ctrl+p", PALETTE, "find", id="today.find"),
        Binding("t", "app.setup", "setup", id="today.setup", tooltip="Hands, clicks, sound"),
        Binding("w", "app.week", "week", id="today.week", tooltip="What this week brought"),
        Binding("y", "app.year", "year", id="today.year", tooltip="Progress, calendar, outlook"),
        Binding("e", "paper", "on paper", id="today.paper", show=False),
    ]

    class Play(Message):
        """Take a card of the plan to the stand."""

        def __init__(self, card_id: str) -> None:
            super().__init__()
            self.card_id = card_id

    def __init__(self, desk: Callable[[], Desk]) -> None:
        super().__init__()
        self._ask_for_desk = desk
        self._items: tuple[Item, ...] = ()
        self._cards: dict[str, CardView] = {}
        self._left_seconds = self._plan_seconds = 0.0
        self._is_over = False
        self._may_check = self._has_no_card = False
        self._offers: NextSteps | None = None
        self._drawing: PatternView | None = None
        self._just_done = ""
        self._refusal_shown: Timer | None = None

    @property
    def _desk(self) -> Desk:
        return self._ask_for_desk()

    def compose(self) -> ComposeResult:
        """Lay the page out; the plan itself follows after the first frame."""
        yield headline("Today")
        yield Static("", id="refusal", classes="sentence", markup=False)
        yield Static("", id="summary", classes="sentence", markup=False)
        with Container(id="day"):
            yield RowTable(COLUMNS, id="plan")
            yield RowTable(DONE_COLUMNS, id="done")
            with Vertical(id="chosen"):
                yield Static("", id="plan-why", markup=False)
        yield FitFooter()

    def on_screen_resume(self) -> None:
        """Plan anew whenever the screen comes up again; the first time the app says when."""
        if self._drawing is not None:
            self.set_timer(FRAME_FIRST_SECONDS, self.draw)
        app = self.app
        if isinstance(app, StyledApp) and (errors := app.take_errors()):
            self.say_refusal(errors)  # of another page, which would cover the summary

    def on_screen_suspend(self) -> None:
        """Say what was done until another screen comes up."""
        self._just_done = ""

    def on_resize(self) -> None:
        """Share the rows out anew."""
        if self._drawing is not None:
            self._share_rows(self._drawing)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what makes sense today."""
        del parameters
        if action == "tempo_check":
            return self._may_check
        if action == "play":
            return self.has_items
        if action == "raise_goals":
            return self._offers is not None and self._offers.may_raise
        if action == "add_deck":
            return self._offers is not None and self._offers.deck is not None
        if action == "add_first_deck":
            return self._has_no_card
        return self._is_over if action == "play_on" else True

    @property
    def has_items(self) -> bool:
        """Whether the plan has anything to play."""
        return bool(self._items)

    @draws_when_it_can
    def draw(self) -> None:
        """Plan the rest of the day and show it; when it is over, show what it was."""
        from drillbox.box.practice import by_card  # noqa: PLC0415 - after the first frame

        box, now = self._desk.box, self._desk.clock.now()
        minutes, spent = self._desk.minutes_today(), box.day(now).seconds
        plan = box.plan(at=now, minutes=minutes)
        items, self._plan_seconds = by_card(plan.items), plan.seconds
        self._left_seconds = max(0.0, minutes * 60.0 - spent)
        self._cards = {item.card_id: box.card(item.card_id, at=now) for item in items}
        self._items = items
        self._is_over = bool(spent) and not items
        self._may_check = box.nothing_played and box.cards_in_box >= FEWEST_TO_CHECK
        self._offers = None if items else self._next_steps(now)
        self._has_no_card = not box.cards_in_box
        self._headline(minutes, now)
        self.query_one("#plan", RowTable).fill([self._row(item) for item in self._items])
        self._go_to_where_it_stopped()
        self.query_one("#plan").display = not self._is_over
        self.query_one("#done").display = self._is_over
        if self._is_over:
            self.query_one("#done", RowTable).fill(
                done_rows(box, at=now, played_as=self._desk.played)
            )
        self.query_one("#summary", Static).update(self._summary(spent, now))
        self._show_chosen(self.query_one("#plan", RowTable).cursor_row)
        self.refresh_bindings()

    def _go_to_where_it_stopped(self) -> None:
        """Put the cursor on the card that the stand was left at, if it is still to be played."""
        cards = [item.card_id for item in self._items]
        if self._desk.left_at in cards:
            self.query_one("#plan", RowTable).move_to(cards.index(self._desk.left_at))
        self._just_done = self._desk.parting_word or self._just_done
        self._desk.left_at = self._desk.parting_word = ""

    def _next_steps(self, now: datetime) -> NextSteps:
        """Return what is offered where nothing is left to play; what was offered may go on."""
        from drillbox.app.next_steps import NextSteps  # noqa: PLC0415 - on days that are over

        steps = self._offers or NextSteps(self._desk)
        steps.look(at=now)
        return steps

    def _row(self, item: Item) -> tuple[str, ...]:
        title = self._cards[item.card_id].title
        return title, str(item.bpm), str(item.takes), minutes_seconds(item.seconds)

    def tell(self, news: str) -> None:
        """Say what must be known before anything is planned."""
        self.query_one("#summary", Static).update(news)

    def say_refusal(self, sentence: str) -> None:
        """Say why something was not done, above what there is to play, for a while."""
        line = self.query_one("#refusal", Static)
        line.update(sentence)
        line.display = True
        if self._refusal_shown is not None:
            self._refusal_shown.stop()
        self._refusal_shown = self.set_timer(SHOWN_SECONDS, self._hide_refusal)

    def _hide_refusal(self) -> None:
        self.query_one("#refusal").display = False

    def say_done(self, done: str) -> None:
        """Say what was done just now, on the page and not over it."""
        self._just_done = done
        self.draw()

    def _headline(self, minutes: int, now: datetime) -> None:
        day = day_name(self._desk.box.now(now).day)
        self.query_one("#title", Static).update(f"Today, {day}")
        left = minutes_seconds(self._left_seconds)
        self.query_one("#clock", Static).update(f"{left} of {minutes}:00 left")

    def _summary(self, spent: float, now: datetime) -> str:
        parts = (
            self._just_done,
            self._desk.news,
            self._desk.unsaved.sentence(),
            self._desk.box.odd_clock(at=now),
            self._desk.box.left_out(at=now).sentence,
            self._what(spent, now),
            open_minutes(self._left_seconds, self._plan_seconds) if self._items else "",
            asked_for(self._desk.box.still_asked(at=now)),
        )
        told = " ".join(part for part in parts if part)
        notes = self._desk.box.notes(at=now)
        return "\n".join([*(f"{note.heading}: {note.text}" for note in notes), told])

    def _what(self, spent: float, now: datetime) -> str:
        """Return what there is to play today, or why there is nothing."""
        total = minutes_seconds(sum(item.seconds for item in self._items))
        ready = f"{counted(len(self._cards), 'card')}, {total}."
        if self._has_no_card:
            return no_card(self._desk.box, key="enter")
        if self._is_over:
            return over(self._desk.box, at=now)
        if not self._items and self._offers is not None and self._offers.deck is not None:
            return "Nothing needs you today."
        if not self._items:
            return NOTHING_TO_PLAY
        if spent:
            return f"Go on where you stopped: {ready}"
        return beginning(self._desk.box, ready, at=now, may_check=self._may_check)

    def on_row_table_highlighted(self, event: RowTable.Highlighted) -> None:
        """Show the highlighted card, and why it is in the plan."""
        if event.table.id == "plan":
            self._show_chosen(event.table.cursor_row)

    def on_row_table_opened(self) -> None:
        """Play the row that was clicked."""
        if self.has_items:
            self.action_play()

    def _show_chosen(self, row: int) -> None:
        item = self._items[row] if 0 <= row < len(self._items) else None
        card = self._cards.get(item.card_id) if item else None
        view, line = self._view(), self.query_one("#plan-why", Static)
        deck = self._offers.deck if self._offers else None
        view.display = (card is not None or deck is not None) and self._has_room_to_draw
        if item is None or card is None:
            coming = self._after_the_day() if self._is_over else ""
            offered = self._offers.sentences() if self._offers else ""
            told = "\n".join(part for part in (coming, offered) if part)
            if deck is not None:
                self._draw(view, deck.cards[0].pattern)
        else:
            self._draw(view, card.pattern)
            told = " ".join(part for part in (item.why, asked_of(card), card.note) if part)
        line.update(told)
        line.display = bool(told)

    @property
    def _has_room_to_draw(self) -> bool:
        """Whether the rhythm fits under the plan; in a small window the plan comes first."""
        return self.size.height >= (LOW if self.size.width >= SLIM else LOW_AND_SLIM)

    @property
    def _rows_for_drawing(self) -> int:
        return max(SMALLEST_DRAWING, round(self.size.height * DRAWING_SHARE))

    def _view(self) -> PatternView:
        """Return the drawing of the chosen card's rhythm, put up when there is first one to draw.

        The first frame stands without it and all that knows of rhythms.
        """
        if self._drawing is None:
            from drillbox.app.widgets.pattern_view import PatternView  # noqa: PLC0415 - see above

            self._drawing = PatternView(id="pattern")
            self.query_one("#chosen").mount(self._drawing)
        return self._drawing

    def _draw(self, view: PatternView, pattern: Pattern) -> None:
        from drillbox.rhythm import Hand  # noqa: PLC0415 - after the first frame

        view.show(pattern, leading=Hand(self._desk.settings.leading))
        self._share_rows(view)

    def _share_rows(self, view: PatternView) -> None:
        """Give the drawing its share of the window: under the plan, or in a wide one beside it."""
        if self.size.width >= WIDE:
            view.settle(width=self.size.width // 2 - 4, most=self.size.height - OTHER_ROWS)
        else:
            view.settle(width=self.size.width - 2, most=self._rows_for_drawing)

    def _after_the_day(self) -> str:
        return coming_words(self._desk.box, at=self._desk.clock.now())

    def action_play(self) -> None:
        """Take the chosen card to the stand, and the others after it."""
        row = self.query_one("#plan", RowTable).cursor_row
        chosen = self._items[row].card_id if 0 <= row < len(self._items) else ""
        self.post_message(self.Play(chosen))

    async def action_play_on(self) -> None:
        """Play five minutes more."""
        await self.run_action("app.play_on")

    async def action_tempo_check(self) -> None:
        """Find out where every card stands."""
        await self.run_action("app.tempo_check")

    @says_refusals
    def action_raise_goals(self) -> None:
        """Raise the goals that are outgrown, or take that back."""
        if self._offers is not None:
            self._offers.raise_or_take_back(at=self._desk.clock.now())
            self.draw()

    @says_refusals
    def action_add_deck(self) -> None:
        """Put the next deck of the course into the box."""
        if self._offers is not None:
            self.say_done(self._offers.add_deck(at=self._desk.clock.now()))

    async def action_add_first_deck(self) -> None:
        """Choose a starter deck, where there is no card yet."""
        await self.run_action("app.add_deck")

    @says_refusals
    def action_paper(self) -> None:
        """Show the day's plan as a sheet, to be graded with a pencil."""
        from drillbox.app.paper import plan_on_paper  # noqa: PLC0415 - loads when asked for

        plan_on_paper(self.app, self._desk)

    @says_refusals
    def action_minutes(self, direction: int) -> None:
        """Make today longer or shorter by five minutes; the other days stay as they are."""
        from drillbox.box.setting_kinds import LONGEST_DAY, SHORTEST_DAY  # noqa: PLC0415 - as above

        minutes = self._desk.minutes_today() + direction * MINUTES_STEP
        self._desk.set_minutes_today(min(max(minutes, SHORTEST_DAY), LONGEST_DAY))
        self.draw()
