"""Today's plan on paper: to be graded with a pencil, and typed in afterwards in one line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.paper.sheet_layout import (
    Block,
    Look,
    heading,
    joined,
    music_block,
    paged,
    paragraph,
    tempo_text,
    tick_row,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.paper.page import Page
    from drillbox.rhythm import Pattern

__all__ = ["PlanLine", "plan_sheet", "record_line"]

_MOST_TAKES = 6


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One card of the plan.

    Parameters
    ----------
    name
        How the card is named when its grade is typed in.
    title, pattern
        The card, hands as this player plays them.
    part
        Warm-up, work or wrap-up, in the plan's words.
    bpm
        Its tempo in metronome pulses a minute.
    takes
        How many, all its visits together.
    why
        The reason, one sentence.
    """

    name: str
    title: str
    pattern: Pattern
    part: str
    bpm: int
    takes: int
    why: str


def plan_sheet(
    title: str,
    lines: Sequence[str],
    plan: Sequence[PlanLine],
    grades: Sequence[str],
    look: Look,
    *,
    foot: str,
) -> tuple[Page, ...]:
    """Return the pages of a day's plan.

    Parameters
    ----------
    title, lines
        The head of the first page.
    plan
        The cards in the order of their first visits.
    grades
        The words to grade with, from slow to fast.
    look
        Paper, staff, hands.
    foot
        The foot of every page.
    """
    blocks = [_visit(number, line, grades, look) for number, line in enumerate(plan, start=1)]
    blocks.append(_afterwards(plan, look))
    return paged(heading(title, lines, look), blocks, look, foot=foot)


def _visit(number: int, line: PlanLine, grades: Sequence[str], look: Look) -> Block:
    # From the second take on the tempo follows the grade before, so it is left open.
    rows = [
        tick_row(grades, look, before=f"take {take}, {line.bpm if take == 1 else '____'}")
        for take in range(1, min(line.takes, _MOST_TAKES) + 1)
    ]
    right = f"{line.part}, {tempo_text(line.pattern, line.bpm)}"
    return music_block(
        str(number), line.title, right, line.pattern, look, note=line.why, below=rows
    )


def record_line(plan: Sequence[PlanLine]) -> str:
    """Return what is typed in afterwards, with gaps for the grades."""
    return "drillbox record " + ", ".join(f"{line.name} {line.bpm} ____" for line in plan)


def _afterwards(plan: Sequence[PlanLine], look: Look) -> Block:
    head = paragraph("Afterwards, type the grades of the first takes in one line:", look, bold=True)
    line = paragraph(record_line(plan), look)
    return joined((head, line))
