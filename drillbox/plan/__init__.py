"""What to play today, in what order, at what tempo, and why.

Pure: the moment, the minutes, the cards and what is believed of them are arguments. Loads numpy.
"""

from __future__ import annotations

from drillbox.plan.cards import Candidate, Day, Done, Item, Part, Plan
from drillbox.plan.planner import explain, make_plan
from drillbox.plan.takes import TakeShape, aim_bpm, next_bpm, take_shape

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
