"""Meters: the beats of a bar, how they are felt together, and what the metronome counts.

A *beat* is one note of the denominator: a quarter in 4/4, an eighth in 6/8 (counted 1 2 3 4 5 6).
*Groups* say which beats belong together (2+2+3 eighths in 7/8). A tempo in bpm counts *pulses*,
which need not be beats.

Source: common practice. A meter of several groups of three eighths (6/8, 9/8, 12/8) is felt, and
its tempo given, in dotted quarters; every other meter's tempo is given in quarters.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from drillbox.errors import NotationError, UsageError

__all__ = ["MAX_BEATS", "Meter", "parse_meter"]

MAX_BEATS = 24
_WRITTEN = re.compile(r"([1-9][0-9]?(?:\+[1-9][0-9]?)*)/([48])")


@dataclass(frozen=True, slots=True)
class Meter:
    """A meter, such as 4/4 or 7/8 felt as 2+2+3.

    Parameters
    ----------
    beats
        Beats in a bar, 1 to 24.
    unit
        The note that is one beat: 4 or 8.
    groups
        Beats felt together, adding up to `beats`; empty or a single group means the usual grouping.
    """

    beats: int
    unit: int
    groups: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if self.unit not in (4, 8):
            raise UsageError(
                f"a beat cannot be 1/{self.unit}", fix="use quarters (4) or eighths (8)"
            )
        if not 1 <= self.beats <= MAX_BEATS:
            raise UsageError(f"a bar cannot have {self.beats} beats", fix=f"use 1 to {MAX_BEATS}")
        if len(self.groups) < 2 and sum(self.groups) in (0, self.beats):
            object.__setattr__(self, "groups", _usual_groups(self.beats, self.unit))
        if sum(self.groups) != self.beats or min(self.groups) < 1:
            raise UsageError(
                f"the groups {'+'.join(map(str, self.groups))} do not make {self.beats} beats",
                fix="let the groups add up to the bar",
            )

    @property
    def pulse(self) -> Fraction:
        """Beats in one metronome pulse: 1 in x/4, 3 in 6/8, 9/8, 12/8, 2 in other x/8."""
        if self.unit == 4:
            return Fraction(1)
        compound = len(self.groups) > 1 and set(self.groups) == {3}
        return Fraction(3 if compound else 2)

    def beat_seconds(self, bpm: float) -> float:
        """Return the seconds one beat lasts when the metronome counts `bpm` pulses a minute."""
        return 60.0 / (bpm * float(self.pulse))

    def __str__(self) -> str:
        if self.groups == _usual_groups(self.beats, self.unit):
            return f"{self.beats}/{self.unit}"
        return f"{'+'.join(map(str, self.groups))}/{self.unit}"


def parse_meter(text: str, *, line: int = 1, column: int = 1) -> Meter:
    """Read a meter: ``4/4``, ``6/8``, ``3+2+2/8``.

    Parameters
    ----------
    text
        The meter as written.
    line, column
        Where the text stands, for the error.

    Raises
    ------
    NotationError
        If it is no meter.
    """
    match = _WRITTEN.fullmatch(text)
    if match is None:
        raise NotationError(
            f"cannot read {text!r} as a meter",
            line=line,
            column=column,
            fix="write beats and beat note, such as 4/4, 6/8 or 2+2+3/8 (the beat note is 4 or 8)",
        )
    numbers = tuple(int(number) for number in match[1].split("+"))
    try:
        return Meter(sum(numbers), int(match[2]), numbers)
    except UsageError as error:
        raise NotationError(error.what, line=line, column=column, fix=error.fix) from None


def _usual_groups(beats: int, unit: int) -> tuple[int, ...]:
    """Return the grouping a player assumes when none is written (common practice, no source)."""
    if beats % 3 == 0 and (unit == 8 or beats > 4):
        return (3,) * (beats // 3)
    if unit == 4 and beats == 5:
        return (3, 2)
    size = 4 if unit == 4 else 2
    groups = [size] * (beats // size)
    if beats % size == 1 and groups:
        groups[-1] += 1
    elif beats % size:
        groups.append(beats % size)
    return tuple(groups)
