from __future__ import annotations

from dataclasses import replace
from math import log, log2

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.stats import norm
from strategies import beliefs

from drillbox.memory import Belief, Parameters, State, interval_days, outlook, prior, state

PLAIN = Parameters()
HELD = Belief(log2(104.0), log(9.0), 0.03**2, 0.0, 0.1, 20000.0, 738000, 1, 12)


@given(
    st.floats(0.002, 0.6),
    st.floats(-1.0, 4.0),
    st.floats(0.02, 0.2),
)
def test_interval_meets_the_root_of_the_curve(margin: float, ln_s: float, lam: float) -> None:
    """The closed form is where the curve crosses the line, found by SciPy's root finder."""
    parameters = replace(PLAIN, lam=lam)
    belief = replace(HELD, mu=log2(80.0) + margin, ln_s=ln_s)
    seen = interval_days(belief, parameters, hold_bpm=80.0)
    if seen < 3650.0:
        root = brentq(
            lambda t: belief.cold(20000.0 + t, parameters)[0] - log2(80.0), 0.0, 4000.0, xtol=1e-12
        )
        assert root == pytest.approx(seen, rel=1e-8, abs=1e-8)


def test_interval_is_weighted_by_the_tempo_reached() -> None:
    """The further above the tempo to hold, the longer it waits; below it, not at all."""
    waits = [interval_days(HELD, PLAIN, hold_bpm=bpm) for bpm in (90.0, 95.0, 100.0, 104.0, 110.0)]
    assert sorted(waits, reverse=True) == waits
    assert [0.0, 0.0] == waits[-2:]


def test_caution_shortens_the_interval() -> None:
    """Asking for one standard deviation of safety brings the card back sooner."""
    bold = interval_days(HELD, PLAIN, hold_bpm=95.0)
    careful = interval_days(HELD, PLAIN, hold_bpm=95.0, z=1.0)
    assert careful < bold


def test_outlook_says_when_and_how_sure() -> None:
    """On the day it stops holding, the expected tempo is the tempo to hold, inside its range."""
    until = outlook(HELD, 20000.0, PLAIN, hold_bpm=95.0).holds_until
    assert until is not None
    seen = outlook(HELD, until, PLAIN, hold_bpm=95.0)
    assert seen.cold_bpm == pytest.approx(95.0, abs=1e-9)
    assert seen.low_bpm < 95.0 < seen.high_bpm
    mean, variance = HELD.cold(until, PLAIN)
    held = 1.0 - norm.cdf((log2(92.5) - mean) / (variance + PLAIN.sigma**2) ** 0.5)
    assert held == pytest.approx(seen.p_hold, abs=1e-12)
    band = log2(seen.high_bpm) - log2(seen.low_bpm)
    assert norm.ppf(0.9) - norm.ppf(0.1) == pytest.approx(band / seen.sd, rel=1e-4)


def test_a_card_never_played_holds_until_no_day() -> None:
    """There is no day to name for a card without a take."""
    assert outlook(prior(PLAIN), 20000.0, PLAIN, hold_bpm=60.0).holds_until is None


@given(beliefs(), st.floats(0.0, 400.0))
def test_idle_doubt_stays_below_ignorance(belief: Belief, gap: float) -> None:
    """However long the wait, idleness makes nobody less sure of a card than of one never seen.

    The same ceiling as in Glickman's rating system (350 for an unrated player; Applied Statistics
    48:377-394, 1999), where idle variance also grows in proportion to time.
    """
    if belief.at is None:
        return
    frozen = replace(belief, cov=0.0, var_ln_s=0.0)
    _, variance = frozen.cold(belief.at + gap, PLAIN)
    ceiling = max(PLAIN.first_sd**2, belief.var_mu)
    assert variance == pytest.approx(min(belief.var_mu + PLAIN.idle_var * gap, ceiling), abs=1e-12)


def test_states_follow_the_peak_then_the_cold_tempo() -> None:
    """A card waits, is built, holds and fades; set aside, it rests whatever it could do."""
    low = replace(HELD, mu=log2(90.0))
    seen = [
        state(None, 20000.0, PLAIN, goal_bpm=95.0),
        state(prior(PLAIN), 20000.0, PLAIN, goal_bpm=40.0),
        state(low, 20000.0, PLAIN, goal_bpm=95.0),
        state(HELD, 20001.0, PLAIN, goal_bpm=95.0),
        state(HELD, 20200.0, PLAIN, goal_bpm=95.0),
        state(HELD, 20001.0, PLAIN, goal_bpm=95.0, rested=True),
    ]
    expected = [
        State.WAITING,
        State.WAITING,
        State.BUILDING,
        State.HOLDING,
        State.FADING,
        State.RESTED,
    ]
    assert expected == seen
