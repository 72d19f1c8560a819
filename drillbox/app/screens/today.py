"""Today: what to play, how long it takes, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Horizontal
from textual.screen import Screen
from textual.widgets import DataTable, Footer, Static

from drillbox.app.refusals import draws_when_it_can, says_refusals
from drillbox.app.widgets.row_table import RowTable
from drillbox.app.words import minutes_seconds
from drillbox.base.now import day_name
from drillbox.base.wording import counted
from drillbox.box.setting_kinds import LONGEST_DAY, SHORTEST_DAY
from drillbox.report.year import after_time_away

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.plan import Item

COLUMNS = (("", 7), ("card", 0), ("bpm ", 5), ("takes ", 6), ("time ", 6))
FEWEST_TO_SOUND = 24
"""With fewer cards a dozen takes would be most of them."""
FRAME_FIRST_SECONDS = 0.02
MINUTES_STEP = 5


class Today(Screen[None]):
    """The day's plan; Enter takes it to the stand."""

    BINDINGS: ClassVar = [
        Binding(
            "enter",
            "app.stand",
            "to the stand",
            id="today.play",
            tooltip="Start or go on",
            priority=True,
        ),
        Binding(
            "right", "minutes(1)", "longer", id="today.longer", tooltip="Five minutes more a day"
        ),
        Binding(
            "left", "minutes(-1)", "shorter", id="today.shorter", tooltip="Five minutes less a day"
        ),
        Binding("g", "app.sounding", "sounding", id="today.sounding", tooltip="Find every tempo"),
        Binding("s", "app.shelf", "shelf", id="today.shelf", tooltip="All decks and cards"),
        Binding("y", "app.year", "year", id="today.year", tooltip="Progress, calendar, outlook"),
        Binding("t", "app.setup", "setup", id="today.setup", tooltip="Hands, clicks, sound"),
        Binding("question_mark", "app.keys", "keys", id="today.keys", key_display="?"),
        Binding("q", "app.quit", "quit", id="today.quit"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._items: tuple[Item, ...] = ()

    def compose(self) -> ComposeResult:
        """Lay the page out; the plan itself follows after the first frame."""
        with Horizontal(classes="headline"):
            yield Static("", id="title", markup=False)
            yield Static("", id="clock", markup=False)
        yield Static("", id="summary", classes="sentence", markup=False)
        yield RowTable(COLUMNS, id="plan")
        yield Static("", id="plan-why", markup=False)
        yield Footer(show_command_palette=False)

    def on_screen_resume(self) -> None:
        """Plan anew whenever the screen comes up.

        The frame is drawn first, since the first plan loads numpy.
        """
        self.set_timer(FRAME_FIRST_SECONDS, self.draw)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer a sounding only where nothing was played yet."""
        del parameters
        return self._may_sound if action == "app.sounding" else True

    @property
    def _may_sound(self) -> bool:
        box = self._desk.box
        return box.nothing_played and box.cards_in_box >= FEWEST_TO_SOUND

    @property
    def has_items(self) -> bool:
        """Whether the plan has anything to play."""
        return bool(self._items)

    @draws_when_it_can
    def draw(self) -> None:
        """Plan the rest of the day and show it."""
        box, now = self._desk.box, self._desk.clock.now()
        minutes = box.settings.minutes
        spent = box.day(now).seconds
        plan = box.plan(at=now, minutes=minutes)
        self._items = plan.items
        self._headline(minutes, spent)
        self.query_one(RowTable).fill(
            [
                (
                    item.part.value,
                    box.title(item.card_id),
                    str(item.bpm),
                    str(item.takes),
                    minutes_seconds(item.seconds),
                )
                for item in plan.items
            ]
        )
        self._say(spent)
        self._why(0)
        self.refresh_bindings()

    def _headline(self, minutes: int, spent: float) -> None:
        day = day_name(self._desk.box.now(self._desk.clock.now()).day)
        self.query_one("#title", Static).update(f"Today, {day}")
        left = max(0.0, minutes * 60 - spent)
        self.query_one("#clock", Static).update(f"{minutes_seconds(left)} of {minutes}:00 left")

    def _say(self, spent: float) -> None:
        count, news = len(self._items), self._desk.news
        if not self._desk.box.cards_in_box:
            sentence = "No deck in the box: press s, then a, to add a starter deck."
        elif not count and spent:
            sentence = "Done for today. The right arrow adds five minutes to the day."
        elif not count:
            sentence = "Nothing to play: every card is rested, or the minutes are too short."
        else:
            total = minutes_seconds(sum(item.seconds for item in self._items))
            away = "" if spent else after_time_away(self._desk.box, at=self._desk.clock.now())
            if self._may_sound:
                away = (
                    "First day. If you play some of this already, g is a sounding: a dozen cards,"
                    " one"
                    " take each, and every starting tempo follows."
                )
            begun = "Go on where you stopped" if spent else f"{away} Ready".lstrip()
            cards = counted(len({item.card_id for item in self._items}), "card")
            sentence = (
                f"{begun}: {cards}, {total} with count-ins and grading."
                " Enter takes it to the stand."
            )
        unsaved = self._desk.unsaved.sentence()
        told = " ".join(part for part in (news, unsaved, sentence) if part)
        self.query_one("#summary", Static).update(told)

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        """Show why the highlighted card is in the plan."""
        self._why(event.cursor_row)

    def _why(self, row: int) -> None:
        why = self._items[row].why if 0 <= row < len(self._items) else ""
        line = self.query_one("#plan-why", Static)
        line.update(why)
        line.set_class(not why, "-empty")

    @says_refusals
    def action_minutes(self, direction: int) -> None:
        """Make the day longer or shorter by five minutes."""
        box = self._desk.box
        minutes = box.settings.minutes + direction * MINUTES_STEP
        box.change_settings(
            at=self._desk.clock.now(), minutes=min(max(minutes, SHORTEST_DAY), LONGEST_DAY)
        )
        self.draw()
