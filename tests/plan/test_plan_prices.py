from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy.integrate import trapezoid
from scipy.interpolate import RegularGridInterpolator
from scipy.optimize import minimize_scalar
from scipy.special import expit
from scipy.stats import gamma, norm

from drillbox.memory import Parameters
from drillbox.plan.prices import (
    DISCOUNT,
    FURTHER_COST,
    SOFT_SHARE,
    SOFT_WIDTH,
    STEP_WIDTH,
    Grid,
    PracticeLaw,
    PriceTable,
    _crossings,
    _earned,
    price_table,
    solve,
    step,
)

if TYPE_CHECKING:
    from collections.abc import Callable

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
    prices = table.again(margins, np.full(12, 1.5)).T
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


def test_worth_is_the_sum_of_a_steep_and_a_soft_step() -> None:
    """Worth is u = 0.8 step(cold / 0.13) + 0.2 step(cold / 0.45), as docs/model.md writes it.

    The steps are logistic curves of scale 1.702, within 0.01 of the normal one (Haley 1952, as
    cited by Camilli 1994); the cold margin after t days is margin - lam log2(1 + t / S).
    """
    law = PracticeLaw.of(Parameters())
    for margin, ln_s, wait in ((0.0, 0.0, 0.0), (0.1, 1.0, 4.0), (-0.3, 2.0, 1.0), (0.3, 0.0, 9.0)):
        cold = margin - law.lam * np.log2(1.0 + wait / np.exp(ln_s))
        parts = (1.0 - SOFT_SHARE, cold / STEP_WIDTH), (SOFT_SHARE, cold / SOFT_WIDTH)
        expected = sum(share * expit(1.702 * x) for share, x in parts)
        seen = law.worth(np.array([margin]), np.array([ln_s]), np.array([wait]))
        assert seen[0] == pytest.approx(expected)


def test_the_step_is_a_normal_distribution_function() -> None:
    """Within 0.01 of scipy's everywhere, and a number for any distance."""
    x = np.linspace(-6.0, 6.0, 401)
    assert np.abs(step(x) - norm.cdf(x)).max() < 0.01
    assert [0.0, 0.5, 1.0] == pytest.approx(list(step(np.array([-1e6, 0.0, 1e6]))), abs=1e-20)


def test_a_visit_lengthens_stability_by_most_of_the_gap() -> None:
    """Five days' gap on S = 4 days: 4 + 0.8 * 5 = 8, whatever the margin.

    What the take adds: half the first gain at the goal, nothing half an octave past it, 1.2 times
    as much a tenth of an octave below and from there on.
    """
    law = PracticeLaw.of(Parameters())
    margins = np.array([0.0, 0.25, 0.5, 0.9, -0.1, -0.8])
    after, ln_s = law.after(margins, np.log(np.full(6, 4.0)), np.full(6, 5.0))
    assert list(np.exp(ln_s)) == pytest.approx([8.0] * 6)
    half = 0.5 * Parameters().gain
    assert list(after - margins) == pytest.approx(
        [half, half / 2.0, 0.0, 0.0, 1.2 * half, 1.2 * half]
    )
    fatigue = Parameters().fatigue
    for taken in (1, 2, 3):
        again = law.again(margins, taken) - margins
        assert list(again) == pytest.approx(list((after - margins) * fatigue**taken))
    assert law.discount == DISCOUNT


def small(prices: int = 160) -> Grid:
    """Return a grid small enough for plain sums."""
    return Grid(
        np.array([-0.3, 0.0, 0.3]),
        np.array([0.0, 1.5]),
        np.array([1.0, 3.0, 8.0, 20.0]),
        np.geomspace(30.0, 0.05, prices),
    )


