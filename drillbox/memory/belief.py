"""What is believed about one card, and how a graded take changes it.

A card's state is its *peak cold tempo* ``mu`` (octaves) and its *stability* ``S`` (days). The cold
tempo, at which a day's first take would come off steady, falls from there by the law of
`drillbox.memory.forgetting`. The belief is Gaussian over ``(mu, ln S)``. A grade at tempo ``b``
says between which of the cuts ``log2(b - 7.5)``, ``log2(b - 2.5)``, ``log2(b + 2.5)``,
``log2(b + 7.5)`` the noisy right tempo fell: an ordered probit, whose posterior moments along the
linearised cold tempo are exact and are handed on to ``(mu, ln S)`` by the gain vector, as in a
Kalman filter (for one term this is the moment matching of Herbrich, Minka & Graepel 2007).

Conventions: tempo in octaves (log2 bpm) unless the name ends in ``bpm``, time in days since the
Unix epoch, variances in octaves squared; practice days are ordinals that only rise.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, inf, log, log2, sqrt
from typing import TYPE_CHECKING, Any, NamedTuple

from drillbox.base.tempi import TAKEN
from drillbox.memory.forgetting import (
    FLOATS,
    cold_tempo,
    days_grown,
    forgetting_slope,
    fresh_gain,
    idle_variance,
    octaves_lost,
    warmth,
)
from drillbox.memory.grade import HALF_STEP, Grade
from drillbox.memory.mixture import Moments, Term, condition, unless_apart, wild_spread
from drillbox.memory.normal import truncated

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.memory.parameters import Parameters

RECENT_DAYS = 7.0
"""A take of so many days ago counts 1/e of one of today among the takes of late."""
CREDIT = {
    Grade.FELL_APART: 0.0,
    Grade.SHAKY: 0.3,
    Grade.STEADY: 0.8,
    Grade.CLEAN: 1.0,
    Grade.AUTOMATIC: 1.0,
}
"""Share of a gap that a cold take proves to be survived (assumption)."""
APART = {
    Grade.FELL_APART: 0.8,
    Grade.SHAKY: 0.2,
    Grade.STEADY: 0.0,
    Grade.CLEAN: 0.0,
    Grade.AUTOMATIC: 0.0,
}
"""How a pattern that has not come together is graded (assumption)."""
MOST_LIFT = 0.1
"""Octaves by which the player's level may move what is expected of a card that is not played.

