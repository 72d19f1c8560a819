"""Hold and climb: the goal is a floor, the metronome goes on."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import log, log2

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from strategies import plan_day

from drillbox.memory import Belief, Evidence, Grade, Parameters, prior, update
from drillbox.plan import Candidate, Done, Part, make_plan
from drillbox.plan.climbing import CLIMB_WORTH, Climbers, climb_prices, weariness
from drillbox.plan.order import interleave
from drillbox.plan.prices import DISCOUNT

PLAIN = Parameters()
DAY = plan_day(20200.0)


def held(name: str, bpm: float, **changes: object) -> Candidate:
    """Return a card well known at a tempo, its goal 80."""
    belief = Belief(log2(bpm), log(12.0), 0.0009, 0.0, 0.1, DAY.at - 6.0, DAY.day - 6, 1, 20)
    return replace(Candidate(name, name, belief, 80.0, 4.0), **changes)  # type: ignore[arg-type]


def test_above_the_goal_the_metronome_goes_on() -> None:
    """A card that stands at 110 is played near 105 though its goal is 80.

    One that is to be kept is played at its goal, and no faster than the top tempo is anything.
    """
    box = [
        held("climbs", 110.0),
        held("keeps", 110.0, climbs=False),
        held("top", 110.0, top_bpm=95),
    ]
    tempi = {item.card_id: item.bpm for item in make_plan(box, DAY, PLAIN).items}
    assert tempi["climbs"] in {105, 110}
    assert tempi["keeps"] == 80
    assert tempi["top"] == 95


def test_a_goal_above_the_top_tempo_is_still_played() -> None:
    """What the player wants stands over what the hands are thought to allow."""
    assert held("a", 90.0, goal_bpm=120.0, top_bpm=100.0).ceiling_bpm == 120.0


def climbers(**changes: float) -> Climbers:
    """Return one card as columns."""
    usual = {
        "mu": 6.5,
        "ln_s": 2.0,
        "takes": 10.0,
        "today": 0.0,
        "climbs": 1.0,
        "ceiling_bpm": 400.0,
    }
    return Climbers(*(np.array([value]) for value in (usual | changes).values()))


@given(st.floats(0.5, 90.0), st.floats(-1.0, 5.0))
def test_the_price_of_what_a_wait_has_cost(wait: float, ln_s: float) -> None:
    """T l(T) less the integral of l up to T, the optimal replacement rule, by quadrature here.

    Barlow & Hunter, Operations Research 8:90-100 (1960): the block that minimises mean cost.
    """

    def loss(t: float) -> float:
        return float(PLAIN.lam * np.log2(1.0 + t * np.exp(-ln_s)))

    expected = wait * loss(wait) - quad(loss, 0.0, wait)[0]
    without = climb_prices(climbers(ln_s=ln_s), np.zeros(1), PLAIN, 1)
    seen = climb_prices(climbers(ln_s=ln_s), np.array([wait]), PLAIN, 1) - without
    assert CLIMB_WORTH * expected == pytest.approx(float(seen[0, 0]), rel=1e-4, abs=1e-9)


def test_nothing_is_left_to_climb_at_the_top_and_for_what_is_kept() -> None:
    """Half an octave under the top a take is worth its whole gain; at the top next to nothing."""
    whole = CLIMB_WORTH * PLAIN.gain * PLAIN.practice / (PLAIN.practice + 10.0) / DISCOUNT
    far, near, kept = (
        float(climb_prices(one, np.zeros(1), PLAIN, 1)[0, 0])
        for one in (
            climbers(ceiling_bpm=2.0**7.0),
            climbers(ceiling_bpm=2.0**6.5),
            climbers(climbs=0.0),
        )
    )
    assert whole == pytest.approx(far, rel=1e-3)
    assert near < 0.2 * whole
    assert kept == 0.0


def test_what_was_played_much_of_late_waits() -> None:
    """Of two cards alike in everything the one with a dozen takes in a week makes way."""
    tired = held("a", 78.0)
    tired = replace(tired, belief=replace(tired.belief, recent=12.0))
    fresh = held("b", 78.0, order=1)
    short = replace(DAY, minutes=0.8)
    assert ["b"] == [item.card_id for item in make_plan([tired, fresh], short, PLAIN).items]
    assert weariness(np.array([0.0]), np.array([3.0]))[0] == 1.0


def test_a_first_meeting_is_spread_over_the_others() -> None:
    """A B A C A: the takes of a new card stand apart as long as there are others to put between."""
    order = [(0, Part.WARM_UP), (1, Part.WORK), (2, Part.WORK), (3, Part.WORK), (4, Part.WRAP_UP)]
    seen = [card for card, _, _ in interleave(order, {1: 2})]
    assert [0, 1, 2, 1, 3, 1, 4] == seen


def test_a_new_card_that_falls_apart_comes_back_today_and_is_asked_slower() -> None:
    """Until it has come together once it comes again, at what the grade asks for, not at once."""
    new = Candidate("new", "new", prior(PLAIN, bpm=80.0, sd=0.12), 100.0, 4.0)
    take = Evidence(DAY.at - 0.001, DAY.day, 70.0, Grade.FELL_APART)
    new = replace(new, belief=update(new.belief, take, PLAIN))
    others = [held(f"c{k}", 78.0, order=k + 1) for k in range(12)]
    day = replace(DAY, done=(Done("new", 70.0, Grade.FELL_APART),), spent_seconds=45.0)
    items = make_plan([new, *others], day, PLAIN).items
    at = [k for k, item in enumerate(items) if item.card_id == "new"]
    assert at
    assert at[0] > 0
    assert {60} == {items[k].bpm for k in at}
    assert all(after - before > 1 for before, after in pairwise(at))


@pytest.mark.parametrize("grade", [Grade.STEADY, Grade.AUTOMATIC])
def test_once_it_has_come_together_a_meeting_is_over(grade: Grade) -> None:
    """After one take that comes off the card waits for another day while others are worth more."""
    new = Candidate("new", "new", prior(PLAIN, bpm=80.0, sd=0.12), 100.0, 4.0)
    take = Evidence(DAY.at - 0.001, DAY.day, 70.0, grade)
    new = replace(new, belief=update(new.belief, take, PLAIN))
    others = [held(f"c{k}", 78.0, order=k + 1) for k in range(25)]
    day = replace(DAY, done=(Done("new", 70.0, grade),), spent_seconds=45.0)
    assert "new" not in {item.card_id for item in make_plan([new, *others], day, PLAIN).items}
