"""What the cards that were played say about those that were not.

A Gaussian process over pattern features: the tempo at which a card is first steady is the player's
level, plus a smooth function of what the pattern is like, plus something of the card's own.
Conditioned on the cards played so far it gives every other card a first tempo, with an honest
standard deviation: wide far from anything played, narrow between relatives.

The *tempo check* asks which few cards to play on a first day so that most is known about all:
greedily, the card whose take would lower the summed variance most.

Features are columns scaled so that one unit is a difference a player would notice; where they come
from is the caller's business. Tempi in octaves. Reference: Rasmussen & Williams, *Gaussian
Processes for Machine Learning* (2006), equations 2.23 and 2.24; the greedy design is their expected
reduction of variance (A-optimality).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log, log2
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from drillbox.memory.belief import Belief
    from drillbox.memory.parameters import Parameters

    Floats = NDArray[np.float64]

LEVEL_SD = 0.35
"""How far a player's level may lie from the first guess, in octaves (assumption)."""
SHAPE_SD, SHAPE_LENGTH = 0.25, 2.0
"""How much the pattern's features matter.

And the distance over which cards stop being alike (assumption).
"""
OWN_SD = 0.12
"""What is left that no feature tells (assumption)."""
MOST_PLAYED = 400
"""More played cards than this are thinned out evenly: the sum of their lessons hardly changes."""


@dataclass(frozen=True, slots=True)
class Guess:
    """The first tempo expected of a card, in bpm, and its standard deviation in octaves."""

    bpm: float
    sd: float


def first_tempo(belief: Belief, parameters: Parameters) -> float:
    """Return about what a card's tempo was before practice added to it, in octaves."""
    p, last = parameters, belief.takes_that_day
    # Takes of one day add less and less: seventeen on a first day are worth two and a half.
    spaced = belief.takes - last + (1.0 - p.fatigue**last) / (1.0 - p.fatigue)
    return belief.mu - p.gain * p.practice * log((p.practice + spaced) / p.practice)


def guess_first_tempi(
    played: Sequence[Belief],
    played_features: Floats,
    new_features: Floats,
    parameters: Parameters,
) -> list[Guess]:
    """Return a first guess for each card not yet played.

    Parameters
    ----------
    played, played_features
        Beliefs about the cards played, and their features, one row a card.
    new_features
        Features of the others.
    parameters
        The player's numbers; the first guess before anything was played is theirs.
    """
    base = log2(parameters.first_bpm)
    thin = np.linspace(0, len(played) - 1, min(len(played), MOST_PLAYED)).astype(np.int64)
    seen = np.array([first_tempo(played[i], parameters) - base for i in thin], dtype=np.float64)
    noise = np.array([played[i].var_mu for i in thin], dtype=np.float64) + OWN_SD**2
    own = np.full(len(new_features), LEVEL_SD**2 + SHAPE_SD**2 + OWN_SD**2)
    if not len(thin):
        return [Guess(2.0**base, float(sd)) for sd in np.sqrt(own)]
    at = played_features[thin]
    between = _alike(new_features, at)
    weights = np.linalg.solve(_alike(at, at) + np.diag(noise), between.T)
    means = base + seen @ weights
    spreads = np.sqrt(np.maximum(own - np.einsum("ij,ji->i", between, weights), OWN_SD**2))
    return [Guess(float(2.0**m), float(s)) for m, s in zip(means, spreads, strict=True)]


def most_telling(features: Floats, count: int, *, take_sd: float = 0.1) -> list[int]:
    """Return the cards to play on a first day, the most telling first.

    Parameters
    ----------
    features
        Features of all the cards, one row a card.
    count
        How many to choose.
    take_sd
        What is not known of a card after its first visit, in octaves.
    """
    left = _alike(features, features)
    noise = OWN_SD**2 + take_sd**2
    chosen: list[int] = []
    for _ in range(min(count, len(features))):
        told = (left**2).sum(axis=0) / (np.diag(left) + noise)
        told[chosen] = -1.0
        best = int(told.argmax())
        chosen.append(best)
        column = left[:, best]
        left = left - np.outer(column, column) / (column[best] + noise)
    return chosen


def _alike(one: Floats, other: Floats) -> Floats:
    """Return the covariance of first tempi, without what is a card's own."""
    far = ((one[:, None, :] - other[None, :, :]) ** 2).sum(axis=-1)
    result: Floats = LEVEL_SD**2 + SHAPE_SD**2 * np.exp(-0.5 * far / SHAPE_LENGTH**2)
    return result
