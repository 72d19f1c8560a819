"""What the studio, a reply, the week, the year and a sheet decide and say, without a window."""

from __future__ import annotations

import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import pytest

from drillbox.app.screens import week as week_page
from drillbox.app.screens.hand_over import HandInSheet
from drillbox.app.screens.reply_sheet import ReplySheet
from drillbox.app.screens.sheet import SheetPage
from drillbox.app.screens.studio import COLUMNS, WIDE, WIDE_COLUMNS, Studio
from drillbox.app.screens.week import WIDEST, WeekPage
from drillbox.app.screens.year_screen import Year
from drillbox.base.clock import ManualClock
from drillbox.memory import Grade
from drillbox.report.year import FIRST_DAY, IN_HAND_TITLE, NOTHING
from drillbox.rhythm import Hand
from drillbox.studio import (
    CardProgress,
    DeckInfo,
    Played,
    Progress,
    look_at,
    read_reply,
    table_rows,
)
from drillbox.studio.lesson_notes import BETWEEN

sys.path.insert(0, str(Path(__file__).parent))
from bare_screen import Bare
from still_desk import still_desk

if TYPE_CHECKING:
    from textual.widgets import Input

    from drillbox.app.desk import Desk
    from drillbox.box import Box
    from drillbox.paper import Sheet
    from drillbox.studio import StudentFigures

TODAY = date(2026, 11, 25)
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


# the studio


def students(*minutes_ago: tuple[int, float]) -> list[StudentFigures]:
    """Return a student who practised so many days ago, for so many minutes, and another."""
    days = tuple(
        Played(TODAY - timedelta(days=ago), 2, 60 * minutes, 80.0)
        for ago, minutes in sorted(minutes_ago, reverse=True)
    )
    decks = (DeckInfo("week-3", "Week 3", 2),)
    found = []
    for number, name in enumerate(("Ada", "Ben")):
        card = CardProgress("0" * 16, "e", ("week-3",), 90.0, "building", 80.0, days)
        found.append(Progress(f"{number:032x}", name, NOON, decks, (card,)))
    return list(look_at(found, today=TODAY))


class BareStudio(Bare, Studio):
    """The studio in no app, at some width."""

    def __init__(self, figures: list[StudentFigures], width: int = 80) -> None:
        super().__init__(figures, clock=ManualClock(NOON))
        self.window = width, 24
        self.on_mount()

    @property
    def chart(self) -> list[str]:
        """The chart of the minutes, line by line: its head, its rows, its axis."""
        lines = self.line("#figures").splitlines()
        (head,) = [n for n, line in enumerate(lines) if line.startswith("minutes a day")]
        return lines[head:]


@pytest.mark.parametrize("width", [80, WIDE - 1, WIDE, 200])
def test_a_wide_studio_has_a_column_for_every_figure(width: int) -> None:
    """A narrow one leaves out what is said below; each figure stands under its name."""
    figures = students((1, 20.0))
    studio = BareStudio(figures, width)
    table = studio.part("RowTable")
    columns = WIDE_COLUMNS if width >= WIDE else COLUMNS

    assert (columns, True) == (table.columns, table.has_keys)
    assert len(table_rows(figures)[0]) == len(WIDE_COLUMNS)
    if width >= WIDE:
        assert table_rows(figures) == table.rows
    for name in ("student", "fading", "last"):
        at, whole = ([n.strip() for n, _ in one].index(name) for one in (columns, WIDE_COLUMNS))
        assert table_rows(figures)[0][whole] == table.rows[0][at]


@pytest.mark.parametrize(
    ("width", "shown"), [(30, 34), (80, 66), (97, 83), (98, 84), (120, 84), (200, 84)]
)
def test_the_minutes_of_twelve_weeks_end_with_the_newest_day(width: int, shown: int) -> None:
    """84 days up to the file's own, a column each where there is room; the height is 15 minutes."""
    studio = BareStudio(students((0, 15.0), (83, 15.0), (84, 99.0)), width)
    head, full, *between, axis = studio.chart
    bars = full.split("│")[1]

    assert "minutes a day, 12 weeks" == head
    assert full.startswith("  15 │")
    assert 2 == len(between)
    assert ["3", "Sep", "Wed", "25", "Nov"] == axis.split()
    assert (shown, "█") == (len(bars), bars[-1])
    assert shown < 84 or bars.startswith("█")


