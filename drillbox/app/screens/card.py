"""One card: how it is written, what is believed of it, and its history as a plot."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import Binding
from textual.screen import Screen
from textual.widgets import Static

from drillbox.app.accompaniment import next_of
from drillbox.app.beside import loaded_beside
from drillbox.app.grade_signs import GRADE_LEGEND
from drillbox.app.kept_takes import heard_again, kept_takes
from drillbox.app.refusals import draws_when_it_can, says_refusals
from drillbox.app.screens.take_list import TakeList
from drillbox.app.stand_words import AS_PLAYED, HALF_SPEED
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.app.widgets.headline import headline
from drillbox.app.widgets.pattern_view import PatternView
from drillbox.app.words import day_words
from drillbox.base.tempi import ASKED
from drillbox.base.wording import as_sentence, bpm_words, counted
from drillbox.box.views import read_pattern
from drillbox.plan.why import by_day
from drillbox.rhythm import Hand, difficulty, for_player, movement, movement_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.box.take_views import TakeView
    from drillbox.box.views import CardView

GOAL_STEP = 5
PLAIN_GROOVE = "hat: beat &\nsnare: >2 >4\nbass: 1 3"
"""What a card's difficulty is compared with."""
DAYS_AHEAD, ASSIGNMENTS = 28, 2
HEARD_LINES, TALL_ROWS = 5, 30
NO_TAKE = "No take yet: its history will stand here."
LEGEND = f"{GRADE_LEGEND} ⠒ expected, cold"


