"""The table of all candidates, each column against one card worked out by itself."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import exp, log, log2
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm
from strategies import plan_day

from drillbox.memory import Belief, Grade, Parameters, prior
from drillbox.plan import Candidate, Day, Done, next_bpm, take_shape
from drillbox.plan.candidate_columns import Candidates
from drillbox.plan.climbing import GRINDING, Climbers, climb_prices
from drillbox.plan.prices import GAIN_AT_GOAL, PracticeLaw, price_table
from drillbox.plan.table import (
    APART_WORTH,
    BUILDING_RETURN_DAYS,
    DEADLINE_MARGIN,
    FIRST_LOOK,
    FIRST_LOOK_KNOWN,
    HOLDING_RETURN_DAYS,
    KNOWN_OCTAVES,
    MEETING_SLOWEST,
    MOST_TAKES,
    MOST_URGENT,
    SEEN_PRIOR,
    SEEN_TAKES,
    URGENT_DAYS,
    TakeTable,
    tabulate,
)
from drillbox.plan.takes import CHANGE_SECONDS, nearest_mark

PLAIN = Parameters()
DAY = plan_day(20200.0)


def known(
    bpm: float = 74.0, *, ago: float = 4.0, today: int = 0, sd: float = 0.0, **changes: Any
) -> Candidate:
    """Return a card that does not climb, goal 80, whose tempo is known to a standard deviation."""
    at = DAY.at if today else DAY.at - ago
    day = DAY.day if today else DAY.day - round(ago)
    belief = Belief(log2(bpm), 1.0, sd**2, 0.0, 0.0, at, day, today or 1, 12)
    usual: dict[str, Any] = {"climbs": False}
    return replace(Candidate("a", "a", belief, 80.0, 4.0), **(usual | changes))


def begun(candidate: Candidate, **changes: Any) -> Candidate:
    """Return the card with something else believed of it."""
    return replace(candidate, belief=replace(candidate.belief, **changes))


def row(candidate: Candidate, day: Day = DAY) -> TakeTable:
    """Return the table of one card."""
    return tabulate(Candidates([candidate]), day, PLAIN)


def visit_price(candidate: Candidate, day: Day = DAY) -> float:
    """Return what a whole first take is worth: its price a second, times its seconds."""
    table = row(candidate, day)
    return float(table.price[0, 0] * table.seconds[0, 0])


def price_at(margin: float, ln_s: float, wait: float) -> float:
    """Return a visit's price in the table of prices."""
    return float(
        price_table(PLAIN).visit(np.array([margin]), np.array([ln_s]), np.array([wait]))[0]
    )


def test_a_visit_is_priced_by_its_margin_stability_and_wait() -> None:
    """Where the tempo is known exactly: the table's price at log2(74/80), S, and four days."""
    expected = price_at(log2(74.0 / 80.0), 1.0, 4.0)
    assert expected == pytest.approx(visit_price(known()))
    assert 2.5 * expected == pytest.approx(visit_price(known(importance=2.5)))


