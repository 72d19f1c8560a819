"""Graded takes that the disk refused: kept in order until it takes them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.errors import NotSavedError

if TYPE_CHECKING:
    from datetime import datetime

    from drillbox.box import Box
    from drillbox.memory import Grade


@dataclass(frozen=True, slots=True)
class Unsaved:
    """A graded take that is not on disk."""

    card_id: str
    bpm: float
    grade: Grade
    at: datetime
    seconds: float


def save_all(box: Box, unsaved: list[Unsaved]) -> bool:
    """Save the takes in order, taking each from the list as it is saved.

    Returns whether none is left.
    """
    while unsaved:
        take = unsaved[0]
        try:
            box.record(
                take.card_id, bpm=take.bpm, grade=take.grade, at=take.at, seconds=take.seconds
            )
        except NotSavedError:
            return False
        unsaved.pop(0)
    return True
