"""The player's settings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from drillbox.base.now import DAY_ENDS_AT, read_day_end
from drillbox.box.setting_kinds import ANY, EARLIER_FRESH, FRESH, KINDS, fits

if TYPE_CHECKING:
    from collections.abc import Mapping

    from drillbox.store import Setting


@dataclass(frozen=True, slots=True)
class Settings:
    """The player's settings, with their defaults.

    `minutes` a day; `fresh_rhythms` a day at most, `any` for no limit but the plan's own; `days`
    and `holidays` as `drillbox.base.practice_days` reads them; `day_ends_at`, the hour at which a
    practice day ends; `leading` hand ``R`` or ``L``;
    `click` and `backing` by the names of the stand; levels in dB against the usual ones; `output`,
    the sound device's name, empty for the system's own; `latency_ms` between the sound leaving the
    program and reaching the ear (Bluetooth needs 100 to 250, value from memory); `listening`, what
    hears the takes, with the names of `microphone` and `pads` as the system has them;
    `round_trip_ms` from the program through the air to the microphone, 0 where nobody measured it;
    `pad_keys`, which pad is which voice (`drillbox.ear.PadVoices`).
    """

    minutes: int = 15
    days: str = "every day"
    holidays: str = ""
    day_ends_at: int = DAY_ENDS_AT
    leading: str = "R"
    click: str = "card's grid"
    backing: str = "click alone"
    hands_free: bool = False
    fresh_rhythms: str = "8"
    kit_db: int = 0
    click_db: int = 0
    ghosts_db: int = 0
    output: str = ""
    latency_ms: int = 0
    listening: str = "off"
    microphone: str = ""
    round_trip_ms: int = 0
    pads: str = ""
    pad_keys: str = ""

    @classmethod
    def read(cls, stored: Mapping[str, Any]) -> Settings:
        """Return the stored settings over the defaults.

        What does not fit is left at its default. A limit that was set under the earlier name of
        `fresh_rhythms` still holds.
        """
        stored = {**_renamed(stored), **stored}
        return cls(
            **{name: stored[name] for name in KINDS.keys() & stored if fits(name, stored[name])}
        )


def _renamed(stored: Mapping[str, Any]) -> dict[str, Any]:
    """Return what is kept under a name that a setting had earlier, under its name now."""
    limit = stored.get(EARLIER_FRESH)
    if type(limit) is not int:
        return {}
    return {"fresh_rhythms": str(limit) if str(limit) in FRESH else ANY}


def day_ends_in(settings: Mapping[str, Setting]) -> int:
    """Return the hour at which a practice day ends, by a box's settings."""
    kept = settings.get("day_ends_at")
    return read_day_end(kept and kept.value)
