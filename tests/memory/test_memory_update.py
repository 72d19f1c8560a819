from __future__ import annotations

from dataclasses import replace
from itertools import takewhile
from math import exp, log, log2, pi, sqrt

import numpy as np
import pytest
from examples import examples
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import norm
from strategies import beliefs, evidences

from drillbox.memory import MODEL_VERSION, Belief, Evidence, Grade, Parameters, prior, update
from drillbox.memory.belief import APART, grade_cuts, update_with_chance

PLAIN = Parameters()
BARE = replace(PLAIN, gain=0.0, idle_var=0.0, wild_share=0.0, growth=0.0, shrink=1.0)
"""The probit alone: no learning, no idle widening, no wild takes, no consolidation."""


def at_rest(mu: float, variance: float) -> Belief:
    """Return a belief about a card that was never played."""
    return Belief(mu, 0.0, variance, 0.0, 0.5)


def first_take(bpm: float, grade: Grade) -> Evidence:
    """Return the first take of a card."""
    return Evidence(20000.0, 738000, bpm, grade)


@pytest.mark.parametrize(
    ("evidence", "shift", "variance"),
    [
        # Herbrich, Minka & Graepel 2007 with one side fixed; prior N(m, 1), noise 1.
        (first_take(100.0 - 7.5, Grade.AUTOMATIC), 1 / sqrt(pi), 1 - 1 / pi),
        (first_take(50.0 - 7.5, Grade.AUTOMATIC), 0.2889781814, 0.7720025200),
        (first_take(50.0 + 7.5, Grade.FELL_APART), -0.9163528206, 0.6184739184),
    ],
)
def test_pass_and_fail_have_the_exact_moments(
    evidence: Evidence, shift: float, variance: float
) -> None:
    """One pass or fail moves mean and variance to those of the exact posterior."""
    parameters = replace(BARE, sigma=1.0)
    seen = update(at_rest(log2(100.0), 1.0), evidence, parameters)
    assert log2(100.0) + shift == pytest.approx(seen.mu, abs=1e-9)
    assert variance == pytest.approx(seen.var_mu, abs=1e-9)


@pytest.mark.parametrize(
    ("evidence", "bpm", "variance"),
    [
        (first_take(92.0 - 7.5, Grade.AUTOMATIC), 106.37, 0.0228331766),
        (first_take(92.0 + 7.5, Grade.FELL_APART), 85.86, 0.0144534634),
    ],
)
def test_tempo_update_of_the_reference(evidence: Evidence, bpm: float, variance: float) -> None:
    """From 100 bpm (sd 0.2 octave, noise 0.08): held at 92 gives 106.37, lost gives 85.86."""
    seen = update(at_rest(log2(100.0), 0.04), evidence, BARE)
    assert bpm == pytest.approx(2**seen.mu, abs=1e-2)
    assert variance == pytest.approx(seen.var_mu, abs=1e-9)


def predictive(belief: Belief, evidence: Evidence, parameters: Parameters) -> list[float]:
    """Return the chance of each grade, written down apart from the code under test."""
    cold = evidence.day > (belief.day or 0)
    gap = max(0.0, evidence.at - (belief.at or evidence.at)) if cold else 0.0
    days = exp(belief.ln_s)
    slope = parameters.lam / log(2.0) * gap / (gap + days)
    idle = max(0.0, min(parameters.idle_var * gap, parameters.first_sd**2 - belief.var_mu))
    mean = belief.mu - parameters.lam * log2(1 + gap / days)
    spread = belief.var_mu + idle + 2 * slope * belief.cov + slope**2 * belief.var_ln_s
    noise = parameters.sigma**2 * (parameters.measured if evidence.measured else 1)
    if not cold:
        mean = belief.mu + parameters.boost * (1 - 0.5**belief.takes_that_day)
        spread = belief.var_mu
        noise += parameters.warm_noise**2
    wild = parameters.wild_share
    wild_spread = spread + parameters.wild_jump**2 + parameters.wild_noise**2
    chances = []
    for grade in Grade:
        low, high = grade_cuts(evidence.bpm, grade)
        plain = norm.cdf(high, mean, sqrt(spread + noise)) - norm.cdf(
            low, mean, sqrt(spread + noise)
        )
        broad = norm.cdf(high, mean, sqrt(wild_spread)) - norm.cdf(low, mean, sqrt(wild_spread))
        together = float((1 - wild) * plain + wild * broad)
        chances.append((1 - belief.apart) * together + belief.apart * APART[grade])
    return chances


