"""Grooves that the vocabulary is laid over, as data. Common practice, no source.

Each is one or two bars in the spoken notation, without ghosts, so that ghosts can be added
everywhere.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.errors import UsageError
from drillbox.rhythm.notation import parse

if TYPE_CHECKING:
    from drillbox.rhythm.pattern import Pattern

__all__ = ["STOCK_GROOVES", "stock_groove"]

STOCK_GROOVES = {
    "backbeats": "snare: >2 >4",
    "rock eighths": "hat: beat &\nsnare: >2 >4\nbass: 1 3",
    "quarter hat": "hat: beat\nsnare: >2 >4\nbass: 1 3",
    "sixteenth hat": "hat: beat e & a\nsnare: >2 >4\nbass: 1 3",
    "half-time": "hat: beat &\nsnare: >3\nbass: 1",
    "shuffle": "grid: 8t\nhat: beat l\nsnare: >2 >4\nbass: 1 3",
    "half-time shuffle": "grid: 8t\nhat: beat l\nsnare: >3\nbass: 1",
    "triplet backbeats": "grid: 8t\nhat: beat\nsnare: >2 >4\nbass: 1 3",
    "six-eight": "meter: 6/8\nhat: beat\nsnare: >4\nbass: 1",
    "twelve-eight": "meter: 12/8\nhat: beat\nsnare: >4 >10\nbass: 1 7",
    "three-four": "meter: 3/4\nhat: beat &\nsnare: >3\nbass: 1",
    "five-four": "meter: 5/4\nhat: beat &\nsnare: >2 >5\nbass: 1 4",
    "seven-eight": "meter: 7/8\nhat: beat\nsnare: >3 >7\nbass: 1 5",
    "linear": "hat: 1e 1& 1a 2& 3 3& 3a 4&\nsnare: >2 >4\nbass: 1 2a 3e",
}
"""By name, in a player's order."""


def stock_groove(name: str) -> Pattern:
    """Return the groove of this name.

    Raises
    ------
    UsageError
        If there is none.
    """
    if name not in STOCK_GROOVES:
        raise UsageError(f"no groove {name!r}", fix=f"write one of: {', '.join(STOCK_GROOVES)}")
    return parse(STOCK_GROOVES[name])
