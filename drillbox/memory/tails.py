"""The normal distribution for whole arrays, safe in the far tails; numpy has no error function.

The scaled complementary error function is W. J. Cody's rational Chebyshev approximation
(*Mathematics of Computation* 23:631-637, 1969), good to the last digits of double precision.
`truncated` is the array twin of `drillbox.memory.normal.truncated`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from drillbox.memory.normal import SQRT_HALF, SQRT_HALF_PI, SQRT_TWO_PI

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

# Cody's tables: numerator and denominator for |x| <= 0.46875, up to 4, and beyond; highest power
# first.
NEAR = (
    (
        1.85777706184603153e-1,
        3.16112374387056560e0,
        1.13864154151050156e2,
        3.77485237685302021e2,
        3.20937758913846947e3,
    ),
    (
        1.0,
        2.36012909523441209e1,
        2.44024637934444173e2,
        1.28261652607737228e3,
        2.84423683343917062e3,
    ),
)
MIDDLE = (
    (
        2.15311535474403846e-8,
        5.64188496988670089e-1,
        8.88314979438837594e0,
        6.61191906371416295e1,
        2.98635138197400131e2,
        8.81952221241769090e2,
        1.71204761263407058e3,
        2.05107837782607147e3,
        1.23033935479799725e3,
    ),
    (
        1.0,
        1.57449261107098347e1,
        1.17693950891312499e2,
        5.37181101862009858e2,
        1.62138957456669019e3,
        3.29079923573345963e3,
        4.36261909014324716e3,
        3.43936767414372164e3,
        1.23033935480374942e3,
    ),
)
FAR = (
    (
        1.63153871373020978e-2,
        3.05326634961232344e-1,
        3.60344899949804439e-1,
        1.25781726111229246e-1,
        1.60837851487422766e-2,
        6.58749161529837803e-4,
    ),
    (
        1.0,
        2.56852019228982242e0,
        1.87295284992346047e0,
        5.27905102951428412e-1,
        6.05183413124413191e-2,
        2.33520497626869185e-3,
    ),
)
SQRT_PI_INVERSE = 5.6418958354775628695e-1


def _ratio(tables: tuple[tuple[float, ...], tuple[float, ...]], x: Floats) -> Floats:
    top = np.full_like(x, tables[0][0])
    bottom = np.full_like(x, tables[1][0])
    for above, below in zip(tables[0][1:], tables[1][1:], strict=True):
        top *= x
        top += above
        bottom *= x
        bottom += below
    top /= bottom
    return top


def scaled_erfc(x: Floats) -> Floats:
    """Return exp(x * x) * erfc(x) for x >= 0."""
    result = np.empty_like(x)
    near, far = x <= 0.46875, x > 4.0
    small = x[near]
    square = small * small
    result[near] = np.exp(square) * (1.0 - small * _ratio(NEAR, square))
    middle = ~(near | far)
    result[middle] = _ratio(MIDDLE, x[middle])
    large = x[far]
    y = 1.0 / (large * large)
    result[far] = (SQRT_PI_INVERSE - y * _ratio(FAR, y)) / large
    return result


def mills(x: Floats) -> Floats:
    """Return Q(x) / phi(x) for x >= 0."""
    return SQRT_HALF_PI * scaled_erfc(x * SQRT_HALF)


def below(x: Floats) -> Floats:
    """Return Phi(x), the chance of a value below x."""
    tail = np.exp(-0.5 * x * x) * mills(np.abs(x)) / SQRT_TWO_PI
    return np.where(x > 0.0, 1.0 - tail, tail)


def truncated(low: Floats, high: Floats) -> tuple[Floats, Floats, Floats]:
    """Return chance, mean and lost variance of a standard normal between two cuts, elementwise."""
    sign = np.where(high <= 0.0, -1.0, 1.0)
    near = np.where(sign < 0.0, -high, low)
    far = np.where(sign < 0.0, -low, high)
    across = (near < 0.0) & (far > 0.0)
    # An infinite cut has no density: a far but finite stand-in keeps infinity out of the products.
    a = np.clip(near, -1e8, 1e8)
    b = np.clip(far, -1e8, 1e8)
    at_a, at_b = np.exp(-0.5 * a * a), np.exp(-0.5 * b * b)
    tail_a, tail_b = mills(np.abs(np.stack((a, b))))
    share = np.where(across, 0.0, np.exp(0.5 * np.minimum(0.0, (a - b) * (a + b))))
    part = np.where(across, 1.0, tail_a - share * tail_b)
    chance = np.where(
        across, 1.0 - (at_a * tail_a + at_b * tail_b) / SQRT_TWO_PI, at_a * part / SQRT_TWO_PI
    )
    middle = SQRT_TWO_PI * np.where(across, chance, 1.0)
    mean = np.where(across, (at_a - at_b) / middle, (1.0 - share) / part)
    slope = np.where(across, (a * at_a - b * at_b) / middle, (a - b * share) / part)
    return chance, sign * mean, mean * mean - slope