@examples(60)
@given(beliefs(), evidences())
def test_expectation_and_variance_are_conserved(belief: Belief, evidence: Evidence) -> None:
    """Averaged over the grades it expects, a take changes no mean, and total variance is kept."""
    parameters = replace(PLAIN, gain=0.0, idle_var=0.0, growth=0.0, shrink=1.0)
    chances = np.array(predictive(belief, evidence, parameters))
    after = [update(belief, replace(evidence, grade=g), parameters) for g in Grade]
    means = np.array([[b.mu, b.ln_s] for b in after])
    kept = chances @ means
    assert [belief.mu, belief.ln_s] == pytest.approx(list(kept), abs=1e-9)
    moved = (1.0 - belief.apart) * parameters.wild_share * parameters.wild_jump**2
    jump = np.diag([moved, 0.0])
    inside = sum(
        chance * np.array([[b.var_mu, b.cov], [b.cov, b.var_ln_s]])
        for chance, b in zip(chances, after, strict=True)
    )
    between = (means - kept).T @ np.diag(chances) @ (means - kept)
    before = np.array([[belief.var_mu, belief.cov], [belief.cov, belief.var_ln_s]])
    assert np.allclose(before + jump, inside + between, atol=1e-9)


@examples(100)
@given(beliefs(), evidences(), st.floats(-0.1, 0.1))
def test_a_better_grade_is_believed_better(belief: Belief, evidence: Evidence, off: float) -> None:
    """Within 7 % of the expected tempo, from 60 bpm on, a better grade leaves a higher peak.

    Of a pattern that has come together: before, falling apart may tell of the pattern alone.
    """
    belief = replace(belief, cov=abs(belief.cov), apart=0.0)
    bpm = 2.0 ** (belief.cold(evidence.at, PLAIN)[0] + off)
    assume(bpm >= 60.0)
    after = [update(belief, replace(evidence, grade=grade, bpm=bpm), BARE).mu for grade in Grade]
    guarded = [
        update(belief, replace(evidence, grade=grade, bpm=bpm), replace(BARE, wild_share=0.02)).mu
        for grade in Grade
    ]
    assert sorted(after) == after
    assert sorted(guarded) == guarded


@examples(100)
@given(beliefs(), evidences())
def test_no_verdict_is_read_backwards(belief: Belief, evidence: Evidence) -> None:
    """However wild the tempo, falling apart never raises the peak and automatic never lowers it.

    Between them a wild grade may be believed less than a milder one: that is the guard's price.
    """
    parameters = replace(PLAIN, gain=0.0)
    worst = update(belief, replace(evidence, grade=Grade.FELL_APART), parameters)
    best = update(belief, replace(evidence, grade=Grade.AUTOMATIC), parameters)
    if belief.cov >= 0.0:
        assert worst.mu <= belief.mu <= best.mu


@examples(150)
@given(beliefs(), evidences())
def test_the_covariance_stays_one(belief: Belief, evidence: Evidence) -> None:
    """Variances stay positive and the correlation stays within its bounds."""
    seen = update(belief, evidence, PLAIN)
    assert seen.var_mu > 0.0
    assert seen.var_ln_s > 0.0
    assert seen.cov**2 <= seen.var_mu * seen.var_ln_s * (1 + 1e-9)


@given(beliefs(), st.floats(0.0, 700.0), st.floats(0.0, 700.0))
def test_idle_time_never_raises_the_cold_tempo(belief: Belief, a: float, b: float) -> None:
    """The longer the wait, the lower the expected cold tempo and the wider the doubt about mu."""
    sooner, later = sorted((a, b))
    start = belief.at or 0.0
    first, second = belief.cold(start + sooner, PLAIN), belief.cold(start + later, PLAIN)
    assert second[0] <= first[0] <= belief.mu
    if belief.cov >= 0.0:
        assert second[1] >= first[1] - 1e-12


