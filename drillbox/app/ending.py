"""How an app ends when the system ends it: the terminal is restored first."""

from __future__ import annotations

import asyncio
import signal
import sys
from contextlib import suppress
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from textual.app import App


def leave_cleanly_on_signals(app: App[Any]) -> None:
    """Have an app restore the terminal when its window closes or it is told to end."""
    if sys.platform == "win32":
        return
    loop = asyncio.get_running_loop()
    for number in (signal.SIGTERM, signal.SIGHUP):
        with suppress(NotImplementedError, RuntimeError):
            loop.add_signal_handler(number, app.exit, None, 128 + number)
