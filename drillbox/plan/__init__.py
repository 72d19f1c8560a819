"""What to play today, in what order, at what tempo, and why.

Pure: the moment, the minutes, the cards and what is believed of them are arguments. What
needs numpy, and what a plan does not need, loads when it is first asked for, so that a screen can
stand before it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base import loading_late
from drillbox.plan.candidates import Candidate, Day, Done, Item, Part, Plan
from drillbox.plan.takes import TakeShape, aim_bpm, next_bpm, take_shape, visit_bpm

if TYPE_CHECKING:
    from drillbox.plan.ahead import ForecastDay, forecast
    from drillbox.plan.planner import explain, make_plan
    from drillbox.plan.versus import Comparison, ExpectedVisit, compare

__all__ = [
    "Candidate",
    "Comparison",
    "Day",
    "Done",
    "ExpectedVisit",
    "ForecastDay",
    "Item",
    "Part",
    "Plan",
    "TakeShape",
    "aim_bpm",
    "compare",
    "explain",
    "forecast",
    "make_plan",
    "next_bpm",
    "take_shape",
    "visit_bpm",
]

_LATE = {
    "planner": ("explain", "make_plan"),
    "ahead": ("ForecastDay", "forecast"),
    "versus": ("Comparison", "ExpectedVisit", "compare"),
}
__getattr__ = loading_late(__name__, _LATE)
