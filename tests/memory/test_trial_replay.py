"""Learning's two tools: one log under many numbers at once, and the way down to the least cost."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from strategies import beliefs
from strategies_memory import some_takes

from drillbox.memory import Belief, Parameters, prior
from drillbox.memory.newton import FARTHEST, minimum
from drillbox.memory.parameters import LEARNED
from drillbox.memory.replay import replay_with_chances
from drillbox.memory.replay_columns import Takes
from drillbox.memory.replay_step import OwnNumbers
from drillbox.memory.trial_replay import TrialReplay

PLAIN = Parameters()
FACTORS = st.floats(0.25, 4.0)


@examples(25)
@given(
    st.integers(0, 10**6),
    st.sampled_from([1, 3, 20, 60]),
    st.lists(beliefs(), max_size=5),
    st.lists(st.tuples(FACTORS, FACTORS, FACTORS), min_size=1, max_size=4),
)
def test_many_sets_at_once_are_each_by_itself(
    seed: int, cards: int, known: list[Belief], factors: list[tuple[float, float, float]]
) -> None:
    """The chances of every grade are those of a replay with that set alone, few cards or many."""
    takes = some_takes(seed, cards, 3 * cards + 20)
    start = (known + [prior(PLAIN)] * cards)[:cards]
    sets = [
        replace(PLAIN, gain=g * PLAIN.gain, boost=b * PLAIN.boost, sigma=s * PLAIN.sigma)
        for g, b, s in factors
    ]
    seen = TrialReplay(start, takes, PLAIN).chances(sets)
    for parameters, chances in zip(sets, seen, strict=True):
        expected = replay_with_chances(start, takes, parameters)[1]
        assert expected == pytest.approx(chances, rel=1e-9, abs=1e-300)


def test_what_is_learned_is_what_may_differ_from_set_to_set() -> None:
    """Another number that is learned would be tried in vain if the replay did not know of it."""
    assert LEARNED == OwnNumbers._fields


def test_a_log_without_takes_has_no_chances() -> None:
    """And without cards neither."""
    nothing = Takes.of([], [], [], [], [])
    for start in ([], [prior(PLAIN)]):
        assert (2, 0) == TrialReplay(start, nothing, PLAIN).chances([PLAIN, PLAIN]).shape


@examples(60)
@given(
    st.lists(st.floats(-2.0, 2.0), min_size=3, max_size=3),
    st.lists(st.floats(-1.0, 1.0), min_size=9, max_size=9),
)
def test_the_bottom_of_a_bowl_is_found(bottom: list[float], sides: list[float]) -> None:
    """Where the cost is quadratic differences are exact: any bowl, however it lies, to rounding."""
    lies = np.array(sides).reshape(3, 3)
    bowl = lies @ lies.T + np.eye(3)

    def costs(points: np.ndarray) -> np.ndarray:
        away = points - np.array(bottom)
        return np.asarray(0.5 * np.einsum("pi,ij,pj->p", away, bowl, away))

    assert bottom == pytest.approx(minimum(costs, np.zeros(3), bend=1.0).tolist(), abs=1e-6)


def test_the_search_goes_down_where_the_cost_bends_the_other_way() -> None:
    """From beside the crest of a cosine at 0 the valley at pi is found, and not the crest."""

    def costs(points: np.ndarray) -> np.ndarray:
        return np.asarray(np.cos(points).sum(axis=1))

    found = minimum(costs, np.array([0.3, -0.3]), bend=0.1)
    assert (np.pi, -np.pi) == pytest.approx(tuple(found), abs=1e-2)


@examples(40)
@given(st.lists(st.floats(-3.0, 3.0), min_size=2, max_size=2))
def test_the_search_never_ends_higher_than_it_began(start: list[float]) -> None:
    """Rosenbrock's bent valley (*The Computer Journal* 3:175-184, 1960), and a wall in it."""

    def costs(points: np.ndarray) -> np.ndarray:
        x, y = points.T
        walled = np.where(x > FARTHEST, np.inf, 0.0)
        return np.asarray((1.0 - x) ** 2 + 100.0 * (y - x * x) ** 2 + walled)

    begin = np.array(start)
    found = minimum(costs, begin, bend=1.0)
    assert costs(found[None])[0] <= costs(begin[None])[0]
