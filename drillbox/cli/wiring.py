"""The one place that meets the real world: paths, the environment, the clock, the sound device, the terminal.

``DRILLBOX_BOX`` names the box file, ``DRILLBOX_PACE`` lets a rehearsal run faster than life (docs/design.md).
"""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from drillbox.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from drillbox.box import Box
    from drillbox.clock import SystemClock
    from drillbox.sound import Metronome

BOX_VARIABLE = "DRILLBOX_BOX"
PACE_VARIABLE = "DRILLBOX_PACE"
FASTEST_PACE = 1000.0


def box_path(asked: str | None) -> Path:
    """Return where the box is: as asked, else as the environment says, else the user's data folder."""
    named = asked or os.environ.get(BOX_VARIABLE)
    if named:
        return Path(named).expanduser()
    import platformdirs

    return Path(platformdirs.user_data_dir("drillbox", appauthor=False)) / "player.box"


def clock() -> SystemClock:
    """Return the machine's clock, at the pace the environment asks for."""
    from drillbox.clock import SystemClock

    asked = os.environ.get(PACE_VARIABLE, "1")
    try:
        pace = float(asked)
    except ValueError:
        pace = 0.0
    if not 0.0 < pace <= FASTEST_PACE:
        raise UsageError(
            f"{asked!r} is no pace", where=PACE_VARIABLE, fix=f"use 1 to {FASTEST_PACE:.0f}"
        )
    return SystemClock(pace=pace)


@contextmanager
def open_box(asked: str | None, *, read_only: bool = False) -> Iterator[Box]:
    """Open the box for one command and let it go after."""
    from drillbox.box import Box

    box = Box.open(box_path(asked), clock=clock(), read_only=read_only)
    try:
        yield box
    finally:
        box.close()


def run_app(asked: str | None) -> int:
    """Run the terminal application; returns its exit code."""
    require_terminal()
    from drillbox.app.app import DrillboxApp
    from drillbox.app.desk import Desk

    time = clock()
    with open_box(asked) as box:

        def open_metronome() -> Metronome:
            from drillbox.sound import open_metronome

            rehearsal = os.environ.get(PACE_VARIABLE, "1") != "1"
            return open_metronome(
                prefer="silent" if rehearsal else "auto",
                clock=time.seconds,
                latency_ms=box.settings.latency_ms,
            )

        app = DrillboxApp(Desk(box, time, open_metronome))
        with _screen_kept_from_libraries():
            app.run()
        return app.return_code or 0


def require_terminal() -> None:
    """Refuse to draw screens into a pipe."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageError(
            "the app needs a terminal", fix="run 'drillbox today' for today's plan as text"
        )


@contextmanager
def _screen_kept_from_libraries() -> Iterator[None]:
    """Keep what sound libraries print on file descriptor 2 off the screen, which is drawn there.

    Textual draws on ``sys.__stderr__``; that stream moves to a private copy of the descriptor while 2 itself points at
    nothing.
    """
    if sys.__stderr__ is None:
        yield
        return
    original, screen = os.dup(2), os.dup(2)
    shown, sys.__stderr__ = sys.__stderr__, os.fdopen(screen, "w", encoding="utf-8")  # type: ignore[misc]
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 2)
    os.close(silence)
    try:
        yield
    finally:
        os.dup2(original, 2)
        os.close(original)
        sys.__stderr__ = shown  # type: ignore[misc]
