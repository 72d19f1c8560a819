"""The studio on a screen: every student in a row, and the one under the cursor in full."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Footer, Static

from drillbox.app.screens.reply_sheet import ReplySheet
from drillbox.app.styled import StyledApp
from drillbox.app.widgets.headline import headline
from drillbox.app.widgets.row_table import RowTable
from drillbox.base.now import day_name
from drillbox.base.text_charts import columns
from drillbox.base.wording import counted
from drillbox.studio import TABLE_HEAD, student_lines, table_rows

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from textual.app import ComposeResult

    from drillbox.base.clock import Clock
    from drillbox.studio import StudentFigures

WIDE = 120
"""From so many columns on there is room for all figures."""
COLUMNS = (
    *(("student", 0), ("days ", 5), ("in hand ", 8), ("outgrown ", 9), ("gained ", 7)),
    *(("stuck ", 6), ("fading ", 7), ("last", 7)),
)
WIDE_COLUMNS = (
    *(("student", 20), ("days ", 5), ("min ", 5), ("in hand ", 8), ("outgrown ", 9)),
    *(("gained ", 7), ("stuck ", 6), ("fading ", 7), ("last", 7), ("file", 9), ("attention", 0)),
)
"""Each with its width; 0 takes what is left. A narrow window says the rest below."""
WEEKS = 12
CHART_HEIGHT = 4


class StudioApp(StyledApp):
    """The studio by itself."""

    def __init__(self, students: Sequence[StudentFigures], *, clock: Clock) -> None:
        super().__init__()
        self._students = students
        self._clock = clock

    def get_default_screen(self) -> Studio:
        """Show the studio at once."""
        return Studio(self._students, clock=self._clock)


class Studio(Screen[None]):
    """Who needs a word stands first."""

    DEFAULT_CSS = """
    Studio #students { height: auto; min-height: 5; max-height: 50%; margin: 1 1 0 1; }
    Studio #student { height: 1fr; padding: 0 1; margin: 1 1 0 1; border-left: thick $primary; }
    """
    BINDINGS: ClassVar = [
        Binding("r", "reply", "reply", id="studio.reply"),
        Binding("q,escape", "leave", "quit", id="studio.leave"),
    ]

    def __init__(self, students: Sequence[StudentFigures], *, clock: Clock) -> None:
        super().__init__()
        self._students = students
        self._clock = clock

    def compose(self) -> ComposeResult:
        """Lay the studio out."""
        yield headline("The studio", clock=counted(len(self._students), "student"))
        yield RowTable(COLUMNS, id="students")
        with VerticalScroll(id="student", can_focus=False):
            yield Static("", id="figures", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Fill the table and take the keys to it."""
        self.query_one(RowTable).focus()
        self._draw()

    def on_resize(self) -> None:
        """Draw for the new width."""
        self._draw()

    def on_row_table_highlighted(self) -> None:
        """Show the student that the cursor is on."""
        self._show()

    def _draw(self) -> None:
        columns = WIDE_COLUMNS if self.size.width >= WIDE else COLUMNS
        places = [TABLE_HEAD.index(name.strip()) for name, _ in columns]
        rows = [tuple(row[n] for n in places) for row in table_rows(self._students)]
        self.query_one(RowTable).fill(rows, columns)
        self._show()

    def _show(self) -> None:
        one = self._students[self.query_one(RowTable).cursor_row]
        lines = [*_lines(one), "", *self._minutes(one)]
        self.query_one("#figures", Static).update("\n".join(lines))
        self.query_one("#student", VerticalScroll).scroll_home(animate=False)

    def _minutes(self, one: StudentFigures) -> Iterable[str]:
        minutes = one.minutes_by_day()
        first = one.progress.until - timedelta(days=7 * WEEKS - 1)
        values = [minutes.get(first + timedelta(days=n), 0.0) for n in range(7 * WEEKS)]
        yield f"minutes a day, {WEEKS} weeks"
        yield columns(
            values,
            width=min(max(self.size.width - 8, 40), 7 * WEEKS + 8),
            height=CHART_HEIGHT,
            left=f"{first.day} {first:%b}",
            right=day_name(one.progress.until),
            top=15.0,
        )

    @work
    async def action_reply(self) -> None:
        """Write the student under the cursor a reply; the file lies in the folder one is in."""
        one = self._students[self.query_one(RowTable).cursor_row]
        written = await self.app.push_screen_wait(ReplySheet(one, self._clock.now()))
        if written:
            self.notify(written)

    def action_leave(self) -> None:
        """End the studio."""
        self.app.exit(0)


def _lines(one: StudentFigures) -> Iterable[str]:
    yield f"{one.label}{': ' if one.reasons else ''}{', '.join(one.reasons)}"
    yield from student_lines(one)
