"""The first line of a page: what it is on the left, and what may change at the right end."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import Horizontal
from textual.widgets import Static

if TYPE_CHECKING:
    from textual.widget import Widget


def headline(title: str = "", *between: Widget, clock: str = "") -> Horizontal:
    """Return the first line of a page, its parts ``#title`` and ``#clock``.

    Parameters
    ----------
    title, clock
        What stands there before the page fills it.
    between
        What stands between them.
    """
    return Horizontal(
        Static(title, id="title", markup=False),
        *between,
        Static(clock, id="clock", markup=False),
        classes="headline",
    )
