"""What the engine plays: sound as a pure function of the frame.

A `Program` can be asked for any stretch of frames, in any order and in blocks of any size, and
always answers with the same samples. So the live stream, a file and a test hear the same thing, and
a loop has no seam.

A `Mix` is the one real program: tracks laid over a timeline. A track says for every bar which
sounds start at which frame; a sound that is longer than its bar rings on into the next ones.

Conventions: as in `drillbox.sound.timeline`; mono float32, full scale 1.0.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Protocol, Self

import numpy as np

from drillbox.sound.click import PULSES, Click, ClickPlan, ClickStyle
from drillbox.sound.levels import USUAL, Balance, decibels
from drillbox.sound.timeline import Timeline, frame_at
from drillbox.sound.tones import Samples, tone

if TYPE_CHECKING:
    from fractions import Fraction

    from drillbox.rhythm import Meter
    from drillbox.sound.timeline import Position


_BARS_AHEAD = 3
_KNEE = 0.8
_CEILING = 0.98


class Program(Protocol):
    """Sound over frames, and where in the music each frame lies."""

    @property
    def frames_total(self) -> int | None:
        """Length of the take; ``None`` goes on for ever.

        What rings on after it may still be asked for.
        """

    def block(self, start: int, frames: int) -> Samples:
        """Return the samples of frames ``start`` to ``start + frames``, shape ``(frames,)``."""

    def position(self, frame: int) -> Position:
        """Return where the take stands at a frame."""

    def with_tempo_after(self, frame: int, bpm: Fraction | float) -> Self:
        """Return the same take with another tempo from the first bar line after a frame on."""


@dataclass(frozen=True, slots=True)
class Hit:
    """One sound that starts at one frame."""

    frame: int
    sound: Samples
    gain: float = 1.0


class Track(Protocol):
    """The hits of each bar, and how many frames the longest of its sounds rings."""

    @property
    def ring(self) -> int:
        """Length of the longest sound, in frames."""

    def hits(self, bar: int) -> tuple[Hit, ...]:
        """Return what starts in a bar, in order of frames; negative bars are the count-in."""

    def over(self, timeline: Timeline) -> Track:
        """Return the same track on another timeline."""


@dataclass(frozen=True, slots=True)
class Mix:
    """Tracks over a timeline.

    Bars are worked out once and kept. Whoever watches the position works out the bars ahead in
    passing, so that in live use the sound card's thread finds them ready.
    """

    timeline: Timeline
    tracks: tuple[Track, ...]
    _bars: dict[int, tuple[Hit, ...]] = field(default_factory=dict, repr=False, compare=False)

    @property
    def frames_total(self) -> int | None:
        """Length of the take in frames, count-in included."""
        return self.timeline.frames_total()

    @property
    def ring(self) -> int:
        """Frames for which the last sound may go on after the end."""
        return max((track.ring for track in self.tracks), default=0)

    def position(self, frame: int) -> Position:
        """Return where the take stands at a frame."""
        bar = self.timeline.bar_of(frame)
        for ahead in range(_BARS_AHEAD):
            self._hits(bar + ahead)
        return self.timeline.position(frame)

    def with_tempo_after(self, frame: int, bpm: Fraction | float) -> Mix:
        """Return the same take with another tempo from the first bar line after a frame on."""
        timeline = self.timeline.with_tempo(self.timeline.bar_of(frame) + 1, bpm)
        return Mix(timeline, tuple(track.over(timeline) for track in self.tracks))

    def block(self, start: int, frames: int) -> Samples:
        """Return the samples of frames ``start`` to ``start + frames``."""
        out = np.zeros(frames, dtype=np.float32)
        stop = start + frames
        # A hit may lie a rounding before its bar line, hence one bar more on each side.
        first = self.timeline.bar_of(start - self.ring) - 1
        for bar in range(first, self.timeline.bar_of(stop) + 2):
            for hit in self._hits(bar):
                if hit.frame < stop and hit.frame + len(hit.sound) > start:
                    _add(out, hit, start)
        return _within_full_scale(out)

    def _hits(self, bar: int) -> tuple[Hit, ...]:
        bars = self.timeline.bars
        if bar < -self.timeline.count_in_bars or (bars is not None and bar >= bars):
            return ()
        if bar not in self._bars:
            self._bars[bar] = tuple(hit for track in self.tracks for hit in track.hits(bar))
        return self._bars[bar]


def _add(out: Samples, hit: Hit, start: int) -> None:
    at = hit.frame - start
    begin, end = max(at, 0), min(at + len(hit.sound), len(out))
    out[begin:end] += hit.sound[begin - at : end - at] * np.float32(hit.gain)


def _within_full_scale(samples: Samples) -> Samples:
    # Leaves all below the knee as it is, and bends what is above so that it never passes the
    # ceiling. Looking at one sample at a time, it does the same in blocks of any size.
    size = np.abs(samples)
    if len(samples) and size.max() > _KNEE:
        over = np.maximum(size - _KNEE, 0) / (_CEILING - _KNEE)
        bent = np.minimum(size, _KNEE) + (_CEILING - _KNEE) * np.tanh(over)
        return np.asarray(np.copysign(bent, samples), dtype=np.float32)
    return samples


@dataclass(frozen=True, slots=True)
class ClickTrack:
    """The clicks of a plan as hits."""

    plan: ClickPlan
    balance: Balance = USUAL

    @property
    def ring(self) -> int:
        """Length of the longest click, in frames."""
        return len(tone(Click.FIRST))

    def hits(self, bar: int) -> tuple[Hit, ...]:
        """Return the clicks that start in a bar."""
        return tuple(
            Hit(
                frame_at(event.seconds),
                tone(event.kind),
                decibels(event.db + self.balance.click_db),
            )
            for event in self.plan.bar_events(bar)
        )

    def over(self, timeline: Timeline) -> ClickTrack:
        """Return the same clicks on another timeline."""
        return replace(self, plan=replace(self.plan, timeline=timeline))


def click_program(
    meter: Meter,
    bpm: Fraction | float,
    *,
    bars: int | None = None,
    count_in_bars: int = 1,
    pass_bars: int = 1,
    style: ClickStyle = PULSES,
) -> Mix:
    """Return a metronome.

    A count-in, then `bars` bars of clicks at one tempo, or clicks without end.
    """
    timeline = Timeline.steady(
        meter, bpm, bars=bars, count_in_bars=count_in_bars, pass_bars=pass_bars
    )
    return click_over(timeline, style)


def click_over(timeline: Timeline, style: ClickStyle = PULSES) -> Mix:
    """Return a metronome over any timeline, tempo changes included."""
    return Mix(timeline, (ClickTrack(ClickPlan(timeline, style)),))