def test_doubt_is_averaged_over_by_gauss_and_hermite() -> None:
    """Three points with numpy's nodes and weights of the probabilists' Hermite polynomials."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(3)
    margin, sd = log2(74.0 / 80.0), 0.12
    expected = sum(
        w * price_at(margin + x * sd, 1.0, 4.0)
        for x, w in zip(nodes, weights / weights.sum(), strict=True)
    )
    assert expected == pytest.approx(visit_price(known(sd=sd)))


def test_a_holiday_ahead_ages_a_card_by_half_of_it() -> None:
    """Fifteen days to the next practice are fourteen without: seven more of wait.

    Tomorrow, and less than a day, are none.
    """
    margin = log2(74.0 / 80.0)
    for ahead, wait in ((15.0, 11.0), (2.0, 4.5), (1.0, 4.0), (0.5, 4.0)):
        day = replace(DAY, next_in_days=ahead)
        assert price_at(margin, 1.0, wait) == pytest.approx(visit_price(known(), day))


def test_what_was_played_of_late_makes_a_card_cheaper() -> None:
    """Ten takes, counted four days ago, divide the price by 1 + GRINDING * 10 * exp(-4/7)."""
    plain = visit_price(known())
    weary = visit_price(begun(known(), recent=10.0))
    assert 1.0 + GRINDING * 10.0 * exp(-4.0 / 7.0) == pytest.approx(plain / weary)


def test_a_card_never_played_counts_as_one_that_waited_a_day() -> None:
    """And is worth FIRST_LOOK times as much; each further take as much as it may still be apart."""
    new = known()
    new = begun(new, takes=0, at=None, day=None, takes_that_day=0, apart=0.5)
    table = row(new)
    first = price_at(log2(74.0 / 80.0), 1.0, 1.0)
    expected = [FIRST_LOOK * first * 0.5**k for k in range(MOST_TAKES)]
    assert FIRST_LOOK > 1.0
    seconds = float(table.seconds[0, 0])
    assert expected == pytest.approx([float(p) * seconds for p in table.price[0]])


def test_a_new_card_is_looked_at_the_sooner_the_more_were_known_already() -> None:
    """Of n cards with few takes k near their goals: 1.2 + 3 k / (n + 6) times a visit.

    Cards practised long, or still apart, tell nothing of those never played.
    """
    new = begun(known(), takes=0, at=None, day=None, takes_that_day=0, apart=0.5)
    near, far = begun(known(78.0), takes=3), begun(known(60.0), takes=3)
    apart, old = begun(known(78.0), takes=3, apart=0.3), known(78.0)
    plain = float(tabulate(Candidates([new]), DAY, PLAIN).price[0, 0]) / FIRST_LOOK
    for others, known_ones, seen in (
        ([old, old], 0, 0),
        ([near, near, far], 2, 3),
        ([near, apart], 1, 2),
        ([near] * 40, 40, 40),
    ):
        price = float(tabulate(Candidates([new, *others]), DAY, PLAIN).price[0, 0])
        expected = FIRST_LOOK + FIRST_LOOK_KNOWN * known_ones / (seen + SEEN_PRIOR)
        assert expected == pytest.approx(price / plain)
    assert (5, 0.15) == (SEEN_TAKES, KNOWN_OCTAVES)


def test_a_pattern_still_apart_is_worth_its_meetings() -> None:
    """With chance q still apart each take is worth q APART_WORTH visits and 1 - q of the usual.

    Within a day the visit counts as one a day after the last.
    """
    q, margin = 0.4, log2(74.0 / 80.0)
    for today, wait in ((0, 4.0), (2, 1.0)):
        plain, apart = row(known(today=today)), row(begun(known(today=today), apart=q))
        meeting = APART_WORTH * price_at(margin, 1.0, wait)
        one = float(plain.seconds[0, 1] - plain.seconds[0, 0]) + CHANGE_SECONDS
        usual = [float(p) * one for p in plain.price[0]]
        seconds = float(apart.seconds[0, 0])
        expected = [q * meeting + (1.0 - q) * p for p in usual]
        assert expected == pytest.approx([float(p) * seconds for p in apart.price[0]], rel=0.02)


def test_further_takes_go_on_from_where_the_visit_leads() -> None:
    """The k-th further take is priced where the first leaves the card, by the number taken.

    What was played today has brought the card there already. From the last number on it stays.
    """
    law, prices = PracticeLaw.of(PLAIN), price_table(PLAIN)
    margin, ln_s = np.array([log2(74.0 / 80.0)]), np.array([1.0])
    later, grown = law.after(margin, ln_s, np.array([4.0]))
    table = row(known())
    visit = float(table.seconds[0, 0])
    again = prices.again(later, grown)[0].tolist()
    assert again == pytest.approx([float(p) * visit for p in table.price[0, 1:]])
    table = row(known(today=2))
    visit = float(table.seconds[0, 0])
    again = prices.again(margin, ln_s)[0][[1, 2, 2, 2]].tolist()
    assert again == pytest.approx([float(p) * visit for p in table.price[0]])


def test_climbing_is_added_to_being_in_hand() -> None:
    """A card that climbs is worth its visit and its climb (`drillbox.plan.climbing`)."""
    climbing, kept = known(climbs=True, top_bpm=100.0), known()
    table = row(climbing)
    columns = (log2(74.0), 1.0, 12.0, 0.0, 1.0, 100.0)
    climb = climb_prices(
        Climbers(*(np.array([x]) for x in columns)), np.array([4.0]), PLAIN, MOST_TAKES
    )
    seconds = float(table.seconds[0, 0])
    both = visit_price(kept) + float(climb[0, 0])
    assert both == pytest.approx(float(table.price[0, 0]) * seconds)


def test_a_visit_is_a_change_of_card_and_takes() -> None:
    """Each take costs its shape, the first a change of card too (none on the stand).

    Those of a meeting cost one each.
    """
    usual, apart = known(), begun(known(), apart=0.3)
    for candidate, change, between in ((usual, CHANGE_SECONDS, 0.0), (apart, CHANGE_SECONDS, 6.0)):
        table = row(candidate)
        one = take_shape(4.0, 1, int(table.bpm[0])).seconds
        expected = [change + one + k * (one + between) for k in range(MOST_TAKES)]
        assert expected == pytest.approx(list(table.seconds[0]))
    on_stand = replace(DAY, done=(Done("b", 70.0, Grade.STEADY), Done("a", 72.0, Grade.STEADY)))
    table = row(usual, on_stand)
    assert table.seconds[0, 0] == pytest.approx(take_shape(4.0, 1, int(table.bpm[0])).seconds)


def test_the_upkeep_is_a_visit_each_time_the_card_would_slip() -> None:
    """Above its goal by its interval, four days at least; below it once in ten; unplayed none."""
    held = known(88.0)
    for candidate in (held, known(80.5), known(74.0), known(80.0)):
        table = row(candidate)
        visit = float(table.seconds[0, 0])
        margin = log2(2.0**candidate.belief.mu / 80.0)
        interval = exp(1.0) * (2.0 ** (margin / PLAIN.lam) - 1.0)
        days = max(HOLDING_RETURN_DAYS, interval) if margin > 1e-9 else BUILDING_RETURN_DAYS
        assert visit / days == pytest.approx(float(table.upkeep[0]))
        assert visit / BUILDING_RETURN_DAYS == pytest.approx(float(table.first_upkeep[0]))
        assert (margin > 1e-9) == bool(table.above[0])
    unplayed = row(begun(held, takes=0))
    assert (0.0, False) == (float(unplayed.upkeep[0]), bool(unplayed.above[0]))


def test_a_warm_card_is_asked_faster() -> None:
    """After k takes today the boost is the share 1 - 2^-k of itself; the chance follows from it."""
    for today in (1, 2, 3):
        table = row(known(74.0, today=today, sd=0.02, goal_bpm=200.0))
        right = log2(74.0) + PLAIN.boost * (1.0 - 0.5**today)
        spread = (0.02**2 + PLAIN.sigma**2) ** 0.5
        chance = norm.cdf((right - log2(float(table.bpm[0]) - 2.5)) / spread)
        assert chance == pytest.approx(float(table.success[0]), abs=0.01)


def test_the_grade_sends_the_metronome_on_the_stand() -> None:
    """Only the last take's card follows its grade; a card played before it is asked anew."""
    candidate = known(74.0, today=1, goal_bpm=200.0)
    done = (Done("a", 80.0, Grade.CLEAN), Done("b", 60.0, Grade.STEADY))
    free = int(row(candidate).bpm[0])
    assert next_bpm(80, Grade.CLEAN, 200.0) == 85 != free
    assert free == int(row(candidate, replace(DAY, done=done)).bpm[0])
    there = replace(DAY, done=done[::-1])
    assert 85 == int(row(candidate, there).bpm[0])


