"""The player's level: one number behind all cards, which takes its share of every surprise.

A card's expected tempo is what was believed of it at its last take, and what the level has moved
since. The level is a slow random walk, in octaves over where it stood before the first take. Each
cold take of a known card is a witness: how much likelier its grade would be if everything stood a
little higher is the slope of the grade's log-chance, the score; how sharply that falls off is its
information. The level moves by one step of a Kalman filter in its steady state ::

    level' = level + var * score / (1 + var * information)

with a fixed variance, at which what a take tells makes up for what the walk adds between two takes.
A take costs the same however many cards there are. What this leaves out of the exact filter is the
correlation between the level and each card's own error: small as long as the level is known much
better than any card. `tests/memory/test_memory_level.py` holds it to the exact one.

What the level was before and after a take is written down with the take (`Evidence`), as the first
guess is: so a card's replay needs no other card's, and gives the same numbers on any machine.

Reference: Kalman, *Journal of Basic Engineering* 82:35-45 (1960).
"""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import TYPE_CHECKING

from drillbox.memory.belief import expectation_of, grade_cuts, lifted, predictive_spread
from drillbox.memory.normal import truncated

if TYPE_CHECKING:
    from drillbox.memory.belief import Belief, Evidence
    from drillbox.memory.parameters import Parameters

MOST_SURPRISE = 1.5
"""A surprise past so many standard deviations counts as this much (assumption)."""


def with_level(
    belief: Belief, evidence: Evidence, level: float, parameters: Parameters
) -> Evidence:
    """Return a take with the player's level before and after it.

    Parameters
    ----------
    belief
        What was believed of its card after the card's last take.
    evidence
        The take.
    level
        The level after the last take of any card.
    parameters
        The player's numbers.
    """
    evidence = replace(evidence, level=level, level_after=level)
    cold = belief.day is None or evidence.day > belief.day
    if not cold or not belief.takes or belief.apart:
        return evidence
    before = lifted(belief, level)
    expected = expectation_of(before, evidence, parameters)
    var = parameters.level_sd**2
    spread = predictive_spread(before, expected, parameters) + var
    low, high = grade_cuts(evidence.bpm, evidence.grade)
    sd = sqrt(spread)
    _, mean, lost = truncated((low - expected.expected) / sd, (high - expected.expected) / sd)
    # One take that tells of something else must not move every card.
    score = max(-MOST_SURPRISE, min(mean, MOST_SURPRISE)) / sd
    return replace(evidence, level_after=level + var * score / (1.0 + var * lost / spread))
