"""Keys that come before a page has filled in: nothing breaks, and the page fills in after them."""

from __future__ import annotations

import asyncio
import math
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, cast

import pytest
from textual.binding import Binding

from drillbox.app.beside import loaded_beside
from drillbox.app.screens.card import CardPage
from drillbox.app.screens.shelf_screen import Shelf
from drillbox.app.screens.take_list import TakeList
from drillbox.app.screens.vocabulary_map import VocabularyMap
from drillbox.app.screens.week import WeekPage
from drillbox.app.screens.year_screen import Year
from drillbox.memory import Grade

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import make_app, screen_text, settle, shows

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.screen import Screen

    from drillbox.app.desk import Desk
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box

PAGES: dict[str, Callable[[Desk], Screen[None]]] = {
    "card": lambda desk: CardPage(desk, desk.box.find("e")),
    "takes": lambda desk: TakeList(desk, desk.box.find("e")),
    "map": VocabularyMap,
    "shelf": Shelf,
    "week": WeekPage,
    "year": Year,
}
LEAVING = {"enter", "p", "t", "e", "c", "escape"}
"""What goes to another page, on one page or another."""


@pytest.fixture
def played(box: Box, clock: ManualClock) -> Box:
    """Return the box after three days with a take each."""
    for _ in range(3):
        box.record(box.find("e"), bpm=80, grade=Grade.STEADY, at=clock.now(), seconds=40)
        clock.forward(days=1)
    return box


def keys_of(page: Screen[None]) -> list[str]:
    """Return the keys that stay on a page, and after them those that may open another."""
    listed = [one for one in page.BINDINGS if isinstance(one, Binding)]
    own = [one.key for one in listed if not one.action.startswith("app.")]
    return sorted(own, key=lambda key: key in LEAVING)


@pytest.mark.parametrize("name", PAGES)
async def test_every_key_at_once_does_no_harm(played: Box, clock: ManualClock, name: str) -> None:
    """All keys of a page from the turn in which it opens, and again while it fills in."""
    app = make_app(played, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        page = PAGES[name](app.desk)
        app.push_screen(page)
        for key in 2 * keys_of(page):
            app.simulate_key(key)
            await asyncio.sleep(0)
        await settle(pilot)

        assert app.return_code in {None, 0}


async def test_the_years_span_can_be_asked_for_before_the_plots_stand(
    played: Box, clock: ManualClock
) -> None:
    """Right and left in every turn until both plots are up; they show what was asked last."""
    app = make_app(played, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        year = Year(app.desk)
        app.push_screen(year)
        for turn in range(2_000):
            year.action_span(-1 if turn % 2 else 1)
            await asyncio.sleep(0)
            if year.is_mounted and year.query("#families-plot"):
                break
        year.action_span(-1)
        year.action_span(-1)

        assert await shows(pilot, "three months: ")
        assert "Reading" not in screen_text(app)


@pytest.mark.parametrize("display", [True, False])
async def test_a_page_that_is_going_gets_nothing_late(*, display: bool) -> None:
    """Textual hides a page as soon as it is taken away: its parts may be gone already."""
    page = cast("Screen[None]", SimpleNamespace(display=display))

    assert (math if display else None) is await loaded_beside(page, "math")
