"""What a player has in hand: beliefs about cold tempo, forgetting, and what a graded take teaches.

Pure: no clock, no files, no chance. Loads neither numpy nor scipy; `drillbox.memory.replay`, which
does, is imported by those who replay a whole log.
"""

from __future__ import annotations

from drillbox.memory.belief import Belief, Evidence, prior, update
from drillbox.memory.grade import Grade
from drillbox.memory.outlook import LONGEST_DAYS, Outlook, State, interval_days, outlook, state
from drillbox.memory.parameters import MODEL_VERSION, Parameters

__all__ = [
    "LONGEST_DAYS",
    "MODEL_VERSION",
    "Belief",
    "Evidence",
    "Grade",
    "Outlook",
    "Parameters",
    "State",
    "interval_days",
    "outlook",
    "prior",
    "state",
    "update",
]
