from __future__ import annotations

from itertools import product
from math import sqrt

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import erfcx
from strategies import beliefs
from strategies_memory import some_takes

from drillbox.memory import Belief, Parameters, normal, outlook, prior, update
from drillbox.memory.belief import lifted, update_with_chance
from drillbox.memory.replay import Trace, replay, replay_with_chances, replay_with_trace
from drillbox.memory.replay_columns import Takes
from drillbox.memory.tails import scaled_erfc, truncated

PLAIN = Parameters()


def one_by_one(start: list[Belief], takes: Takes) -> tuple[list[Belief], list[float]]:
    """Return the same replay by the plain update."""
    now, chances = list(start), []
    for k, card in enumerate(takes.card.tolist()):
        evidence = takes.evidence(k)
        now[card], chance = update_with_chance(now[card], evidence, PLAIN)
        chances.append(chance)
    return now, chances


@examples(15)
@given(st.integers(0, 10**6), st.sampled_from([1, 3, 60, 200]), st.lists(beliefs(), max_size=5))
def test_a_replay_equals_updating_one_by_one(seed: int, cards: int, known: list[Belief]) -> None:
    """Arrays or take by take, new cards or cached ones.

    The same beliefs to 1e-9, the same chances.
    """
    start = (known + [prior(PLAIN)] * cards)[:cards]
    takes = some_takes(seed, cards, 600)
    expected, chances = one_by_one(start, takes)
    seen, seen_chances = replay_with_chances(start, takes, PLAIN)
    for one, other in zip(expected, seen, strict=True):
        assert other.to_row()[6:9] == one.to_row()[6:9]
        assert other.to_row()[:6] == pytest.approx(one.to_row()[:6], abs=1e-9)
        assert other.to_row()[9:] == pytest.approx(one.to_row()[9:], abs=1e-9)
    assert list(seen_chances) == pytest.approx(chances, abs=1e-9)


def test_a_day_may_turn_between_two_takes() -> None:
    """Minutes apart on two practice days, whatever the two grades: as by the plain update."""
    pairs = list(product(range(-2, 3), repeat=2))
    first, then = np.array(pairs).T
    late, early = np.full(25, 20000.999), np.full(25, 20001.001)
    at = np.concatenate([late, early])
    cards, grades = np.tile(np.arange(25), 2), np.concatenate([first, then])
    takes = Takes.of(cards, at, np.floor(at).astype(np.int64), np.full(50, 75.0), grades)
    start = [prior(PLAIN, bpm=80.0)] * 25
    expected, chances = one_by_one(start, takes)
    seen, seen_chances = replay_with_chances(start, takes, PLAIN)
    for one, other in zip(expected, seen, strict=True):
        assert other.to_row() == pytest.approx(one.to_row(), abs=1e-9)
    assert list(seen_chances) == pytest.approx(chances, abs=1e-9)


@given(st.integers(0, 10**6), st.sampled_from([1, 3, 60]))
def test_the_trace_is_what_was_believed_around_each_take(seed: int, cards: int) -> None:
    """Belief after, the chance told before, known and cold: as the plain functions say, to 1e-9."""
    takes, now = some_takes(seed, cards, 300), [prior(PLAIN)] * cards
    _, trace = replay_with_trace(now, takes, PLAIN)
    for k, card in enumerate(takes.card.tolist()):
        before, seen = now[card], takes.evidence(k)
        there = before if seen.level is None else lifted(before, seen.level)
        told = outlook(there, seen.at, PLAIN, hold_bpm=seen.bpm).p_hold
        assert told == pytest.approx(trace.told[k], abs=1e-9)
        assert (before.takes > 0) == trace.known[k]
        assert (before.day is None or seen.day > before.day) == trace.cold[k]
        now[card] = update(before, seen, PLAIN)
        assert now[card].to_row() == pytest.approx(trace.belief(k).to_row(), abs=1e-9)


def test_a_trace_is_put_together_from_those_of_some_cards() -> None:
    """What is traced of the even cards and of the odd ones is the trace of them all."""
    takes, start = some_takes(7, 9, 300), [prior(PLAIN)] * 9
    _, together = replay_with_trace(start, takes, PLAIN)
    trace = Trace.empty(300)
    for odd in (0, 1):
        which = np.flatnonzero(takes.card % 2 == odd)
        trace.take_over(which, replay_with_trace(start, takes.rows(which), PLAIN)[1])
    for name in ("told", "known", "cold"):
        assert getattr(together, name) == pytest.approx(getattr(trace, name), abs=1e-9)
    for k in range(300):
        assert together.belief(k).to_row() == pytest.approx(trace.belief(k).to_row(), abs=1e-9)


def test_an_empty_log_changes_nothing() -> None:
    """No takes, no change; no cards, no beliefs."""
    start = [prior(PLAIN, bpm=70.0)]
    assert replay(start, some_takes(1, 1, 0), PLAIN) == start
    assert replay([], some_takes(1, 1, 0), PLAIN) == []


def test_a_replay_can_go_on_from_a_cache() -> None:
    """Half the log, then the other half from the beliefs in between, is the whole log."""
    start = [prior(PLAIN)] * 40
    takes = some_takes(5, 40, 800)
    half = replay(start, takes.rows(np.arange(400)), PLAIN)
    seen = replay(half, takes.rows(np.arange(400, 800)), PLAIN)
    for one, other in zip(replay(start, takes, PLAIN), seen, strict=True):
        assert other.to_row()[:5] == pytest.approx(one.to_row()[:5], abs=1e-12)


@pytest.mark.parametrize(
    "x",
    [np.linspace(0.0, 0.46875, 997), np.linspace(0.46875, 4.0, 997), np.geomspace(4.0, 150.0, 997)],
    ids=["near", "middle", "far"],
)
def test_scaled_error_function_agrees_with_scipy(x: np.ndarray) -> None:
    """Cody's approximation (Math. Comp. 23:631-637, 1969) is SciPy's erfcx to 1e-14.

    On each of its three stretches, which have tables of their own.
    """
    assert np.allclose(erfcx(x), scaled_erfc(x), rtol=1e-14, atol=0.0)


@given(st.floats(-45.0, 45.0), st.floats(0.02, 30.0))
def test_array_moments_are_the_plain_ones(low: float, width: float) -> None:
    """The truncated normal of arrays is that of plain numbers."""
    seen = truncated(np.array([low]), np.array([low + width]))
    expected = normal.truncated(low, low + width)
    assert [float(s[0]) for s in seen] == pytest.approx(expected, rel=1e-9, abs=1e-10)


def test_array_moments_take_open_intervals() -> None:
    """No lower or no upper cut, or neither: half normal, half normal, whole normal."""
    inf = np.inf
    chance, mean, lost = truncated(np.array([0.0, -inf, -inf]), np.array([inf, 0.0, inf]))
    half = sqrt(2 / np.pi)
    assert chance == pytest.approx(np.array([0.5, 0.5, 1.0]))
    assert mean == pytest.approx(np.array([half, -half, 0.0]))
    assert lost == pytest.approx(np.array([half**2, half**2, 0.0]))
