"""Choosing a deck and settings: what is marked there, and which keys ? shows."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from textual.widgets import OptionList, Static

from drillbox.app.screens.keys import KeysPage
from drillbox.box import Box
from drillbox.deckfile import read_starter_decks

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import make_app, press, screen_text, settle

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.base.clock import ManualClock


async def test_decks_that_are_in_the_box_are_marked(
    clock: ManualClock, new_id: Callable[[], str]
) -> None:
    """The list says how long it is and which decks are there; the cursor is on the first other."""
    first = read_starter_decks()[0]
    with Box.open(":memory:", clock=clock, new_id=new_id) as box:
        box.put_deck(first, at=clock.now())
        app = make_app(box, clock)
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            await app.run_action("app.add_deck")
            await settle(pilot)
            rows = screen_text(app).splitlines()
            decks = app.screen.query_one("#welcome-decks", OptionList)

    assert f"Add a starter deck ({len(read_starter_decks())} decks)" == rows[0].strip()
    assert [first.title] == [row.strip().split("  ")[0] for row in rows if "in your box" in row]
    assert 1 == decks.highlighted


@pytest.mark.parametrize(
    ("action", "words"),
    [("app.add_deck", "put it into your box"), ("app.setup", "every change is kept at once")],
)
async def test_every_screen_has_its_own_keys_first(
    box: Box, clock: ManualClock, action: str, words: str
) -> None:
    """Where a deck is chosen and in the setup, too, ? opens the keys of what is up."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await app.run_action(action)
        await settle(pilot)
        await press(pilot, "question_mark")
        assert isinstance(app.screen, KeysPage)
        shown = [str(line.render()) for line in app.screen.query(Static)]

    assert words in shown[1]
