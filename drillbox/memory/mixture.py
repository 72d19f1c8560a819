"""What a grade teaches: two readings of it, weighed by how likely each is.

Most takes tell of the card; a few tell of something else (a wrong key, a bad day). Each reading is
one exact probit term, handed on to ``(mu, ln S)`` by the gain vector; together they are a mixture,
whose mean and variance follow from the law of total variance. The arithmetic is the same for one
card and for columns of cards.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Generic, NamedTuple, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from drillbox.memory.parameters import Parameters

Number = TypeVar("Number", float, "NDArray[np.float64]")


class Moments(NamedTuple, Generic[Number]):
    """Means, variances and covariance of the peak cold tempo (octaves) and of ln S."""

    mu: Number
    ln_s: Number
    var_mu: Number
    cov: Number
    var_ln_s: Number


class Term(NamedTuple, Generic[Number]):
    """One reading of a grade.

    Its chance, E(X)/spread and lost variance/spread of X ~ N(0, spread) between the cuts.
    """

    chance: Number
    mean: Number
    lost: Number


def wild_spread(spread: Number, noise: Number, parameters: Parameters) -> Number:
    """Return the variance of the right tempo, noise included, in a take of something else."""
    return spread - noise + parameters.wild_jump**2 + parameters.wild_noise**2


def condition(
    before: Moments[Number],
    to: tuple[Number, Number],
    plain: Term[Number],
    other: Term[Number],
    parameters: Parameters,
) -> tuple[Moments[Number], Number]:
    """Return the moments after a grade, and the chance that it had.

    Parameters
    ----------
    before
        The moments, with what idle time added.
    to
        Covariances of the cold tempo with mu and ln S.
    plain, other
        The grade read as the card's, and as something else's.
    parameters
        The player's numbers.
    """
    to_mu, to_ln_s = to
    jump = parameters.wild_jump**2
    # How likely each reading is, now that the grade is known (Bayes).
    odds = (1.0 - parameters.wild_share) * plain.chance
    wild_odds = parameters.wild_share * other.chance
    wild = wild_odds / (odds + wild_odds)
    true = 1.0 - wild
    # In the other reading the card itself may have jumped: its peak is less certain by that, and
    # goes along with the right tempo by as much more.
    wild_to_mu = to_mu + jump
    # By how much each reading moves the two means.
    gain_mu, gain_s = to_mu * plain.mean, to_ln_s * plain.mean
    wild_mu, wild_s = wild_to_mu * other.mean, to_ln_s * other.mean
    apart_mu, apart_s, both = gain_mu - wild_mu, gain_s - wild_s, true * wild
    plain_lost, other_lost = true * plain.lost, wild * other.lost
    # Law of total variance: the mean of the readings' variances (what was, and the jump, less what
    # each reading has learned) and the variance of their means (`both` times a squared distance).
    after = Moments(
        before.mu + true * gain_mu + wild * wild_mu,
        before.ln_s + true * gain_s + wild * wild_s,
        before.var_mu
        + wild * jump
        - plain_lost * to_mu**2
        - other_lost * wild_to_mu**2
        + both * apart_mu**2,
        before.cov
        - plain_lost * to_mu * to_ln_s
        - other_lost * wild_to_mu * to_ln_s
        + both * apart_mu * apart_s,
        before.var_ln_s - (plain_lost + other_lost) * to_ln_s**2 + both * apart_s**2,
    )
    return after, odds + wild_odds


def unless_apart(
    before: Moments[Number], after: Moments[Number], chance: Number, apart: Number, told: Number
) -> tuple[Moments[Number], Number, Number]:
    """Return the moments after a grade that may tell of a pattern that has not come together.

    If it has not, the grade tells nothing of the tempo. A mixture again, of what was believed
    before and after.

    Parameters
    ----------
    before, after
        The moments without the grade, and with it if the pattern had come together.
    chance
        The chance of the grade in that case.
    apart
        The chance that it had not.
    told
        The chance of the grade then.

    Returns
    -------
    tuple
        The moments, the chance that the grade had, and the chance that the pattern was apart.
    """
    odds = (1.0 - apart) * chance
    whole = odds + apart * told
    share = odds / whole
    both = share * (1.0 - share)
    mu, ln_s = after.mu - before.mu, after.ln_s - before.ln_s
    mixed = Moments(
        before.mu + share * mu,
        before.ln_s + share * ln_s,
        before.var_mu + share * (after.var_mu - before.var_mu) + both * mu * mu,
        before.cov + share * (after.cov - before.cov) + both * mu * ln_s,
        before.var_ln_s + share * (after.var_ln_s - before.var_ln_s) + both * ln_s * ln_s,
    )
    return mixed, whole, 1.0 - share
