"""The sentences of the plan: each branch, each limit from both sides."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import log, log2

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import plan_day

from drillbox.memory import Belief, Parameters, prior
from drillbox.plan import Candidate, compare
from drillbox.plan.why import by_day, can_wait, held_days, how_long, reason

PLAIN = Parameters()
DAY = plan_day(20200.0)
"""Tuesday, 22 April 2025."""


def known(
    bpm: float, *, days: float = 4.0, ago: float = 0.0, takes: int = 12, **changes: object
) -> Candidate:
    """Return a card whose peak stands at a tempo, with a stability, last played so long ago."""
    at = DAY.at - ago
    belief = Belief(log2(bpm), log(days), 0.0009, 0.0, 0.1, at, DAY.day - round(ago), 1, takes)
    return replace(Candidate("a", "a", belief, 80.0, 4.0), **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        (-3, "today"),
        (0, "today"),
        (1, "tomorrow"),
        (2, "Thursday"),
        (3, "Friday"),
        (4, "Saturday"),
        (5, "Sunday"),
        (6, "Monday"),
        (7, "in 7 days"),
        (13, "in 13 days"),
        (14, "in 2 weeks"),
        (17, "in 2 weeks"),
        (18, "in 3 weeks"),
        (59, "in 8 weeks"),
        (60, "in 2 months"),
        (76, "in 2 months"),
        (77, "in 3 months"),
        (729, "in 24 months"),
        (730, "in some years"),
    ],
)
def test_a_day_to_come_is_told_as_one_says_it(days: int, expected: str) -> None:
    """Counted from Tuesday, 22 April 2025: names within a week, then days, weeks, months, years."""
    assert date(2025, 4, 22) == date.fromordinal(DAY.day)
    assert expected == by_day(DAY.day, DAY.day + days)


@given(st.integers(1, 3_000_000), st.integers(2, 6))
def test_a_weekday_is_the_calendar_s(today: int, days: int) -> None:
    """The name told for a day within the week is what the standard library calls that date."""
    assert f"{date.fromordinal(today + days):%A}" == by_day(today, today + days)


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        (0.0, "a day"),
        (1.49, "a day"),
        (1.5, "2 days"),
        (20.0, "20 days"),
        (20.1, "3 weeks"),
        (59.9, "9 weeks"),
        (60.0, "2 months"),
        (90.0, "3 months"),
        (107.0, "4 months"),
        (729.9, "24 months"),
        (730.0, "some years"),
    ],
)
def test_a_length_of_time_is_told_as_one_says_it(days: float, expected: str) -> None:
    """Days to twenty, weeks to sixty days, months of 30.4 days to two years, then no number."""
    assert expected == how_long(days)


def test_a_card_slips_on_the_day_its_interval_ends() -> None:
    """Peak one octave-twentieth over the goal, S four days: it slips after S (2^(m/lam) - 1) days.

    The interval starts at the last take, so three days later it is three days shorter.
    """
    interval = 4.0 * (2.0 ** (0.05 / PLAIN.lam) - 1.0)
    for ago in (0.0, 3.0):
        card = known(80.0 * 2.0**0.05, ago=ago)
        assert int(interval - ago) == held_days(card, DAY, PLAIN)


def test_a_card_never_played_is_begun() -> None:
    """It names the tempo to begin at and the goal; left out, it makes way."""
    new = Candidate("n", "n", prior(PLAIN), 90.0, 4.0)
    expected = "New: begin at 66 and take it up from there, on the way to 90."
    assert expected == reason(new, DAY, PLAIN, bpm=66, takes=1)
    assert can_wait(new, DAY, PLAIN) == (
        "New, not begun: the cards in the plan gain more from the same time."
    )


def test_a_pattern_that_is_still_apart_gets_another_go() -> None:
    """Begun and never so much as steady: told before anything that its tempo would say."""
    card = known(70.0)
    card = replace(card, belief=replace(card.belief, apart=0.3))
    expected = "Has not come together yet: another go at 60, between other cards."
    assert expected == reason(card, DAY, PLAIN, bpm=60, takes=1)


@pytest.mark.parametrize(
    ("bpm", "takes", "expected"),
    [
        (70.0, 1, "now near 70, on the way to 80: one more take at 72."),
        (70.0, 2, "now near 70, on the way to 80: two more takes at 72."),
        (80.0, 3, "now near 80, with the goal of 80 behind it: three more takes at 72."),
        (95.0, 4, "now near 95, with the goal of 80 behind it: four more takes at 72."),
    ],
)
def test_what_was_played_today_says_so(bpm: float, takes: int, expected: str) -> None:
    """Played today: where it stands now, the goal before or behind it, and how many more."""
    sentence = reason(known(bpm), DAY, PLAIN, bpm=72, takes=takes)
    assert f"Played today already, {expected}" == sentence


def test_below_above_and_just_under_the_goal() -> None:
    """Building, faded by a beat, faded by more than the rounding, and holding.

    With S = 4 days, 12 days cost lam log2(1 + 12/4) = 2 lam = 0.11 octave: 84.0 falls to 77.8,
    86.0 to 79.7, 90.0 to 83.4.
    """
    building, faded, just, holding = (
        reason(known(bpm, ago=12.0), DAY, PLAIN, bpm=75, takes=1)
        for bpm in (79.9, 84.0, 86.0, 90.0)
    )
    assert building == "About 74 today, on the way to 80: one take, starting at 75."
    assert (
        faded == "About 84 last time, 78 today and under its goal of 80: one take to bring it back."
    )
    assert just == (
        "About 86 last time, 80 today and just under its goal of 80: one take to bring it back."
    )
    assert holding.startswith("About 83 today, slipping under 80 in ")
    assert holding.endswith(": one take at 75 to climb on.")


def test_a_peak_exactly_at_the_goal_is_not_on_the_way_to_it() -> None:
    """At its goal is at its goal: played today it lies behind, and faded it is brought back."""
    at_goal = known(64.0, ago=12.0, goal_bpm=64.0)
    assert reason(at_goal, DAY, PLAIN, bpm=60, takes=1).startswith("About 64 last time, 59 today")


def test_a_cold_tempo_exactly_at_the_goal_holds() -> None:
    """With nothing lost since the last take the cold tempo is the peak: 64 holds a goal of 64."""
    card = known(64.0, ago=0.0, goal_bpm=64.0)
    card = replace(card, belief=replace(card.belief, day=DAY.day - 1))
    sentence = reason(card, DAY, PLAIN, bpm=60, takes=1)
    assert sentence == "About 64 today, slipping under 64 today: one take at 60 to climb on."
    assert can_wait(card, DAY, PLAIN) == ("About 64 today, slipping under 64 today: it can wait.")


def test_what_is_kept_does_not_climb() -> None:
    """A card that is to be kept at its goal is played to keep it."""
    kept = reason(known(90.0, ago=2.0, climbs=False), DAY, PLAIN, bpm=80, takes=1)
    assert kept.endswith("one take at 80 to keep it.")


def test_a_slip_is_foretold_for_six_weeks_at_most() -> None:
    """What slips on the 42nd day is told as such; a day later it stands well over its goal."""
    for days, expected in ((42, "slipping under 80 in 6 weeks"), (43, "well over its goal of 80")):
        margin = PLAIN.lam * log2(1.0 + (days + 0.5) / 4.0)
        card = known(80.0 * 2.0**margin, ago=0.0)
        assert f"{expected}: it can wait." in can_wait(card, DAY, PLAIN)


def test_a_slip_within_the_week_is_told_by_its_day() -> None:
    """A weekday takes `by`; today, tomorrow and lengths of time do not."""
    told = {0: "today", 1: "tomorrow", 2: "by Thursday", 8: "in 8 days"}
    for days, expected in told.items():
        margin = PLAIN.lam * log2(1.0 + (days + 0.5) / 4.0)
        sentence = can_wait(known(80.0 * 2.0**margin), DAY, PLAIN)
        assert f"slipping under 80 {expected}: it can wait." in sentence


@pytest.mark.parametrize(
    ("recent", "expected"),
    [
        (5.4, "About 72 today, goal 80: the cards in the plan gain more from the same time."),
        (5.6, "About 72 today, and played 6 times of late: it may rest while others come up."),
        (9.0, "About 72 today, and played 9 times of late: it may rest while others come up."),
    ],
)
def test_what_was_played_six_times_of_late_may_rest(recent: float, expected: str) -> None:
    """From six takes of late on, rounded, that is the reason; below it, what others gain."""
    card = known(72.0, ago=0.0)
    card = replace(card, belief=replace(card.belief, recent=recent))
    assert expected == can_wait(card, DAY, PLAIN)


@pytest.mark.parametrize(
    ("recent", "often"), [(0.0, ""), (5.4, ""), (9.6, ", and was played 10 times of late")]
)
def test_of_a_card_apart_no_tempo_is_told_when_it_waits_either(recent: float, often: str) -> None:
    """Nothing is known of its cold tempo before it has come together once."""
    card = known(72.0, ago=0.0)
    card = replace(card, belief=replace(card.belief, recent=recent, apart=0.3))
    expected = f"Has not come together yet{often}: it comes again, with other cards between."
    assert expected == can_wait(card, DAY, PLAIN)


def test_takes_of_late_are_counted_as_of_today() -> None:
    """Twelve a week ago count 12/e, about 4.4, today: they are no reason any more."""
    card = known(72.0, ago=7.0)
    card = replace(card, belief=replace(card.belief, recent=12.0))
    assert "of late" not in can_wait(card, DAY, PLAIN)


@pytest.mark.parametrize(
    ("days", "wanted", "expected"),
    [
        (-1, 0.0, ""),
        (0, 0.0, ", wanted today"),
        (3, 0.0, ", wanted by Friday"),
        (10, 76.0, ", wanted at 76 in 10 days"),
        (10, 80.0, ", wanted in 10 days"),
        (10, 64.0, ""),
        (10, 64.1, ", wanted at 64 in 10 days"),
    ],
)
def test_an_assignment_is_told_until_it_is_met(days: int, wanted: float, expected: str) -> None:
    """Until its day has passed or its tempo is reached, by its own tempo where that is another.

    The card stands at 64; a tempo of 0 is the goal.
    """
    card = known(64.0, ago=0.0, deadline=DAY.day + days, wanted_bpm=wanted)
    card = replace(card, belief=replace(card.belief, day=DAY.day - 1))
    sentence = reason(card, DAY, PLAIN, bpm=70, takes=1)
    assert f"About 64 today, on the way to 80{expected}: one take, starting at 70." == sentence


def test_two_visits_are_compared_from_first_principles() -> None:
    """Peak 88, S four days, played three days ago, goal 80; the next practice a fortnight on.

    Cold falls by lam log2(1 + t/4). A steady take makes S grow by 0.8 of the gap and adds
    gain * 5 / (5 + 12) octaves; then it holds for S (2^(margin/lam) - 1) days.
    """
    card, day = known(88.0, ago=3.0), replace(DAY, next_in_days=14.0)
    seen = compare(card, day, PLAIN)
    for visit, gap in ((seen.today, 3.0), (seen.later, 17.0)):
        peak = log2(88.0) + PLAIN.gain * 5.0 / 17.0
        stability = 4.0 + 0.8 * gap
        assert visit.cold_bpm == pytest.approx(88.0 * (1.0 + gap / 4.0) ** -PLAIN.lam)
        assert visit.stability_days == pytest.approx(stability)
        held = stability * (2.0 ** ((peak - log2(80.0)) / PLAIN.lam) - 1.0)
        assert visit.hold_days == pytest.approx(held)
    assert seen.sentence == (
        "Today about 85 cold, in 2 weeks about 80; played today it would hold 80 for about"
        f" {how_long(seen.today.hold_days)}, played in 2 weeks for about"
        f" {how_long(seen.later.hold_days)}."
    )


def test_a_visit_that_does_not_reach_the_goal_says_so() -> None:
    """Neither visit reaches a far goal; a guess is called one; what holds for years has no number.

    Both visits lead to the same peak: none reaches a goal that the other does not.
    """
    far = compare(known(70.0, goal_bpm=100.0), DAY, PLAIN)
    assert far.sentence == (
        "Today about 70 cold, tomorrow about 69; one visit more does not hold 100 yet."
    )
    assert far.today.hold_days == far.later.hold_days == 0.0
    new = compare(Candidate("n", "n", prior(PLAIN, bpm=72.0), 90.0, 4.0), DAY, PLAIN)
    assert new.sentence == "Never played; from its relatives about 72, a guess."
    safe = compare(known(110.0, days=30.0, ago=10.0), DAY, PLAIN)
    assert "played on either day it would hold 80 for years" in safe.sentence


def test_a_visit_comes_off_as_often_as_the_normal_law_says() -> None:
    """P(at least steady) at the tempo of the visit, with `scipy.stats.norm`.

    A known card is asked at 88 * 2^(-0.0854 / 2) + 2.5 = 87.9, one still apart at 85.4, on marks.
    """
    from scipy.stats import norm

    card = known(88.0, ago=0.0)
    visit = compare(card, DAY, PLAIN).today
    spread = (card.belief.var_mu + PLAIN.sigma**2) ** 0.5
    expected = norm.cdf((log2(88.0) - log2(visit.bpm - 2.5)) / spread)
    assert visit.success == pytest.approx(expected)
    apart = replace(card, belief=replace(card.belief, apart=0.2))
    assert (90, 85) == (visit.bpm, compare(apart, DAY, PLAIN).today.bpm)
