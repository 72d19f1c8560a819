"""What a visit to a card is worth, as the price of time at which it is just worth making.

Suppose that practice time had a price. For one card alone the best policy is then a small decision
problem: after each visit, when to come back? Its state is the margin ``m`` (peak cold tempo over
the goal, in octaves) and the stability ``S``. While waiting it earns its worth, how nearly it is in
hand; a visit costs the price, adds tempo and lengthens the stability. The dearest price at which a
visit now still beats every later one is the visit's own price. All cards compete by it: the day's
minutes go to the visits with the highest price per second. This is the index of a restless bandit
(Whittle, *Journal of Applied Probability* 25A:287-298, 1988).

For a card that a visit restores wholly and nothing else changes it is the cost of one more day
without it, against the mean cost of a cycle (the optimal replacement rule; with loss 1 - exp(-n t)
and cost c/w it gives the period ``gamma.ppf(n c / w, 2) / n``, which the tests hold it to). For a
card below its goal it trades speed against spacing; for one with a large margin it says how long it
may wait.

Units: worth in cards in hand, so prices are card-days for each visit. Margins in octaves, stability
and waits in days.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy as np

from drillbox.memory.array_maths import COLUMNS
from drillbox.memory.forgetting import days_grown, octaves_lost

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drillbox.memory import Parameters

    Floats = NDArray[np.float64]

STEP_WIDTH = 0.13
"""Half-width in octaves of the step from not in hand to in hand, doubt about the tempo included."""
SOFT_SHARE, SOFT_WIDTH = 0.2, 0.45
"""Share and half-width of the slope that makes progress far from the goal count."""
DISCOUNT = 1.0 / 40.0
"""A day counts 1/40 less than the day before: the plan looks about six weeks ahead."""
GAIN_AT_GOAL = 0.5
"""Share of the first gain that a take still adds to a card at its goal (assumption)."""
PRACTICE_REACH, MOST_GAIN = 0.5, 1.2
"""What a take adds falls to nothing this many octaves past the goal.

And is at most so many times the gain at it: the exponential law of
practice (Heathcote, Brown & Mewhort, *Psychonomic Bulletin & Review* 7:185-207, 2000), cut off far
below."""
FURTHER_TAKES = 3
"""Takes of one visit after the first."""
FURTHER_COST = 0.84
"""What a further take costs against a whole visit: no change of card."""
CREDIT_EXPECTED = 0.8
"""Expected share of a gap that counts as survived."""
LOGISTIC = 1.702
"""Scale at which the logistic curve is within 0.01 of the normal one.

Haley 1952, as cited by Camilli 1994; value from memory.
"""

MARGINS = np.array(
    [*np.linspace(-1.1, -0.3, 6), *np.linspace(-0.22, 0.26, 13), 0.35, 0.5, 0.7], dtype=np.float64
)
LN_DAYS = np.linspace(-1.5, 6.0, 13)
WAITS = np.array([1.0, 2.0, 3.0, 5.0, 8.0, 12.0, 18.0, 27.0, 40.0, 60.0, 100.0])
PRICES = np.geomspace(40.0, 0.02, 14)
"""Tried from the dearest down."""
FINE_DAYS = np.array([*np.arange(0, 12, 0.5), *np.arange(12, 40, 2), *np.arange(40, 410, 10)])
"""Steps by which worth is summed over the days to come."""


class Law(Protocol):
    """What the decision problem of one card needs to know."""

    @property
    def discount(self) -> float:
        """Share by which a day counts less than the day before."""

    def worth(self, margin: Floats, ln_s: Floats, wait: Floats) -> Floats:
        """Return the worth so many days after a visit."""

    def after(self, margin: Floats, ln_s: Floats, wait: Floats) -> tuple[Floats, Floats]:
        """Return margin and ln stability after a visit so many days after the last."""

    def again(self, margin: Floats, taken: int) -> Floats:
        """Return the margin after a further take of the same visit."""


class PracticeLaw(NamedTuple):
    """The law of `drillbox.memory`, as far as a plan looks ahead."""

    lam: float
    growth: float
    gain: float
    fatigue: float
    discount: float = DISCOUNT

    @classmethod
    def of(cls, parameters: Parameters) -> PracticeLaw:
        """Return the law with one player's numbers."""
        p = parameters
        return cls(p.lam, p.growth, GAIN_AT_GOAL * p.gain, p.fatigue)

    def worth(self, margin: Floats, ln_s: Floats, wait: Floats) -> Floats:
        """Return how nearly the card is in hand."""
        cold = margin - octaves_lost(wait, ln_s, self.lam, COLUMNS)
        steep, soft = step(cold / STEP_WIDTH), step(cold / SOFT_WIDTH)
        return (1.0 - SOFT_SHARE) * steep + SOFT_SHARE * soft

    def after(self, margin: Floats, ln_s: Floats, wait: Floats) -> tuple[Floats, Floats]:
        """Return the state after one take that comes off about as expected."""
        grown = np.log(days_grown(np.exp(ln_s), wait, CREDIT_EXPECTED, self.growth))
        return margin + self._gain(margin), grown

    def again(self, margin: Floats, taken: int) -> Floats:
        """Return the margin after one more take on the same day."""
        return margin + self._gain(margin) * self.fatigue**taken

    def _gain(self, margin: Floats) -> Floats:
        share = np.minimum(np.maximum((PRACTICE_REACH - margin) / PRACTICE_REACH, 0.0), MOST_GAIN)
        result: Floats = self.gain * share
        return result


