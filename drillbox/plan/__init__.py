"""What to play today, in what order, at what tempo, and why.

Pure: the moment, the minutes, the cards and what is believed of them are arguments. `make_plan`,
`explain` and `forecast` load numpy when they are first asked for, so that a screen can stand before
it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drillbox.plan.candidates import Candidate, Day, Done, Item, Part, Plan
from drillbox.plan.takes import TakeShape, aim_bpm, next_bpm, take_shape
from drillbox.plan.versus import Comparison, Visit, compare

if TYPE_CHECKING:
    from drillbox.plan.ahead import ForecastDay, forecast
    from drillbox.plan.planner import explain, make_plan

__all__ = [
    "Candidate",
    "Comparison",
    "Day",
    "Done",
    "ForecastDay",
    "Item",
    "Part",
    "Plan",
    "TakeShape",
    "Visit",
    "aim_bpm",
    "compare",
    "explain",
    "forecast",
    "make_plan",
    "next_bpm",
    "take_shape",
]


def __getattr__(name: str) -> Any:
    if name in {"explain", "make_plan"}:
        from drillbox.plan import planner  # noqa: PLC0415 - see the module docstring

        return getattr(planner, name)
    if name in {"ForecastDay", "forecast"}:
        from drillbox.plan import ahead  # noqa: PLC0415 - see the module docstring

        return getattr(ahead, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
