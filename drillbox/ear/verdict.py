"""What a teacher would say of a take, in numbers: how even, where, how loud, what was missed.

Conventions: milliseconds, negative is early; dB; every stroke's deviation is from the grid after
the player's own offset, tempo and slide are taken out, which are no fault of the hands (timing
wanders slowly: Hennig et al. 2011). Grace notes, and strokes under a louder one, are counted but
not timed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from drillbox.ear.aligning import TempoMap, fitted_map
from drillbox.rhythm import Hand, Level, Part, Voice

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from fractions import Fraction

    from drillbox.ear.expected import Expected
    from drillbox.ear.looks import Floats
    from drillbox.rhythm import Meter

_FEWEST = 3
"""Strokes from which something is said of a partial, a hand, a level."""
_OUTLIER = 3.5


@dataclass(frozen=True, slots=True)
class StrokeFact:
    """One expected stroke and what became of it.

    Attributes
    ----------
    expected
        What should have come.
    state
        ``heard``, ``missed`` or ``unheard``: the recording cannot tell.
    at
        Seconds of the recording; None unless heard.
    level_db
        Peak in dB of full scale, or the velocity's dB of a pad; None unless heard.
    covered
        Whether something at least as loud was struck with it: it is not timed.
    offset_ms
        From its nominal place, the take's constant offset included.
    off_ms
        The same after offset, tempo and slide are taken out; what the drawing shows.
    """

    expected: Expected
    state: str
    at: float | None = None
    level_db: float | None = None
    covered: bool = False
    offset_ms: float | None = None
    off_ms: float | None = None

    @property
    def timed(self) -> bool:
        """Whether its time says something about the player's timing."""
        return self.off_ms is not None and not self.covered and self.expected.part is not Part.GRACE


@dataclass(frozen=True, slots=True)
class PartialFact:
    """One place of the pattern over all passes.

    Attributes
    ----------
    place, voice, level
        Which.
    mean_ms
        How late it comes against the take as a whole; None where too few were timed.
    spread_ms
        Its standard deviation.
    heard, missed, unheard
        How many of each.
    """

    place: Fraction
    voice: Voice
    level: Level
    mean_ms: float | None
    spread_ms: float | None
    heard: int
    missed: int
    unheard: int


@dataclass(frozen=True, slots=True)
class HandFact:
    """One hand: the spread of its timing, and of the loudness of its ghosts (None: too few)."""

    hand: Hand
    strokes: int
    spread_ms: float | None
    ghosts_spread_db: float | None


@dataclass(frozen=True, slots=True)
class Verdict:
    """The numbers of a take.

    Attributes
    ----------
    mean_ms
        Mean offset from the grid, latency included.
    spread_ms
        Standard deviation about the player's own steady course; None with fewer than three.
    ghosts_ms
        How late ghosts come against accents (against plain strokes where there are none).
    contrast_db
        How far ghosts lie under accents.
    share_wrong
        Missed and extra strokes per expected stroke that the recording can tell.
    heard, missed, unheard, extra
        Counts.
    bpm
        The tempo really played.
    bpm_by_bar
        The tempo of each bar, from the strokes in it and around it.
    wander_ms
        How far the player's steady course strays from an even one, standard deviation.
    partials, hands, beats_ms
        By place of the pattern, by hand, by beat of the bar (mean offset; None: too few).
    """

    mean_ms: float | None
    spread_ms: float | None
    ghosts_ms: float | None
    contrast_db: float | None
    share_wrong: float
    heard: int
    missed: int
    unheard: int
    extra: int
    bpm: float
    bpm_by_bar: tuple[float, ...]
    wander_ms: float | None
    partials: tuple[PartialFact, ...]
    hands: tuple[HandFact, ...]
    beats_ms: tuple[float | None, ...]


def course(facts: Sequence[StrokeFact], start: float, length: float) -> TempoMap:
    """Return the steady course of a take: its offset, tempo and slide, from its timed strokes."""
    timed = [
        f for f in facts if f.at is not None and not f.covered and f.expected.part is not Part.GRACE
    ]
    nominal = np.array([f.expected.seconds for f in timed])
    at = np.array([f.at for f in timed], float)
    loose = TempoMap(float(np.median(at - nominal)) if timed else start, 1.0, 0.0, length)
    return fitted_map(nominal, at, np.ones(nominal.size), loose)


def verdict(
    facts: Sequence[StrokeFact], extra: int, laid: TempoMap, *, bpm: float, meter: Meter
) -> Verdict:
    """Return the numbers of a take.

    Parameters
    ----------
    facts
        Every expected stroke.
    extra
        Strokes nobody asked for.
    laid
        The take's steady course, as `course` gives it.
    bpm, meter
        The nominal tempo, and the meter.
    """
    bar_seconds = meter.beats * meter.beat_seconds(bpm)
    timed = [f for f in facts if f.timed]
    offsets = _array(f.offset_ms for f in timed)
    off = _array(f.off_ms for f in timed)
    count = {
        state: sum(f.state == state for f in facts) for state in ("heard", "missed", "unheard")
    }
    told = max(count["heard"] + count["missed"], 1)
    return Verdict(
        mean_ms=float(offsets.mean()) if offsets.size else None,
        spread_ms=_spread(off),
        ghosts_ms=_ghosts_late(timed),
        contrast_db=_contrast(facts),
        share_wrong=(count["missed"] + extra) / told,
        heard=count["heard"],
        missed=count["missed"],
        unheard=count["unheard"],
        extra=extra,
        bpm=bpm / laid.stretch,
        bpm_by_bar=_tempi(timed, laid, bpm, bar_seconds),
        wander_ms=_wander(timed),
        partials=_partials(facts),
        hands=_hands(facts),
        beats_ms=_beats(timed, meter.beats),
    )


