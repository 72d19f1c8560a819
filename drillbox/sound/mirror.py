"""A take heard back, slowly, against the click it was played to.

Slowed as a tape is: half the speed is an octave lower, and every stroke keeps its place, so that
what came early or late is heard twice as far from the click.

Conventions: as in `drillbox.sound.timeline`; mono float32.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from drillbox.base.tempi import SOUNDED
from drillbox.sound.click import ClickPlan, ClickStyle
from drillbox.sound.levels import USUAL
from drillbox.sound.program import ClickTrack, Hit, Mix
from drillbox.sound.timeline import RATE, Timeline, frame_at

if TYPE_CHECKING:
    from drillbox.rhythm import Pattern
    from drillbox.sound.tones import Samples

HALF = Fraction(1, 2)
_LOUDEST, _MOST_GAIN = 0.7, 30.0


@dataclass(frozen=True, slots=True)
class TakeTrack:
    """A recording over a timeline, cut at its bar lines, so that nothing is heard twice.

    Attributes
    ----------
    samples
        At the timeline's own speed, from its first beat on.
    timeline
        Bars and tempo at which it is heard.
    ring
        Nothing rings past the end of a bar.
    """

    samples: Samples = field(repr=False, compare=False)
    timeline: Timeline
    ring: int = 0

    def hits(self, bar: int) -> tuple[Hit, ...]:
        """Return the stretch of the recording that falls into a bar."""
        zero = self._line(0)
        first, last = self._line(bar), self._line(bar + 1)
        part = self.samples[max(first - zero, 0) : max(last - zero, 0)]
        return (Hit(first, part),) if bar >= 0 and len(part) else ()

    def _line(self, bar: int) -> int:
        return frame_at(self.timeline.seconds_at(Fraction(bar * self.timeline.meter.beats)))

    def over(self, timeline: Timeline) -> TakeTrack:
        """Return the same recording on another timeline."""
        return replace(self, timeline=timeline)


def heard_back(
    samples: Samples,
    start: float,
    pattern: Pattern,
    bpm: Fraction | float,
    *,
    passes: int,
    share: Fraction = HALF,
) -> Mix:
    """Return a take with the click, at a share of its tempo, without a count-in.

    Parameters
    ----------
    samples
        The recording at `RATE`.
    start
        Seconds at which the first beat was heard in it.
    pattern, bpm, passes
        What was played, at what tempo, how often.
    share
        How fast it is heard: half the tempo, or 1.
    """
    slowed = max(Fraction(bpm) * share, Fraction(SOUNDED.least))
    timeline = Timeline.steady(
        pattern.meter, slowed, bars=passes * pattern.bars, pass_bars=pattern.bars
    )
    factor = float(Fraction(bpm) / slowed)
    frames = timeline.frames_total() or 0
    places = start * RATE + np.arange(frames) / factor
    taken = np.interp(places, np.arange(len(samples)), samples, right=0.0)
    loudest = float(np.abs(taken).max(initial=0.0))
    gain = min(_LOUDEST / loudest, _MOST_GAIN) if loudest else 1.0
    track = TakeTrack((taken * gain).astype(np.float32), timeline)
    return Mix(timeline, (ClickTrack(ClickPlan(timeline, ClickStyle()), USUAL), track))
