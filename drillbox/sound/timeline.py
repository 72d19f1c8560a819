"""When every beat of a take falls, exactly.

A `Timeline` maps beats to seconds and back. Everything that sounds (click, kit) and everything that
is drawn (playhead) asks the same timeline, so they cannot drift apart. All of it is rational
arithmetic: the time of beat one million is computed from the beat itself and never by adding up
steps.

Conventions: beat 0 is the first beat after the count-in, so the count-in has negative beats; second
0 and frame 0 are the first sample of the take, count-in included. Bars, beats and passes count from
0. A *beat* is one denominator note of the meter; a tempo counts the meter's pulses a minute (common
practice: dotted quarters in 6/8). A frame is one sample; a time falls on the frame ``round(seconds
* RATE)``, halves to even.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from drillbox.base.tempi import SOUNDED
from drillbox.errors import UsageError

if TYPE_CHECKING:
    from drillbox.rhythm import Meter, Swing

RATE = 48_000
"""Frames a second, of the engine and of every file."""


@dataclass(frozen=True, slots=True)
class TempoAt:
    """From the first beat of `bar` on, `bpm` pulses a minute."""

    bar: int
    bpm: Fraction


@dataclass(frozen=True, slots=True)
class Position:
    """Where a take stands at one frame; bars, beats and passes count from 0.

    Attributes
    ----------
    frame, seconds
        Since the first sample of the take.
    bar, beat, fraction
        Inside the count-in while `counting_in`, else inside the take; `fraction` of the beat in [0,
        1).
    pass_number, bar_in_pass
        How often the pattern has been played through, and the bar of the pattern.
    done
        The last bar is over. The rest of the position then stays at its very end.
    """

    frame: int
    seconds: float
    bar: int
    beat: int
    fraction: float
    counting_in: bool
    pass_number: int
    bar_in_pass: int
    bpm: float
    done: bool


@dataclass(frozen=True, slots=True)
class _Span:
    """A stretch of one tempo, with its first beat and that beat's time worked out."""

    beat: Fraction
    seconds: Fraction
    beat_seconds: Fraction
    bpm: Fraction


