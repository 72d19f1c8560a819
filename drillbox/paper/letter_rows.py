"""The rows of letters below a staff: counts, hands, motions.

A letter hangs on the note of the hands, and on the feet's where no hand plays.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from drillbox.paper.note_values import beat_divisions
from drillbox.rhythm import Hand, chart, syllables
from drillbox.rhythm.stroke import TICKS

if TYPE_CHECKING:
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
    """What stands below a note, and whether that is a note of the feet."""

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
    by_hands = {stroke.tick for stroke in pattern.strokes if not stroke.voice.is_foot}
    by_feet = {stroke.tick for stroke in pattern.strokes} - by_hands
    hands = rows.hands
    if hands is None:
        hands = any(any(bar.told) for bar in drawn.bars)
    counts: dict[int, Letter] = {}
    played: dict[int, Letter] = {}
    moves: dict[int, Letter] = {}
    for bar in drawn.bars:
        for index, column in enumerate(bar.columns):
            tick = int(column.at * TICKS)
            if tick not in by_hands and tick not in by_feet:
                continue
            at = tick * beat_divisions(pattern.meter) // TICKS
            feet = tick in by_feet
            if counted := _count(pattern, tick, column.label):
                counts[at] = Letter(counted, feet)
            letters = bar.sticking if rows.hands else bar.told
            if letters[index]:
                played[at] = Letter(letters[index], feet)
            if bar.motions and (done := "".join(row[index] for row in bar.motions)):
                moves[at] = Letter(done, feet)
    wanted = ((rows.counts, counts), (hands, played), (rows.motions, moves))
    return tuple(row for asked, row in wanted if asked)


def _count(pattern: Pattern, tick: int, label: str) -> str:
    """Return what is counted at a place: nothing at a thirty-second, which has no name."""
    beat, over = divmod(tick, TICKS)
    name = {int(at * TICKS): text for text, at in syllables(pattern.grids[beat]).items()}[over]
    return "" if name.endswith(".") else label