def by_hand(grid: Grid, price: float) -> tuple[dict[tuple[int, int], float], Callable[..., float]]:
    """Return the value of each state at a price, and the value anywhere between them.

    Plain value iteration with scipy's interpolation and quadrature: no code of the plan but the
    law.
    """
    law = PracticeLaw.of(Parameters())
    states = [(i, j) for i in range(len(grid.margins)) for j in range(len(grid.ln_s))]

    def earned(i: int, j: int, until: float) -> float:
        m, s = np.array([grid.margins[i]]), np.array([grid.ln_s[j]])
        days = np.linspace(0.0, until, 4001)
        each = law.worth(m, s, days) * np.exp(-days * DISCOUNT)
        return float(trapezoid(each, days))

    earn = {(i, j, w): earned(i, j, w) for i, j in states for w in (*grid.waits, 400.0)}
    value = {state: earn[(*state, 400.0)] for state in states}

    def at(state: tuple[float, ...], of: dict[tuple[int, int], float]) -> float:
        margin, ln_s = state
        table = np.array([[of[i, j] for j in range(len(grid.ln_s))] for i in range(3)])
        m = np.clip(margin, grid.margins[0], grid.margins[-1])
        s = np.clip(ln_s, grid.ln_s[0], grid.ln_s[-1])
        return float(RegularGridInterpolator((grid.margins, grid.ln_s), table)((m, s)))

    led = {
        (i, j, w): tuple(
            float(x[0])
            for x in law.after(np.array([grid.margins[i]]), np.array([grid.ln_s[j]]), np.array([w]))
        )
        for i, j in states
        for w in grid.waits
    }

    def visit(i: int, j: int, w: float, of: dict[tuple[int, int], float]) -> float:
        then = at(led[i, j, w], of)
        return earn[i, j, w] + float(np.exp(-w * DISCOUNT)) * (then - price)

    for _ in range(120):
        value = {
            (i, j): max(*(visit(i, j, w, value) for w in grid.waits), earn[i, j, 400.0])
            for i, j in states
        }

    def advantage(i: int, j: int, n: int) -> float:
        later = [visit(i, j, w, value) for w in grid.waits[n + 1 :]]
        return visit(i, j, grid.waits[n], value) - max(*later, earn[i, j, 400.0], -np.inf)

    return value, advantage


@pytest.mark.parametrize("price", [0.4, 2.0])
def test_prices_are_where_a_visit_now_stops_beating_every_later_one(price: float) -> None:
    """Value iteration by hand, at one price: dearer visits are worth making, cheaper ones not.

    The index of a restless bandit (Whittle 1988). States whose price lies within 5 % are let off,
    for worth is summed by half days and prices are tried in steps.
    """
    grid = small()
    table = solve(PracticeLaw.of(Parameters()), grid)
    _, advantage = by_hand(grid, price)
    decided = 0
    for i, j, n in np.ndindex(3, 2, 4):
        found = float(table.visits[i, j, n])
        if abs(found / price - 1.0) > 0.05:
            decided += 1
            assert (found > price) == (advantage(i, j, n) > 0.0), (i, j, n, found)
    assert decided > 15


def test_a_further_take_is_worth_what_it_adds_at_its_price() -> None:
    """At its own price q: value after it less value before is q times the cost of a take.

    That is 0.84 of a visit: the change of card is saved (6 of 43 seconds at 90 bpm).
    """
    grid = small()
    law = PracticeLaw.of(Parameters())
    table = solve(law, grid)
    for k in (1, 3):
        price = float(table.further[1, 1, k - 1])
        value, _ = by_hand(grid, price)
        moved = float(law.again(np.zeros(1), k)[0])
        between = value[1, 1] + (value[2, 1] - value[1, 1]) * moved / 0.3
        assert FURTHER_COST * price == pytest.approx(between - value[1, 1], rel=0.05)


