"""The exercise sheet: patterns to be practised from a music stand, with boxes to tick."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.paper.sheet_layout import Look, heading, music_block, paged, tempo_text, tick_row

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from drillbox.paper.page import Page
    from drillbox.paper.sheet_layout import Block
    from drillbox.rhythm import Pattern

    Progress = Callable[[Iterable["SheetCard"]], Iterable["SheetCard"]]

__all__ = ["SheetCard", "exercise_sheet", "steps"]

_MOST_BOXES = 10
_BEYOND = 2
"""Boxes above the goal, which is a floor and no ceiling."""
_FIRST_SHARE = 0.6
"""Share of the goal at which the boxes of a card nobody played begin (assumption)."""


@dataclass(frozen=True, slots=True)
class SheetCard:
    """What a sheet says of a card.

    Parameters
    ----------
    title, note
        As the deck says; the note may be empty.
    pattern
        What is played, hands as this player plays them.
    goal_bpm
        The tempo to hold.
    now_bpm
        The tempo it stands at, None where nobody knows.
    """

    title: str
    pattern: Pattern
    goal_bpm: float
    note: str = ""
    now_bpm: float | None = None


def exercise_sheet(
    title: str,
    lines: Sequence[str],
    cards: Sequence[SheetCard],
    look: Look,
    *,
    foot: str,
    step: int = 5,
    through: Progress = iter,
) -> tuple[Page, ...]:
    """Return the pages of an exercise sheet.

    Parameters
    ----------
    title, lines
        The head of the first page.
    cards
        In order.
    look
        Paper, staff, hands.
    foot
        The foot of every page.
    step
        What the boxes go up by, in bpm: 5 or 10.
    through
        Passes the cards on while they are drawn, such as a progress bar.
    """
    blocks = _blocks(cards, look, step, through)
    return paged(heading(title, lines, look), blocks, look, foot=foot)


def _blocks(
    cards: Sequence[SheetCard], look: Look, step: int, through: Progress
) -> Iterator[Block]:
    for number, card in enumerate(through(cards), start=1):
        yield card_block(str(number), card, look, step=step)


def card_block(
    number: str, card: SheetCard, look: Look, *, step: int = 5, right: str = ""
) -> Block:
    """Return one card with its boxes."""
    labels = [str(bpm) for bpm in steps(card.goal_bpm, card.now_bpm, step)]
    goal = f"goal {tempo_text(card.pattern.meter, card.goal_bpm)}"
    heavy = next((label for label in labels if float(label) >= card.goal_bpm), "")
    row = tick_row(labels, look, heavy=heavy)
    return music_block(
        number, card.title, right or goal, card.pattern, look, note=card.note, below=(row,)
    )


def steps(goal: float, now: float | None, step: int) -> tuple[int, ...]:
    """Return the tempos of a card's boxes: from where it stands past its goal, in even steps.

    Parameters
    ----------
    goal, now
        The tempo to hold; the tempo it stands at, None where nobody knows.
    step
        The distance of two boxes in bpm. It is doubled where too many boxes would be needed.
    """
    first = goal * _FIRST_SHARE if now is None else min(now, goal)
    low, top = int(first // step) * step, -int(-goal // step) * step + _BEYOND * step
    marks = tuple(range(max(low, step), top + 1, step))
    return marks if len(marks) <= _MOST_BOXES else steps(goal, now, 2 * step)