class Grid(NamedTuple):
    """Where the decision problem is solved."""

    margins: Floats
    ln_s: Floats
    waits: Floats
    prices: Floats


class PriceTable(NamedTuple):
    """Prices on a grid of margins and ln stabilities: of a visit after a wait, of further takes."""

    grid: Grid
    visits: Floats
    further: Floats

    def visit(self, margin: Floats, ln_s: Floats, wait: Floats) -> Floats:
        """Return the price of a visit now, so many days after the last one."""
        place = _Place.at(self.grid, margin, ln_s)
        waits = self.grid.waits
        t = np.minimum(np.maximum(wait, waits[0]), waits[-1])
        j = np.searchsorted(waits[1:-1], t)
        left, right = waits[j], waits[j + 1]
        share = np.log(t / left) / np.log(right / left)
        earlier, later = place.read(self.visits, j), place.read(self.visits, j + 1)
        result: Floats = (1.0 - share) * earlier + share * later
        return result

    def again(self, margin: Floats, ln_s: Floats) -> Floats:
        """Return the prices of the second, third and fourth take of a visit: (cards, takes)."""
        place = _Place.at(self.grid, margin, ln_s)
        each = np.arange(self.further.shape[-1])[:, None]
        return place.read(self.further, each).T


class _Place(NamedTuple):
    """Where states lie between the points of a grid: four corners and their weights."""

    corners: tuple[NDArray[np.int64], ...]
    weights: tuple[Floats, ...]

    @classmethod
    def at(cls, grid: Grid, margin: Floats, ln_s: Floats) -> _Place:
        i, a = _between(grid.margins, margin)
        j, b = _between(grid.ln_s, ln_s)
        n = len(grid.ln_s)
        right = 1 if n > 1 else 0
        down = n if len(grid.margins) > 1 else 0
        first = i * n + j
        return cls(
            (first, first + right, first + down, first + down + right),
            ((1 - a) * (1 - b), (1 - a) * b, a * (1 - b), a * b),
        )

    def read(self, table: Floats, column: NDArray[np.int64] | int) -> Floats:
        """Return the values of a table of (states, columns), in one column each, interpolated."""
        columns = table.shape[-1]
        places = (columns * corner + column for corner in self.corners)
        parts = (w * table.take(at) for at, w in zip(places, self.weights, strict=True))
        result: Floats = sum(parts, start=np.zeros(1))
        return result


def _between(points: Floats, x: Floats) -> tuple[NDArray[np.int64], Floats]:
    """Return before which point a value comes last, and how far between it and the next."""
    if len(points) == 1:
        return np.zeros(np.shape(x), dtype=np.int64), np.zeros(np.shape(x))
    i = np.searchsorted(points[1:-1], x)
    share = (x - points[i]) / (points[i + 1] - points[i])
    return i, np.minimum(np.maximum(share, 0.0), 1.0)


def step(x: Floats) -> Floats:
    """Return a normal distribution function, to 0.01, at the price of one exponential."""
    away = np.minimum(np.maximum(-LOGISTIC * x, -60.0), 60.0)
    result: Floats = 1.0 / (1.0 + np.exp(away))
    return result


@lru_cache(maxsize=4)
def price_table(parameters: Parameters) -> PriceTable:
    """Return the prices for one player's numbers."""
    return solve(PracticeLaw.of(parameters), Grid(MARGINS, LN_DAYS, WAITS, PRICES))


