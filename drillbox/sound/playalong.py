"""Takes to listen to and to play with: a pattern on the kit, the click over it, or one of the two.

Conventions: as in `drillbox.sound.timeline`; a *pass* is the pattern once through.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from drillbox.base.tempi import SOUNDED
from drillbox.sound.click import ClickPlan, ClickStyle
from drillbox.sound.levels import USUAL, Balance
from drillbox.sound.pattern_track import PatternTrack
from drillbox.sound.program import ClickTrack, Mix
from drillbox.sound.timeline import Timeline

if TYPE_CHECKING:
    from drillbox.rhythm import Pattern

SLOW = Fraction(2, 3)
"""The share of its tempo at which a pattern is first heard slowly: a judgement."""


def play_along(
    pattern: Pattern,
    timeline: Timeline,
    *,
    style: ClickStyle | None = None,
    balance: Balance = USUAL,
) -> Mix:
    """Return the pattern on the kit with the click over it.

    Parameters
    ----------
    pattern
        Repeated to the end of the take.
    timeline
        Bars and tempi, count-in included.
    style
        The click; by default on the pattern's own grid.
    balance
        Levels, and voices the player supplies. A muted kit is the click alone, a muted click the
        kit alone.
    """
    timeline = _as_felt(timeline, pattern)
    clicks = ClickPlan(timeline, style or ClickStyle.of_pattern(pattern))
    return Mix(timeline, (ClickTrack(clicks, balance), PatternTrack(pattern, timeline, balance)))


def listen_first(
    pattern: Pattern,
    bpm: Fraction | float,
    *,
    passes: int = 2,
    share: Fraction = Fraction(1),
    balance: Balance = USUAL,
) -> Mix:
    """Return the pattern without click or count-in, at a share of its tempo (such as `SLOW`)."""
    slowed = max(Fraction(bpm) * share, Fraction(SOUNDED.least))
    timeline = Timeline.steady(
        pattern.meter,
        slowed,
        bars=passes * pattern.bars,
        pass_bars=pattern.bars,
    )
    timeline = _as_felt(timeline, pattern)
    return Mix(timeline, (PatternTrack(pattern, timeline, balance),))


def _as_felt(timeline: Timeline, pattern: Pattern) -> Timeline:
    """Return the timeline with the swing that the pattern is written in."""
    return timeline if pattern.swing is None else replace(timeline, swing=pattern.swing)
