"""Setup: the few things about a player and a room that no plan can guess."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static
from textual.widgets.option_list import Option

from drillbox.app.accompaniment import next_of
from drillbox.app.refusals import says_refusals
from drillbox.app.widgets.choice_list import ChoiceList
from drillbox.app.widgets.fit_footer import FitFooter
from drillbox.base.now import LATEST_DAY_END
from drillbox.box.setting_kinds import (
    BACKINGS,
    CLICKS,
    FRESH,
    LATENCY_MOST,
    LEVEL_LEAST,
    LEVEL_MOST,
    LISTENING,
    LONGEST_DAY,
    SHORTEST_DAY,
)

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from drillbox.app.desk import Desk
    from drillbox.box.settings import Settings

MINUTES_STEP, LATENCY_STEP, LEVEL_STEP = 5, 10, 3
Value = int | str | bool
"""What a setting may be."""
DAYS = ("every day", "weekdays", "mon wed fri", "tue thu sat", "sat sun")
SYSTEM_OUTPUT = "the system's"
DEVICE_SETTINGS = frozenset({"output", "latency_ms", "listening", "microphone", "pads"})
"""After a change of these the devices are opened anew."""
NAMES = {
    "minutes": "Minutes a day",
    "days": "Practice days",
    "holidays": "Days off",
    "day_ends_at": "Practice day ends at",
    "fresh_rhythms": "Fresh rhythms a day",
    "leading": "Leading hand",
    "hands_free": "Hands-free",
    "click": "Click",
    "backing": "Backing",
    "click_db": "Click level",
    "kit_db": "Kit level",
    "ghosts_db": "Ghost note level",
    "output": "Sound device",
    "latency_ms": "Sound comes late by",
    "listening": "Listening at the stand",
    "microphone": "Microphone",
    "pads": "Pads",
}
LONGEST_NAME = max(map(len, NAMES.values()))
WHOLE_NUMBERS = {
    "minutes": (MINUTES_STEP, SHORTEST_DAY, LONGEST_DAY),
    "day_ends_at": (1, 0, LATEST_DAY_END),
    "latency_ms": (LATENCY_STEP, 0, LATENCY_MOST),
    "click_db": (LEVEL_STEP, LEVEL_LEAST, LEVEL_MOST),
    "kit_db": (LEVEL_STEP, LEVEL_LEAST, LEVEL_MOST),
    "ghosts_db": (LEVEL_STEP, LEVEL_LEAST, LEVEL_MOST),
}
"""Step, least and most of each setting that is a number."""


class Setup(ModalScreen[None]):
    """The settings; left and right change the highlighted one, and every change is kept at once."""

    BINDINGS: ClassVar = [
        Binding(
            "right",
            "change(1)",
            "change",
            id="setup.more",
            tooltip="The next, or the one before",
            priority=True,
            key_display="← →",
        ),
        Binding("left", "change(-1)", "less", id="setup.less", priority=True, show=False),
        Binding(
            "s",
            "sound_check",
            "sound check",
            id="setup.sound_check",
            tooltip="What the microphone or the pads give",
            priority=True,
        ),
        Binding("question_mark", "app.keys", "keys", id="setup.keys", key_display="?"),
        Binding("escape,enter", "close", "done", id="setup.done", priority=True),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._settings = desk.box.settings

    def compose(self) -> ComposeResult:
        """Lay the sheet out."""
        with Vertical(classes="sheet"):
            yield Static("Setup: every change is kept at once", classes="sheet-title")
            rows = _rows(self._settings)
            yield ChoiceList(
                *(Option(text, id=name) for name, text in rows.items()),
                id="setup-rows",
                markup=False,
            )
            yield Static("", id="setup-word", markup=False)
        yield FitFooter()

    def on_mount(self) -> None:
        """Take the keys to the rows."""
        rows = self.query_one(ChoiceList)
        rows.highlighted = 0
        rows.focus()

    @says_refusals
    def action_change(self, direction: int) -> None:
        """Change the highlighted setting."""
        rows = self.query_one(ChoiceList)
        if rows.highlighted is None:
            return
        name = rows.get_option_at_index(rows.highlighted).id or ""
        if name == "holidays":
            self.say_refusal("Days off are dates: drillbox set holidays 2026-12-24..2027-01-02")
            return
        now = getattr(self._desk.box.settings, name)
        self._desk.box.change_settings(
            at=self._desk.clock.now(), **{name: self._changed(name, now, direction)}
        )
        self.say_refusal("")
        if name in DEVICE_SETTINGS:
            self._desk.reopen_devices()
        for row, text in _rows(self._desk.box.settings).items():
            rows.replace_option_prompt(row, text)

    def say_refusal(self, sentence: str) -> None:
        """Say under the rows why nothing was changed, until something is."""
        self.query_one("#setup-word", Static).update(sentence)

    def _changed(self, name: str, now: Value, direction: int) -> Value:
        if isinstance(now, bool):
            return not now
        if isinstance(now, int):
            step, least, most = WHOLE_NUMBERS[name]
            return min(max(now + direction * step, least), most)
        names = {
            "days": DAYS,
            "fresh_rhythms": FRESH,
            "leading": ("R", "L"),
            "click": CLICKS,
            "backing": BACKINGS,
            "listening": LISTENING,
        }
        devices = self._desk.devices
        there = {
            "output": devices.outputs,
            "microphone": devices.microphones,
            "pads": devices.pad_names,
        }
        return next_of(names.get(name) or ("", *there[name]()), now, direction)

    def action_sound_check(self) -> None:
        """Look at what the microphone or the pads give."""
        from drillbox.app.screens.sound_check import SoundCheck  # noqa: PLC0415 - when opened

        self.app.push_screen(SoundCheck(self._desk))

    def action_close(self) -> None:
        """Close the sheet."""
        self.dismiss(None)


def _rows(settings: Settings) -> dict[str, str]:
    shown = {
        "minutes": f"{settings.minutes}",
        "days": settings.days,
        "holidays": settings.holidays or "none",
        "day_ends_at": f"{settings.day_ends_at}:00",
        "fresh_rhythms": settings.fresh_rhythms,
        "leading": "right" if settings.leading == "R" else "left",
        "hands_free": "on" if settings.hands_free else "off",
        "click": settings.click,
        "backing": settings.backing,
        "click_db": f"{settings.click_db:+d} dB",
        "kit_db": f"{settings.kit_db:+d} dB",
        "ghosts_db": f"{settings.ghosts_db:+d} dB",
        "output": settings.output or SYSTEM_OUTPUT,
        "latency_ms": f"{settings.latency_ms} ms (Bluetooth: often 100 to 250)",
        "listening": settings.listening,
        "microphone": settings.microphone or SYSTEM_OUTPUT,
        "pads": settings.pads or "the first there are",
    }
    return {name: f"{label:<{LONGEST_NAME}}  {shown[name]}" for name, label in NAMES.items()}
