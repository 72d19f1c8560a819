"""Limits of the memory from both sides: learning, the level, relatives, outlooks, grades."""

from __future__ import annotations

from dataclasses import replace
from math import exp, inf, log, log2, nan, pi, sqrt
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import erfcx
from scipy.stats import norm

from drillbox.memory import (
    Belief,
    Evidence,
    Grade,
    Parameters,
    State,
    learning,
    outlook,
    prior,
    tails,
)
from drillbox.memory.belief import (
    APART,
    CREDIT,
    grade_cuts,
    lifted,
    update,
    update_with_chance,
)
from drillbox.memory.forgetting import FLOATS, days_held, forgetting_slope, octaves_lost
from drillbox.memory.learning import Learned, _cold, _rank, learn, sentences
from drillbox.memory.level import MOST_SURPRISE, with_level
from drillbox.memory.normal import mills
from drillbox.memory.outlook import BAND_SDS, LONGEST_DAYS, interval_days, state
from drillbox.memory.relatives import (
    LEVEL_SD,
    MOST_PLAYED,
    OWN_SD,
    SHAPE_LENGTH,
    SHAPE_SD,
    first_tempo,
    guess_first_tempi,
    most_telling,
)
from drillbox.memory.replay import replay
from drillbox.memory.replay_columns import Takes
from drillbox.memory.tails import scaled_erfc
from drillbox.memory.trial_replay import TrialReplay

if TYPE_CHECKING:
    from collections.abc import Sequence

PLAIN = Parameters()


def known(bpm: float = 80.0, *, sd: float = 0.03, takes: int = 10) -> Belief:
    """Return a card played ten days ago, its tempo well known."""
    return Belief(log2(bpm), log(8.0), sd**2, 0.0, 0.05, 100.0, 100, 1, takes)


@pytest.mark.parametrize(
    ("grade", "low", "high"),
    [
        (Grade.FELL_APART, -inf, 82.5),
        (Grade.SHAKY, 82.5, 87.5),
        (Grade.STEADY, 87.5, 92.5),
        (Grade.CLEAN, 92.5, 97.5),
        (Grade.AUTOMATIC, 97.5, inf),
    ],
)
def test_a_grade_says_between_which_tempi_the_right_one_lay(
    grade: Grade, low: float, high: float
) -> None:
    """At 90 bpm: the midpoints of what the grades ask for. Below 8 bpm no cut has a logarithm."""
    cuts = grade_cuts(90.0, grade)
    assert (low, high) == pytest.approx(tuple(2.0**c if c > -inf else c for c in cuts))
    assert grade_cuts(3.0, grade) == grade_cuts(8.0, grade)


def test_what_each_grade_proves() -> None:
    """Nothing, three tenths, four fifths, all, all of a gap; apart it falls apart four in five.

    Assumptions; a grade of a pattern that has not come together is never steady.
    """
    assert [0.0, 0.3, 0.8, 1.0, 1.0] == [CREDIT[grade] for grade in Grade]
    assert [0.8, 0.2, 0.0, 0.0, 0.0] == [APART[grade] for grade in Grade]


@pytest.mark.parametrize(
    ("slower", "share"), [(0.0, 1.0), (0.2, 0.6), (0.25, 0.5), (0.5, 0.0), (0.9, 0.0)]
)
def test_a_slow_take_proves_a_share_of_the_gap(slower: float, share: float) -> None:
    """From all of it at the peak down to nothing half an octave under it, in a straight line.

    S' = S + growth * gap * 0.8 * share for a steady take after ten days, but for what the take
    itself says of S: none here, where S is known and its covariance is nothing.
    """
    belief = replace(known(), var_ln_s=0.0)
    take = Evidence(110.0, 110, 80.0 * 2.0**-slower, Grade.STEADY)
    after = update(belief, take, PLAIN)
    assert 8.0 + 10.0 * 0.8 * share == pytest.approx(exp(after.ln_s))
    doubt = PLAIN.growth_doubt * (after.ln_s - belief.ln_s)
    assert doubt**2 == pytest.approx(after.var_ln_s, abs=1e-12)


