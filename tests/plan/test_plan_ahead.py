from __future__ import annotations

from dataclasses import replace
from math import log, log2

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from strategies import candidates, plan_day

from drillbox.memory import Belief, Parameters, prior
from drillbox.plan import Candidate, compare, forecast

PLAIN = Parameters()
DAY = plan_day(20200.0)


def new_box(count: int) -> list[Candidate]:
    """Return cards nobody has played, a quarter of an octave or more under their goal."""
    return [
        Candidate(f"c{k}", f"card {k}", prior(PLAIN, bpm=70.0 - k % 5, sd=0.1), 90.0, 4.0, order=k)
        for k in range(count)
    ]


def test_more_minutes_hold_more() -> None:
    """Twenty minutes a day leave more in hand after six weeks than five, and both more than now."""
    short, long = (
        forecast(new_box(40), replace(DAY, minutes=minutes), PLAIN, days=42)
        for minutes in (5.0, 20.0)
    )
    assert short[0].in_hand == long[0].in_hand == 0
    assert 0 < short[-1].in_hand < long[-1].in_hand
    assert (len(short), short[-1].day) == (43, DAY.day + 42)


def test_a_forecast_is_no_lottery() -> None:
    """The same box and day give the same forecast; the box itself is not changed."""
    box = new_box(12)
    first = forecast(box, DAY, PLAIN, days=14)
    assert first == forecast(box, DAY, PLAIN, days=14)
    assert box == new_box(12)


def test_nothing_is_begun_on_days_of_rest() -> None:
    """With no practice at all, nothing is begun and what holds fades."""
    days = range(DAY.day, DAY.day + 60)
    held = Belief(log2(100.0), log(3.0), 0.0009, 0.0, 0.1, DAY.at, DAY.day - 1, 1, 9)
    box = [*new_box(3), Candidate("held", "held", held, 90.0, 4.0)]
    seen = forecast(box, DAY, PLAIN, days=60, rest_days=days)
    assert {d.begun for d in seen} == {1}
    assert (seen[0].in_hand, seen[-1].in_hand) == (1, 0)


def test_today_against_tomorrow_in_one_sentence() -> None:
    """A card that is about to slip says what it costs to wait, with its numbers."""
    belief = Belief(log2(99.0), log(4.0), 0.0009, 0.0, 0.1, DAY.at - 5.0, DAY.day - 5, 1, 12)
    seen = compare(Candidate("a", "a", belief, 95.0, 4.0), DAY, PLAIN)
    assert seen.sentence == (
        "Today about 95 cold, tomorrow about 94; played today it would hold 95 for about 15 days,"
        " played tomorrow for about 16 days."
    )
    assert seen.today.cold_bpm > seen.later.cold_bpm
    assert seen.later.stability_days == pytest.approx(seen.today.stability_days + 0.8)


@examples(60)
@given(candidates(0), st.floats(1.0, 30.0))
def test_waiting_costs_tempo_and_gains_stability(card: Candidate, wait: float) -> None:
    """Later the card is no faster and no likelier to come off at one tempo.

    And a survived gap proves more.
    """
    day = plan_day(20450.0, next_in_days=wait)
    seen = compare(card, day, PLAIN)
    assert seen.later.cold_bpm <= seen.today.cold_bpm
    assert seen.later.bpm <= seen.today.bpm
    assert seen.later.stability_days >= seen.today.stability_days
    assert seen.sentence.endswith(".")