@given(beliefs(), st.floats(0.0, 30.0), st.sampled_from(Grade))
def test_a_clock_set_back_makes_no_negative_gap(belief: Belief, back: float, grade: Grade) -> None:
    """A take stamped before the last one counts as one of the same day.

    And time never runs back.
    """
    if belief.at is None or belief.day is None:
        return
    early = Evidence(belief.at - back, belief.day - int(back), 80.0, grade)
    on_time = Evidence(belief.at, belief.day, 80.0, grade)
    assert update(belief, on_time, PLAIN) == update(belief, early, PLAIN)
    assert belief.cold(belief.at - back, PLAIN) == belief.cold(belief.at, PLAIN)


@given(beliefs())
def test_a_belief_survives_being_written_down(belief: Belief) -> None:
    """Its row of plain numbers, through JSON, is the same belief bit for bit."""
    import json

    assert belief == Belief.from_row(json.loads(json.dumps(belief.to_row())))


def settled() -> Belief:
    """Return a card held near 100 bpm for weeks."""
    belief = prior(PLAIN, bpm=90.0)
    day = 20000
    for gap in (0, 1, 2, 4, 7, 12):
        day += gap
        belief = update(belief, Evidence(float(day), day, 95.0, Grade.CLEAN), PLAIN)
    return belief


def test_one_wild_grade_does_not_sink_a_settled_card() -> None:
    """Falling apart once at 55 bpm on a card held at 100 costs under a quarter of the distance."""
    belief = settled()
    at, day = belief.at or 0.0, belief.day or 0
    once = update(belief, Evidence(at + 7, day + 7, 55.0, Grade.FELL_APART), PLAIN)
    assert belief.mu - once.mu < 0.25 * (belief.mu - log2(47.5))


def test_a_lasting_change_is_believed() -> None:
    """The same bad grade on three days running is no accident: the belief follows."""
    belief = settled()
    for _ in range(3):
        at, day = belief.at or 0.0, belief.day or 0
        belief = update(belief, Evidence(at + 1, day + 1, 55.0, Grade.FELL_APART), PLAIN)
    assert 2**belief.mu < 60.0


def test_a_surviving_card_lasts_longer_and_a_failing_one_shorter() -> None:
    """Stability grows in proportion to the gap survived, hardly on the same day.

    And shrinks on failure.
    """
    belief = settled()
    at, day = belief.at or 0.0, belief.day or 0
    fast = 2**belief.mu

    def after(days: int, grade: Grade, bpm: float = fast) -> float:
        return update(belief, Evidence(at + days, day + days, bpm, grade), PLAIN).ln_s

    assert after(20, Grade.STEADY) > after(5, Grade.STEADY) > belief.ln_s
    assert belief.ln_s == pytest.approx(after(0, Grade.STEADY), abs=0.01)
    assert after(5, Grade.FELL_APART, 80.0) < belief.ln_s + log(PLAIN.shrink) + 0.01


def test_massed_takes_bring_less_and_less() -> None:
    """Ten takes in a row add less tempo than five on five days.

    Lee & Genovese, Research Quarterly for Exercise and Sport 59:277-287 (1988): massed practice
    depresses retention.
    """
    exact = replace(PLAIN, sigma=1e3, warm_noise=1e3, wild_share=0.0)
    massed = spaced = Belief(log2(80.0), 0.0, 1e-8, 0.0, 0.5, 20000.0, 20000, 1, 1)
    for k in range(10):
        massed = update(massed, Evidence(20001.0 + k / 1e3, 20001, 80.0, Grade.STEADY), exact)
    for k in range(5):
        spaced = update(spaced, Evidence(20001.0 + k, 20001 + k, 80.0, Grade.STEADY), exact)
    assert massed.mu < spaced.mu
    assert massed.ln_s < spaced.ln_s


def test_very_slow_takes_are_read_without_a_logarithm_of_nothing() -> None:
    """At 5 bpm the cut 7.5 bpm below would not exist; the take is read as one at 8."""
    seen = [update(prior(PLAIN), first_take(bpm, Grade.FELL_APART), PLAIN).mu for bpm in (5.0, 8.0)]
    assert seen[0] == pytest.approx(seen[1], abs=0.02)