@pytest.mark.parametrize(("above", "blame"), [(-0.3, 1.0), (0.0, 1.0), (0.1, 0.5), (0.2, 0.0)])
def test_falling_apart_shortens_what_should_have_lasted(above: float, blame: float) -> None:
    """S' = S * 0.6^blame: all of it at what was expected, none a fifth of an octave above."""
    belief = replace(known(), var_ln_s=0.0)
    expected = belief.mu - PLAIN.lam * log2(1.0 + 10.0 / 8.0)
    take = Evidence(110.0, 110, 2.0 ** (expected + above), Grade.FELL_APART)
    after = update(belief, take, PLAIN)
    assert 8.0 * PLAIN.shrink**blame == pytest.approx(exp(after.ln_s))


def test_the_same_day_proves_nothing() -> None:
    """A second take of the day leaves the stability as it is; so does one dated earlier."""
    belief = replace(known(), var_ln_s=0.0)
    for at, day in ((100.1, 100), (99.0, 99), (115.0, 100)):
        after = update(belief, Evidence(at, day, 80.0, Grade.AUTOMATIC), PLAIN)
        assert belief.ln_s == after.ln_s
        assert (2, 11, 100) == (after.takes_that_day, after.takes, after.day)
        assert after.at == max(100.0, at)
    fresh = update(belief, Evidence(100.2, 101, 80.0, Grade.STEADY), PLAIN)
    assert (1, 11, 101) == (fresh.takes_that_day, fresh.takes, fresh.day)


def test_a_take_adds_less_with_each_one_and_off_the_edge() -> None:
    """0.08 * 5/(5+n) octaves at the edge, 0.6 of it for the day's next, exp(-1/2) a width off.

    Read where the grade itself says nothing, that is where the tempo is known for sure.
    """
    bare = replace(PLAIN, wild_share=0.0, idle_var=0.0)

    def gain(belief: Belief, bpm: float, *, day: int = 101) -> float:
        take = Evidence(101.0, day, bpm, Grade.STEADY)
        return update(belief, take, bare).mu - belief.mu

    sure = replace(known(sd=0.0), ln_s=25.0, var_ln_s=0.0)
    assert 0.08 * 5.0 / 15.0 == pytest.approx(gain(sure, 80.0))
    assert 0.08 == pytest.approx(gain(replace(sure, takes=0, at=None, day=None), 80.0))
    assert 0.08 * 5.0 / 15.0 * 0.6 == pytest.approx(gain(sure, 80.0, day=100))
    for way in (-1, 1):
        off = 80.0 * 2.0 ** (way * PLAIN.edge)
        assert 0.08 * 5.0 / 15.0 * exp(-0.5) == pytest.approx(gain(sure, off))


def test_a_take_may_bring_a_pattern_together() -> None:
    """Begun with one half apart: after it fell apart, Bayes' rule, then a quarter come together."""
    new = prior(PLAIN)
    take = Evidence(101.0, 101, 72.0, Grade.FELL_APART)
    after, chance = update_with_chance(new, take, PLAIN)
    _, together = update_with_chance(replace(new, apart=0.0), take, PLAIN)
    told = 0.5 * together + 0.5 * 0.8
    assert told == pytest.approx(chance)
    assert 0.5 * 0.8 / told * 0.75 == pytest.approx(after.apart)
    steady = update(new, replace(take, grade=Grade.STEADY), PLAIN)
    assert 0.0 == steady.apart


def test_a_level_lifts_what_was_played_only() -> None:
    """By what it moved since the card's last take; a first guess stands at its own day's."""
    moved = lifted(replace(known(), level=0.02), 0.05)
    assert (log2(80.0) + 0.03, 0.05) == pytest.approx((moved.mu, moved.level))
    assert prior(PLAIN) == lifted(prior(PLAIN), 0.05)


