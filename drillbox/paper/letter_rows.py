"""The rows of letters below a staff: counts, hands, motions.

A letter hangs on the note of the hands, and on the feet's where no hand plays.

Counts are read from left to right, each from the one before: an ``a`` belongs to the last number, a
``t`` to the last number or ``&``. So a beat that is silent while one of its partials is played has
its number too, in brackets below its rest; and where no rest begins there, or the ``&`` before a
``t`` is silent, the first that is played has its whole name (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from drillbox.paper.note_values import bar_divisions, beat_divisions, write_bar
from drillbox.rhythm import Hand, chart
from drillbox.rhythm.grid import label, syllable
from drillbox.rhythm.stroke import TICKS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from drillbox.rhythm import Pattern

__all__ = ["USUAL_ROWS", "Letter", "Rows", "lyric_rows"]


@dataclass(frozen=True, slots=True)
class Rows:
    """Which rows to write.

    Parameters
    ----------
    counts, motions
        Whether to write them.
    hands
        Whether to write which hand plays; None writes it where a player has to be told: where it is
        prescribed, on a pad, and in fills.
    """

    counts: bool = True
    hands: bool | None = None
    motions: bool = False


USUAL_ROWS = Rows()
"""Counts, and hands where a player has to be told."""


class Letter(NamedTuple):
    """What stands below a note or rest, and whether that is one of the feet."""

    text: str
    feet: bool


def lyric_rows(
    pattern: Pattern, rows: Rows, *, leading: Hand = Hand.RIGHT
) -> tuple[dict[int, Letter], ...]:
    """Return each row as letters by place, in divisions from the pattern's start.

    Parameters
    ----------
    pattern
        What is written.
    rows
        Which rows.
    leading
        The hand that leads.
    """
    drawn = chart(pattern, leading=leading, motions=rows.motions)
    struck: dict[int, bool] = {}
    for stroke in pattern.strokes:
        struck[stroke.tick] = struck.get(stroke.tick, True) and stroke.voice.is_foot
    hands = rows.hands
    if hands is None:
        hands = any(any(bar.told) for bar in drawn.bars)
    counts = _counts(pattern, struck) if rows.counts else {}
    played: dict[int, Letter] = {}
    moves: dict[int, Letter] = {}
    for bar in drawn.bars:
        for index, column in enumerate(bar.columns):
            tick = int(column.at * TICKS)
            if tick not in struck:
                continue
            at = tick * beat_divisions(pattern.meter) // TICKS
            feet = struck[tick]
            letters = bar.sticking if rows.hands else bar.told
            if letters[index]:
                played[at] = Letter(letters[index], feet)
            if bar.motions and (done := "".join(row[index] for row in bar.motions)):
                moves[at] = Letter(done, feet)
    wanted = ((rows.counts, counts), (hands, played), (rows.motions, moves))
    return tuple(row for asked, row in wanted if asked)


def _counts(pattern: Pattern, struck: Mapping[int, bool]) -> dict[int, Letter]:
    """Return what is counted, by place in divisions from the pattern's start.

    Of each tick that is struck `struck` says whether only the feet do it.
    """
    rests = _rests(pattern)
    size = beat_divisions(pattern.meter)
    counts: dict[int, Letter] = {}
    for beat, ticks in groupby(sorted(struck), key=lambda tick: tick // TICKS):
        number = str(beat % pattern.meter.beats + 1)
        names = _names(pattern.grids[beat], [tick % TICKS for tick in ticks])
        if names and 0 not in names:
            if (feet := rests.get(beat * size)) is None:
                names[min(names)] = number + names[min(names)]
            else:
                counts[beat * size] = Letter(f"({number})", feet)
        for over, name in names.items():
            tick = beat * TICKS + over
            counts[tick * size // TICKS] = Letter(name or number, struck[tick])
    return counts


def _names(slots: int, struck: Sequence[int]) -> dict[int, str]:
    """Return what is counted at each place of one beat, the empty text for the beat itself.

    Nothing is at thirty-seconds, which have no name.
    """
    names: dict[int, str] = {}
    for over in struck:
        offset = Fraction(over, TICKS)
        name = syllable(offset, slots)
        if name.endswith("."):
            continue
        whole = not name or (len(name) > 1 and name[0] not in names.values())
        names[over] = name if whole else label(1, offset, slots)
    return names


def _rests(pattern: Pattern) -> dict[int, bool]:
    """Return where rests begin, from the pattern's start, and whether only the feet have one."""
    found: dict[int, bool] = {}
    for feet in (True, False):
        for bar in range(pattern.bars):
            for event in write_bar(pattern, bar, feet=feet):
                if not event.strokes and event.value != "measure":
                    found[bar * bar_divisions(pattern.meter) + event.at] = feet
    return found
