"""The deck writer's preview, driven by hand.

Saved well, saved badly, mended; drawn, heard, small and large.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drillbox.app.screens.preview import Preview, PreviewApp
from drillbox.app.widgets.pattern_view import PatternView
from drillbox.app.widgets.row_table import RowTable
from drillbox.deckfile import DeckFollower, deck_template
from drillbox.sound import Metronome, SilentClock

sys.path.insert(0, str(Path(__file__).parent))
from hands_on import check_screen, press, screen_text, settle, shows

if TYPE_CHECKING:
    from textual.pilot import Pilot

    from drillbox.base.clock import ManualClock

GOOD = deck_template("week-3")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return the path of a new deck."""
    path = tmp_path / "week-3.toml"
    path.write_text(GOOD, encoding="utf-8")
    return path


def preview(path: Path, clock: ManualClock) -> PreviewApp:
    """Return the preview of a file, its metronome driven by the still clock."""
    return PreviewApp(DeckFollower(path), lambda: Metronome(SilentClock(clock.seconds)))


def write(path: Path, text: str) -> None:
    """Write a text, a second later each time: some disks count whole seconds only."""
    later = path.stat().st_mtime + 1
    path.write_text(text, encoding="utf-8")
    os.utime(path, (later, later))


async def save(pilot: Pilot[int], path: Path, text: str) -> None:
    """Save a text and let the preview look at the file, as it does every third of a second."""
    write(path, text)
    assert isinstance(pilot.app.screen, Preview)
    pilot.app.screen._look()
    await settle(pilot)


async def test_the_file_on_the_left_and_its_cards_on_the_right(
    path: Path, clock: ManualClock
) -> None:
    """As it stands; then with an error, which is marked in the text and said under it.

    Then mended, and told.
    """
    app = preview(path, clock)
    async with app.run_test(size=(110, 30)) as pilot:
        assert await shows(pilot, "q quit")
        check_screen(app, "preview")
        await save(pilot, path, GOOD.replace('"(e)"', '"(9)"'))
        assert await shows(pilot, "1 error 13 [groove]")  # the text moves up to the error
        check_screen(app, "preview-error")
        await save(pilot, path, GOOD.replace('"(a)"', '"(/a)"'))
        mended = screen_text(app)

        assert 1 == app.screen.query_one(RowTable).cursor_row
        assert "• a of every beat" in mended
        assert "snare on the a of every beat now" in mended
        assert "▶" not in mended


async def test_a_card_is_heard_and_stops(path: Path, clock: ManualClock) -> None:
    """`l` plays the card that is drawn, the playhead goes along.

    Again, another card, or a save stops it.
    """
    app = preview(path, clock)
    async with app.run_test(size=(110, 30)) as pilot:
        await press(pilot, "l")
        screen = app.screen
        metronome = screen._metronome  # type: ignore[attr-defined]
        assert metronome.running
        clock.forward(seconds=3.5)
        await pilot.pause(0.1)
        assert screen.query_one(PatternView)._playhead is not None
        await press(pilot, "l")
        assert not metronome.running
        await press(pilot, "l", "down")
        assert not metronome.running
        await press(pilot, "l")
        await save(pilot, path, GOOD + "# more\n")
        assert not metronome.running
        assert screen.query_one(PatternView)._playhead is None


@pytest.mark.parametrize("size", [(60, 18), (80, 24), (200, 60)])
async def test_the_preview_fits_every_terminal(
    path: Path, clock: ManualClock, size: tuple[int, int]
) -> None:
    """Text and drawing are both to be seen, however small the window."""
    app = preview(path, clock)
    async with app.run_test(size=size) as pilot:
        await pilot.pause(0.1)
        shown = screen_text(app)
        assert "[deck]" in shown
        assert "e of every beat" in shown
        assert "snare" in shown
        await press(pilot, "f2", "q")
    assert 0 == app.return_code