def test_the_level_hears_first_takes_of_what_is_known() -> None:
    """Not a warm take, not a new card's, not one that is apart; a take of another day moves it."""
    level = 0.01
    card, take = known(), Evidence(110.0, 110, 80.0, Grade.AUTOMATIC)
    silent = [
        (card, replace(take, day=100)),
        (card, replace(take, day=99)),
        (replace(card, takes=0), take),
        (replace(card, apart=0.2), take),
    ]
    for belief, seen in silent:
        told = with_level(belief, seen, level, PLAIN)
        assert (level, level) == (told.level, told.level_after)
    heard = with_level(card, take, level, PLAIN)
    assert heard.level == level
    assert heard.level_after is not None
    assert heard.level_after > level


def test_a_surprise_is_capped_at_one_and_a_half() -> None:
    """Automatic at three times the tempo moves the level as 1.5 standard deviations do.

    level + v * 1.5/sd / (1 + v * lost / sd^2), with sd^2 all that is not known of the take; so far
    off, what is lost of the variance is nearly all: 0.9 and more.
    """
    card = replace(known(), ln_s=25.0, var_ln_s=0.0)
    seen = with_level(card, Evidence(110.0, 110, 240.0, Grade.AUTOMATIC), 0.0, PLAIN)
    idle = PLAIN.idle_var * 10.0
    spread = card.var_mu + idle + PLAIN.sigma**2 + PLAIN.level_sd**2
    step = PLAIN.level_sd**2 * MOST_SURPRISE / sqrt(spread)
    assert seen.level_after is not None
    for lost, compare in ((1.0, 1.0), (0.9, -1.0)):
        bound = step / (1.0 + PLAIN.level_sd**2 * lost / spread)
        assert compare * (seen.level_after - bound) >= 0.0
    fell = with_level(card, Evidence(110.0, 110, 20.0, Grade.FELL_APART), 0.0, PLAIN)
    assert fell.level_after == pytest.approx(-seen.level_after, rel=0.01)
    assert MOST_SURPRISE == 1.5


def test_no_interval_is_longer_than_ten_years() -> None:
    """Far over what is to be held it is 3650 days; and not a day below it."""
    held = interval_days(known(400.0), PLAIN, hold_bpm=20.0)
    assert LONGEST_DAYS == held == 3650.0
    assert 0.0 == interval_days(known(80.0), PLAIN, hold_bpm=80.0)
    assert interval_days(known(80.0), PLAIN, hold_bpm=2.0) == interval_days(
        known(80.0), PLAIN, hold_bpm=8.0
    )


def test_an_outlook_is_the_normal_law() -> None:
    """An 80 % band, and P(at least steady) by `scipy.stats.norm`; apart takes its share of it."""
    card, at = replace(known(), apart=0.25), 110.0
    seen = outlook(card, at, PLAIN, hold_bpm=80.0)
    mean, variance = card.cold(at, PLAIN)
    assert norm.ppf(0.9) == pytest.approx(BAND_SDS, abs=1e-4)
    assert (2.0**mean, sqrt(variance)) == pytest.approx((seen.cold_bpm, seen.sd))
    band = [2.0 ** norm.ppf(q, mean, sqrt(variance)) for q in (0.1, 0.9)]
    assert band == pytest.approx([seen.low_bpm, seen.high_bpm], rel=1e-4)
    chance = norm.cdf((mean - log2(77.5)) / sqrt(variance + PLAIN.sigma**2))
    assert 0.75 * chance == pytest.approx(seen.p_hold)
    slow = outlook(card, at, PLAIN, hold_bpm=1.0)
    assert slow == outlook(card, at, PLAIN, hold_bpm=8.0)


def test_states_at_their_limits() -> None:
    """At the goal exactly a card is held; its peak a hair below it is built; unplayed it waits.

    One that has not come together is built, wherever its peak is expected.
    """
    at_goal = known(64.0)
    assert State.HOLDING is state(at_goal, 100.0, PLAIN, goal_bpm=64.0)
    assert State.FADING is state(at_goal, 100.1, PLAIN, goal_bpm=64.0)
    below = replace(at_goal, mu=6.0 - 1e-12)
    assert State.BUILDING is state(below, 100.0, PLAIN, goal_bpm=64.0)
    assert State.WAITING is state(None, 100.0, PLAIN, goal_bpm=64.0)
    assert State.WAITING is state(prior(PLAIN, bpm=200.0), 100.0, PLAIN, goal_bpm=64.0)
    assert State.RESTED is state(None, 100.0, PLAIN, goal_bpm=64.0, rested=True)
    assert state(known(8.0), 100.0, PLAIN, goal_bpm=3.0) is State.HOLDING
    apart = replace(at_goal, apart=0.01)
    assert State.BUILDING is state(apart, 100.0, PLAIN, goal_bpm=64.0)