class CardPage(Screen[None]):
    """All there is to know about one card."""

    BINDINGS: ClassVar = [
        Binding(
            "right",
            "goal(1)",
            "goal",
            id="card.goal_up",
            tooltip="Raise the goal tempo, or lower it",
            key_display="← →",
        ),
        Binding("left", "goal(-1)", "goal −5", id="card.goal_down", show=False),
        Binding(
            "x", "rest", "rest / wake", id="card.rest", tooltip="Set the card aside, or wake it"
        ),
        Binding("p", "play_card", "play", id="card.play", tooltip="To the stand"),
        Binding("t", "takes", "takes", id="card.takes", tooltip="Its takes; any can be taken back"),
        Binding("y", "hear", "hear yourself", id="card.hear", tooltip="Your last kept take"),
        Binding("e", "paper", "on paper", id="card.paper", show=False),
        Binding("question_mark", "app.keys", "keys", id="card.keys", key_display="?"),
        Binding("escape", "back", "back", id="card.back"),
    ]

    def __init__(self, desk: Desk, card_id: str) -> None:
        super().__init__()
        self._desk = desk
        self._card_id = card_id
        self._kept = kept_takes(desk.kept_takes, card_id)
        self._plays_back = ""

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what there is: a recording is heard where one was kept."""
        del parameters
        return action != "hear" or bool(self._kept)

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield headline()
        yield PatternView(id="pattern")
        yield Static("", id="facts", markup=False)
        yield Static("", id="work", markup=False)
        yield Static("", id="heard", markup=False)
        yield Static("", id="history-words", markup=False)
        yield FitFooter()

    def on_mount(self) -> None:
        """Fill the page."""
        self.draw()

    @draws_when_it_can
    def draw(self) -> None:
        """Read the card and show it."""
        box, now = self._desk.box, self._desk.clock.now()
        card = box.card(self._card_id, at=now)
        self.query_one("#title", Static).update(card.title)
        self.query_one("#clock", Static).update(f"{card.state.value}, goal {card.goal_bpm:.0f}")
        self.query_one(PatternView).show(card.pattern, leading=Hand(box.settings.leading))
        leading = Hand(box.settings.leading)
        moved = movement(for_player(card.pattern, leading), leading=leading)
        words = movement_words(moved, card.goal_bpm)
        hard, plain = difficulty(card.pattern), difficulty(read_pattern(PLAIN_GROOVE))
        work = (
            f"{as_sentence(words)} Difficulty {hard:.0f};"
            f" a rock groove without ghosts has {plain:.0f}."
        )
        told = [kept.words for kept in box.assignments(card.card_id, at=now)]
        asked = "".join(f" {as_sentence(words)}" for words in told[-ASSIGNMENTS:])
        self.query_one("#facts", Static).update(
            f"{self._facts(card)}\n"
            f"{box.why(card.card_id, at=now)} {box.compared(card.card_id, at=now)}{asked}"
        )
        self.query_one("#work", Static).update(work)
        takes = box.history(card.card_id)
        heard = self.query_one("#heard", Static)
        heard.display = any(take.measured for take in takes)
        if heard.display:
            from drillbox.report.measured_trends import card_trend  # noqa: PLC0415 - of some cards

            tall = self.size.height >= TALL_ROWS
            heard.update(card_trend(takes, most=HEARD_LINES if tall else 2))
        if not takes:
            self.query_one("#history-words", Static).update(NO_TAKE)
            return
        self.query_one("#history-words", Static).update(LEGEND)
        slipping = box.slipping(card.card_id, at=now, days=DAYS_AHEAD)
        self._plot(takes, slipping, card.goal_bpm, box.now(now).day)

    @work(exclusive=True)
    async def _plot(
        self, takes: Sequence[TakeView], slipping: Sequence[float], goal_bpm: float, today: int
    ) -> None:
        """Load the plotting library beside the page, then draw the takes and what is expected."""
        plots = await loaded_beside(self, "drillbox.app.widgets.dated_plot")
        if plots is None:
            return
        from drillbox.app.widgets.card_history import card_picture  # noqa: PLC0415 - loaded now

        if not self.query("#history"):
            self.mount(plots.DatedPlot(id="history"), before="#history-words")
        picture = card_picture(takes, slipping, goal_bpm=goal_bpm, today=today)
        self.query_one("#history", plots.DatedPlot).show(picture)

    def _facts(self, card: CardView) -> str:
        today = self._desk.box.now(self._desk.clock.now()).day
        titles = self._desk.box.deck_titles()
        decks = ", ".join(titles.get(deck_id, deck_id) for deck_id in card.deck_ids)
        if card.cold_bpm is None:
            met = f"Not together yet after {counted(card.takes, 'take')}"
            return f"{met if card.takes else 'Not begun'}. In {decks}."
        band = f"{bpm_words(card.low_bpm)} to {bpm_words(card.high_bpm)}"
        takes = counted(card.takes, "take")
        slips = ""
        if card.returns_on is not None:
            ahead = card.returns_on >= today
            when = by_day(today, card.returns_on) if ahead else day_words(card.returns_on, today)
            slips = f" {'Slips' if ahead else 'Slipped'} under the goal {when}."
        return (
            f"Cold now about {bpm_words(card.cold_bpm)} ({band}). {takes}, last "
            f"{day_words(card.last_day, today)} at {bpm_words(card.last_bpm)}.{slips} In {decks}."
        )

    @says_refusals
    def action_goal(self, direction: int) -> None:
        """Move the goal tempo."""
        now = self._desk.clock.now()
        goal = self._desk.box.card(self._card_id, at=now).goal_bpm + direction * GOAL_STEP
        self._desk.box.set_goal(self._card_id, bpm=ASKED.nearest(goal), at=now)
        self.draw()

    @says_refusals
    def action_rest(self) -> None:
        """Set the card aside, or wake it."""
        now = self._desk.clock.now()
        rested = self._desk.box.card(self._card_id, at=now).state.value == "rested"
        self._desk.box.rest(self._card_id, resting=not rested, at=now)
        self.draw()

    async def action_play_card(self) -> None:
        """Take the card to the stand."""
        await self.run_action(f"app.play_card({self._card_id!r})")

    def action_takes(self) -> None:
        """Show the takes, any of which can be taken back."""
        self.app.push_screen(TakeList(self._desk, self._card_id), lambda _: self.draw())

    @says_refusals
    def action_hear(self) -> None:
        """Hear the take that was kept last: at half speed, as it was, then quiet again."""
        box, metronome = self._desk.box, self._desk.metronome
        now = next_of(("", HALF_SPEED, AS_PLAYED), self._plays_back)
        if now:
            pattern = box.card(self._card_id, at=self._desk.clock.now()).pattern
            metronome.start(heard_again(self._kept[0], pattern, slowly=now == HALF_SPEED))
        else:
            metronome.stop()
        self._plays_back = now
        self.query_one("#clock", Static).update(now or "quiet")

    def on_unmount(self) -> None:
        """Leave no recording playing."""
        if self._plays_back:
            self._desk.metronome.stop()

    @says_refusals
    def action_paper(self) -> None:
        """Show the card as a sheet."""
        from drillbox.app.paper import cards_on_paper  # noqa: PLC0415 - loads when asked for

        now = self._desk.clock.now()
        cards_on_paper(self.app, self._desk, [self._desk.box.card(self._card_id, at=now)])

    def action_back(self) -> None:
        """Go back to the shelf."""
        self.dismiss(None)