def test_between_the_points_of_the_grid_prices_are_interpolated(table: PriceTable) -> None:
    """On a point it is the table's number; half way in margin and ln S the mean of the corners.

    Between two waits it is the mean where the wait is their geometric mean. Beyond the grid its
    edge holds.
    """
    grid = table.grid

    def at(margin: float, ln_s: float, wait: float) -> float:
        return float(table.visit(np.array([margin]), np.array([ln_s]), np.array([wait]))[0])

    i, j, n = 8, 5, 4
    m, s, w = grid.margins, grid.ln_s, grid.waits
    assert table.visits[i, j, n] == pytest.approx(at(m[i], s[j], w[n]))
    middle = at((m[i] + m[i + 1]) / 2, (s[j] + s[j + 1]) / 2, w[n])
    assert table.visits[i : i + 2, j : j + 2, n].mean() == pytest.approx(middle)
    quarter = at(m[i] + (m[i + 1] - m[i]) / 4, s[j], w[n])
    assert 0.75 * table.visits[i, j, n] + 0.25 * table.visits[i + 1, j, n] == pytest.approx(quarter)
    between = at(m[i], s[j], float(np.sqrt(w[n] * w[n + 1])))
    assert table.visits[i, j, n : n + 2].mean() == pytest.approx(between)
    assert table.visits[0, 0, 0] == pytest.approx(at(-9.0, -9.0, 0.0))
    assert table.visits[-1, -1, -1] == pytest.approx(at(9.0, 99.0, 5000.0))
    seen = table.again(m[i : i + 1], s[j : j + 1])
    assert table.further[i, j].tolist() == pytest.approx(seen[0].tolist())


def test_a_price_lies_between_the_two_that_were_tried() -> None:
    """The advantage -1 at 8 and 3 at 2 is nothing three quarters of the way to 8, in logarithms.

    Where it is positive at the dearest the price is that; where it never is, nothing.
    """
    prices = np.array([8.0, 2.0, 1.0])
    better = np.array([[-1.0, 1.0, -1.0, -1.0], [3.0, 2.0, -2.0, 0.0], [4.0, 3.0, -3.0, 5.0]])
    seen = _crossings(better, prices)
    assert [2.0 * 4.0**0.75, 8.0, 0.0, 2.0] == pytest.approx(list(seen))


def test_what_is_earned_is_the_discounted_worth() -> None:
    """Of a worth of 1 for ever: (1 - exp(-d t)) / d by each wait, with d a 40th.

    400 days are for ever. Of one that grows by the day: the integral of t exp(-d t).
    """

    class Steady(PracticeLaw):
        def worth(self, margin: Floats, ln_s: Floats, wait: Floats) -> Floats:
            return 1.0 + 0.0 * (margin + ln_s + wait)

    class Growing(PracticeLaw):
        def worth(self, margin: Floats, ln_s: Floats, wait: Floats) -> Floats:
            return wait + 0.0 * (margin + ln_s)

    waits = np.array([1.0, 2.25, 5.0, 27.0, 45.0])
    d, t = 1.0 / 40.0, np.array([*waits, 400.0])
    for law, expected in (
        (Steady, (1.0 - np.exp(-d * t)) / d),
        (Growing, (1.0 - np.exp(-d * t) * (1.0 + d * t)) / d**2),
    ):
        seen, for_ever = _earned(law.of(Parameters()), ONE, ONE, waits)
        assert list(expected) == pytest.approx([*seen[0], for_ever[0]], rel=0.03)
        assert list(expected[2:5]) == pytest.approx(list(seen[0, 2:]), rel=0.01)


def test_the_grid_covers_a_player_s_life(table: PriceTable) -> None:
    """From under half the goal to 1.6 times it; stability from 5 hours to 13 months.

    Waits from a day to 100, prices over three orders; steps of 0.04 octave around the goal and a
    quarter of a stability's e: judgement, 22 by 13 by 11 as docs/model.md says.
    """
    grid = table.grid
    assert (22, 13, 11, 14) == tuple(
        len(points) for points in (grid.margins, grid.ln_s, grid.waits, grid.prices)
    )
    assert [-1.1, 0.7] == pytest.approx([grid.margins[0], grid.margins[-1]])
    assert [-1.5, 6.0] == [grid.ln_s[0], grid.ln_s[-1]]
    assert [1.0, 100.0] == [grid.waits[0], grid.waits[-1]]
    assert [40.0, 0.02] == pytest.approx([grid.prices[0], grid.prices[-1]])
    near = grid.margins[(grid.margins > -0.25) & (grid.margins < 0.27)]
    assert np.diff(near) == pytest.approx(0.04)
    assert [-0.22, 0.26] == pytest.approx([near[0], near[-1]])
    assert np.diff(grid.margins).max() < 0.21
    ratios = grid.waits[1:] / grid.waits[:-1]
    assert 1.45 < ratios.min() <= ratios.max() <= 2.0