def _array(values: Iterable[float | None]) -> Floats:
    return np.array([value for value in values if value is not None], np.float64)


def _kept(values: Floats) -> Floats:
    """Drop what lies so far off that it is another mistake than unevenness."""
    if values.size < _FEWEST:
        return values
    middle = np.median(values)
    scale = 1.4826 * np.median(np.abs(values - middle))
    return np.asarray(values[np.abs(values - middle) <= max(_OUTLIER * scale, 1.0)])


def _spread(values: Floats) -> float | None:
    kept = _kept(values)
    return float(kept.std(ddof=1)) if kept.size >= _FEWEST else None


def _mean(values: Floats) -> float | None:
    kept = _kept(values)
    return float(kept.mean()) if kept.size >= _FEWEST else None


def _loud_level(facts: Sequence[StrokeFact]) -> Level:
    accents = sum(f.expected.level is Level.ACCENT for f in facts)
    return Level.ACCENT if accents >= _FEWEST else Level.PLAIN


def _ghosts_late(timed: Sequence[StrokeFact]) -> float | None:
    loud = _loud_level(timed)
    ghosts = _mean(_array(f.off_ms for f in timed if f.expected.level is Level.GHOST))
    rest = _mean(_array(f.off_ms for f in timed if f.expected.level is loud))
    return None if ghosts is None or rest is None else ghosts - rest


def _contrast(facts: Sequence[StrokeFact]) -> float | None:
    heard = [
        f
        for f in facts
        if f.level_db is not None
        and not f.covered
        and not f.expected.voice.is_cymbal
        and not f.expected.voice.is_foot
        and f.expected.part is not Part.GRACE
    ]
    loud = _loud_level(heard)
    ghosts = _array(f.level_db for f in heard if f.expected.level is Level.GHOST)
    accents = _array(f.level_db for f in heard if f.expected.level is loud)
    if ghosts.size < _FEWEST or accents.size < _FEWEST:
        return None
    return float(np.median(accents) - np.median(ghosts))


def _partials(facts: Sequence[StrokeFact]) -> tuple[PartialFact, ...]:
    groups: dict[tuple[Fraction, int, bool], list[StrokeFact]] = {}
    for fact in facts:
        each = fact.expected
        key = (each.place, each.voice.rank, each.part is not Part.GRACE)
        groups.setdefault(key, []).append(fact)
    found = []
    for _, group in sorted(groups.items()):
        off = _array(f.off_ms for f in group if f.timed)
        one = group[0].expected
        states = [f.state for f in group]
        found.append(
            PartialFact(
                one.place,
                one.voice,
                one.level,
                _mean(off),
                _spread(off),
                states.count("heard"),
                states.count("missed"),
                states.count("unheard"),
            )
        )
    return tuple(found)


def _hands(facts: Sequence[StrokeFact]) -> tuple[HandFact, ...]:
    found = []
    for hand in Hand:
        own = [f for f in facts if f.expected.hand is hand and f.state == "heard"]
        if not own:
            continue
        levels = _array(
            f.level_db for f in own if f.expected.level is Level.GHOST and not f.covered
        )
        off = _array(f.off_ms for f in own if f.timed)
        found.append(HandFact(hand, len(own), _spread(off), _spread(levels)))
    return tuple(found)


def _beats(timed: Sequence[StrokeFact], beats_of_bar: int) -> tuple[float | None, ...]:
    return tuple(
        _mean(_array(f.off_ms for f in timed if int(f.expected.place) % beats_of_bar == beat))
        for beat in range(beats_of_bar)
    )


def _tempi(
    timed: Sequence[StrokeFact], laid: TempoMap, bpm: float, bar_seconds: float
) -> tuple[float, ...]:
    """Return the tempo of each bar: a line through its strokes and half a bar beside."""
    bars = max(round(laid.length / bar_seconds), 1)
    nominal = _array(f.expected.seconds for f in timed)
    at = _array(f.at for f in timed)
    tempi = []
    for bar in range(bars):
        middle = (bar + 0.5) * bar_seconds
        near = np.abs(nominal - middle) < bar_seconds
        slope = laid.stretch + laid.bend * (2 * middle - laid.length)
        if near.sum() >= 2 * _FEWEST:
            x = nominal[near] - nominal[near].mean()
            # A few strokes stray by more than a tempo changes: the take's course counts as well.
            steady = 0.2 * bar_seconds**2 * near.sum()
            slope = (x @ (at[near] - at[near].mean()) + steady * slope) / (x @ x + steady)
        tempi.append(bpm / float(slope))
    return tuple(tempi)


def _wander(timed: Sequence[StrokeFact]) -> float | None:
    """Return how far running means over two seconds stray from an even tempo."""
    nominal = _array(f.expected.seconds for f in timed)
    at = _array(f.at for f in timed)
    if nominal.size < 4 * _FEWEST:
        return None
    line = np.polyfit(nominal, at, 1)
    off = at - np.polyval(line, nominal)
    means = [off[np.abs(nominal - t) < 1.0].mean() for t in nominal]
    return float(np.std(means) * 1000)