@given(st.floats(0.01, 300.0), st.floats(-1.0, 5.0))
def test_the_slope_is_the_derivative_of_the_curve(gap: float, ln_s: float) -> None:
    """By a central difference: d cold / d ln S."""
    h = 1e-5
    lost = [octaves_lost(gap, ln_s + d, PLAIN.lam, FLOATS) for d in (h, -h)]
    slope = forgetting_slope(gap, ln_s, PLAIN.lam, FLOATS)
    assert (lost[1] - lost[0]) / (2 * h) == pytest.approx(slope, rel=1e-4, abs=1e-10)


def test_for_ever_has_an_end() -> None:
    """A margin of a thousand octaves is 2^60 stabilities, no overflow; below nothing it is none."""
    assert 2.0**60 - 1.0 == days_held(1000.0, 0.0, PLAIN.lam, FLOATS)
    assert 0.0 == days_held(-1.0, 0.0, PLAIN.lam, FLOATS)
    assert 1.0 == days_held(PLAIN.lam, 0.0, PLAIN.lam, FLOATS)


def test_a_card_s_first_tempo_is_what_practice_added_to() -> None:
    """The gains 0.08 * 5/(5+n) sum to about 0.08 * 5 * ln((5+n)/5) octaves; none before a take."""
    for takes in (0, 10, 50):
        summed = sum(0.08 * 5.0 / (5.0 + n) for n in range(takes))
        seen = first_tempo(known(takes=takes), PLAIN)
        assert log2(80.0) - summed == pytest.approx(seen, abs=0.05)
    assert log2(80.0) == first_tempo(known(takes=0), PLAIN)


def test_of_very_many_cards_four_hundred_are_asked() -> None:
    """Evenly from first to last: the fast half of eight hundred lifts the guess as four hundred do.

    With 400 and fewer all are asked.
    """
    features = np.zeros((1, 1))
    twins = [known(120.0 if k % 2 else 60.0, takes=0) for k in range(2 * MOST_PLAYED)]
    (guess,) = guess_first_tempi(twins, np.zeros((len(twins), 1)), features, PLAIN)
    chosen = [twins[i] for i in np.linspace(0, 799, 400).astype(int)]
    (thinned,) = guess_first_tempi(chosen, np.zeros((400, 1)), features, PLAIN)
    assert (thinned.bpm, thinned.sd) == pytest.approx((guess.bpm, guess.sd))
    few = [known(120.0, takes=0) for _ in range(3)]
    (three,) = guess_first_tempi(few, np.zeros((3, 1)), features, PLAIN)
    assert three.sd >= OWN_SD
    assert (0.35, 0.25, 2.0, 0.12, 400) == (LEVEL_SD, SHAPE_SD, SHAPE_LENGTH, OWN_SD, MOST_PLAYED)


def test_the_most_telling_card_lowers_the_summed_variance_most() -> None:
    """The first two of eight cards by brute force: conditioned on each, the trace that is left."""
    chance = np.random.default_rng(3)
    features = chance.normal(0.0, 2.0, (8, 2))
    far = ((features[:, None] - features[None]) ** 2).sum(-1)
    shared = LEVEL_SD**2 + SHAPE_SD**2 * np.exp(-0.5 * far / SHAPE_LENGTH**2)
    noise = OWN_SD**2 + 0.1**2

    def left(cards: list[int]) -> float:
        k = shared[:, cards]
        seen = shared[np.ix_(cards, cards)] + noise * np.eye(len(cards))
        return float(np.trace(shared - k @ np.linalg.solve(seen, k.T)))

    first = min(range(8), key=lambda card: left([card]))
    second = min((c for c in range(8) if c != first), key=lambda card: left([first, card]))
    assert [first, second] == most_telling(features, 2)