def solve(law: Law, grid: Grid) -> PriceTable:
    """Solve the decision problem of one card at each price, and find where visits stop paying."""
    margin, ln_s = (x.ravel() for x in np.meshgrid(grid.margins, grid.ln_s, indexing="ij"))
    earned, for_ever = _earned(law, margin, ln_s, grid.waits)
    next_margin, next_ln = law.after(margin[:, None], ln_s[:, None], grid.waits)
    place = _Place.at(grid, *np.broadcast_arrays(next_margin, next_ln))
    corners, weights = np.stack(place.corners), np.stack(place.weights)
    fade = np.exp(-law.discount * grid.waits)
    more = [_Place.at(grid, law.again(margin, k), ln_s) for k in range(1, FURTHER_TAKES + 1)]
    value, rows = for_ever, []
    for price in grid.prices:
        value = _value(value, price, _Step(earned, for_ever, corners, weights, fade))
        visit = earned + fade * (_led_to(value, corners, weights) - price)
        later = np.concatenate([visit[:, 1:], for_ever[:, None]], axis=1)
        later = np.maximum.accumulate(later[:, ::-1], axis=1)[:, ::-1]
        better = (visit - later) / fade
        taken = [m.read(value[:, None], 0) - value - price * FURTHER_COST for m in more]
        rows.append(np.concatenate([better, np.stack(taken, axis=1)], axis=1))
    crossing = _crossings(np.stack(rows), grid.prices)
    n, shape = len(grid.waits), (len(grid.margins), len(grid.ln_s))
    return PriceTable(grid, crossing[:, :n].reshape(*shape, n), crossing[:, n:].reshape(*shape, -1))


def _earned(law: Law, margin: Floats, ln_s: Floats, waits: Floats) -> tuple[Floats, Floats]:
    """Return the discounted worth earned until each wait, and for ever."""
    middle = 0.5 * (FINE_DAYS[1:] + FINE_DAYS[:-1])
    each = law.worth(margin[:, None], ln_s[:, None], middle)
    each = each * np.exp(-law.discount * middle) * np.diff(FINE_DAYS)
    total = np.concatenate([np.zeros((len(margin), 1)), np.cumsum(each, axis=1)], axis=1)
    k = np.searchsorted(FINE_DAYS, waits)
    share = (waits - FINE_DAYS[k - 1]) / (FINE_DAYS[k] - FINE_DAYS[k - 1])
    return total[:, k - 1] * (1.0 - share) + total[:, k] * share, total[:, -1]


class _Step(NamedTuple):
    """One round of the decision problem.

    What is earned, where a visit leads, how the future fades.
    """

    earned: Floats
    for_ever: Floats
    corners: NDArray[np.int64]
    weights: Floats
    fade: Floats


def _led_to(value: Floats, corners: NDArray[np.int64], weights: Floats) -> Floats:
    """Return the value of where visits lead, between four points of the grid each."""
    result: Floats = np.add.reduce(weights * value.take(corners), axis=0)
    return result


def _value(value: Floats, price: float, s: _Step) -> Floats:
    """Return the value of every state at a price.

    Policy improvement, with a few rounds of evaluation each.
    """
    states = np.arange(len(value))
    for _ in range(60):
        visit = s.earned + s.fade * (_led_to(value, s.corners, s.weights) - price)
        best = visit.argmax(axis=1)
        improved = np.maximum(visit[states, best], s.for_ever)
        change = float(np.abs(improved - value).max())
        value = improved
        if change < 2e-3:
            break
        # What of a visit does not change from round to round stays outside: these are most of the
        # time that a first plan takes.
        corners, fade = s.corners[:, states, best], s.fade[best]
        weights, earned = fade * s.weights[:, states, best], s.earned[states, best] - fade * price
        for _ in range(15):
            value = np.maximum(earned + _led_to(value, corners, weights), s.for_ever)
    return value


def _crossings(better: Floats, prices: Floats) -> Floats:
    """Return the price at which each advantage turns positive, between the prices tried.

    0 if at none.
    """
    found = np.where(better[0] > 0.0, prices[0], 0.0)
    for (dear, cheap), (above, under) in zip(pairwise(prices), pairwise(better), strict=True):
        turns = (found == 0.0) & (under > 0.0)
        share = np.clip(under / np.maximum(under - above, 1e-12), 0.0, 1.0)
        at = np.exp(np.log(cheap) * (1.0 - share) + np.log(dear) * share)
        found = np.where(turns, at, found)
    return found
