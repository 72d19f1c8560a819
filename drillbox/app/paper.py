"""From a screen to paper: each function opens the page that shows a sheet before it is written."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drillbox.app.screens.sheet import SheetPage
from drillbox.errors import UsageError
from drillbox.report.sheet_contents import cards_sheet, todays_plan, vocabulary
from drillbox.rhythm import Hand

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import App

    from drillbox.app.desk import Desk
    from drillbox.box.views import CardView
    from drillbox.paper import Sheet


def cards_on_paper(app: App[Any], desk: Desk, views: Sequence[CardView]) -> None:
    """Show cards as an exercise sheet."""
    if views:
        _show(app, desk, cards_sheet(views, leading=_leading(desk)))


def plan_on_paper(app: App[Any], desk: Desk) -> None:
    """Show the day's plan as a sheet to be graded with a pencil."""
    box, now = desk.box, desk.clock.now()
    minutes = box.minutes_today(at=now)
    try:
        sheet = todays_plan(box, at=now, minutes=minutes, leading=_leading(desk))
    except UsageError as empty:
        what = "Nothing is left to play today that could be printed"
        raise UsageError(what, fix="s, then e, prints the cards of the shelf") from empty
    _show(app, desk, sheet)


def map_on_paper(app: App[Any], desk: Desk) -> None:
    """Show the map of the vocabulary as a sheet."""
    box, now = desk.box, desk.clock.now()
    day = box.now(now).day
    try:
        sheet = vocabulary(box.cards(at=now), day=day, leading=_leading(desk))
    except UsageError as empty:
        what = "No card has ghosts of a grid on every beat, so the map is empty"
        fix = "s, then a, adds a deck such as Sixteenth ghosts"
        raise UsageError(what, fix=fix) from empty
    _show(app, desk, sheet)


def _leading(desk: Desk) -> Hand:
    return Hand(desk.box.settings.leading)


def _show(app: App[Any], desk: Desk, sheet: Sheet) -> None:
    app.push_screen(SheetPage(sheet, leading=_leading(desk), at=desk.clock.now()))
