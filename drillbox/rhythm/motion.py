"""Hand motion: how high sticks start and end, how tight their turns are, how fast a hand goes.

The four basic strokes are told by the stick's height before and after: full (high, high), down
(high, low), tap (low, low), up (low, high). A stroke starts at its own height and ends at the
height of the same hand's next stroke, over the bar line and over the repeat. Heights are the four
levels: ghost, tap, plain, accent. Two equal heights make a full stroke where they are accents, or
plain strokes on a drum, or in a fill, that has nothing higher; else a tap, as on a cymbal that
keeps time. A double is two strokes of one hand. A flam has a low stroke of the other hand just
before, a drag two of them: as low as the lowest stroke on that drum, and lower than its highest.

Rates. What a hand can do depends on how long it goes on. A *burst* is taken over three strokes in a
row, two strokes in the time from the first to the third, since a pair can be one push and a
rebound; where the height changes there is no rebound, and one stroke in the time to the next
counts. A *stream* is taken over four strokes in a row. A double is one motion of the wrist where
the hand has the time of a partial after it, else two strokes. Graces and the bounces of a buzz are
not counted.

Sources: the four strokes and their heights, common practice. Ordinary people's single hands reach 5
to 7 strokes a second over ten seconds (Fujii, Kudo, Ohtsuki and Oda 2009, Neuroscience Letters
459:69-73), and lose about 17 % in a maximal half minute (Frontiers in Human Neuroscience 2024,
1427336): so a burst may have the upper rate and a stream the lower one, which is judgement.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from drillbox.base.tempi import ASKED
from drillbox.rhythm.embellishments import EMBELLISHMENTS
from drillbox.rhythm.sticking import Sticking, fills, hands
from drillbox.rhythm.striking import partial_length
from drillbox.rhythm.stroke import TICKS, Hand, Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from drillbox.rhythm.pattern import Pattern
    from drillbox.rhythm.stroke import Stroke, Voice

__all__ = [
    "BURST_LIMIT",
    "GOAL_SHARE",
    "STREAM_LIMIT",
    "Blow",
    "HandWork",
    "Motion",
    "Movement",
    "movement",
    "movement_words",
]

BURST_LIMIT = 7.0
"""Strokes a second that an ordinary player's one hand does not pass, two or three in a row."""
STREAM_LIMIT = 5.0
"""The same for four or more in a row."""
GOAL_SHARE = 0.9
"""Of that, what a goal may ask for (judgement).

A tempo is held, cold and for weeks, only by who has been above it, and at the limit there is
nothing above."""
_BURST, _STREAM = 2, 3
"""Gaps between the strokes that are counted."""

_FINER = 2
_TICKS = _FINER * TICKS
"""Of a beat; even halves of every grid's partials are whole."""
_LEVELS = tuple(Level)
_FREE = Level.PLAIN.loudness
"""From this height on equal strokes on a drum are full ones; below it they are taps."""


class Motion(StrEnum):
    """One of the four basic strokes."""

    FULL = "full"
    DOWN = "down"
    TAP = "tap"
    UP = "up"

    @property
    def sign(self) -> str:
        """Return one letter for a drawing: F, D, T, U."""
        return self.value[0].upper()


class Blow(NamedTuple):
    """One time a stick comes down.

    Parameters
    ----------
    at
        Beats from the pattern's start; a grace has the place of the stroke it leads to.
    hand, height, motion
        Which stick, how high it starts, what the hand does.
    stroke
        The index of the pattern's stroke that it belongs to.
    grace
        Whether it is a grace note.
    """

    at: Fraction
    hand: Hand
    height: Level
    motion: Motion
    stroke: int
    grace: bool


@dataclass(frozen=True, slots=True)
class HandWork:
    """What one hand does in one pass.

    Parameters
    ----------
    hand
        Which.
    strokes
        How often its stick comes down; doubles and graces are counted out.
    per_beat
        The same for each beat, as a mean.
    burst, stream
        Strokes a beat where it is busiest, over three in a row and over four; 0 for a hand that
        rests.
    """

    hand: Hand
    strokes: int
    per_beat: Fraction
    burst: Fraction
    stream: Fraction