On the benchmark cards that rose quickly carried the level up, and with it what was believed of
cards that nobody then came back to: a third of an octave too much at worst."""
CREDIT_REACH = 0.5
"""A right tempo this many octaves under the peak proves nothing about the gap (assumption)."""
SHRINK_REACH = 0.2
"""Falling apart this many octaves above the cold tempo is no forgetting (assumption)."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """One graded take.

    Parameters
    ----------
    at, day, bpm, grade
        When (days since the epoch), on which practice day, how fast, how it went.
    level, level_after
        The player's level before and after it (`drillbox.memory.level`), where it was written
        down; otherwise the level is taken not to have moved.
    measured
        Whether the grade was measured, and not the player's own guess.
    """

    at: float
    day: int
    bpm: float
    grade: Grade
    level: float | None = None
    level_after: float | None = None
    measured: bool = False


@dataclass(frozen=True, slots=True)
class Belief:
    """A Gaussian over (peak cold tempo, log stability), and when the card was last played.

    Parameters
    ----------
    mu, ln_s
        Means: octaves, natural logarithm of days.
    var_mu, cov, var_ln_s
        The covariance matrix.
    at, day
        Moment and practice day of the last take, None before the first.
    takes_that_day, takes
        Takes on that day, and in all.
    apart
        Chance that the pattern has not come together yet; 0 from its first steady take on.
    recent
        Takes of late: each counts 1 when it is played, and 1/e a week later.
    level
        Where the player's level stood after the card's last take (`drillbox.memory.level`).
    streak
        First takes of a day in a row, up to the last one, that were automatic; below zero, so many
        in a row that were worse than steady. The plan asks faster or slower by it.
    """

    mu: float
    ln_s: float
    var_mu: float
    cov: float
    var_ln_s: float
    at: float | None = None
    day: int | None = None
    takes_that_day: int = 0
    takes: int = 0
    apart: float = 0.0
    recent: float = 0.0
    level: float = 0.0
    streak: int = 0

    def to_row(self) -> tuple[float | int | None, ...]:
        """Return the plain numbers that `from_row` turns into this belief again, exactly."""
        return (
            self.mu,
            self.ln_s,
            self.var_mu,
            self.cov,
            self.var_ln_s,
            self.at,
            self.day,
            self.takes_that_day,
            self.takes,
            self.apart,
            self.recent,
            self.level,
            self.streak,
        )

    @classmethod
    def from_row(cls, row: Sequence[Any]) -> Belief:
        """Build the belief that `to_row` wrote down."""
        return cls(*row)

    @property
    def moments(self) -> Moments[float]:
        """The means, variances and covariance."""
        return Moments(self.mu, self.ln_s, self.var_mu, self.cov, self.var_ln_s)

    def gap(self, at: float) -> float:
        """Return the days since the last take; a clock that was set back counts as no time."""
        return 0.0 if self.at is None else max(0.0, at - self.at)

    def lately(self, at: float) -> float:
        """Return the takes of late, as they count at a moment."""
        return self.recent * exp(-self.gap(at) / RECENT_DAYS)

    def cold(self, at: float, parameters: Parameters) -> tuple[float, float]:
        """Return mean and variance of the cold tempo at a moment, in octaves."""
        gap = self.gap(at)
        return cold_tempo(self.moments, gap, parameters, FLOATS)


def prior(parameters: Parameters, *, bpm: float | None = None, sd: float | None = None) -> Belief:
    """Return the belief about a card that was never played.

    Parameters
    ----------
    parameters
        The player's numbers.
    bpm, sd
        Expected first tempo and its standard deviation in octaves, where something is known.
    """
    return Belief(
        mu=log2(max(bpm or parameters.first_bpm, TAKEN.least)),
        ln_s=log(parameters.first_days),
        var_mu=(parameters.first_sd if sd is None else sd) ** 2,
        cov=0.0,
        var_ln_s=parameters.first_days_sd**2,
        apart=parameters.apart,
    )


def lifted(belief: Belief, level: float) -> Belief:
    """Return what is believed of a card once the player's level stands elsewhere.

    By `MOST_LIFT` at most. A first guess was made at the level of its day, so it is left as it is.
    """
    if not belief.takes:
        return belief
    rise = max(-MOST_LIFT, min(level - belief.level, MOST_LIFT))
    # Every card of the box comes by here for every plan, and `replace` takes five times as long.
    return Belief(
        belief.mu + rise,
        belief.ln_s,
        belief.var_mu,
        belief.cov,
        belief.var_ln_s,
        belief.at,
        belief.day,
        belief.takes_that_day,
        belief.takes,
        belief.apart,
        belief.recent,
        level,
        belief.streak,
    )


def grade_cuts(bpm: float, grade: Grade) -> tuple[float, float]:
    """Return the octaves between which a grade says the right tempo lay."""
    b = max(bpm, TAKEN.least)
    low = -inf if grade is Grade.FELL_APART else log2(b + grade.step_bpm - HALF_STEP)
    high = inf if grade is Grade.AUTOMATIC else log2(b + grade.step_bpm + HALF_STEP)
    return low, high


class Expectation(NamedTuple):
    """How a take is looked at: what right tempo was expected of it, and what it can teach."""

    gap: float
    taken_today: int
    expected: float
    slope: float
    noise: float


def expectation_of(belief: Belief, evidence: Evidence, parameters: Parameters) -> Expectation:
    """Return how a take of a card is to be looked at."""
    # A day that was passed already does not come again, wherever the clock was set: such a take is
    # warm. Warm hands are above the peak.
    if belief.day is not None and evidence.day <= belief.day:
        taken = belief.takes_that_day
        warm = belief.mu + parameters.boost * warmth(taken)
        noise = take_noise(evidence, parameters) + parameters.warm_noise**2
        return Expectation(0.0, taken, warm, 0.0, noise)
    gap = belief.gap(evidence.at)
    expected = belief.mu - octaves_lost(gap, belief.ln_s, parameters.lam, FLOATS)
    slope = forgetting_slope(gap, belief.ln_s, parameters.lam, FLOATS)
    return Expectation(gap, 0, expected, slope, take_noise(evidence, parameters))


def take_noise(evidence: Evidence, parameters: Parameters) -> float:
    """Return the variance of one graded take: less where the grade was measured."""
    return parameters.sigma**2 * (parameters.measured if evidence.measured else 1.0)


def update(belief: Belief, evidence: Evidence, parameters: Parameters) -> Belief:
    """Return the belief after one graded take.

    The first take of a practice day is cold: it teaches about the peak and about stability. A later
    one is warm: the right tempo is expected higher by the boost, it teaches the peak less, and
    stability next to nothing. Then the take itself changes the card: it adds a little tempo if it
    was played near the edge, and a survived gap lengthens the stability in proportion to the gap.
    """
    return update_with_chance(belief, evidence, parameters)[0]


def update_with_chance(
    belief: Belief, evidence: Evidence, parameters: Parameters
) -> tuple[Belief, float]:
    """Return the belief after one graded take, and the chance that the grade had been given."""
    if evidence.level is not None:
        belief = lifted(belief, evidence.level)
    # 1. What was to be expected, then what the grade says of (mu, ln S) against it.
    expectation = expectation_of(belief, evidence, parameters)
    cold = expectation.taken_today == 0
    seen, chance, still = _learn(belief, evidence, expectation, parameters)
    mu, ln_s, var_mu, cov, var_ln_s = seen
    # 2. The take itself adds tempo: what is believed of the card after it, not before it.
    mu += _gain(mu, belief.takes, evidence, expectation.taken_today, parameters)
    # 3. A gap that was survived lengthens the stability; takes of one day have none between them.
    if expectation.gap > 0.0:
        ln_s, cov, var_ln_s = _consolidate(belief.mu, seen, evidence, expectation, parameters)
    # 4. The clock of the card only goes forward, even where the player's was set back.
    after = Belief(
        mu,
        ln_s,
        var_mu,
        cov,
        var_ln_s,
        at=evidence.at if belief.at is None else max(belief.at, evidence.at),
        day=evidence.day if cold else belief.day,
        takes_that_day=expectation.taken_today + 1,
        takes=belief.takes + 1,
        apart=still * (1.0 - parameters.joining),
        recent=1.0 + belief.lately(evidence.at),
        level=belief.level if evidence.level_after is None else evidence.level_after,
        streak=_streak(belief.streak, evidence.grade) if cold else belief.streak,
    )
    return after, chance


def _streak(streak: int, grade: Grade) -> int:
    """Return the streak after one more first take of a day."""
    if grade < Grade.STEADY:
        return min(streak, 0) - 1
    return max(streak, 0) + 1 if grade is Grade.AUTOMATIC else 0


def predictive_spread(belief: Belief, expected: Expectation, parameters: Parameters) -> float:
    """Return the variance of the right tempo as it is expected, noise included."""
    to_mu, to_ln_s, _ = _gains(belief, expected, parameters)
    return to_mu + expected.slope * to_ln_s + expected.noise


def _gains(
    belief: Belief, expectation: Expectation, parameters: Parameters
) -> tuple[float, float, float]:
    """Return the covariances of the cold tempo with mu and ln S, and the variance of mu."""
    var_mu = belief.var_mu + idle_variance(belief.var_mu, expectation.gap, parameters, FLOATS)
    return (
        var_mu + expectation.slope * belief.cov,
        belief.cov + expectation.slope * belief.var_ln_s,
        var_mu,
    )


def _learn(
    belief: Belief, evidence: Evidence, expectation: Expectation, parameters: Parameters
) -> tuple[Moments[float], float, float]:
    """Condition (mu, ln S) on the grade; returns its chance as well, and that it is still apart."""
    to_mu, to_ln_s, var_mu = _gains(belief, expectation, parameters)
    # The right tempo is mu + slope * (ln S - its mean) + noise, so its variance is that of the
    # first two, written by their covariances, and the noise.
    spread = to_mu + expectation.slope * to_ln_s + expectation.noise
    low, high = grade_cuts(evidence.bpm, evidence.grade)
    low, high = low - expectation.expected, high - expectation.expected
    before = Moments(belief.mu, belief.ln_s, var_mu, belief.cov, belief.var_ln_s)
    after, chance = condition(
        before,
        (to_mu, to_ln_s),
        _standardised(low, high, spread),
        _standardised(low, high, wild_spread(spread, expectation.noise, parameters)),
        parameters,
    )
    return unless_apart(before, after, chance, belief.apart, APART[evidence.grade])


def _standardised(low: float, high: float, spread: float) -> Term[float]:
    sd = sqrt(spread)
    chance, mean, lost = truncated(low / sd, high / sd)
    return Term(chance, mean / sd, lost / spread)


def _gain(
    mu: float, takes: int, evidence: Evidence, taken_today: int, parameters: Parameters
) -> float:
    """Return the tempo that one take adds.

    Less with practice, less with each take of the day, most near the edge.
    """
    off = (log2(max(evidence.bpm, TAKEN.least)) - mu) / parameters.edge
    fresh = fresh_gain(takes, parameters.gain, parameters.practice)
    return fresh * parameters.fatigue**taken_today * exp(-0.5 * off * off)


def _consolidate(
    peak: float,
    seen: Moments[float],
    evidence: Evidence,
    expectation: Expectation,
    parameters: Parameters,
) -> tuple[float, float, float]:
    """Return ln S and its covariances after a gap was survived, or was not."""
    _, ln_s, _, cov, var_ln_s = seen
    bpm = max(evidence.bpm, TAKEN.least)
    # Falling apart at a tempo it should have come off at shortens the stability, less the farther
    # the take was above what was expected.
    if evidence.grade is Grade.FELL_APART:
        too_fast = (log2(bpm) - expectation.expected) / SHRINK_REACH
        blame = min(1.0, max(0.0, 1.0 - too_fast))
        return ln_s + blame * log(parameters.shrink), cov, var_ln_s
    # Otherwise the stability grows by the gap, as far as the grade proves that it was survived: a
    # take far under the peak proves nothing.
    too_slow = (peak - log2(bpm + evidence.grade.step_bpm)) / CREDIT_REACH
    proof = min(1.0, max(0.0, 1.0 - too_slow))
    days = exp(ln_s)
    credit = CREDIT[evidence.grade] * proof
    longer = days_grown(days, expectation.gap, credit, parameters.growth)
    # ln S' = ln(S + c), so d ln S' / d ln S = S / S': the covariances shrink by that, and the step
    # brings its own doubt.
    kept = days / longer
    step = log(longer) - ln_s
    doubt = parameters.growth_doubt * step
    return ln_s + step, cov * kept, var_ln_s * kept * kept + doubt * doubt
