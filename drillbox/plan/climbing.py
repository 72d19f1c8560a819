"""What cold tempo itself is worth, above the goal as well, and when a card has had enough of late.

Beside being in hand (`drillbox.plan.prices`) a card has worth in its cold tempo, linear in octaves
and ending smoothly at the top tempo. For a linear worth the price of a visit has a closed form:
what the take adds, for as long as the plan looks ahead, and what the wait has cost beyond what a
visit now would make it cost again. With the loss ``l(t) = lam log2(1 + t / S)`` the second part is
``T l(T) - integral of l from 0 to T = lam / ln 2 * (T - S ln(1 + T / S))``: the optimal replacement
rule again.

Units as in `drillbox.plan.prices`: cards in hand times days.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from drillbox.memory.belief import RECENT_DAYS
from drillbox.memory.forgetting import fresh_gain
from drillbox.plan.prices import DISCOUNT, step

if TYPE_CHECKING:
    from drillbox.memory import Parameters
    from drillbox.plan.prices import Floats

CLIMB_WORTH = 0.1
"""Cards in hand that an octave of cold tempo is worth, below the goal and above it."""
TOP_WIDTH = 0.08
"""Octaves under the top tempo over which the climb ends (assumption)."""
GRINDING = 0.1
"""By this share each take of late lowers the price of the next one.

Without it the card that stands just under its goal and does not move is the dearest for ever."""


class Climbers(NamedTuple):
    """Cards as columns: peak cold tempo, ln stability, takes in all and today, climb, ceiling."""

    mu: Floats
    ln_s: Floats
    takes: Floats
    today: Floats
    climbs: Floats
    ceiling_bpm: Floats


def climb_prices(c: Climbers, wait: Floats, p: Parameters, takes: int) -> Floats:
    """Return what cold tempo makes the next take and the further ones worth: (cards, takes).

    Parameters
    ----------
    c
        The cards.
    wait
        Days since each was played.
    p
        The player's numbers.
    takes
        How many takes are looked at.
    """
    days = np.exp(c.ln_s)
    lost = p.lam / np.log(2.0) * (wait - days * np.log1p(wait / days))
    gain = fresh_gain(c.takes, p.gain, p.practice) / DISCOUNT
    room = c.climbs * step((np.log2(c.ceiling_bpm) - TOP_WIDTH - c.mu) / TOP_WIDTH)
    taken = c.today[:, None] + np.arange(takes)
    added = gain[:, None] * p.fatigue**taken + np.where(taken > 0, 0.0, lost[:, None])
    result: Floats = CLIMB_WORTH * room[:, None] * added
    return result


def weariness(recent: Floats, since: Floats) -> Floats:
    """Return what a card's prices are divided by for having been played much of late.

    Parameters
    ----------
    recent
        Takes of late, as they counted at the last one (`drillbox.memory.Belief.recent`).
    since
        Days since then.
    """
    result: Floats = 1.0 + GRINDING * recent * np.exp(-since / RECENT_DAYS)
    return result
