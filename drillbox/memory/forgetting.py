"""The laws of forgetting, warmth and growth, written once: for one card, and for columns of cards.

``t`` days after the last take the cold tempo of a card with peak ``mu`` (octaves) and stability
``S`` (days) is ::

    cold(t) = mu - lam * log2(1 + t / S)

a power law of forgetting (Wickelgren 1974; Wixted & Ebbesen 1991) on the logarithm of tempo. From
it follow its slope in ln S, its variance when ``(mu, ln S)`` is Gaussian, and its inverse, the days
that a margin over the tempo to hold lasts.

A law that needs more than signs of arithmetic is given the functions to use: `FLOATS` here, or the
arrays of `drillbox.memory.array_maths`, so that a look at one card does not load numpy.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Generic, NamedTuple

from drillbox.memory.mixture import Number

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.memory.mixture import Moments
    from drillbox.memory.parameters import Parameters

MOST_DOUBLINGS = 60.0
"""A wait of 2 to this power stabilities is for ever; more would not fit a float's exponent."""


class Maths(NamedTuple, Generic[Number]):
    """The functions that floats and arrays do not share."""

    exp: Callable[[Number], Number]
    log2: Callable[[Number], Number]
    lower: Callable[[Number, Number | float], Number]
    higher: Callable[[Number, Number | float], Number]


FLOATS: Maths[float] = Maths(math.exp, math.log2, min, max)


def octaves_lost(gap: Number, ln_s: Number, lam: float, maths: Maths[Number]) -> Number:
    """Return how far the cold tempo has fallen under the peak after a gap in days."""
    return lam * maths.log2(1.0 + gap * maths.exp(-ln_s))


def forgetting_slope(gap: Number, ln_s: Number, lam: float, maths: Maths[Number]) -> Number:
    """Return d cold / d ln S: how much a longer stability would have saved over the gap."""
    return lam / math.log(2.0) * gap / (gap + maths.exp(ln_s))


def idle_variance(
    var_mu: Number, gap: Number, parameters: Parameters, maths: Maths[Number]
) -> Number:
    """Return the variance that an idle gap adds, never past that of an unplayed card."""
    room = parameters.first_sd**2 - var_mu
    return maths.higher(maths.lower(parameters.idle_var * gap, room), 0.0)


def cold_tempo(
    moments: Moments[Number], gap: Number, parameters: Parameters, maths: Maths[Number]
) -> tuple[Number, Number]:
    """Return mean and variance of the cold tempo after a gap, in octaves.

    The variance is that of the law linearised in ``(mu, ln S)``, with what idle time adds.
    """
    mu, ln_s, var_mu, cov, var_ln_s = moments
    slope = forgetting_slope(gap, ln_s, parameters.lam, maths)
    variance = maths.higher(var_mu + slope * (2.0 * cov + slope * var_ln_s), 0.0)
    mean = mu - octaves_lost(gap, ln_s, parameters.lam, maths)
    return mean, variance + idle_variance(var_mu, gap, parameters, maths)


def days_held(margin: Number, ln_s: Number, lam: float, maths: Maths[Number]) -> Number:
    """Return the days after which the cold tempo has fallen by a margin in octaves; 0 for none."""
    doublings = maths.higher(maths.lower(margin / lam, MOST_DOUBLINGS), 0.0)
    days: Number = maths.exp(ln_s) * (2.0**doublings - 1.0)
    return days


def fresh_gain(takes: Number, gain: Number | float, practice: float) -> Number:
    """Return the octaves that a day's first take adds near the edge, after so many takes."""
    octaves: Number = gain * practice / (practice + takes)
    return octaves


def warmth(taken: Number) -> Number:
    """Return the share of the boost that hands have after so many takes of a day.

    Half of it after one take, three quarters after two.
    """
    share: Number = 1.0 - 0.5**taken
    return share


def days_grown(days: Number, gap: Number, credit: Number | float, growth: float) -> Number:
    """Return the stability after a gap, of which a take proves a share to be survived; in days."""
    return days + growth * gap * credit
