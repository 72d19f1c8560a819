"""What to play today, in what order, at what tempo, and why.

Pure: the moment, the minutes, the cards and what is believed of them are arguments. `make_plan` and `explain` load
numpy when they are first asked for, so that a screen can stand before it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drillbox.plan.cards import Candidate, Day, Done, Item, Part, Plan
from drillbox.plan.takes import TakeShape, aim_bpm, next_bpm, take_shape

if TYPE_CHECKING:
    from drillbox.plan.planner import explain, make_plan

__all__ = [
    "Candidate",
    "Day",
    "Done",
    "Item",
    "Part",
    "Plan",
    "TakeShape",
    "aim_bpm",
    "explain",
    "make_plan",
    "next_bpm",
    "take_shape",
]


def __getattr__(name: str) -> Any:
    if name not in {"explain", "make_plan"}:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from drillbox.plan import planner  # noqa: PLC0415 - see the module docstring

    return getattr(planner, name)
