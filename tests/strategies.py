"""Every hypothesis strategy of the test suite, one section a room."""

from __future__ import annotations

from hypothesis import strategies as st

from drillbox.memory import Belief, Evidence, Grade

# --- memory and plan -------------------------------------------------------------------------------


@st.composite
def beliefs(draw: st.DrawFn) -> Belief:
    """Return a belief about a card played at least once, with any correlation."""
    var_mu = draw(st.floats(0.01, 0.4)) ** 2
    var_ln_s = draw(st.floats(0.05, 1.2)) ** 2
    at = draw(st.floats(20000.0, 20100.0))
    today = draw(st.integers(1, 5))
    return Belief(
        mu=draw(st.floats(5.0, 8.0)),
        ln_s=draw(st.floats(-1.5, 5.0)),
        var_mu=var_mu,
        cov=draw(st.floats(-0.9, 0.9)) * (var_mu * var_ln_s) ** 0.5,
        var_ln_s=var_ln_s,
        at=at,
        day=719163 + int(at),
        takes_that_day=today,
        takes=today + draw(st.integers(0, 40)),
    )


@st.composite
def evidences(draw: st.DrawFn) -> Evidence:
    """Return a take of any grade, at or after the beliefs' days."""
    at = draw(st.floats(20100.0, 20400.0))
    return Evidence(
        at, 719163 + int(at), draw(st.floats(20.0, 260.0)), draw(st.sampled_from(Grade))
    )
