"""The shelf and its table: quick to search, honest in its order, and drawn only where seen."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from textual.app import App

from drillbox.app.screens.card import CardPage
from drillbox.app.screens.shelf_screen import ORDERS, Shelf
from drillbox.app.screens.stand import Stand
from drillbox.app.widgets.row_table import MadeInView, RowTable
from drillbox.app.widgets.tempo_bar import tempo_bar
from drillbox.app.words import day_words
from drillbox.box import Box
from drillbox.memory import Grade

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import make_app, press, screen_text, settle

if TYPE_CHECKING:
    from datetime import datetime

    import pytest
    from textual.app import ComposeResult

    from drillbox.base.clock import ManualClock
    from drillbox.box.views import CardView

ROWS = 5_000


class _Table(App[int]):
    """A table of many rows, and nothing else."""

    def __init__(self) -> None:
        super().__init__()
        self.made: list[int] = []
        self.opened: list[int] = []

    def compose(self) -> ComposeResult:
        """Yield the table."""
        yield RowTable((("name", 0), ("number ", 8)), id="rows")

    def on_mount(self) -> None:
        """Fill it."""
        table = self.query_one(RowTable)
        table.fill(MadeInView(ROWS, self.make))
        table.focus()

    def make(self, row: int) -> tuple[str, str]:
        """Return a row, and remember that it was asked for."""
        self.made.append(row)
        return f"row [b]{row}", str(row)

    def on_row_table_opened(self, event: RowTable.Opened) -> None:
        """Note the row."""
        self.opened.append(event.table.cursor_row)


async def test_only_the_rows_in_view_are_made() -> None:
    """Of 5,000 rows a screenful is asked for, each once, wherever the cursor goes."""
    app = _Table()
    async with app.run_test(size=(40, 12)) as pilot:
        await settle(pilot)
        await press(pilot, "down", "end", "home", "pagedown", "up")
        table = app.query_one(RowTable)

        assert 10 == table.cursor_row
        assert len(set(app.made)) == len(app.made) < 60
        assert "row [b]10" in screen_text(app)


async def test_the_cursor_stays_in_view_and_a_click_opens_its_row() -> None:
    """Clicks choose; a click on the chosen row opens it; the head opens nothing."""
    app = _Table()
    async with app.run_test(size=(40, 12)) as pilot:
        await settle(pilot)
        await press(pilot, "end")
        assert f"row [b]{ROWS - 1}" in screen_text(app)
        for _ in range(2):
            await pilot.click(RowTable, offset=(3, 4))
            await settle(pilot)
        await pilot.click(RowTable, offset=(3, 0))
        await settle(pilot)

        assert [ROWS - 11 + 3] == app.opened


async def test_the_last_row_stands_at_the_foot_of_its_table() -> None:
    """At once, and no blank row can be scrolled to below it."""
    app = _Table()
    async with app.run_test(size=(40, 12)) as pilot:
        await settle(pilot)
        table = app.query_one(RowTable)
        table.move_to(ROWS - 1)

        assert ROWS - 11 == table.scroll_offset.y == table.max_scroll_y


async def test_searching_asks_the_box_once(
    box: Box, clock: ManualClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every key filters what was read when the shelf came up."""
    asked: list[datetime] = []
    read = Box.cards

    def noted(self: Box, *, at: datetime) -> tuple[CardView, ...]:
        asked.append(at)
        return read(self, at=at)

    monkeypatch.setattr(Box, "cards", noted)
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s")
        before = len(asked)
        await press(pilot, "slash", *"doubled")

        assert "1 card, in deck order" in screen_text(app)
        assert before == len(asked)


async def test_a_wide_shelf_shows_the_last_grades_and_the_best(
    box: Box, clock: ManualClock
) -> None:
    """Four signs, the newest at the right, and a mark at the best cold take."""
    card = box.find("e")
    for bpm, grade in ((70, Grade.FELL_APART), (60, Grade.SHAKY), (64, Grade.STEADY),
                       (84, Grade.CLEAN), (50, Grade.AUTOMATIC)):  # fmt: skip
        box.record(card, bpm, grade, clock.now(), 40)
        clock.forward(days=1)
    app = make_app(box, clock)
    async with app.run_test(size=(160, 50)) as pilot:
        await settle(pilot)
        await press(pilot, "s")
        row = next(line for line in screen_text(app).splitlines() if line.startswith("  e of e"))

        assert "-=+#" in row
        assert (84.0, 4) == (box.lately(card).best_bpm, len(box.lately(card).grades))
        assert "bass  │" in screen_text(app)


def test_slowest_first_leaves_the_unplayed_to_the_end(box: Box, clock: ManualClock) -> None:
    """Nobody knows how slow a card is that was never played."""
    for slug, bpm in (("a", 60), ("e", 40)):
        box.record(box.find(slug), bpm, Grade.STEADY, clock.now(), 40)
    key = dict(ORDERS)["slowest against goal first"]
    titles = [card.title for card in sorted(box.cards(at=clock.now()), key=key)]

    assert ["e of every beat", "a of every beat"] == titles[:2]


async def test_the_shelf_plays_a_card_that_is_not_planned(box: Box, clock: ManualClock) -> None:
    """Even one that was set aside is played because the player wants it now."""
    box.rest(box.find("e-a"), resting=True, at=clock.now())
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s", "slash", *"e and a", "enter", "p")
        assert isinstance(app.screen, Stand)
        assert "Chosen by you" in screen_text(app)
        await press(pilot, "escape")
        assert isinstance(app.screen, Shelf)
        await press(pilot, "enter", "p")
        assert isinstance(app.screen, Stand)
        await press(pilot, "escape")

        assert isinstance(app.screen, CardPage)


def test_the_best_is_marked_beyond_the_bar_only() -> None:
    """Where the bar has reached it, there is nothing left to say."""
    assert "━━━   │   ◆  " == tempo_bar(70, 90, 120)
    assert "━━━━━━┿      " == tempo_bar(90, 90, 80)


def test_days_far_off_are_told_roughly() -> None:
    """Nobody knows the month of a year in which a card may slip."""
    assert ["in 42 d", "5 months", "years", "12 d ago"] == [
        day_words(1000 + days, 1000) for days in (42, 150, 1500, -12)
    ]
