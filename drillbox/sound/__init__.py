"""Sound: the click, the kit, loops, and the one stream that plays them.

Times are exact in `timeline` and `click`; samples are made in `tones` and `program`; `metronome` is the engine on
any `Device`. Names load their module when first asked for, so that importing the room costs nothing and loads
neither numpy nor the sound library.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from drillbox.sound.click import ClickEvent, ClickPlan, ClickStyle, Kind
    from drillbox.sound.devices import Device, ManualDevice, SilentClock
    from drillbox.sound.metronome import Metronome
    from drillbox.sound.opening import open_metronome
    from drillbox.sound.program import Mix, Program, click_over, click_program
    from drillbox.sound.timeline import RATE, Position, Swing, TempoAt, Timeline

__all__ = [
    "RATE",
    "ClickEvent",
    "ClickPlan",
    "ClickStyle",
    "Device",
    "Kind",
    "ManualDevice",
    "Metronome",
    "Mix",
    "Position",
    "Program",
    "SilentClock",
    "Swing",
    "TempoAt",
    "Timeline",
    "click_over",
    "click_program",
    "open_metronome",
]

_HOMES = {
    "click": ("ClickEvent", "ClickPlan", "ClickStyle", "Kind"),
    "devices": ("Device", "ManualDevice", "SilentClock"),
    "metronome": ("Metronome",),
    "opening": ("open_metronome",),
    "program": ("Mix", "Program", "click_over", "click_program"),
    "timeline": ("RATE", "Position", "Swing", "TempoAt", "Timeline"),
}
_MODULE_OF = {name: module for module, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
