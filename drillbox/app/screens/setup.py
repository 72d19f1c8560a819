"""Setup: the few things about a player and a room that no plan can guess."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from drillbox.app.accompaniment import next_of
from drillbox.app.refusals import says_refusals
from drillbox.base.now import LATEST_DAY_END
from drillbox.box.setting_kinds import (
    BACKINGS,
    CLICKS,
    LATENCY_MOST,
    LEVEL_LEAST,
    LEVEL_MOST,
    NO_LIMIT,
)

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.box.views import Settings

LATENCY_STEP, LEVEL_STEP = 10, 3
LEVELS = {"kit_db": "Kit", "click_db": "Click", "ghosts_db": "Ghost notes"}
DAYS = ("every day", "weekdays", "mon wed fri", "tue thu sat", "sat sun")
MOST_NEW = 6
SYSTEM_OUTPUT = "the system's"


class Setup(ModalScreen[None]):
    """The settings; left and right change the highlighted one, and every change is kept at once."""

    BINDINGS: ClassVar = [
        Binding("right", "change(1)", "more", id="setup.more", priority=True),
        Binding("left", "change(-1)", "less", id="setup.less", priority=True),
        Binding("escape,enter", "close", "done", id="setup.done", priority=True),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._settings = desk.box.settings

    def compose(self) -> ComposeResult:
        """Lay the sheet out."""
        with Vertical(classes="sheet"):
            yield Static("Setup: up and down choose, left and right change", classes="sheet-title")
            rows = _rows(self._settings)
            yield OptionList(
                *(Option(text, id=name) for name, text in rows.items()),
                id="setup-rows",
                markup=False,
            )
            yield Static("esc: done", markup=False)

    def on_mount(self) -> None:
        """Take the keys to the rows."""
        rows = self.query_one(OptionList)
        rows.highlighted = 0
        rows.focus()

    @says_refusals
    def action_change(self, direction: int) -> None:
        """Change the highlighted setting."""
        rows = self.query_one(OptionList)
        if rows.highlighted is None:
            return
        name = rows.get_option_at_index(rows.highlighted).id or ""
        now = getattr(self._desk.box.settings, name)
        self._desk.box.change_settings(
            at=self._desk.clock.now(), **{name: self._changed(name, now, direction)}
        )
        if name in {"output", "latency_ms"}:
            self._desk.reopen_metronome()
        for row, text in _rows(self._desk.box.settings).items():
            rows.replace_option_prompt(row, text)

    def _changed(self, name: str, now: int | str | bool, direction: int) -> int | str | bool:  # noqa: FBT001 - one of the settings
        if isinstance(now, bool):
            return not now
        if isinstance(now, int):
            if name == "latency_ms":
                return min(max(now + direction * LATENCY_STEP, 0), LATENCY_MOST)
            if name == "day_ends_at":
                return min(max(now + direction, 0), LATEST_DAY_END)
            if name == "new_cards":
                return _next_most_new(now, direction)
            return min(max(now + direction * LEVEL_STEP, LEVEL_LEAST), LEVEL_MOST)
        names = {"days": DAYS, "leading": ("R", "L"), "click": CLICKS, "backing": BACKINGS}
        return next_of(names.get(name) or ("", *self._desk.outputs()), now, direction)

    def action_close(self) -> None:
        """Close the sheet."""
        self.dismiss(None)


def _most_new(settings: Settings) -> str:
    no_limit = settings.new_cards >= NO_LIMIT
    return "as many as the plan finds room for" if no_limit else f"{settings.new_cards} at most"


def _next_most_new(now: int, direction: int) -> int:
    most = min(now, MOST_NEW + 1) + direction
    return NO_LIMIT if most > MOST_NEW else max(most, 0)


def _rows(settings: Settings) -> dict[str, str]:
    def level(name: str) -> str:
        return f"{LEVELS[name]:<22}{getattr(settings, name):+d} dB"

    return {
        "days": f"{'Practice days':<22}{settings.days}",
        "day_ends_at": f"{'Practice day ends at':<22}{settings.day_ends_at}:00",
        "leading": f"{'Leading hand':<22}{'right' if settings.leading == 'R' else 'left'}",
        "click": f"{'Click':<22}{settings.click}",
        "backing": f"{'Backing':<22}{settings.backing}",
        "hands_free": f"{'Hands-free':<22}{'on' if settings.hands_free else 'off'}",
        "new_cards": f"{'New cards a day':<22}{_most_new(settings)}",
        "kit_db": level("kit_db"),
        "click_db": level("click_db"),
        "ghosts_db": level("ghosts_db"),
        "output": f"{'Sound device':<22}{settings.output or SYSTEM_OUTPUT}",
        "latency_ms": f"{'Sound comes late by':<22}{settings.latency_ms} ms"
        " (Bluetooth: often 100 to 250)",
    }