def test_a_meeting_is_not_slowed_down_for_ever() -> None:
    """It follows its own last grade, other cards between, down to 0.6 of what is expected of it."""
    candidate = begun(known(80.0, today=1, goal_bpm=200.0), apart=0.4)
    other = Done("b", 60.0, Grade.STEADY)
    for bpm, expected in ((80.0, 70), (66.0, 56), (60.0, 50), (40.0, 48)):
        done = (Done("a", bpm, Grade.FELL_APART), other)
        assert expected == int(row(candidate, replace(DAY, done=done)).bpm[0])
    assert 48 == nearest_mark(MEETING_SLOWEST * 80.0)
    # Another card that was met and not played today is asked by what is expected.
    assert int(row(candidate).bpm[0]) == int(row(candidate, replace(DAY, done=(other,))).bpm[0])


def urgency(days_left: int, *, bpm: float = 74.0, wanted: float = 0.0) -> float:
    """Return by how much an assignment makes a card dearer."""
    plain = known(bpm)
    asked = replace(plain, deadline=DAY.day + days_left, wanted_bpm=wanted)
    return visit_price(asked) / visit_price(plain)


def test_a_deadline_makes_a_card_dearer_the_fewer_days_it_can_spare() -> None:
    """From 74 to 80 and a tenth of an octave of margin, at half a first gain a take: 5.31 takes.

    With the days spare beyond them s, in units of four: 1 + 3 / (1 + (s - 1)^2), four at s = 1 and
    below. A past date, or a tempo that is reached with its margin, is nothing.
    """
    takes = (log2(80.0 / 74.0) + DEADLINE_MARGIN) / (GAIN_AT_GOAL * PLAIN.gain)
    for days in (40, 20, 14, 10, 9, 5, 0):
        spare = max(0.0, (days - takes) / URGENT_DAYS - 1.0)
        assert 1.0 + (MOST_URGENT - 1.0) / (1.0 + spare**2) == pytest.approx(urgency(days))
    assert [MOST_URGENT] * 3 == pytest.approx([urgency(days) for days in (9, 5, 0)])
    assert 1.0 == urgency(-1)
    reached = 74.0 * 2.0**-DEADLINE_MARGIN
    assert 1.0 == urgency(5, wanted=reached * 0.999)
    assert 1.0 < urgency(5, wanted=reached * 1.001)
    assert urgency(14, wanted=90.0) > urgency(14)