@dataclass(frozen=True, slots=True)
class Timeline:
    """The bars of one take and their tempi.

    Attributes
    ----------
    meter
        One meter for the whole take.
    tempi
        Tempo changes in order of bars, acting at bar lines. The first stands at bar 0, or before it
        for a count-in at a tempo of its own, and holds back to the start.
    bars
        Length without the count-in; ``None`` goes on for ever.
    count_in_bars
        Bars of count-in before beat 0.
    pass_bars
        Bars of one pass of the pattern that is played, for counting passes.
    """

    meter: Meter
    tempi: tuple[TempoAt, ...]
    bars: int | None = None
    count_in_bars: int = 0
    pass_bars: int = 1
    swing: Swing | None = None
    _spans: tuple[_Span, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        self._check()
        object.__setattr__(self, "_spans", self._work_out())

    def _check(self) -> None:
        bars = [tempo.bar for tempo in self.tempi]
        if not bars or bars[0] > 0 or bars != sorted(set(bars)):
            raise UsageError(
                "tempo changes are not in order of bars", fix="give the first at bar 0, then rising"
            )
        for tempo in self.tempi:
            if not SOUNDED.least <= tempo.bpm <= SOUNDED.most:
                raise UsageError(
                    f"{float(tempo.bpm):g} bpm is out of range",
                    fix=f"use {SOUNDED.least} to {SOUNDED.most}",
                )
        if (
            (self.bars is not None and self.bars < 1)
            or self.count_in_bars < 0
            or self.pass_bars < 1
        ):
            raise UsageError(
                "a take cannot have that many bars",
                fix="use one bar or more, and a count-in of 0 or more",
            )

    def _work_out(self) -> tuple[_Span, ...]:
        first = self.tempi[0]
        beat_seconds, beat = (
            beat_seconds_exact(self.meter, first.bpm),
            Fraction(first.bar * self.meter.beats),
        )
        seconds = (first.bar + self.count_in_bars) * self.meter.beats * beat_seconds
        spans = [_Span(beat, seconds, beat_seconds, first.bpm)]
        for tempo in self.tempi[1:]:
            beat, last = Fraction(tempo.bar * self.meter.beats), spans[-1]
            seconds = last.seconds + (beat - last.beat) * last.beat_seconds
            spans.append(_Span(beat, seconds, beat_seconds_exact(self.meter, tempo.bpm), tempo.bpm))
        return tuple(spans)

    @classmethod
    def steady(
        cls,
        meter: Meter,
        bpm: Fraction | float,
        *,
        bars: int | None = None,
        count_in_bars: int = 0,
        pass_bars: int = 1,
        swing: Swing | None = None,
    ) -> Timeline:
        """One tempo throughout."""
        tempi = (TempoAt(0, Fraction(bpm)),)
        return cls(meter, tempi, bars, count_in_bars, pass_bars, swing)

    @classmethod
    def ramp(
        cls,
        meter: Meter,
        bpm: Fraction | float,
        *,
        step: Fraction | float,
        every_bars: int,
        bars: int,
        count_in_bars: int = 0,
        pass_bars: int = 1,
        swing: Swing | None = None,
    ) -> Timeline:
        """Return a take that goes up (or down) by `step` bpm every `every_bars` bars."""
        if every_bars < 1:
            raise UsageError("a ramp needs bars between its steps", fix="use one bar or more")
        tempi = tuple(
            TempoAt(bar, Fraction(bpm) + Fraction(step) * number)
            for number, bar in enumerate(range(0, bars, every_bars))
        )
        return cls(meter, tempi, bars, count_in_bars, pass_bars, swing)

    @property
    def seconds_total(self) -> Fraction | None:
        """Length, count-in included; ``None`` if it goes on for ever."""
        return (
            None if self.bars is None else self.seconds_at(Fraction(self.bars * self.meter.beats))
        )

    def frames_total(self) -> int | None:
        """Length in frames, count-in included."""
        total = self.seconds_total
        return None if total is None else frame_at(total)

    def seconds_at(self, beat: Fraction) -> Fraction:
        """Return the exact second at which a written beat position is played."""
        played = self.swing.bend(beat) if self.swing else beat
        spans = self._spans
        span = spans[max(bisect_right(spans, played, key=lambda each: each.beat) - 1, 0)]
        return span.seconds + (played - span.beat) * span.beat_seconds

    def beat_at(self, seconds: Fraction) -> Fraction:
        """Return the written beat position that is played at a second.

        The inverse of `seconds_at`.
        """
        span = self._span_at(seconds)
        played = span.beat + (seconds - span.seconds) / span.beat_seconds
        return self.swing.unbend(played) if self.swing else played

    def _span_at(self, seconds: Fraction) -> _Span:
        spans = self._spans
        return spans[max(bisect_right(spans, seconds, key=lambda each: each.seconds) - 1, 0)]

    def bar_of(self, frame: int) -> int:
        """Return the bar that sounds at a frame; negative in the count-in."""
        return int(self.beat_at(_middle(frame)) // self.meter.beats)

    def position(self, frame: int) -> Position:
        """Return where the take stands at a frame."""
        total = self.frames_total()
        done = total is not None and frame >= total
        at = max(total - 1, 0) if total is not None and done else max(frame, 0)
        seconds = _middle(at)
        beat = self.beat_at(seconds)
        bar, within = divmod(beat, self.meter.beats)
        counting_in = beat < 0
        return Position(
            frame=at,
            seconds=at / RATE,
            bar=bar + self.count_in_bars if counting_in else bar,
            beat=int(within),
            fraction=float(within % 1),
            counting_in=counting_in,
            pass_number=max(bar, 0) // self.pass_bars,
            bar_in_pass=max(bar, 0) % self.pass_bars,
            bpm=float(self._span_at(seconds).bpm),
            done=done,
        )

    def with_tempo(self, bar: int, bpm: Fraction | float) -> Timeline:
        """Return the same take with another tempo from `bar` on; all before it stays as it was."""
        tempi = (TempoAt(-self.count_in_bars, self.tempi[0].bpm), *self.tempi[1:])
        kept = tuple(tempo for tempo in tempi if tempo.bar < bar)
        return replace(self, tempi=(*kept, TempoAt(bar, Fraction(bpm))))


def beat_seconds_exact(meter: Meter, bpm: Fraction) -> Fraction:
    """Return the length of one beat as a fraction of a second."""
    return 60 / (bpm * meter.pulse)


def frame_at(seconds: Fraction) -> int:
    """Return the frame on which an exact time falls: the nearest, halves to even."""
    return round(seconds * RATE)


def _middle(frame: int) -> Fraction:
    # Half a frame on, so that the frame an event was rounded to, down or up, never reads as before
    # the event.
    return Fraction(2 * frame + 1, 2 * RATE)
