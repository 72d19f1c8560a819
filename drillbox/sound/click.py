"""What the metronome plays: every click of a take with its exact time.

A `ClickPlan` lays a `ClickStyle` over a `Timeline`. It knows nothing of samples. Clicks stand on the pulses of
the meter (common practice: each beat in x/4, the first of each group in x/8, such as dotted quarters in 6/8 and
2+2+3 in 7/8) and on the subdivisions asked for.

Conventions: as in `drillbox.sound.timeline`; subdivisions are clicks per beat of the meter.
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

    from drillbox.rhythm import Meter
    from drillbox.sound.timeline import Timeline


class Kind(StrEnum):
    """What a click marks."""

    COUNT_IN = "count-in"
    FIRST = "first beat"
    PULSE = "pulse"
    SUBDIVISION = "subdivision"


@dataclass(frozen=True, slots=True)
class ClickEvent:
    """One click: its written beat position, its exact second, and what it marks."""

    beat: Fraction
    seconds: Fraction
    kind: Kind


@dataclass(frozen=True, slots=True)
class ClickStyle:
    """Which clicks sound.

    Attributes
    ----------
    subdivision
        Clicks per beat between the pulses; ``None`` clicks the pulses alone. In x/4: 2 eighths, 3 triplets,
        4 sixteenths, 6 sixteenth triplets. In x/8 a beat is an eighth: 1 eighths, 2 sixteenths.
    """

    subdivision: Fraction | int | None = None

    def __post_init__(self) -> None:
        if self.subdivision is not None and not 0 < self.subdivision <= 16:
            raise UsageError(
                f"{self.subdivision} clicks a beat cannot be heard apart", fix="use up to 16"
            )


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
        """Return the clicks of one bar; negative bars are the count-in, which sounds its pulses only."""
        start = bar * self.timeline.meter.beats
        return tuple(
            ClickEvent(start + within, self.timeline.seconds_at(start + within), kind)
            for within, kind in self._bar_layout(counting_in=bar < 0)
        )

    def _bar_layout(self, *, counting_in: bool) -> tuple[tuple[Fraction, Kind], ...]:
        meter = self.timeline.meter
        if counting_in:
            return tuple((at, Kind.COUNT_IN) for at in pulse_positions(meter))
        kinds = dict.fromkeys(_subdivisions(meter, self.style.subdivision), Kind.SUBDIVISION)
        kinds |= dict.fromkeys(pulse_positions(meter), Kind.PULSE)
        kinds[Fraction(0)] = Kind.FIRST
        return tuple(sorted(kinds.items()))


def pulse_positions(meter: Meter) -> tuple[Fraction, ...]:
    """Return the beats of a bar on which its pulses stand."""
    lengths = (1,) * meter.beats if meter.unit == 4 else meter.groups
    return tuple(Fraction(at) for at in accumulate(lengths[:-1], initial=0))


def _subdivisions(meter: Meter, per_beat: Fraction | int | None) -> tuple[Fraction, ...]:
    if per_beat is None:
        return ()
    step = 1 / Fraction(per_beat)
    return tuple(each * step for each in range(-(-meter.beats // step)))