@given(st.integers(1, 60))
def test_urgency_never_falls_as_the_day_comes_nearer(days: int) -> None:
    """One day less to spare is never worth less."""
    assert urgency(days - 1) >= urgency(days) - 1e-9


def test_the_next_tempo_is_on_a_mark_and_under_the_ceiling() -> None:
    """Marks of five from 60, of two below, and the goal of what is kept, rounded down."""
    tempi = [
        int(row(known(bpm, ago=0.0, goal_bpm=goal)).bpm[0])
        for bpm, goal in (
            (100.0, 200.0),
            (57.0, 200.0),
            (100.0, 77.5),
            (10.0, 200.0),
            (500.0, 999.0),
        )
    ]
    # cold 2^(mu - 0.5 * 0.08) + 2.5: 99.8, 57.9, capped at 77, and the slowest and fastest asked.
    assert [100, 58, 77, 20, 400] == tempi


def test_columns_do_not_mix() -> None:
    """A table of many cards is the rows of each by itself."""
    cards = [
        replace(known(60.0 + 7 * k, ago=1.0 + k, sd=0.02 * k), card_id=f"c{k}", bars=1 + k % 2)
        for k in range(6)
    ]
    together = tabulate(Candidates(cards), DAY, PLAIN)
    for k, candidate in enumerate(cards):
        alone = row(candidate)
        for name in ("bpm", "success", "price", "seconds", "upkeep", "first_upkeep", "above"):
            assert np.allclose(getattr(together, name)[k], getattr(alone, name)[0]), name


def test_a_take_of_nothing_new_is_a_new_card() -> None:
    """A card begun with a prior has the prior's tempo: 72 less one standard deviation, 55.8."""
    new = Candidate("n", "n", prior(PLAIN), 90.0, 4.0)
    sd = (PLAIN.first_sd**2 + PLAIN.sigma**2) ** 0.5
    assert nearest_mark(2.5 + 2.0 ** (log2(72.0) - sd)) == int(row(new).bpm[0])
    assert all(a > b for a, b in pairwise(row(new).price[0]))
    assert log(1.0) == new.belief.ln_s
