"""The page to take home after a tempo check: where each family stands, what comes first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.paper.exercise_sheet import card_block
from drillbox.paper.lettering import shortened
from drillbox.paper.page import Line, Rectangle, Text
from drillbox.paper.sheet_layout import BODY, Block, Look, heading, paged, paragraph

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.paper.exercise import Exercise
    from drillbox.paper.page import Page

__all__ = ["FamilyStanding", "standing_sheet"]

_ROW = 6.0
_BAR = 70.0
_NAMES = 62.0


@dataclass(frozen=True, slots=True)
class FamilyStanding:
    """How the cards of a family stand.

    Parameters
    ----------
    name
        The family.
    cards, played
        How many there are, and how many of them were played.
    low_bpm, high_bpm
        The slowest and the fastest of the tempos expected of its cards.
    goal_bpm
        The median of their goals.
    """

    name: str
    cards: int
    played: int
    low_bpm: float
    high_bpm: float
    goal_bpm: float


def standing_sheet(
    title: str,
    lines: Sequence[str],
    families: Sequence[FamilyStanding],
    first: Sequence[Exercise],
    look: Look,
    *,
    foot: str,
) -> tuple[Page, ...]:
    """Return the pages to take home.

    Parameters
    ----------
    title, lines
        The head.
    families
        How they stand, in order.
    first
        The cards to begin with, in order.
    look
        Paper, staff, hands.
    foot
        The foot of every page.
    """
    highest = max((max(each.high_bpm, each.goal_bpm) for each in families), default=1.0)
    blocks = [_key()] + [_family(each, highest, look) for each in families]
    if first:
        blocks.append(paragraph("Begin with these", look, size=13, bold=True))
    blocks += [card_block(str(number), card, look) for number, card in enumerate(first, start=1)]
    return paged(heading(title, lines, look), blocks, look, foot=foot)


def _key() -> Block:
    text = "Black: the tempos expected, from the slowest to the fastest card. Line: the goal."
    return Block(4, (Text(0, 3, text, 8),))


def _family(each: FamilyStanding, highest: float, look: Look) -> Block:
    """Return a family's line: its name, how much was played, a bar of its tempos, the goal."""
    start = look.room - _BAR - 12
    at = [start + _BAR * bpm / highest for bpm in (each.low_bpm, each.high_bpm, each.goal_bpm)]
    tempos = f"{each.low_bpm:.0f} to {each.high_bpm:.0f}"
    if round(each.low_bpm) == round(each.high_bpm):
        tempos = f"{each.low_bpm:.0f}"
    name = shortened(each.name, _NAMES, BODY)
    played = f"{each.played} of {each.cards}"
    items = (
        Text(0, 3.2, name, BODY),
        Text(_NAMES + 14, 3.2, played, 8, anchor="end"),
        Text(start - 2, 3.2, tempos, BODY, anchor="end"),
        Rectangle(start, 1.2, _BAR, 1.6, 0.15),
        Rectangle(at[0], 1.2, max(at[1] - at[0], 0.8), 1.6, 0.1, filled=True),
        Line(at[2], 0, at[2], 4, 0.5),
        Text(look.room, 3.2, f"{each.goal_bpm:.0f}", BODY, anchor="end"),
    )
    return Block(_ROW - 3, items)
