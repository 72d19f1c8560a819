"""How hard a pattern is, as one number made of facts that anybody can count.

The number orders the introduction of cards; it is no tempo and no promise. Every fact is computed
from the pattern, and the number is their weighted sum:

====================================================================== ======
strokes on drums, for each beat                                             3
of these, those that no cymbal covers, for each beat                        1
turns of a hand between heights, for each beat                              2
what the busier hand is asked for at 80 bpm, of what it can                10
different sets of limbs that strike together                                1
different beats, that is beats in which not the same is played              1
changes of grid from beat to beat, for each bar, over the repeat too        3
doubles and buzzes for each beat, each                                      2
flams and drags for each beat, each                                         4
====================================================================== ======

The weights are judgement: they put singles before pairs, plain before doubled and parts before
blends, which the tests hold them to; no study of drummers gives them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.rhythm.embellishments import EMBELLISHMENTS
from drillbox.rhythm.motion import movement
from drillbox.rhythm.stroke import TICKS, VOICES

if TYPE_CHECKING:
    from drillbox.rhythm.motion import Movement
    from drillbox.rhythm.pattern import Pattern

__all__ = ["Facts", "difficulty", "facts"]

_RATE_BPM = 80.0


@dataclass(frozen=True, slots=True)
class Facts:
    """What is counted in a pattern; "per beat" is a mean over all beats.

    Parameters
    ----------
    drums
        Strokes of hands on drums, per beat.
    off_time
        Strokes of hands on drums, per beat, at places where no cymbal is struck; 0 where there is
        no cymbal at all.
    turns
        Turns of a hand from one height to another, per beat.
    load
        What the busier hand is asked for at 80 bpm, of what it can: 1 is all of it.
    limb_sets
        Different sets of voices that strike together.
    beats
        Different beats.
    grid_changes
        Changes of grid from a beat to the next, per bar.
    ornaments
        Ornaments per beat; a flam or drag counts two.
    """

    drums: float
    off_time: float
    turns: float
    load: float
    limb_sets: int
    beats: int
    grid_changes: float
    ornaments: float

    @property
    def difficulty(self) -> float:
        """The weighted sum, to one decimal."""
        return round(
            3 * self.drums
            + self.off_time
            + 2 * self.turns
            + 10 * self.load
            + self.limb_sets
            + self.beats
            + 3 * self.grid_changes
            + 2 * self.ornaments,
            1,
        )


def difficulty(pattern: Pattern) -> float:
    """Return how hard a pattern is; see the module for what is counted."""
    return facts(pattern).difficulty


def facts(pattern: Pattern, moved: Movement | None = None) -> Facts:
    """Count what makes a pattern hard.

    Parameters
    ----------
    pattern
        What is played.
    moved
        Its movement, where that is known already.
    """
    moved = moved or movement(pattern)
    together: dict[int, list[int]] = {}
    beats: list[list[tuple[object, ...]]] = [[] for _ in pattern.grids]
    ornaments = 0
    covered: set[int] = set()
    alone: list[int] = []
    for stroke in pattern.strokes:
        tick, rank = divmod(stroke.order, VOICES)
        voice = stroke.voice
        together.setdefault(tick, []).append(rank)
        beats[tick // TICKS].append((tick % TICKS, rank, stroke.level, stroke.ornament))
        ornaments += EMBELLISHMENTS[stroke.ornament].weight
        if voice.is_cymbal:
            covered.add(tick)
        elif not voice.is_foot:
            alone.append(tick)
    off_time = sum(tick not in covered for tick in alone) if covered else 0
    grids = pattern.grids
    changes = sum(grids[i] != grids[i - 1] for i in range(len(grids)))
    return Facts(
        drums=len(alone) / pattern.beats,
        off_time=off_time / pattern.beats,
        turns=moved.turns / pattern.beats,
        load=moved.load(_RATE_BPM),
        limb_sets=len({tuple(ranks) for ranks in together.values()}),
        beats=len({tuple(content) for content in beats}),
        grid_changes=changes / pattern.bars,
        ornaments=ornaments / pattern.beats,
    )