@dataclass(frozen=True, slots=True)
class Movement:
    """The hands' part of a pattern.

    Parameters
    ----------
    work
        Right hand, left hand.
    down_gap, up_gap
        Beats of the tightest turn from high to low, and from low to high; None where there is none.
    turns
        How often a hand changes its height in one pass.
    beat_at_60
        Seconds of one beat at 60 bpm.
    """

    work: tuple[HandWork, HandWork]
    down_gap: Fraction | None
    up_gap: Fraction | None
    turns: int
    beat_at_60: float
    _raw: tuple[Sequence[_Raw], Sequence[_Raw]]
    _strokes: int

    @property
    def blows(self) -> tuple[Blow, ...]:
        """Every time a stick comes down, by time; graces before what they lead to."""
        found: list[tuple[int, Blow]] = []
        for hand, mine in zip(Hand, self._raw, strict=True):
            for raw, motion in zip(mine, _motions(mine), strict=True):
                at, height = Fraction(raw.tick, _TICKS), _LEVELS[raw.height]
                blow = Blow(at, hand, height, motion, raw.stroke, raw.grace)
                found.append((raw.order, blow))
        return tuple(blow for _, blow in sorted(found, key=lambda item: item[0]))

    @property
    def of_strokes(self) -> tuple[Motion | None, ...]:
        """The motion that ends each of the pattern's strokes; None where a foot plays."""
        found: list[Motion | None] = [None] * self._strokes
        for blow in self.blows:
            if not blow.grace:
                found[blow.stroke] = blow.motion
        return tuple(found)

    @property
    def signs(self) -> tuple[str, ...]:
        """The motions of each of the pattern's strokes by their letters: two for a double."""
        found = [""] * self._strokes
        for blow in self.blows:
            if not blow.grace:
                found[blow.stroke] += blow.motion.sign
        return tuple(found)

    def rates(self, bpm: float) -> tuple[float, float]:
        """Return the mean strokes a second of the right and the left hand at a tempo."""
        beats = bpm / (60 * self.beat_at_60)
        return float(self.work[0].per_beat) * beats, float(self.work[1].per_beat) * beats

    def busiest(self, bpm: float) -> tuple[float, float]:
        """Return the strokes a second of the busier hand at a tempo, in a burst and in a stream."""
        beats = bpm / (60 * self.beat_at_60)
        burst, stream = (
            max(rates) for rates in zip(*((w.burst, w.stream) for w in self.work), strict=True)
        )
        return float(burst) * beats, float(stream) * beats

    def load(self, bpm: float) -> float:
        """Return how much of what a hand can do is asked for at a tempo; 1 is all of it."""
        burst, stream = self.busiest(bpm)
        return max(burst / BURST_LIMIT, stream / STREAM_LIMIT)

    def turnarounds_ms(self, bpm: float) -> tuple[float | None, float | None]:
        """Return the tightest turns from high to low and from low to high at a tempo, in ms."""
        beat = 60_000 * self.beat_at_60 / bpm
        down, up = self.down_gap, self.up_gap
        return (
            None if down is None else float(down) * beat,
            None if up is None else float(up) * beat,
        )

    @property
    def top_bpm(self) -> float | None:
        """The tempo at which a hand would pass its limit; None where no hand plays."""
        load = self.load(60)
        return 60 / load if load else None


def movement(
    pattern: Pattern, *, leading: Hand = Hand.RIGHT, way: Sticking = Sticking.TIME
) -> Movement:
    """Work out what the hands do.

    Parameters
    ----------
    pattern
        What is played, over and over.
    leading, way
        As in `hands`.
    """
    end = pattern.beats * _TICKS
    right, left = found = _raw_blows(pattern, leading, way)
    downs: list[int] = []
    ups: list[int] = []
    for mine in found:
        for index, raw in enumerate(mine):
            before = mine[index - 1]
            if before.height != raw.height:
                turns = downs if before.height > raw.height else ups
                turns.append((raw.tick - before.tick) % end)
    return Movement(
        work=(_work(Hand.RIGHT, right, end), _work(Hand.LEFT, left, end)),
        down_gap=_tightest(downs),
        up_gap=_tightest(ups),
        turns=len(downs) + len(ups),
        beat_at_60=1 / float(pattern.meter.pulse),
        _raw=found,
        _strokes=len(pattern.strokes),
    )


def _tightest(gaps: Sequence[int]) -> Fraction | None:
    """Return the shortest of some gaps; of two strokes at one place nobody turns, in no time."""
    timed = [gap for gap in gaps if gap]
    return Fraction(min(timed), _TICKS) if timed else None


def movement_words(moved: Movement, bpm: float) -> str:
    """Return what the hands do at a tempo, in a sentence.

    Such as "at 80 bpm the right hand plays 2.7 strokes a second and the left 3.3; at the quickest
    it has 188 ms from loud to quiet and 188 ms from quiet to loud; past about 105 bpm a hand
    cannot keep it up".
    """
    right, left = moved.rates(bpm)
    clauses = [
        f"at {bpm:g} bpm the right hand plays {right:.1f} strokes a second and the left {left:.1f}"
    ]
    turns = [
        f"{gap:.0f} ms {way}"
        for gap, way in zip(
            moved.turnarounds_ms(bpm), ("from loud to quiet", "from quiet to loud"), strict=True
        )
        if gap is not None
    ]
    if turns:
        clauses.append(f"at the quickest a hand has {' and '.join(turns)}")
    if moved.top_bpm is not None and moved.top_bpm <= ASKED.most:
        clauses.append(f"past about {moved.top_bpm:.0f} bpm a hand cannot keep it up")
    return "; ".join(clauses)


class _Raw(NamedTuple):
    """A blow whose motion is not worked out yet.

    `order` sorts graces before what they lead to, `height` is a loudness, `top` the highest there,
    `again` tells a double's second stroke.
    """

    order: int
    tick: int
    height: int
    stroke: int
    grace: bool
    top: bool
    again: bool = False


