from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.stats import gamma

from drillbox.memory import Parameters
from drillbox.plan.prices import Grid, PracticeLaw, PriceTable, price_table, solve

if TYPE_CHECKING:
    from drillbox.plan.prices import Floats

ONE = np.zeros(1)


@dataclass(frozen=True)
class Restoring:
    """A card that is wholly restored by a visit and fades exponentially.

    Nothing is ever learned.
    """

    rate: float
    discount: float = 1.0 / 800.0

    def worth(self, margin: Floats, ln_s: Floats, wait: Floats) -> Floats:
        """Return what is left of it."""
        return np.exp(-self.rate * wait) + 0.0 * margin

    def after(self, margin: Floats, ln_s: Floats, wait: Floats) -> tuple[Floats, Floats]:
        """Return the state it had."""
        return margin + 0.0 * wait, ln_s + 0.0 * wait

    def again(self, margin: Floats, taken: int) -> Floats:
        """Return the state it had."""
        return margin


def restoring_prices(rate: float) -> tuple[Floats, Floats]:
    """Return waits in days, and the price of a visit after each."""
    grid = Grid(ONE, ONE, np.arange(0.25, 30.0, 0.25), np.geomspace(20.0, 0.01, 120))
    table = solve(Restoring(rate), grid)
    waits = np.arange(0.5, 12.0, 0.5)
    return waits, table.visit(0.0 * waits, 0.0 * waits, waits)


@pytest.mark.parametrize("rate", [0.1, 0.25, 0.5])
def test_a_restoring_card_has_the_price_of_optimal_replacement(rate: float) -> None:
    """Loss 1 - exp(-n t), visit cost c: visit after T with c n = 1 - exp(-x)(1 + x), x = n T.

    The stationary rule of renewal theory; the reference gives T = gamma.ppf(c n, 2) / n, e.g.
    5.31812 days for n = 0.1, c = 1. Worth is summed by half days: that is the tolerance.
    """
    waits, prices = restoring_prices(rate)
    early = waits * rate < 2.5
    periods = gamma.ppf(prices[early] * rate, 2) / rate
    assert list(periods) == pytest.approx(list(waits[early]), abs=0.25, rel=0.04)


def test_there_is_no_universal_share_to_come_back_at() -> None:
    """At the best visit .862 .701 .588 .439 .187 of a card is left, for c n of .01 .05 .1 .2 .5.

    A dearer visit waits for a lower share: found by brute force over the mean cost of a cycle, and
    equal to gamma.ppf (derived in the reference, section 3.4).
    """
    rate = 0.1
    left = []
    for cost in (0.1, 0.5, 1.0, 2.0, 5.0):

        def mean_cost(t: float, cost: float = cost) -> float:
            return float((cost + t - (1.0 - np.exp(-rate * t)) / rate) / t)

        best = minimize_scalar(mean_cost, bounds=(0.1, 100.0), method="bounded").x
        assert best == pytest.approx(gamma.ppf(cost * rate, 2) / rate, rel=1e-4)
        left.append(float(np.exp(-rate * best)))
    assert pytest.approx(left, abs=1e-3) == [0.862, 0.701, 0.588, 0.439, 0.187]


@pytest.fixture(scope="module")
def table() -> PriceTable:
    """Return the prices for the parameters a box starts with."""
    return price_table(Parameters())


def test_waiting_never_makes_a_visit_cheaper(table: PriceTable) -> None:
    """The longer since the last visit, the dearer the next one.

    Where prices are ever paid (a card-day and up).
    """
    falls = np.diff(table.visits, axis=2) / np.maximum(table.visits[:, :, 1:], 1.0)
    assert falls.min() > -0.05


def test_past_the_goal_more_margin_can_wait_longer(table: PriceTable) -> None:
    """Of two cards that hold, the one further above its goal has the cheaper visit."""
    margins = np.linspace(0.1, 0.5, 9)
    for ln_s in (0.0, 2.0, 4.0):
        prices = table.visit(margins, np.full(9, ln_s), np.full(9, 4.0))
        assert all(a >= b for a, b in pairwise(prices))


def test_a_card_nearer_its_goal_is_built_first(table: PriceTable) -> None:
    """Below the goal the shortest way to another card in hand comes first."""
    margins = np.linspace(-1.0, -0.1, 10)
    prices = table.visit(margins, np.full(10, 1.0), np.full(10, 2.0))
    assert all(a <= b * 1.02 for a, b in pairwise(prices))


def test_further_takes_of_a_visit_are_worth_less(table: PriceTable) -> None:
    """Each further take of one visit has a lower price than the one before it.

    And than a fresh visit.

    Lee & Genovese (1988): massing depresses retention.
    """
    margins = np.linspace(-0.8, 0.3, 12)
    prices = [table.again(margins, np.full(12, 1.5), k) for k in (1, 2, 3)]
    assert np.all(prices[0] >= prices[1])
    assert np.all(prices[1] >= prices[2])
    assert np.all(prices[0] <= table.visit(margins, np.full(12, 1.5), np.full(12, 1.0)) + 0.05)


def gaps(table: PriceTable, price: float) -> list[int]:
    """Return the gaps between visits of a card at its goal, while time costs the same."""
    law = PracticeLaw.of(Parameters())
    waits = np.arange(1.0, 100.0)
    margin, ln_s, result = np.zeros(1), np.zeros(1), []
    for _ in range(8):
        prices = table.visit(np.full(99, margin[0]), np.full(99, ln_s[0]), waits)
        due = int(np.argmax(prices >= price))
        result.append(int(waits[due]))
        margin, ln_s = law.after(margin, ln_s, waits[due : due + 1])
    return result


def test_gaps_widen_and_busier_players_wait_longer(table: PriceTable) -> None:
    """At a steady price of time the gaps of a card expand, by about 1.3 to 2.5 once it holds.

    Expanding practice keeps most in hand throughout (Kang, Lindsey, Mozer & Pashler 2014); the
    factor is ours.
    """
    easy, busy = gaps(table, 1.0), gaps(table, 2.0)
    for seen in (easy, busy):
        assert seen == sorted(seen)
        assert 1.3 <= seen[-1] / seen[-2] <= 2.5
    assert all(a <= b for a, b in zip(easy, busy, strict=True))
