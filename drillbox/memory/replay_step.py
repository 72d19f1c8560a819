"""One take each of many cards, in one array operation.

The arithmetic is that of `drillbox.memory.belief.update` and `drillbox.memory.outlook`, term for
term; the tests hold them to 1e-9.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from drillbox.base.tempi import TAKEN
from drillbox.memory.array_maths import COLUMNS
from drillbox.memory.belief import APART, CREDIT, CREDIT_REACH, RECENT_DAYS, SHRINK_REACH
from drillbox.memory.forgetting import cold_tempo, forgetting_slope, idle_variance, octaves_lost
from drillbox.memory.grade import Grade
from drillbox.memory.mixture import Moments, Term, condition, unless_apart, wild_spread
from drillbox.memory.replay_columns import BeliefColumns
from drillbox.memory.tails import below, truncated

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drillbox.memory.parameters import Parameters
    from drillbox.memory.replay_columns import Takes

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

CREDITS = np.array([CREDIT[grade] for grade in Grade])
TOLD = np.array([APART[grade] for grade in Grade])


def step(s: BeliefColumns, t: Takes, p: Parameters) -> tuple[BeliefColumns, Floats]:
    """Return all the states after one take each, and the chances of the grades."""
    s = s.lifted(t.level)
    # 1. What was to be expected: the first take of a new practice day is cold, all others are warm.
    cold = (s.takes == 0) | (t.day > s.day)
    today = np.where(cold, 0, s.today)
    since = np.where(s.takes > 0, np.maximum(0.0, t.at - np.nan_to_num(s.at)), 0.0)
    gap = np.where(cold, since, 0.0)
    warm = np.where(cold, 0.0, p.boost * (1.0 - 0.5**today))
    expected = s.mu - octaves_lost(gap, s.ln_s, p.lam, COLUMNS) + warm
    slope = forgetting_slope(gap, s.ln_s, p.lam, COLUMNS)
    judged = p.sigma**2 * np.where(t.measured, p.measured, 1.0)
    noise = judged + np.where(cold, 0.0, p.warm_noise**2)
    # 2. What the grade says of (mu, ln S).
    bpm = np.maximum(t.bpm, TAKEN.least)
    expected_of = _Expectations(gap, expected, slope, noise, bpm, 5.0 * t.grade.astype(np.float64))
    seen, chances, still = _learn(s, expected_of, p)
    # 3. What the take itself adds: most near the edge, less with practice and with each of the day.
    off = (np.log2(bpm) - seen.mu) / p.edge
    fresh = p.gain * p.practice / (p.practice + s.takes)
    gain = fresh * p.fatigue**today * np.exp(-0.5 * off * off)
    # 4. What a survived gap does to the stability.
    ln_s, cov, var_ln_s = _consolidate(s.mu, seen, expected_of, p)
    return (
        BeliefColumns(
            seen.mu + gain,
            ln_s,
            seen.var_mu,
            cov,
            var_ln_s,
            at=np.fmax(s.at, t.at),
            day=np.where(cold, t.day, s.day),
            today=today + 1,
            takes=s.takes + 1,
            apart=still * (1.0 - p.joining),
            recent=1.0 + s.recent * np.exp(-since / RECENT_DAYS),
            level=np.where(np.isnan(t.level_after), s.level, t.level_after),
            streak=np.where(cold, _streak(s.streak, t.grade), s.streak),
        ),
        chances,
    )


def _streak(streak: Ints, grade: Ints) -> Ints:
    """Return the streaks after one more first take of a day each."""
    easy = np.where(grade == Grade.AUTOMATIC, np.maximum(streak, 0) + 1, 0)
    return np.where(grade < Grade.STEADY, np.minimum(streak, 0) - 1, easy)


def told_before(s: BeliefColumns, t: Takes, p: Parameters) -> Floats:
    """Return the chance of at least steady at the tempo of each take, as if it were cold.

    The arithmetic is that of `drillbox.memory.outlook`, term for term.
    """
    s = s.lifted(t.level)
    gap = np.where(s.takes > 0, np.maximum(0.0, t.at - np.nan_to_num(s.at)), 0.0)
    moments = Moments(s.mu, s.ln_s, s.var_mu, s.cov, s.var_ln_s)
    mean, variance = cold_tempo(moments, gap, p, COLUMNS)
    line = np.log2(np.maximum(t.bpm, TAKEN.least) - 2.5)
    together = 1.0 - s.apart
    return together * below((mean - line) / np.sqrt(variance + p.sigma**2))


@dataclass(frozen=True, slots=True)
class _Expectations:
    """How each take is looked at.

    `drillbox.memory.belief.Expectation` as columns, and the verdict.
    """

    gap: Floats
    expected: Floats
    slope: Floats
    noise: Floats
    bpm: Floats
    step: Floats


def _learn(
    s: BeliefColumns, expected_of: _Expectations, p: Parameters
) -> tuple[Moments[Floats], Floats, Floats]:
    var_mu = s.var_mu + idle_variance(s.var_mu, expected_of.gap, p, COLUMNS)
    to_mu = var_mu + expected_of.slope * s.cov
    to_ln_s = s.cov + expected_of.slope * s.var_ln_s
    spread = to_mu + expected_of.slope * to_ln_s + expected_of.noise
    # The last grade each way has no outer cut; the floor only keeps the unused logarithm real.
    low = np.where(
        expected_of.step <= -10.0,
        -np.inf,
        np.log2(np.maximum(expected_of.bpm + expected_of.step - 2.5, 0.5)),
    )
    high = np.where(
        expected_of.step >= 10.0,
        np.inf,
        np.log2(np.maximum(expected_of.bpm + expected_of.step + 2.5, 0.5)),
    )
    low, high = low - expected_of.expected, high - expected_of.expected
    before = Moments(s.mu, s.ln_s, var_mu, s.cov, s.var_ln_s)
    plain, wild = _standardised(low, high, (spread, wild_spread(spread, expected_of.noise, p)))
    after, chances = condition(before, (to_mu, to_ln_s), plain, wild, p)
    told = TOLD[np.round(expected_of.step / 5.0).astype(np.int64) + 2]
    return unless_apart(before, after, chances, s.apart, told)


def _standardised(
    low: Floats, high: Floats, spreads: tuple[Floats, Floats]
) -> tuple[Term[Floats], Term[Floats]]:
    spread = np.stack(spreads)
    sd = np.sqrt(spread)
    chance, mean, lost = truncated(low / sd, high / sd)
    plain, other = zip(chance, mean / sd, lost / spread, strict=True)
    return Term(*plain), Term(*other)


def _consolidate(
    peak: Floats, seen: Moments[Floats], expected_of: _Expectations, p: Parameters
) -> tuple[Floats, Floats, Floats]:
    """Return ln S and its covariances after each gap was survived, or was not."""
    fell = expected_of.step <= -10.0
    blame = np.clip(
        1.0 - (np.log2(expected_of.bpm) - expected_of.expected) / SHRINK_REACH, 0.0, 1.0
    )
    right = np.log2(np.where(fell, expected_of.bpm, expected_of.bpm + expected_of.step))
    proof = np.clip(1.0 - (peak - right) / CREDIT_REACH, 0.0, 1.0)
    credit = CREDITS[np.round(expected_of.step / 5.0).astype(np.int64) + 2]
    days = np.exp(seen.ln_s)
    longer = days + p.growth * expected_of.gap * credit * proof
    kept = days / longer
    step = np.log(longer) - seen.ln_s
    shrunk = np.where(fell & (expected_of.gap > 0.0), blame * np.log(p.shrink), 0.0)
    grown = (expected_of.gap > 0.0) & ~fell
    doubt = p.growth_doubt * step
    return (
        seen.ln_s + shrunk + np.where(grown, step, 0.0),
        np.where(grown, seen.cov * kept, seen.cov),
        np.where(grown, seen.var_ln_s * kept * kept + doubt * doubt, seen.var_ln_s),
    )