def takes_of(*rows: tuple[int, int]) -> Takes:
    """Return takes of (card, day), an hour apart."""
    cards, days = zip(*rows, strict=True)
    n = len(rows)
    at = [day + k / 24 for k, day in enumerate(days)]
    return Takes.of(cards, at, days, np.full(n, 80.0), np.zeros(n))


def test_cold_takes_and_ranks_are_counted_card_by_card() -> None:
    """A day that was passed does not come again; two cards do not mix."""
    takes = takes_of((0, 5), (1, 5), (0, 5), (0, 6), (1, 4), (0, 5), (0, 6), (1, 6), (0, 7))
    cold = [True, True, False, True, False, False, False, True, True]
    assert cold == _cold(takes).tolist()
    assert [0, 0, 1, 2, 1, 3, 4, 2, 5] == _rank(takes).tolist()


def test_what_was_learned_is_told_from_a_tenth_on() -> None:
    """A number that moved by a tenth, up or down, is told with its factor; by less it is not."""
    for factor, told in ((1.1001, True), (1.099, False), (0.8999, True), (0.901, False)):
        learned = replace(PLAIN, gain=PLAIN.gain * factor)
        said = sentences(PLAIN, learned)
        assert told == bool(said)
    everything = replace(PLAIN, gain=0.16, boost=0.02, sigma=0.12)
    assert sentences(PLAIN, everything) == (
        "A take adds about 2.0 times as much to your tempo as we first assumed.",
        "Warming up gives you about 0.5 times as much as we first assumed.",
        "Your takes vary about 1.5 times as much as we first assumed.",
    )


@pytest.mark.parametrize(("settled", "learned"), [(199, False), (200, True)])
def test_two_hundred_settled_cold_takes_are_enough(
    monkeypatch: pytest.MonkeyPatch, settled: int, *, learned: bool
) -> None:
    """Settled are a card's takes from the fifth on; one fewer than 200 and nothing is tried."""
    asked: list[int] = []

    def noted(
        _trials: TrialReplay, which: np.ndarray, start: Parameters, near: Parameters
    ) -> Parameters:
        assert near == start
        asked.extend(np.flatnonzero(which).tolist())
        return start

    monkeypatch.setattr(learning, "_search", noted)
    days = settled + 4
    takes = takes_of(*((0, day) for day in range(days)))
    seen = learn([prior(PLAIN)], takes, PLAIN)
    assert learned == bool(asked)
    # The earlier two thirds alone are searched, without the first four takes; the same numbers
    # predict no better.
    assert asked == (list(range(4, int(2 / 3 * days))) if learned else [])
    assert Learned(PLAIN, adopted=False, improvement=0.0, cold_takes=days) == seen


def test_numbers_are_adopted_if_they_predict_better(monkeypatch: pytest.MonkeyPatch) -> None:
    """A trial that foretells the last third better is searched again on the whole, and kept."""
    noisy = replace(PLAIN, sigma=0.2)
    searched: list[tuple[int, Parameters]] = []

    def found(
        _trials: TrialReplay, which: np.ndarray, _start: Parameters, near: Parameters
    ) -> Parameters:
        searched.append((int(which.sum()), near))
        return noisy

    monkeypatch.setattr(learning, "_search", found)
    chance = np.random.default_rng(1)
    n = 300
    grades = np.clip(np.round(chance.normal(0.0, 3.0, n)), -2, 2)
    wild = Takes.of(np.zeros(n), np.arange(n), np.arange(n), np.full(n, 80.0), grades)
    seen = learn([prior(PLAIN)], wild, PLAIN)
    assert (noisy, True) == (seen.parameters, seen.adopted)
    assert [(196, PLAIN), (296, noisy)] == searched
    assert seen.improvement > 0.0
    even = Takes.of(np.zeros(n), np.arange(n), np.arange(n), np.full(n, 80.0), np.zeros(n))
    kept = learn([prior(PLAIN)], even, PLAIN)
    assert (PLAIN, False) == (kept.parameters, kept.adopted)
    assert kept.improvement < 0.0