def test_the_studio_shows_the_student_under_the_cursor() -> None:
    """From the top of the page, however far the one before was read."""
    figures = students((1, 20.0))
    studio = BareStudio(figures)
    first = studio.line("#figures").splitlines()[0]
    went_home = studio.part("#student").went_home
    studio.part("RowTable").move_to(1)
    studio.on_row_table_highlighted()

    assert figures[0].label == first.split(":")[0]
    assert went_home + 1 == studio.part("#student").went_home
    assert figures[1].label == studio.line("#figures").splitlines()[0].split(":")[0]


class BareReply(Bare, ReplySheet):
    """The sheet of a reply in no app, with fields that a test fills."""

    def typed(self, **fields: str) -> None:
        """Type into fields, and enter."""
        for name, words in fields.items():
            self.part(f"#reply-{name}").value = words
        self.on_input_submitted()


def test_a_reply_is_written_as_it_was_typed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What cannot be meant is said, and no file is there; then it closes with where the file is."""
    monkeypatch.chdir(tmp_path)
    one = students((1, 20.0))[0]
    sheet = BareReply(one, NOON)
    refused = []
    for wrong in ({"by": "tomorrow"}, {"by": "", "wanted": "nothing like it"}):
        sheet.typed(**wrong)
        refused.append((sheet.line("#reply-said"), [*sheet.closed_with, *tmp_path.iterdir()]))
    sheet.typed(
        wanted=f" e=85 {BETWEEN * 2} ", by=" 2026-12-10 ", goals="e=96", note="Soft.", teacher="K"
    )
    (file,) = tmp_path.iterdir()
    reply = read_reply(file.read_bytes(), file.name)
    (wanted,), (goal,) = reply.wanted, reply.goals
    (said,) = sheet.closed_with
    sheet.action_close()

    assert "'tomorrow' is no day; write it as 2026-12-10." == refused[0][0]
    assert [] == refused[0][1] == refused[1][1]
    assert "nothing like it" in refused[1][0]
    assert (85.0, date(2026, 12, 10), 96.0) == (wanted.goal_bpm, wanted.by, goal.goal_bpm)
    assert ("Soft.", "K") == (reply.note, reply.teacher)
    assert f"Written: {file.name}. Mail it; Ada takes it in with decks add." == said
    assert "" == sheet.closed_with[-1]


# the year and the week


class BareWeek(Bare, WeekPage):
    """The week in no app."""


@pytest.mark.parametrize(("window", "widest"), [(30, 40), (80, 76), (100, 96), (200, WIDEST)])
def test_a_week_is_as_wide_as_its_window_and_never_too_wide_to_read(
    box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch, window: int, widest: int
) -> None:
    """Two columns are left free at each side; its days are named, seven with today."""
    asked: list[int] = []

    def sections(_: object, *, width: int) -> list[tuple[str, str]]:
        asked.append(width)
        return [("One", "of it"), ("Two", "of it")]

    monkeypatch.setattr(week_page, "week_sections", sections)
    page = BareWeek(still_desk(box, clock))
    page.window = window, 24
    page.on_mount()
    page.on_resize()

    assert [widest] == asked
    assert page.part("#year").has_keys
    assert "One\nof it\n\nTwo\nof it\n\n" == str(page.line("#week-text"))
    assert "Tue 24 Feb to Mon 2 Mar" == page.line("#clock")
    page.action_back()
    assert [None] == page.closed_with


class BareYear(Bare, Year):
    """The year in no app; its plots are noted, not drawn."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.soon: list[str] = []
        self.on_mount()

    def call_after_refresh(self, callback: Any, *args: Any, **kwargs: Any) -> bool:
        """Note what is to follow."""
        self.soon.append(callback.__name__)
        return True


def test_the_week_says_what_was_handed_in_from_it(box: Box, clock: ManualClock) -> None:
    """Over the page, once there is something; a sheet left without a file says nothing."""
    week = BareWeek(still_desk(box, clock))
    week.on_mount()
    line = week.part("#week-done")
    seen = [(line.display, line.words)]
    week.action_hand_in()
    ((sheet, then),) = week.pushed
    for done in ("Your progress is in /a/b.jsonl.", ""):
        then(done)
        seen.append((line.display, line.words))

    assert isinstance(sheet, HandInSheet)
    assert [(False, ""), (True, "Your progress is in /a/b.jsonl."), (False, "")] == seen


