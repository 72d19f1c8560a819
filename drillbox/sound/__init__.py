"""Sound: the click, the kit, loops, and the one stream that plays them.

Times are exact in `timeline`, `click` and `strikes`; `program` turns them into samples, `playalong`
and `export` put takes together; `metronome` is the engine on any `Device`. Names load their module
when first asked for, so that importing the room costs nothing and loads neither numpy nor the sound
library.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base import loading_late

if TYPE_CHECKING:
    from drillbox.sound.choosing import microphones, open_metronome, outputs
    from drillbox.sound.click import Click, ClickEvent, ClickPlan, ClickStyle, Gap, QuietDown
    from drillbox.sound.devices import Device, ManualDevice, SilentClock
    from drillbox.sound.export import Recorded, practice_track, write_wav
    from drillbox.sound.levels import Balance
    from drillbox.sound.metronome import Metronome
    from drillbox.sound.mirror import HALF, heard_back
    from drillbox.sound.pad_input import NoPads, PadHit, Pads, open_pads, pad_names
    from drillbox.sound.pattern_track import PatternTrack
    from drillbox.sound.playalong import SLOW, listen_first, play_along
    from drillbox.sound.program import Mix, Program, click_over, click_program
    from drillbox.sound.recorder import TAIL_SECONDS, Recorder
    from drillbox.sound.timeline import RATE, Position, TempoAt, Timeline

__all__ = [
    "HALF",
    "RATE",
    "SLOW",
    "TAIL_SECONDS",
    "Balance",
    "Click",
    "ClickEvent",
    "ClickPlan",
    "ClickStyle",
    "Device",
    "Gap",
    "ManualDevice",
    "Metronome",
    "Mix",
    "NoPads",
    "PadHit",
    "Pads",
    "PatternTrack",
    "Position",
    "Program",
    "QuietDown",
    "Recorded",
    "Recorder",
    "SilentClock",
    "TempoAt",
    "Timeline",
    "click_over",
    "click_program",
    "heard_back",
    "listen_first",
    "microphones",
    "open_metronome",
    "open_pads",
    "outputs",
    "pad_names",
    "play_along",
    "practice_track",
    "write_wav",
]

_LATE = {
    "click": ("ClickEvent", "ClickPlan", "ClickStyle", "Gap", "Click", "QuietDown"),
    "devices": ("Device", "ManualDevice", "SilentClock"),
    "levels": ("Balance",),
    "metronome": ("Metronome",),
    "choosing": ("microphones", "open_metronome", "outputs"),
    "mirror": ("HALF", "heard_back"),
    "pad_input": ("NoPads", "PadHit", "Pads", "open_pads", "pad_names"),
    "pattern_track": ("PatternTrack",),
    "playalong": ("SLOW", "listen_first", "play_along"),
    "export": ("Recorded", "practice_track", "write_wav"),
    "program": ("Mix", "Program", "click_over", "click_program"),
    "recorder": ("TAIL_SECONDS", "Recorder"),
    "timeline": ("RATE", "Position", "TempoAt", "Timeline"),
}
__getattr__ = loading_late(__name__, _LATE)
