"""The lesson sheet: what one student is to practise until the next lesson."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.paper.exercise_sheet import card_block, level_key
from drillbox.paper.page import Line, Text
from drillbox.paper.sheet_layout import BODY, Block, Look, heading, paged, paragraph, tempo_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.paper.exercise import Exercise
    from drillbox.paper.page import Page

__all__ = ["Assigned", "lesson_sheet"]


@dataclass(frozen=True, slots=True)
class Assigned:
    """A card that is asked for.

    Parameters
    ----------
    card
        The card; its tempo is the one that is asked for.
    by
        The day it is asked for in words, empty where there is none.
    """

    card: Exercise
    by: str = ""


def lesson_sheet(
    student: str,
    lines: Sequence[str],
    words: str,
    assigned: Sequence[Assigned],
    look: Look,
    *,
    foot: str,
) -> tuple[Page, ...]:
    """Return the pages of a lesson sheet.

    Parameters
    ----------
    student
        Whose it is.
    lines
        Below the title, such as date and deck.
    words
        The teacher's words; may be empty.
    assigned
        What is asked for, in order.
    look
        Paper, staff, hands.
    foot
        The foot of every page.
    """
    blocks = [paragraph(words, look)] if words else []
    blocks += [_asked(str(number), one, look) for number, one in enumerate(assigned, start=1)]
    blocks.append(_signature("Seen at home (name, date):", look))
    told = (*lines, *level_key(one.card for one in assigned))
    return paged(heading(f"Lesson sheet: {student}", told, look), blocks, look, foot=foot)


def _asked(number: str, one: Assigned, look: Look) -> Block:
    card = one.card
    now = "" if card.now_bpm is None else f"now {card.now_bpm:.0f}, "
    by = f" by {one.by}" if one.by else ""
    right = f"{now}target {tempo_text(card.pattern, card.bpm)}{by}"
    return card_block(number, card, look, right=right)


def _signature(label: str, look: Look) -> Block:
    return Block(14, (Text(0, 12, label, BODY), Line(60, 12.5, look.room, 12.5, 0.2)))