def test_a_year_of_nothing_says_what_will_stand_there(box: Box, clock: ManualClock) -> None:
    """No title without a plot, and a new width changes nothing."""
    year = BareYear(still_desk(box, clock))
    first = year.soon.copy()
    year.draw()
    told = year.line("#year-text")
    year.on_resize()
    year._show_span()

    assert (["draw"], ["draw"]) == (first, year.soon)
    assert "\n\n".join(NOTHING) == told == year.line("#year-text")
    assert ("", "") == (year.line("#in-hand-title"), year.line("#clock"))
    assert year.part("#year").has_keys


@pytest.mark.parametrize("days", [1, 3])
def test_a_plot_takes_two_days(box: Box, clock: ManualClock, days: int) -> None:
    """After one there is a sentence in its place; what is text is drawn anew for a new width."""
    for _ in range(days):
        box.record(box.find("a"), bpm=70, grade=Grade.CLEAN, at=clock.now(), seconds=600)
        clock.forward(days=1)
    clock.forward(days=-1)
    year = BareYear(still_desk(box, clock))
    year.on_resize()
    early = year.line("#year-text")
    year.draw()
    narrow = year.line("#year-text")
    year.window = (160, 50)
    year.on_resize()

    assert "" == early
    assert IN_HAND_TITLE == year.line("#in-hand-title")
    assert (days == 1) == year.line("#in-hand-words").startswith(FIRST_DAY)
    assert (days > 1) == ("_plot" in year.soon) == bool(year._families)
    assert max(map(len, narrow.splitlines())) <= 76
    assert max(map(len, year.line("#year-text").splitlines())) <= 156
    assert narrow != year.line("#year-text")


def test_each_family_of_the_year_has_a_letter_and_where_it_stands(
    box: Box, clock: ManualClock
) -> None:
    """In the plot as in the line of names; every curve begins with the span and ends today."""
    for _ in range(120):
        box.record(box.find("a"), bpm=70, grade=Grade.CLEAN, at=clock.now(), seconds=60)
        clock.forward(days=1)
    year = BareYear(still_desk(box, clock))
    year.draw()
    shown: list[Any] = []
    year.part("#families-plot").show = shown.append  # type: ignore[method-assign, assignment]
    year.action_span(-2)
    early = list(shown)
    year._families *= 2
    year._plots_stand = True
    year._show_span()
    (picture,) = shown
    names = year.line("#families-words").split(" | ")
    today = box.now(clock.now()).day

    assert [] == early
    assert 2 == len(picture.curves) == len(names) == len(year._families)
    for curve, words, one in zip(picture.curves, names, year._families, strict=True):
        assert f"{curve.sign} {one.name}, {one.bpm[-1]:.0f} of {one.goal_bpm:.0f}" == words
        assert (today - 90, today) == (picture.first, curve.days[-1])
        assert picture.first <= curve.days[0]
    assert ["a", "b"] == [curve.sign for curve in picture.curves]


# a sheet


class BareSheet(Bare, SheetPage):
    """A sheet in no app."""

    is_current = True


def test_a_sheet_that_is_drawn_says_so_until_it_is_written(tmp_path: Path) -> None:
    """A name that cannot be written is refused before anything is drawn."""
    page = BareSheet(cast("Sheet", None), leading=Hand.RIGHT, at=NOON)
    name = page.part("Input")
    name.value = str(tmp_path / "sheet.docx")
    page.action_write()
    refused, started = page.line("#sheet-word"), len(page.work)
    name.value = str(tmp_path / "sheet.pdf")
    page.on_input_changed(cast("Input.Changed", name))
    before = page.line("#sheet-word")
    page.action_write()

    assert (0, True) == (started, "sheet.docx" in refused or ".docx" in refused)
    assert before.startswith(f"enter writes it in {tmp_path}; ")
    assert "Drawing; esc leaves without a file." == page.line("#sheet-word")
    assert 1 == len(page.work)


def test_a_sheet_is_read_four_rows_at_a_time() -> None:
    """Down and up, at once; the keys stay with the file's name."""
    page = BareSheet(cast("Sheet", None), leading=Hand.RIGHT, at=NOON)
    moved: list[tuple[int, bool]] = []
    cast("Any", page.part("VerticalScroll")).scroll_relative = lambda *, y, animate: moved.append(
        (y, animate)
    )
    for direction in (1, 1, -1):
        page.action_scroll(direction)

    assert [(4, False), (4, False), (-4, False)] == moved
    assert not page.part("VerticalScroll").has_keys