def _reach(pattern: Pattern) -> tuple[dict[Voice, int], dict[Voice, int]]:
    """Return how low graces on each voice are, and how high its strokes go."""
    lows: dict[Voice, int] = {}
    tops: dict[Voice, int] = {}
    for voice, height in {(stroke.voice, stroke.level.loudness) for stroke in pattern.strokes}:
        lows[voice] = min(height, lows.get(voice, height))
        tops[voice] = max(height, tops.get(voice, height))
    return {voice: max(0, min(low, tops[voice] - 1)) for voice, low in lows.items()}, tops


def _raw_blows(pattern: Pattern, leading: Hand, way: Sticking) -> tuple[list[_Raw], list[_Raw]]:
    """Return the blows of the right hand and of the left."""
    right: list[_Raw] = []
    left: list[_Raw] = []
    lows, tops = _reach(pattern)
    filled = fills(pattern)
    in_fills = [
        s.level.loudness for s in pattern.strokes if s.tick in filled and not s.voice.is_foot
    ]
    played = hands(pattern, leading=leading, way=way)
    for index, (stroke, hand) in enumerate(zip(pattern.strokes, played, strict=True)):
        if hand is None:
            continue
        mine, others = (right, left) if hand is Hand.RIGHT else (left, right)
        height, row = stroke.level.loudness, EMBELLISHMENTS[stroke.ornament]
        highest = max(in_fills) if stroke.tick in filled else tops[stroke.voice]
        top = height == highest >= _FREE and not (stroke.voice.is_cymbal and height == _FREE)
        ticks = _blow_ticks(pattern, stroke, row.even)
        for turn, tick in enumerate(ticks):
            mine.append(_Raw(tick * 4, tick, height, index, False, top, again=turn > 0))
        for grace in range(row.graces, 0, -1):
            low = lows[stroke.voice]
            others.append(_Raw(ticks[0] * 4 - grace, ticks[0], low, index, grace=True, top=False))
    right.sort()
    left.sort()
    return right, left


def _blow_ticks(pattern: Pattern, stroke: Stroke, even: int) -> list[int]:
    """Return when a stroke's blows fall, so many of them even in its partial."""
    swing = pattern.swing
    if swing is None and even == 1:
        return [stroke.tick * _FINER]
    place, length = stroke.at, partial_length(pattern, stroke)
    if swing is not None:
        # The partial is bent at both ends, or a double would reach past it, over the repeat.
        place, length = swing.bend(place), swing.bend(place + length) - swing.bend(place)
    tick = round(place * _TICKS)
    return [tick + int(length * turn * _TICKS / even) for turn in range(even)]


def _motions(mine: Sequence[_Raw]) -> Iterator[Motion]:
    """Yield the motion of each of one hand's blows, from its own height and the next one's."""
    for raw, after in zip(mine, [*mine[1:], *mine[:1]], strict=True):
        if raw.height != after.height:
            yield Motion.DOWN if raw.height > after.height else Motion.UP
        else:
            yield Motion.FULL if raw.top else Motion.TAP


def _work(hand: Hand, mine: Sequence[_Raw], end: int) -> HandWork:
    per_beat = Fraction(len(mine) * _TICKS, end)
    # What one hand is written to strike at once counts once.
    blows = list({raw.tick: raw for raw in mine if not raw.grace}.values())
    if len(blows) < 2:
        alone = Fraction(len(blows) * _TICKS, end)
        return HandWork(hand, len(mine), per_beat, alone, alone)
    wrist = _wrist_ticks(blows, end)
    burst = max(_rate(wrist, end, _BURST), Fraction(_TICKS, _tightest_turn(blows, end)))
    return HandWork(hand, len(mine), per_beat, burst, _rate(wrist, end, _STREAM))


def _wrist_ticks(blows: Sequence[_Raw], end: int) -> list[int]:
    """Return when the wrist moves: without the rebounds of doubles that leave it time."""
    ticks = []
    for before, raw, after in zip(
        [*blows[-1:], *blows[:-1]], blows, [*blows[1:], *blows[:1]], strict=True
    ):
        inner, rest = (raw.tick - before.tick) % end, (after.tick - raw.tick) % end or end
        if not (raw.again and rest >= 2 * inner):
            ticks.append(raw.tick)
    return ticks


def _rate(ticks: Sequence[int], end: int, gaps: int) -> Fraction:
    """Return strokes a beat over so many gaps in a row, round and round."""
    count = len(ticks)
    spans = (ticks[(i + gaps) % count] + (i + gaps) // count * end - ticks[i] for i in range(count))
    return Fraction(gaps * _TICKS, min(spans))


def _tightest_turn(blows: Sequence[_Raw], end: int) -> int:
    """Return the shortest time in which the stick has to change its height."""
    turns = (
        (raw.tick - before.tick) % end
        for before, raw in zip([*blows[-1:], *blows[:-1]], blows, strict=True)
        if before.height != raw.height
    )
    return min(turns, default=end)