def test_the_model_version_names_these_numbers() -> None:
    """A box caches beliefs under the model's version.

    Where these numbers change, the version must too.
    """
    belief = prior(PLAIN, bpm=70.0)
    for at, bpm, grade in (
        (20000.0, 64.0, Grade.CLEAN),
        (20000.001, 70.0, Grade.STEADY),
        (20001.0, 72.0, Grade.CLEAN),
        (20004.0, 78.0, Grade.SHAKY),
        (20012.0, 76.0, Grade.AUTOMATIC),
    ):
        belief = update(belief, Evidence(at, int(at), bpm, grade), PLAIN)
    expected = (
        6.4376418593617295,
        2.3984616164408186,
        0.006970062867608134,
        -0.001252852945121592,
        0.1593284910566019,
    )
    assert MODEL_VERSION == "7"
    assert belief.to_row()[:5] == pytest.approx(expected, rel=1e-12)


def test_a_pattern_that_has_not_come_together_tells_little_of_tempo() -> None:
    """Of a new pattern that falls apart, then less and less of the tempo expected is lost.

    The chance that it is still apart follows Bayes' rule with a constant chance of coming together
    at each take: the one-element model of Bower, Psychometrika 26:255-280 (1961), by hand here.
    """
    belief, losses = prior(PLAIN, bpm=80.0, sd=0.15), []
    for k in range(4):
        take = Evidence(20000.0 + 0.01 * k, 739163, 60.0, Grade.FELL_APART)
        told = belief.apart * APART[take.grade]
        together = update_with_chance(replace(belief, apart=0.0), take, PLAIN)[1]
        expected = told / (told + (1.0 - belief.apart) * together) * (1.0 - PLAIN.joining)
        after = update(belief, take, replace(PLAIN, gain=0.0))
        assert expected == pytest.approx(after.apart, abs=1e-9)
        losses.append(belief.mu - after.mu)
        belief = after
    assert all(loss < 0.03 for loss in losses)
    came = update(belief, Evidence(20000.1, 739163, 60.0, Grade.STEADY), PLAIN)
    assert came.apart == 0.0


@given(st.lists(st.tuples(st.integers(0, 8), st.sampled_from(Grade)), min_size=1, max_size=12))
def test_a_streak_is_counted_on_first_takes_of_a_day(takes: list[tuple[int, Grade]]) -> None:
    """Read backwards over the first takes of the days: automatic ones, or ones that failed.

    Warm takes, whose hands have just played it, break no streak and make none.
    """
    belief, first = prior(PLAIN), dict[int, Grade]()
    for n, (day, grade) in enumerate(sorted(takes, key=lambda take: take[0])):
        first.setdefault(day, grade)
        at = 20000.0 + day + n / 1000.0
        belief = update(belief, Evidence(at, 20000 + day, 80.0, grade), PLAIN)
    told = list(first.values())[::-1]
    easy = sum(1 for _ in takewhile(lambda grade: grade is Grade.AUTOMATIC, told))
    failed = sum(1 for _ in takewhile(lambda grade: grade < Grade.STEADY, told))
    assert easy - failed == belief.streak


def test_takes_of_late_fade_by_the_week() -> None:
    """A take counts 1 when it is played and 1/e a week later."""
    belief = prior(PLAIN)
    for day in range(3):
        belief = update(
            belief, Evidence(20000.0 + 7 * day, 739163 + 7 * day, 60.0, Grade.STEADY), PLAIN
        )
    assert belief.recent == pytest.approx(1 + exp(-1) + exp(-2))
    assert belief.lately(20021.0) == pytest.approx(belief.recent * exp(-1))


@pytest.mark.parametrize("grade", [Grade.FELL_APART, Grade.AUTOMATIC])
def test_a_measured_grade_moves_a_belief_farther(grade: Grade) -> None:
    """Without the noise of judging the same surprise weighs more."""
    belief = Belief(mu=6.5, ln_s=1.0, var_mu=0.01, cov=0.0, var_ln_s=0.1, at=20000.0, day=739163)
    own = update(belief, Evidence(20001.0, 739164, 90.0, grade), BARE)
    measured = update(belief, Evidence(20001.0, 739164, 90.0, grade, measured=True), BARE)

    assert abs(own.mu - belief.mu) < abs(measured.mu - belief.mu)
    assert measured.var_mu < own.var_mu