def test_columns_know_what_was_not_written_down() -> None:
    """Without levels they are nan, and no grade was measured; a row gives them back as none."""
    takes = Takes.of([0], [1.5], [1], [80.0], [1])
    assert Evidence(1.5, 1, 80.0, Grade.CLEAN) == takes.evidence(0)
    full = Takes.of([0], [1.5], [1], [80.0], [-2], [0.1], [0.2], [True])
    expected = Evidence(1.5, 1, 80.0, Grade.FELL_APART, 0.1, 0.2, measured=True)
    assert expected == full.evidence(0)
    half = Takes.of([0], [1.5], [1], [80.0], [0], [nan], [0.2])
    assert (None, 0.2) == ((one := half.evidence(0)).level, one.level_after)


@pytest.mark.parametrize("cards", [1, 63, 64, 65, 130])
def test_few_cards_or_many_are_replayed_alike(cards: int) -> None:
    """Each card as by itself, whichever way the replay takes."""
    beliefs = [prior(PLAIN, bpm=60.0 + k % 50) for k in range(cards)]
    rows = [(k, day) for day in (3, 4, 9) for k in range(cards) if (k + day) % 4]
    takes = takes_of(*rows)
    seen = replay(beliefs, takes, PLAIN)
    for k in range(cards):
        alone = beliefs[k]
        for n in np.flatnonzero(takes.card == k):
            alone = update(alone, takes.evidence(int(n)), PLAIN)
        assert alone.to_row() == pytest.approx(seen[k].to_row(), abs=1e-9)


class MadeUp(TrialReplay):
    """A log of 24 takes of which the chances are written by hand."""

    def __init__(self) -> None:
        """Replay nothing."""

    def chances(self, sets: Sequence[Parameters]) -> np.ndarray:
        """Return the chances that the one number that matters gives."""
        f = np.log([[p.gain / PLAIN.gain] for p in sets])
        unsettled = np.repeat(np.exp(-9.0 * f * f), 4, axis=1)
        told = np.repeat(np.exp(-100.0 / 18.0 * (f - 1.0) ** 2 / 20.0), 20, axis=1)
        return np.concatenate([unsettled, told], axis=1)


@pytest.mark.parametrize("near", [0.05, 1.0, 3.0])
def test_the_search_weighs_the_grades_against_the_prior(near: float) -> None:
    """A prior of sd 0.3 on a factor's logarithm, from wherever the search begins.

    Twenty grades whose log-chance falls by 100/18 (f - 1)^2 in sum: with the penalty f^2 / 0.18 the
    best f is one half, between the start and what the grades say. Unsettled takes are not asked.
    """
    begin = replace(PLAIN, gain=near * PLAIN.gain)
    found = learning._search(MadeUp(), np.arange(24) >= 4, PLAIN, begin)
    assert 0.5 == pytest.approx(log(found.gain / PLAIN.gain), abs=0.005)
    assert (PLAIN.boost, PLAIN.sigma) == pytest.approx((found.boost, found.sigma))


def test_the_error_function_holds_on_every_stretch() -> None:
    """Cody's three stretches against `scipy.special.erfcx`, their joints and the far end."""
    x = np.concatenate(
        [np.linspace(0.0, 0.46875, 50), np.linspace(0.469, 4.0, 200), np.geomspace(4.0, 1e6, 200)]
    )
    assert np.abs(scaled_erfc(x) / erfcx(x) - 1.0).max() < 1e-14
    assert [0.5, 0.0, 1.0] == tails.below(np.array([0.0, -50.0, 50.0])).tolist()


@pytest.mark.parametrize("x", [0.0, 0.1, 1.0, 5.0, 29.9, 30.0, 30.1, 1e3, 1e7])
def test_mills_ratio_holds_on_both_sides_of_its_series(x: float) -> None:
    """sqrt(pi/2) erfcx(x / sqrt 2) by SciPy, to 14 digits."""
    assert sqrt(pi / 2) * float(erfcx(x / sqrt(2))) == pytest.approx(mills(x), rel=1e-14)
