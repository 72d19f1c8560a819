from __future__ import annotations

from itertools import pairwise
from math import erf, inf, sqrt

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import erfcx
from scipy.stats import norm, truncnorm

from drillbox.memory import normal


@given(st.floats(0.0, 200.0))
def test_mills_ratio_agrees_with_scipy(x: float) -> None:
    """Mills' ratio is sqrt(pi/2) erfcx(x/sqrt 2) (reference: SciPy), far tail included."""
    assert normal.mills(x) == pytest.approx(sqrt(np.pi / 2) * erfcx(x / sqrt(2)), rel=1e-11)


@given(st.floats(-8.0, 8.0))
def test_distribution_agrees_with_the_error_function(x: float) -> None:
    """Phi(x) = (1 + erf(x / sqrt 2)) / 2."""
    assert normal.below(x) == pytest.approx(0.5 * (1 + erf(x / sqrt(2))), abs=1e-15)


@examples(60)
@given(st.floats(-6.0, 6.0), st.floats(0.05, 8.0))
def test_truncated_moments_agree_with_scipy(low: float, width: float) -> None:
    """Chance, mean and variance between two cuts are those of scipy.stats.truncnorm."""
    high = low + width
    chance, mean, lost = normal.truncated(low, high)
    expected = truncnorm.stats(low, high, moments="mv")
    assert chance == pytest.approx(norm.cdf(high) - norm.cdf(low), rel=1e-8)
    assert mean == pytest.approx(float(expected[0]), abs=1e-7)
    assert 1.0 - lost == pytest.approx(float(expected[1]), rel=1e-5, abs=1e-9)


@pytest.mark.parametrize("low", [3.0, 12.0, 29.9, 30.1, 60.0])
@pytest.mark.parametrize("width", [0.1, 1.0, inf])
def test_far_tails_agree_with_quadrature(low: float, width: float) -> None:
    """Far out, where phi underflows, the moments still are those of the scaled density."""
    top = low + min(width, 40.0 / low)

    def weight(power: int) -> float:
        return float(
            quad(lambda x: (x - low) ** power * np.exp(0.5 * (low - x) * (low + x)), low, top)[0]
        )

    ahead = weight(1) / weight(0)
    spread = weight(2) / weight(0) - ahead**2
    _, mean, lost = normal.truncated(low, low + width)
    assert mean - low == pytest.approx(ahead, rel=1e-7)
    assert 1.0 - lost == pytest.approx(spread, rel=1e-3, abs=1e-10)


@given(st.floats(-50.0, 50.0), st.floats(0.01, 20.0))
def test_mirrored_cuts_mirror_the_moments(low: float, width: float) -> None:
    """Turning the axis round changes the sign of the mean and nothing else."""
    chance, mean, lost = normal.truncated(low, low + width)
    assert (chance, -mean, lost) == pytest.approx(normal.truncated(-low - width, -low), abs=1e-14)


def test_ordered_probit_of_four_reports() -> None:
    """Prior N(0, 1), noise 1, cuts -1, 0, 1: means and variances after each report.

    Closed form and quadrature agree (Herbrich, Minka & Graepel 2007 give the pass/fail case;
    the four-level values are derived in the project's notes).
    """
    spread = 2.0
    cuts = [-inf, -1.0, 0.0, 1.0, inf]
    seen = []
    for low, high in pairwise(cuts):
        chance, mean, lost = normal.truncated(low / sqrt(spread), high / sqrt(spread))
        seen.append((chance, mean / sqrt(spread), 1.0 - lost / spread))
    expected = [
        (0.2397500611, -0.9163528206, 0.6184739184),
        (0.2602499389, -0.2397662313, 0.5204262825),
        (0.2602499389, 0.2397662313, 0.5204262825),
        (0.2397500611, 0.9163528206, 0.6184739184),
    ]
    assert [pytest.approx(row, abs=1e-9) for row in expected] == seen
