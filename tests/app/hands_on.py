"""Driving the app by hand in tests: make it, play a take, read the screen as plain text.

The text is what Textual's screenshot export has in it, and is compared with the screens kept in
``screens/``. After a wanted change, ``DRILLBOX_WRITE_SCREENS=1`` writes them anew; look at the
difference before committing it.
"""

from __future__ import annotations

import asyncio
import os
from pathlib import Path
from typing import TYPE_CHECKING

from still_desk import still_desk
from textual._compositor import LayoutUpdate
from textual.widgets import Static

from drillbox.app.app import DrillboxApp
from drillbox.app.screens.preview import Preview
from drillbox.app.screens.sound_check import SoundCheck
from drillbox.app.screens.stand import Stand
from drillbox.app.screens.stand_takes import DEAF_SECONDS
from drillbox.app.screens.welcome import DeckChoice

if TYPE_CHECKING:
    from textual.app import App
    from textual.pilot import Pilot
    from textual.screen import Screen

    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.store.second_place import SecondPlace

FRAME_SECONDS, TURN_SECONDS = 0.04, 0.002
QUIET_TURNS, LOOP_TURNS, MOST_TURNS = 3, 12, 1000
KEPT = Path(__file__).parent / "screens"
WHOLE_TAKE = 60.0 - DEAF_SECONDS
"""Seconds that outlast any take with its count-in."""


def make_app(
    box: Box, clock: ManualClock, *, second_place: SecondPlace | None = None
) -> DrillboxApp:
    """Return the app over a box, its metronome driven by the still clock."""
    return DrillboxApp(lambda: still_desk(box, clock, second_place=second_place))


async def settle(pilot: Pilot[int]) -> None:
    """Let the screen come to rest: what happened is handled, drawn, and what that set going too.

    The stand looks at its clock thirty times a second; here it does so at once. The other screens
    on which something moves are given the length of a frame, and a screen that comes up settles in
    its turn.
    """
    app = pilot.app
    settled: Screen[object] | None = None
    for _ in range(MOST_TURNS):  # the first frame comes before the box is opened
        if not isinstance(app, DrillboxApp) or app._opened is not None or app.refusal is not None:
            break
        await pilot.pause(TURN_SECONDS)
    while pilot.app.screen is not settled:
        settled = pilot.app.screen
        if isinstance(settled, Preview | DeckChoice | SoundCheck):
            await pilot.pause(FRAME_SECONDS)
        await pilot.pause(TURN_SECONDS)
        for _ in range(QUIET_TURNS):
            await let_pass(pilot.app)
            if isinstance(pilot.app.screen, Stand) and pilot.app.screen.is_mounted:
                pilot.app.screen._frame()
        await pilot.pause(0)


async def let_pass(app: App[int]) -> None:
    """Let what happened be handled, and draw.

    A pause of the pilot's, which asks every widget besides whether it has nothing left to do: that
    was a tenth of what all tests of the screens took.
    """
    for _ in range(LOOP_TURNS):
        await asyncio.sleep(0)
    await asyncio.sleep(TURN_SECONDS)
    app.screen._on_timer_update()


async def press(pilot: Pilot[int], *keys: str) -> None:
    """Press keys, and let the screen come to rest after each."""
    for key in keys:
        await pilot.press(key)
        await settle(pilot)


async def to_the_question(pilot: Pilot[int], clock: ManualClock) -> None:
    """Play the take on the stand to its end."""
    await press(pilot, "space")
    clock.forward(seconds=WHOLE_TAKE)
    await settle(pilot)


async def play(pilot: Pilot[int], clock: ManualClock, grade: str) -> None:
    """Play the take on the stand to its end, and grade it."""
    await to_the_question(pilot, clock)
    await press(pilot, grade)
    clock.forward(seconds=DEAF_SECONDS)


async def shows(pilot: Pilot[int], words: str) -> bool:
    """Wait until the screen says something, line breaks aside; return whether it ever did."""
    for pause in (0.02,) * 20 + (0.1,) * 100:
        if words in " ".join(screen_text(pilot.app).split()):
            return True
        await pilot.pause(pause)
    return False


def said(app: App[int]) -> str:
    """Return what the stand says of what just happened."""
    return str(app.screen.query_one("#notice-line", Static).content)


def check_screen(app: App[int], name: str) -> None:
    """Compare the screen that is up with the one that is kept."""
    path, shown = KEPT / f"{name}.txt", screen_text(app) + "\n"
    if os.environ.get("DRILLBOX_WRITE_SCREENS"):
        path.parent.mkdir(exist_ok=True)
        path.write_text(shown, encoding="utf-8")
    kept = path.read_text(encoding="utf-8")

    assert kept == shown


def screen_text(app: App[int]) -> str:
    """Return the rows of the screen that is up, right-stripped, joined by newlines.

    They are the words of Textual's screenshot (`App.export_screenshot`), without the picture: to
    draw that was most of what a look at the screen took.
    """
    drawn = app.screen._compositor.render_update(full=True, screen_stack=app._background_screens)
    assert isinstance(drawn, LayoutUpdate)
    rows = ("".join(strip.text for strip in row) for row in drawn.strips)
    return "\n".join(row.replace("\xa0", " ").rstrip() for row in rows)
