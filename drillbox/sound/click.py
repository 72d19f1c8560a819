"""What the metronome plays: every click of a take with its exact time.

A `ClickPlan` lays a `ClickStyle` over a `Timeline`. It knows nothing of samples. Clicks stand on
the pulses of the meter (common practice: each beat in x/4, the first of each group in x/8, such as
dotted quarters in 6/8 and 2+2+3 in 7/8) and on the subdivisions asked for. Everything a style
leaves out or moves is left out and moved after the count-in, which always sounds every pulse.

Conventions: as in `drillbox.sound.timeline`; subdivisions are clicks per beat of the meter; levels
in dB.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import accumulate, count
from typing import TYPE_CHECKING

from drillbox.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from drillbox.rhythm import Meter, Pattern
    from drillbox.sound.timeline import Timeline


class Click(StrEnum):
    """What a click marks."""

    COUNT_IN = "count-in"
    FIRST = "first beat"
    PULSE = "pulse"
    SUBDIVISION = "subdivision"


@dataclass(frozen=True, slots=True)
class ClickEvent:
    """One click: its written beat position, its exact second, what it marks, and its level."""

    beat: Fraction
    seconds: Fraction
    kind: Click
    db: float = 0.0


@dataclass(frozen=True, slots=True)
class Gap:
    """A click that comes and goes, to test inner time.

    `on` bars heard, `off` bars silent, and again.
    """

    on: int
    off: int

    def db(self, bar: int) -> float | None:
        """Return the level of a bar; ``None`` is silence."""
        return 0.0 if bar % (self.on + self.off) < self.on else None


@dataclass(frozen=True, slots=True)
class QuietDown:
    """A click that withdraws.

    `after` bars in full, then 6 dB softer each bar for `over` bars, then silence.
    """

    after: int
    over: int

    def db(self, bar: int) -> float | None:
        """Return the level of a bar; ``None`` is silence."""
        steps = max(bar - self.after + 1, 0)
        return -6.0 * steps if steps <= self.over else None


@dataclass(frozen=True, slots=True)
class ClickStyle:
    """Which clicks sound.

    Attributes
    ----------
    subdivision
        Clicks per beat between the pulses; ``None`` clicks the pulses alone. In x/4: 2 eighths, 3
        triplets, 4 sixteenths, 6 sixteenth triplets. In x/8 a beat is an eighth: 1 eighths, 2
        sixteenths.
    grids
        Clicks per beat for every beat of a pattern in turn, instead of one `subdivision`; see
        `of_pattern`.
    only
        The pulses of a bar, from 0, that sound, and nothing else: ``(1, 3)`` is two and four.
    displaced
        Beats by which every click is late, against what it marks: 1/4 clicks on each e, 3/4 on each
        a. The first beat is then not accented, or it would be heard as one.
    bars
        Bars in which the click is silent or softer.
    """

    subdivision: Fraction | int | None = None
    grids: tuple[int, ...] = ()
    only: tuple[int, ...] = ()
    displaced: Fraction = Fraction(0)
    bars: Gap | QuietDown | None = None

    def __post_init__(self) -> None:
        if self.subdivision is not None and not 0 < self.subdivision <= 16:
            raise UsageError(
                f"{self.subdivision} clicks a beat cannot be heard apart", fix="use up to 16"
            )
        subdivided = self.subdivision is not None or bool(self.grids)
        if subdivided and (self.only or self.displaced):
            raise UsageError(
                "a click on chosen places cannot be subdivided as well", fix="choose one of the two"
            )
        if not 0 <= self.displaced < 1:
            raise UsageError(
                f"a click cannot be {self.displaced} beats late", fix="use 0 to below 1"
            )

    @classmethod
    def of_pattern(cls, pattern: Pattern) -> ClickStyle:
        """Return clicks on the pattern's own grid, beat by beat."""
        return cls(grids=pattern.grids)

    @classmethod
    def backbeats(cls, meter: Meter) -> ClickStyle:
        """Return clicks on every second pulse: two and four in 4/4."""
        return cls(only=tuple(range(1, len(pulse_positions(meter)), 2)))


PULSES = ClickStyle()


@dataclass(frozen=True, slots=True)
class ClickPlan:
    """The clicks of a take."""

    timeline: Timeline
    style: ClickStyle = PULSES

    def events(self) -> Iterator[ClickEvent]:
        """Yield every click in order of time; without end if the take has none."""
        bars = self.timeline.bars
        first = -self.timeline.count_in_bars
        for bar in count(first) if bars is None else range(first, bars):
            yield from self.bar_events(bar)

    def bar_events(self, bar: int) -> tuple[ClickEvent, ...]:
        """Return the clicks of one bar; negative bars are the count-in."""
        start = bar * self.timeline.meter.beats
        db = self.style.bars.db(bar) if self.style.bars is not None and bar >= 0 else 0.0
        if db is None:
            return ()
        return tuple(
            ClickEvent(start + within, self.timeline.seconds_at(start + within), kind, db)
            for within, kind in self._bar_layout(bar)
        )

    def _bar_layout(self, bar: int) -> tuple[tuple[Fraction, Click], ...]:
        style, pulses = self.style, pulse_positions(self.timeline.meter)
        if bar < 0:
            return tuple((at, Click.COUNT_IN) for at in pulses)
        if style.displaced:
            return tuple((at + style.displaced, Click.PULSE) for at in self._chosen(pulses))
        if style.only:
            return tuple((at, Click.PULSE) for at in self._chosen(pulses))
        kinds = dict.fromkeys(self._subdivisions(bar), Click.SUBDIVISION)
        kinds |= dict.fromkeys(pulses, Click.PULSE)
        kinds[Fraction(0)] = Click.FIRST
        return tuple(sorted(kinds.items()))

    def _chosen(self, pulses: tuple[Fraction, ...]) -> tuple[Fraction, ...]:
        if not self.style.only:
            return pulses
        return tuple(at for pulse, at in enumerate(pulses) if pulse in self.style.only)

    def _subdivisions(self, bar: int) -> Iterator[Fraction]:
        beats, style = self.timeline.meter.beats, self.style
        if style.grids:
            for beat in range(beats):
                per_beat = style.grids[(bar * beats + beat) % len(style.grids)]
                yield from (beat + Fraction(slot, per_beat) for slot in range(per_beat))
        elif style.subdivision is not None:
            step = 1 / Fraction(style.subdivision)
            yield from (slot * step for slot in range(-(-beats // step)))


def pulse_positions(meter: Meter) -> tuple[Fraction, ...]:
    """Return the beats of a bar on which its pulses stand."""
    lengths = (1,) * meter.beats if meter.unit == 4 else meter.groups
    return tuple(Fraction(at) for at in accumulate(lengths[:-1], initial=0))
