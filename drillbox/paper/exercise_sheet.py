"""The exercise sheet: patterns to be practised from a music stand, with boxes to tick."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.paper.page import Page
from drillbox.paper.sheet_layout import (
    Look,
    heading,
    moved,
    music_block,
    paged,
    tempo_text,
    tick_row,
)
from drillbox.rhythm import Level

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from drillbox.paper.exercise import Exercise
    from drillbox.paper.sheet_layout import Block

    Progress = Callable[[Iterable["Exercise"]], Iterable["Exercise"]]

__all__ = ["card_block", "card_drawing", "exercise_sheet", "level_key", "steps"]

_LEVEL_KEY = (
    "Heads: in parentheses a ghost, small a tap, of full size a free stroke, under > an accent."
)
_MOST_BOXES = 12
_EDGE = 4.0
_BEYOND = 2
"""Boxes above the goal, which is a floor and no ceiling."""
_FIRST_SHARE = 0.65
"""Share of the goal at which the boxes of a card nobody played begin (assumption)."""


def exercise_sheet(
    title: str,
    lines: Sequence[str],
    cards: Sequence[Exercise],
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
    return paged(heading(title, (*lines, *level_key(cards)), look), blocks, look, foot=foot)


def level_key(cards: Iterable[Exercise]) -> tuple[str, ...]:
    """Return a line that says how levels are printed, where there are taps among them."""
    found = {stroke.level for card in cards for stroke in card.pattern.strokes}
    return (_LEVEL_KEY,) if Level.TAP in found else ()


def _blocks(cards: Sequence[Exercise], look: Look, step: int, through: Progress) -> Iterator[Block]:
    for number, card in enumerate(through(cards), start=1):
        yield card_block(str(number), card, look, step=step)


def card_drawing(card: Exercise, look: Look) -> Page:
    """Return one exercise as a drawing of its own size, to stand in somebody's text."""
    block = music_block(
        "", card.title, tempo_text(card.pattern, card.bpm), card.pattern, look, note=card.note
    )
    items = tuple(moved(item, _EDGE, _EDGE) for item in block.items)
    return Page(look.room + 2 * _EDGE, block.height + 2 * _EDGE, items)


def card_block(number: str, card: Exercise, look: Look, *, step: int = 5, right: str = "") -> Block:
    """Return one card with its boxes."""
    labels = [str(bpm) for bpm in steps(card.bpm, card.now_bpm, step)]
    goal = f"goal {tempo_text(card.pattern, card.bpm)}"
    row = tick_row(labels, look, heavy=str(round(card.bpm)))
    return music_block(
        number, card.title, right or goal, card.pattern, look, note=card.note, below=(row,)
    )


def steps(goal: float, now: float | None, step: int) -> tuple[int, ...]:
    """Return the tempos of a card's boxes: from where it stands to the goal and past it.

    Parameters
    ----------
    goal, now
        The tempo to hold; the tempo it stands at, None where nobody knows.
    step
        The distance of two boxes in bpm, but for the goal's own. It is doubled where too many boxes
        would be needed.
    """
    first = goal * _FIRST_SHARE if now is None else min(now, goal)
    aim = round(goal)
    low = max(int(first // step) * step, step)
    below = range(low, aim, step)
    above = range((aim // step + 1) * step, (aim // step + 1 + _BEYOND) * step, step)
    marks = (*below, aim, *above)
    return marks if len(marks) <= _MOST_BOXES else steps(goal, now, 2 * step)
