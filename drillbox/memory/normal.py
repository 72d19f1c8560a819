"""The normal distribution, safe in the far tails, in plain Python.

`truncated` is the heart of the ordered probit: the mean and variance of a standard normal variable
once it is known to lie between two cuts. Both come from Mills' ratio ``Q(x) / phi(x)`` (upper tail
over density), so that nothing underflows however unlikely the interval was.

Reference: N. L. Johnson, S. Kotz and N. Balakrishnan, *Continuous Univariate Distributions* 1, 2nd
ed. (1994), section 13.10.1, for the moments of the truncated normal.
"""

from __future__ import annotations

from math import erfc, exp, inf, pi, sqrt

SQRT_HALF = sqrt(0.5)
SQRT_HALF_PI = sqrt(pi / 2)
SQRT_TWO_PI = sqrt(2 * pi)
ASYMPTOTIC_FROM = 30.0
"""From here the asymptotic series is exact to 1e-15.

And ``exp(x * x / 2)`` starts to lose digits.
"""


def density(x: float) -> float:
    """Return phi(x)."""
    return exp(-0.5 * x * x) / SQRT_TWO_PI


def below(x: float) -> float:
    """Return Phi(x), the chance of a value below x."""
    return 0.5 * erfc(-x * SQRT_HALF)


def mills(x: float) -> float:
    """Return Q(x) / phi(x) for x >= 0."""
    if x < ASYMPTOTIC_FROM:
        return SQRT_HALF_PI * exp(0.5 * x * x) * erfc(x * SQRT_HALF)
    y = 1.0 / (x * x)
    series = 1.0
    for odd in (11.0, 9.0, 7.0, 5.0, 3.0, 1.0):
        series = 1.0 - odd * y * series
    return series / x


def truncated(low: float, high: float) -> tuple[float, float, float]:
    """Return chance, mean and lost variance of a standard normal between two cuts.

    Parameters
    ----------
    low, high
        The cuts, ``low < high``; either may be infinite.

    Returns
    -------
    tuple
        ``P(low < X < high)``, ``E(X | between)``, ``1 - Var(X | between)``.
    """
    if low < 0.0 < high:
        return _across(low, high)
    if high <= 0.0:
        chance, mean, lost = _aside(-high, -low)
        return chance, -mean, lost
    return _aside(low, high)


def _across(low: float, high: float) -> tuple[float, float, float]:
    chance = 1.0 - 0.5 * (erfc(-low * SQRT_HALF) + erfc(high * SQRT_HALF))
    at_low, at_high = density(low), density(high)
    mean = (at_low - at_high) / chance
    slope = (0.0 if low == -inf else low * at_low) - (0.0 if high == inf else high * at_high)
    return chance, mean, mean * mean - slope / chance


def _aside(low: float, high: float) -> tuple[float, float, float]:
    if high == inf:
        part = mills(low)
        mean = 1.0 / part
        return density(low) * part, mean, mean * (mean - low)
    share = exp(0.5 * (low - high) * (low + high))
    part = mills(low) - share * mills(high)
    mean = (1.0 - share) / part
    return density(low) * part, mean, mean * mean - (low - high * share) / part
