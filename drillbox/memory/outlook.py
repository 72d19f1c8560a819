"""What a belief says about a moment: cold tempo, chance to hold, how long it will hold.

The memory interval has a closed form. The cold tempo ``mu - lam * log2(1 + t / S)`` meets the tempo
to hold, less ``z`` standard deviations, after ::

    t = S * (2 ** ((mu - log2(hold) - z * sd) / lam) - 1)

so an interval is long because the tempo reached stands well above the tempo to hold, or because the
card has survived long gaps.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import log2, sqrt
from typing import TYPE_CHECKING

from drillbox.base.tempi import TAKEN
from drillbox.memory.forgetting import FLOATS, days_held
from drillbox.memory.grade import HALF_STEP
from drillbox.memory.normal import below

if TYPE_CHECKING:
    from drillbox.memory.belief import Belief
    from drillbox.memory.parameters import Parameters

BAND_SDS = 1.2816
"""Half the width of an 80 % band of the normal distribution, in standard deviations."""
LONGEST_DAYS = 3650.0
"""No interval is longer: ten years is past anything that was measured."""


class State(StrEnum):
    """Where a card stands with the player."""

    WAITING = "waiting"
    BUILDING = "building"
    HOLDING = "holding"
    FADING = "fading"
    RESTED = "rested"


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is expected of a card at a moment.

    Parameters
    ----------
    cold_bpm
        Expected cold tempo.
    low_bpm, high_bpm
        The 80 % band around it: four times out of five it lies between.
    sd
        Its standard deviation in octaves.
    p_hold
        Chance that a cold take at the tempo to hold comes off at least steady.
    holds_until
        Moment at which the expected cold tempo meets the tempo to hold (days since the epoch); the
        past if it has; None for a card never played.
    """

    cold_bpm: float
    low_bpm: float
    high_bpm: float
    sd: float
    p_hold: float
    holds_until: float | None


def interval_days(
    belief: Belief, parameters: Parameters, *, hold_bpm: float, z: float = 0.0
) -> float:
    """Return the days from the last take until the cold tempo meets the tempo to hold.

    Parameters
    ----------
    belief, parameters
        The card and the player.
    hold_bpm
        The tempo to hold.
    z
        Safety, in standard deviations of the peak cold tempo.
    """
    margin = belief.mu - log2(max(hold_bpm, TAKEN.least)) - z * sqrt(max(belief.var_mu, 0.0))
    return min(days_held(margin, belief.ln_s, parameters.lam, FLOATS), LONGEST_DAYS)


def outlook(belief: Belief, at: float, parameters: Parameters, *, hold_bpm: float) -> Outlook:
    """Return what is expected of a card at a moment."""
    mean, variance = belief.cold(at, parameters)
    sd = sqrt(variance)
    line = log2(max(hold_bpm, TAKEN.least) - HALF_STEP)
    until = None
    if belief.at is not None:
        until = belief.at + interval_days(belief, parameters, hold_bpm=hold_bpm)
    return Outlook(
        cold_bpm=2.0**mean,
        low_bpm=2.0 ** (mean - BAND_SDS * sd),
        high_bpm=2.0 ** (mean + BAND_SDS * sd),
        sd=sd,
        p_hold=(1.0 - belief.apart) * below((mean - line) / sqrt(variance + parameters.sigma**2)),
        holds_until=until,
    )


def state(
    belief: Belief | None,
    at: float,
    parameters: Parameters,
    *,
    goal_bpm: float,
    rested: bool = False,
) -> State:
    """Return where a card stands: its peak against its goal, then its cold tempo now.

    One that has not come together yet is being built, whatever its relatives let expect.
    """
    if rested:
        return State.RESTED
    if belief is None or belief.takes == 0:
        return State.WAITING
    goal = log2(max(goal_bpm, TAKEN.least))
    if belief.apart or belief.mu < goal:
        return State.BUILDING
    return State.HOLDING if belief.cold(at, parameters)[0] >= goal else State.FADING
