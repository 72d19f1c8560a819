"""Which part of a file of notes is the take, where somebody let the recorder run.

A pause of more than a few bars is none of the pattern: what lies before and after it are two
takes, and only one of them is measured.

Conventions: seconds of the file.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from drillbox.errors import RecordingError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.ear.pad_voices import PadNote
    from drillbox.rhythm import Pattern

PAUSE_BARS, PAUSE_PASSES = 4, 2
"""A pause longer than so many bars, and so many times the pattern, ends a take (assumption)."""
EARLY_SECONDS = 0.5
"""So much before the start that is said a first stroke may come."""


class NotePart(NamedTuple):
    """The notes of one take, at least one, and in a sentence what was cut off, or nothing."""

    notes: tuple[PadNote, ...]
    remark: str


def part_played(
    notes: Sequence[PadNote], pattern: Pattern, bpm: float, *, start: float | None
) -> NotePart:
    """Return the part from a start on, up to a pause; without a start the longest.

    Parameters
    ----------
    notes
        In order of time; at least one.
    pattern, bpm
        What is played, at about what tempo.
    start
        Seconds at which the first beat falls; None where nobody says.

    Raises
    ------
    RecordingError
        If nothing is played where the take is said to start.
    """
    length = pattern.seconds(bpm)
    pause = max(PAUSE_BARS * length / pattern.bars, PAUSE_PASSES * length)
    kept = [note for note in notes if start is None or note.seconds >= start - EARLY_SECONDS]
    if start is not None and (not kept or kept[0].seconds > start + pause):
        raise RecordingError(
            f"no note is struck within {pause:.0f} s from {start:g} s on",
            fix="say with --start where the first beat falls",
        )
    gaps = [after.seconds - before.seconds for before, after in pairwise(kept)]
    ends = [place for place, gap in enumerate(gaps, 1) if gap > pause]
    if not ends:
        return NotePart(tuple(kept), "")
    parts = [kept[first:end] for first, end in pairwise([0, *ends, len(kept)])]
    if start is None:
        part = max(parts, key=lambda one: (one[-1].seconds - one[0].seconds, len(one)))
        which = "only the longest part is measured"
    else:
        part, which = parts[0], "only the part up to it is measured"
    longest = max(gaps)
    said = f"{longest:.0f} s" if longest < 120 else f"{longest / 60:.0f} minutes"
    span = f"{part[0].seconds:.1f} to {part[-1].seconds:.1f} s"
    return NotePart(tuple(part), f"nothing is played for {said}: {which}, {span}.")
