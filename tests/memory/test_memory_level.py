"""One player behind all cards: the level that takes its share of every surprise."""

from __future__ import annotations

from dataclasses import replace
from math import log2, sqrt

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import truncnorm
from strategies import beliefs, evidences

from drillbox.memory import Belief, Evidence, Grade, Parameters, prior, update
from drillbox.memory.belief import grade_cuts, lifted
from drillbox.memory.level import with_level

PLAIN = Parameters()
STILL = replace(PLAIN, lam=0.0, gain=0.0, growth=0.0, boost=0.0, idle_var=0.0, wild_share=0.0)
"""A player who neither forgets nor learns: only the level moves."""
TAKES_A_DAY = 15


class Exact:
    """The same filter with the whole covariance of the level and all cards, take by take.

    Each grade is moment-matched along the right tempo (scipy's truncated normal), and the gain goes
    to everything that is correlated with it: Kalman's update on the joint Gaussian.
    """

    def __init__(self, means: list[float], sd: float, walk: float) -> None:
        self.mean = np.array([0.0, *means])
        self.cov = np.diag([PLAIN.level_sd**2, *[sd**2] * len(means)])
        self.walk = walk

    def take(self, card: int, bpm: float, grade: Grade) -> None:
        """Learn from one cold take."""
        self.cov[0, 0] += self.walk
        h = np.zeros(len(self.mean))
        h[0] = h[card + 1] = 1.0
        to = self.cov @ h
        spread = float(h @ to) + STILL.sigma**2
        low, high = grade_cuts(bpm, grade)
        sd, at = sqrt(spread), float(h @ self.mean)
        mean, var = truncnorm.stats((low - at) / sd, (high - at) / sd, moments="mv")
        self.mean = self.mean + to / sd * float(mean)
        self.cov = self.cov - np.outer(to, to) * (1.0 - float(var)) / spread


def grade_of(right: float, bpm: float) -> Grade:
    """Return the grade that the right tempo gives at a tempo."""
    return Grade(int(np.digitize(2.0**right - bpm, [-7.5, -2.5, 2.5, 7.5])) - 2)


def test_it_follows_the_exact_filter_of_level_and_cards_together() -> None:
    """Thirty cards, forty days, a level that rises by a quarter octave: as good as the whole.

    Kalman (1960) on the joint Gaussian of 31 numbers, against one number beside each card's own.
    Compared is what is expected of every card each evening.
    """
    rng = np.random.default_rng(3)
    cards, sd = 30, 0.1
    start = rng.uniform(6.0, 6.6, cards)
    truth = start + rng.normal(0.0, sd, cards)
    exact = Exact(list(start), sd, 0.012**2 / TAKES_A_DAY)
    known = [replace(prior(STILL, bpm=2.0**m, sd=sd), apart=0.0, takes=1, at=0.0) for m in start]
    level, apart, off, off_exact = 0.0, [], [], []
    for day in range(1, 41):
        true_level = 0.25 * day / 40.0
        for card in rng.choice(cards, TAKES_A_DAY, replace=False).tolist():
            bpm = float(np.round(2.0 ** lifted(known[card], level).mu))
            right = truth[card] + true_level + STILL.sigma * rng.standard_normal()
            grade = grade_of(right, bpm)
            take = with_level(known[card], Evidence(float(day), day, bpm, grade), level, STILL)
            known[card], level = update(known[card], take, STILL), take.level_after or 0.0
            exact.take(card, bpm, grade)
        told = np.array([lifted(belief, level).mu for belief in known])
        best = exact.mean[1:] + exact.mean[0]
        apart.append(np.abs(told - best).mean())
        off.append(np.abs(told - truth - true_level).mean())
        off_exact.append(np.abs(best - truth - true_level).mean())
    assert max(apart) < 0.03
    assert np.mean(off[10:]) < 1.25 * np.mean(off_exact[10:])
    assert level > 0.1


def test_what_is_not_known_of_the_level_is_what_steadily_remains() -> None:
    """At the variance kept, what fifteen takes tell is what the walk adds in a day of them.

    The steady state of the scalar Riccati equation, P = P / (1 + P I) + q, so P^2 I = q (1 + P I).
    """
    information = 1.0 / (PLAIN.sigma**2 + 0.004)
    p, q = 1.0, 0.012**2 / TAKES_A_DAY
    for _ in range(100_000):
        p = p / (1.0 + p * information) + q
    assert sqrt(p) == pytest.approx(PLAIN.level_sd, rel=0.15)


def morning(grades: list[Grade]) -> float:
    """Return the level after first takes of known cards at the tempo expected of them."""
    level = 0.0
    for k, grade in enumerate(grades):
        card = Belief(log2(90.0), 2.0, 0.003, 0.0, 0.1, 20000.0 - k, 739163 - k, 1, 12)
        take = Evidence(20010.0, 739173, 85.0, grade)
        level = with_level(card, take, level, PLAIN).level_after or 0.0
    return level


def test_five_automatic_takes_ask_the_sixth_faster() -> None:
    """A good morning lifts what is expected of a card that was not played; a bad one lowers it."""
    waiting = Belief(log2(90.0), 2.0, 0.003, 0.0, 0.1, 19980.0, 739143, 1, 12)
    good, bad = morning([Grade.AUTOMATIC] * 5), morning([Grade.FELL_APART] * 5)
    assert 0.02 < good < 0.15
    assert -0.15 < bad < -0.02
    assert lifted(waiting, good).mu - waiting.mu == pytest.approx(good)
    assert morning([Grade.STEADY] * 5) == pytest.approx(0.0, abs=0.03)


@examples(60)
@given(beliefs(), evidences(), st.floats(-0.2, 0.2))
def test_one_take_moves_the_level_little(belief: Belief, seen: Evidence, level: float) -> None:
    """However wild a take, the level moves by less than 1 %: it takes many cards to move it.

    It never moves against the grade: falling apart lowers it, automatic raises it.
    """
    moves = []
    for grade in (Grade.FELL_APART, Grade.AUTOMATIC):
        take = with_level(belief, replace(seen, grade=grade), level, PLAIN)
        assert level == take.level
        moves.append((take.level_after or 0.0) - level)
    assert all(abs(move) < log2(1.01) for move in moves)
    assert moves[0] <= 0.0 <= moves[1]


@examples(60)
@given(beliefs(), evidences(), st.floats(-0.2, 0.2))
def test_a_take_without_a_level_leaves_it_where_it_was(
    belief: Belief, seen: Evidence, level: float
) -> None:
    """A take in which none was written down is read as if the level had not moved since."""
    plain = update(belief, seen, PLAIN)
    same = update(belief, replace(seen, level=belief.level, level_after=belief.level), PLAIN)
    assert plain.to_row() == pytest.approx(same.to_row())
    assert lifted(lifted(belief, level), belief.level).mu == pytest.approx(belief.mu)
