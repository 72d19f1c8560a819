"""The check of the whole file, in a thread behind the first screens: it may take half a second."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from drillbox.app.screens.today import Today
from drillbox.errors import DrillboxError

if TYPE_CHECKING:
    from textual.app import App

    from drillbox.app.desk import Desk


def check_in_background(app: App[int], desk: Desk) -> None:
    """Start the check; damage that it finds is said, and stops every write from then on."""
    app.run_worker(partial(_check, app, desk), thread=True)


def _check(app: App[int], desk: Desk) -> None:
    try:
        desk.box.check()
    except DrillboxError as damage:
        desk.news = f"{damage.sentence()} Nothing is written to it any more."
        app.call_from_thread(_tell, app, desk.news)


def _tell(app: App[int], news: str) -> None:
    """Say it once on any screen, and on Today for good: nothing else may be drawn there."""
    if not isinstance(app.screen, Today):
        app.notify(news, severity="error", markup=False)
    for screen in app.screen_stack:
        if isinstance(screen, Today):
            screen.tell(news)
