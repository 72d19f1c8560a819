"""One take each of many cards, in one array operation.

The arithmetic is that of `drillbox.memory.belief.update` and `drillbox.memory.outlook`, term for
term; the tests hold them to 1e-9.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from drillbox.base.tempi import TAKEN
from drillbox.memory.array_maths import COLUMNS
from drillbox.memory.belief import APART, CREDIT, CREDIT_REACH, RECENT_DAYS, SHRINK_REACH
from drillbox.memory.forgetting import (
    cold_tempo,
    days_grown,
    forgetting_slope,
    fresh_gain,
    idle_variance,
    octaves_lost,
    warmth,
)
from drillbox.memory.grade import HALF_STEP, STEP_BPM, Grade
from drillbox.memory.mixture import Moments, Term, condition, unless_apart, wild_spread
from drillbox.memory.replay_columns import BeliefColumns
from drillbox.memory.tails import below, truncated

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from drillbox.memory.parameters import Parameters
    from drillbox.memory.replay_columns import Takes

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

CREDITS = np.array([CREDIT[grade] for grade in Grade])
TOLD = np.array([APART[grade] for grade in Grade])


class OwnNumbers(NamedTuple):
    """The numbers that a player's log may change: see `drillbox.memory.Parameters`.

    One of each; or columns (sets, 1), and then everything that follows from them has a row a set.
    """

    gain: float | Floats
    boost: float | Floats
    sigma: float | Floats

    @classmethod
    def of(cls, sets: Sequence[Parameters]) -> OwnNumbers:
        """Return the numbers of many sets as columns."""
        columns = np.array([(p.gain, p.boost, p.sigma) for p in sets]).T
        return cls(*columns[:, :, None])


@dataclass(frozen=True, slots=True)
class Looks:
    """How takes are looked at: what follows from the log alone, whatever numbers are learned.

    Parameters
    ----------
    rise
        By how much the player's level moves what was believed, in octaves.
    cold
        Whether it is the card's first take of a practice day.
    gap, warmth
        Days since the last take of a cold one, 0 of a warm one; share of the boost, 0 of a cold
        one.
    judged, warm
        Variance of a take: as a share of `sigma ** 2`, and what a warm one has on top.
    bpm, right, low, high
        In octaves: the tempo played, the right one as the grade says it, and the grade's cuts.
    told
        The chance of the grade of a pattern that has not come together.
    fell, credit
        Whether it fell apart, and the share of the gap that it proves to be survived.
    takes, fatigue
        Takes before it, and the share of its gain that those of that day leave.
    """

    rise: Floats
    cold: NDArray[np.bool_]
    gap: Floats
    warmth: Floats
    judged: Floats
    warm: Floats
    bpm: Floats
    right: Floats
    low: Floats
    high: Floats
    told: Floats
    fell: NDArray[np.bool_]
    credit: Floats
    takes: Floats
    fatigue: Floats

    def rows(self, which: Ints | slice) -> Looks:
        """Return the looks at some of the takes."""
        return Looks(*(getattr(self, field.name)[which] for field in fields(self)))


def looks_at(s: BeliefColumns, t: Takes, p: Parameters) -> Looks:
    """Return how takes are to be looked at, from when and how their cards were played before."""
    # The first take of a new practice day is cold, all others are warm.
    cold = s.first_of_day(t.day)
    today = np.where(cold, 0, s.today)
    bpm = np.maximum(t.bpm, TAKEN.least)
    step_bpm = STEP_BPM * t.grade.astype(np.float64)
    fell, place = t.grade <= Grade.FELL_APART, t.grade - int(Grade.FELL_APART)
    # The last grade each way has no outer cut; the floor only keeps the unused logarithm real.
    low = np.where(fell, -np.inf, np.log2(np.maximum(bpm + step_bpm - HALF_STEP, 0.5)))
    easy = t.grade >= Grade.AUTOMATIC
    high = np.where(easy, np.inf, np.log2(np.maximum(bpm + step_bpm + HALF_STEP, 0.5)))
    return Looks(
        rise=s.rise(t.level),
        cold=cold,
        gap=np.where(cold, s.gap(t.at), 0.0),
        warmth=warmth(today),
        judged=np.where(t.measured, p.measured, 1.0),
        warm=np.where(cold, 0.0, p.warm_noise**2),
        bpm=np.log2(bpm),
        right=np.log2(np.where(fell, bpm, bpm + step_bpm)),
        low=low,
        high=high,
        told=TOLD[place],
        fell=fell,
        credit=CREDITS[place],
        takes=s.takes.astype(np.float64),
        fatigue=p.fatigue**today,
    )


def learn_from(
    before: Moments[Floats], apart: Floats, looks: Looks, p: Parameters, own: OwnNumbers
) -> tuple[Moments[Floats], Floats, Floats]:
    """Return the moments after one take each, the chance of its grade, and that it is apart still.

    Parameters
    ----------
    before, apart
        What was believed before: cards, or (sets of numbers, cards).
    looks
        The takes, one for each card.
    p, own
        The player's numbers; those that are learned come from `own`.
    """
    # 1. What was to be expected.
    mu, ln_s = before.mu + looks.rise, before.ln_s
    lost = octaves_lost(looks.gap, ln_s, p.lam, COLUMNS)
    expected = mu - lost + own.boost * looks.warmth
    slope = forgetting_slope(looks.gap, ln_s, p.lam, COLUMNS)
    noise = own.sigma**2 * looks.judged + looks.warm
    # 2. What the grade says of (mu, ln S).
    var_mu = before.var_mu + idle_variance(before.var_mu, looks.gap, p, COLUMNS)
    to_mu = var_mu + slope * before.cov
    to_ln_s = before.cov + slope * before.var_ln_s
    spread = to_mu + slope * to_ln_s + noise
    idle = Moments(mu, ln_s, var_mu, before.cov, before.var_ln_s)
    cuts = looks.low - expected, looks.high - expected
    plain, wild = _standardised(*cuts, (spread, wild_spread(spread, noise, p)))
    sure, chances = condition(idle, (to_mu, to_ln_s), plain, wild, p)
    seen, chances, still = unless_apart(idle, sure, chances, apart, looks.told)
    # 3. What the take itself adds: most near the edge, less with practice and with each of the day.
    off = (looks.bpm - seen.mu) / p.edge
    gain = fresh_gain(looks.takes, own.gain, p.practice) * looks.fatigue * np.exp(-0.5 * off * off)
    # 4. What a survived gap does to the stability.
    kept = _consolidate(mu, expected, seen, looks, p)
    after = Moments(seen.mu + gain, kept.ln_s, seen.var_mu, kept.cov, kept.var_ln_s)
    return after, chances, still * (1.0 - p.joining)


def step(s: BeliefColumns, t: Takes, p: Parameters) -> tuple[BeliefColumns, Floats]:
    """Return all the states after one take each, and the chances of the grades."""
    looks = looks_at(s, t, p)
    own = OwnNumbers(p.gain, p.boost, p.sigma)
    after, chances, apart = learn_from(s.moments, s.apart, looks, p, own)
    return BeliefColumns(
        *after,
        at=np.fmax(s.at, t.at),
        day=np.where(looks.cold, t.day, s.day),
        today=np.where(looks.cold, 0, s.today) + 1,
        takes=s.takes + 1,
        apart=apart,
        recent=1.0 + s.recent * np.exp(-s.gap(t.at) / RECENT_DAYS),
        level=np.where(np.isnan(t.level_after), s.risen(t.level), t.level_after),
        streak=np.where(looks.cold, _streak(s.streak, t.grade), s.streak),
    ), chances


def _streak(streak: Ints, grade: Ints) -> Ints:
    """Return the streaks after one more first take of a day each."""
    easy = np.where(grade == Grade.AUTOMATIC, np.maximum(streak, 0) + 1, 0)
    return np.where(grade < Grade.STEADY, np.minimum(streak, 0) - 1, easy)


def told_before(s: BeliefColumns, t: Takes, p: Parameters) -> Floats:
    """Return the chance of at least steady at the tempo of each take, as if it were cold.

    The arithmetic is that of `drillbox.memory.outlook`, term for term.
    """
    s = s.lifted(t.level)
    mean, variance = cold_tempo(s.moments, s.gap(t.at), p, COLUMNS)
    line = np.log2(np.maximum(t.bpm, TAKEN.least) - HALF_STEP)
    together = 1.0 - s.apart
    return together * below((mean - line) / np.sqrt(variance + p.sigma**2))


def _standardised(
    low: Floats, high: Floats, spreads: tuple[Floats, Floats]
) -> tuple[Term[Floats], Term[Floats]]:
    spread = np.stack(spreads)
    sd = np.sqrt(spread)
    chance, mean, lost = truncated(low / sd, high / sd)
    plain, other = zip(chance, mean / sd, lost / spread, strict=True)
    return Term(*plain), Term(*other)


def _consolidate(
    peak: Floats, expected: Floats, seen: Moments[Floats], looks: Looks, p: Parameters
) -> Moments[Floats]:
    """Return the moments after each gap was survived, or was not."""
    blame = np.clip(1.0 - (looks.bpm - expected) / SHRINK_REACH, 0.0, 1.0)
    proof = np.clip(1.0 - (peak - looks.right) / CREDIT_REACH, 0.0, 1.0)
    days = np.exp(seen.ln_s)
    longer = days_grown(days, looks.gap, looks.credit * proof, p.growth)
    kept = days / longer
    step = np.log(longer) - seen.ln_s
    gone = looks.gap > 0.0
    shrunk = np.where(looks.fell & gone, blame * np.log(p.shrink), 0.0)
    grown = gone & ~looks.fell
    doubt = p.growth_doubt * step
    return seen._replace(
        ln_s=seen.ln_s + shrunk + np.where(grown, step, 0.0),
        cov=np.where(grown, seen.cov * kept, seen.cov),
        var_ln_s=np.where(grown, seen.var_ln_s * kept * kept + doubt * doubt, seen.var_ln_s),
    )
