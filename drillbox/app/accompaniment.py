"""What is sounded at the stand.

The programs that the clicks and backings make which a player can choose.

Their names stand with the other settings (`drillbox.box.setting_kinds`). The modules that make
sound load numpy, so they are imported only when a program is made.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import inf
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drillbox.box.settings import Settings
    from drillbox.plan import TakeShape
    from drillbox.rhythm import Pattern
    from drillbox.sound import Balance, ClickStyle, Mix, Timeline

RAMP_STEP_BPM, RAMP_EVERY_SECONDS = 5, 8.0
"""A ramp climbs by five (common practice) at the first bar line of a pass after so many seconds."""


def next_of(names: tuple[str, ...], now: str, direction: int = 1) -> str:
    """Return the name after `now`, or before it, round and round."""
    index = names.index(now) if now in names else 0
    return names[(index + direction) % len(names)]


def take_program(
    pattern: Pattern, bpm: int, shape: TakeShape, settings: Settings, *, ramp: bool
) -> Mix:
    """Return what a take sounds: count-in, then its passes, with the chosen click and backing."""
    from drillbox.sound import Timeline, play_along  # noqa: PLC0415 - see the module docstring

    steady = Timeline.steady(
        pattern.meter,
        bpm,
        bars=shape.passes * pattern.bars,
        count_in_bars=shape.count_in_bars,
        pass_bars=pattern.bars,
    )
    timeline = _climbing(steady, pattern, bpm) if ramp else steady
    return play_along(
        pattern, timeline, style=_style(pattern, settings.click), balance=_balance(settings)
    )


def _climbing(steady: Timeline, pattern: Pattern, bpm: int) -> Timeline:
    every = max(1, round(RAMP_EVERY_SECONDS / pattern.seconds(bpm))) * pattern.bars
    climbing = steady
    for step, bar in enumerate(range(every, steady.bars or 0, every), start=1):
        climbing = climbing.with_tempo(bar, bpm + step * RAMP_STEP_BPM)
    return climbing


def listening_program(pattern: Pattern, bpm: int, settings: Settings, *, slow: bool) -> Mix:
    """Return the pattern alone, slow or at its tempo."""
    from drillbox.sound import SLOW, listen_first  # noqa: PLC0415 - see the module docstring

    kit = replace(_balance(settings), kit_db=float(settings.kit_db), without=frozenset())
    return listen_first(pattern, bpm, share=SLOW if slow else Fraction(1), balance=kit)


def _style(pattern: Pattern, name: str) -> ClickStyle:
    from drillbox.sound import ClickStyle, Gap, QuietDown  # noqa: PLC0415 - see above

    made = {
        "pulse": ClickStyle(),
        "eighths": ClickStyle(subdivision=2),
        "triplets": ClickStyle(subdivision=3),
        "sixteenths": ClickStyle(subdivision=4),
        "two and four": ClickStyle.backbeats(pattern.meter),
        "only the e": ClickStyle(displaced=Fraction(1, 4)),
        "only the a": ClickStyle(displaced=Fraction(3, 4)),
        "two bars on, two off": ClickStyle(bars=Gap(2, 2)),
        "fading out": ClickStyle(bars=QuietDown(2, 3)),
    }
    return made.get(name) or ClickStyle.of_pattern(pattern)


def _balance(settings: Settings) -> Balance:
    from drillbox.rhythm import Voice  # noqa: PLC0415 - see above
    from drillbox.sound import Balance  # noqa: PLC0415 - see above

    backing = settings.backing
    return Balance(
        kit_db=-inf if backing == "click alone" else float(settings.kit_db),
        click_db=-inf if backing == "kit alone" else float(settings.click_db),
        ghosts_db=float(settings.ghosts_db),
        without=frozenset({Voice.SNARE}) if backing == "all but the snare" else frozenset(),
    )
