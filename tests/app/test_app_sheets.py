"""From the app to paper: a key, a look, a file name, and where the file is."""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING

import pytest
from textual.widgets import Input, Static

from drillbox import paper
from drillbox.app.screens.sheet import SheetPage

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import make_app, press, screen_text, settle

if TYPE_CHECKING:
    from textual.app import App

    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


def word(app: App[int]) -> str:
    """Return what the page says."""
    return str(app.screen.query_one("#sheet-word", Static).render())


def shown(app: App[int]) -> str:
    """Return the text of the preview."""
    return str(app.screen.query_one("#sheet-preview", Static).render())


@pytest.mark.parametrize(
    ("keys", "text"),
    [
        (("e",), "15 minutes"),
        (("s", "e"), "4 cards"),
        (("s", "enter", "e"), "e of every beat"),
        (("y", "e"), "Ghost notes: the vocabulary"),
    ],
)
async def test_every_page_of_cards_goes_on_paper(
    box: Box, clock: ManualClock, keys: tuple[str, ...], text: str
) -> None:
    """Today's plan, what the shelf shows, a card, the map; esc leads back."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for key in keys:
            await press(pilot, key)
        assert isinstance(app.screen, SheetPage)
        assert text in shown(app)
        await press(pilot, "escape")
        assert not isinstance(app.screen, SheetPage)


async def test_a_file_is_written_and_said(box: Box, clock: ManualClock, tmp_path: Path) -> None:
    """The ending says as what; a name that is taken or says nothing gets a sentence."""
    app = make_app(box, clock)
    out = tmp_path / "plan.musicxml"
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        await press(pilot, "e")
        line = app.screen.query_one(Input)
        line.value = str(out)
        await press(pilot, "enter")
        await app.workers.wait_for_complete()
        await settle(pilot)
        assert word(app).startswith("Written: ")
        assert out.read_bytes().startswith(b"<?xml")
        await press(pilot, "enter")
        await app.workers.wait_for_complete()
        await settle(pilot)
        assert "the file exists already" in word(app)
        line.value = str(tmp_path / "plan.docx")
        await press(pilot, "enter")
        assert "end the name in one of" in word(app)


async def test_the_folder_is_said_before_anything_is_written(
    box: Box, clock: ManualClock, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A bare name goes to the folder one is in, another to the one it names; keys are its own."""
    monkeypatch.chdir(tmp_path)
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "e")
        here, keys = word(app), screen_text(app).splitlines()[-1]
        app.screen.query_one(Input).value = str(tmp_path / "for" / "mia.svg")
        await settle(pilot)
        there = word(app)
        app.screen.query_one(Input).value = "~nobody-here/x.svg"
        await press(pilot, "enter")
        nowhere = word(app)

    assert f"enter writes it in {tmp_path};" in here
    assert f"enter writes it in {tmp_path / 'for'};" in there
    assert "there is no such home folder" in nowhere
    assert "↑ ↓ read on  esc leave" in keys
    assert "tempo" not in keys
    assert "quit" not in keys


async def test_esc_while_it_is_drawn_writes_nothing(
    box: Box, clock: ManualClock, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who leaves the page before the file is there has none afterwards."""
    left = Event()

    def slowly(*_: object, **__: object) -> tuple[bytes, ...]:
        assert left.wait(timeout=60)
        return (b"drawn",)

    monkeypatch.setattr(paper, "rendered", slowly)
    app = make_app(box, clock)
    out = tmp_path / "plan.svg"
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "e")
        app.screen.query_one(Input).value = str(out)
        await press(pilot, "enter")
        drawing = word(app)
        await press(pilot, "escape")
        left.set()
    await asyncio.get_running_loop().shutdown_default_executor()  # when the threads are done

    assert "Drawing; esc leaves without a file." == drawing
    assert not out.exists()


async def test_an_empty_shelf_has_nothing_to_print(box: Box, clock: ManualClock) -> None:
    """The key does nothing where the search leaves no card."""
    app = make_app(box, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "s")
        await press(pilot, "slash")
        app.screen.query_one("#search", Input).value = "nothing of the kind"
        await settle(pilot)
        await press(pilot, "enter")
        await press(pilot, "e")
        assert not isinstance(app.screen, SheetPage)
