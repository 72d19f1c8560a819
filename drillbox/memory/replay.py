"""Replaying a whole take log at once.

The takes are ranked per card; rank by rank, every card that has a take of that rank is updated in
one array operation. The arithmetic is that of `drillbox.memory.belief.update`, term for term, and
the test of the two holds them to 1e-9. The last few ranks, when hardly any card is left, go through
`update` itself.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from drillbox.base.tempi import TAKEN
from drillbox.memory.belief import (
    APART,
    CREDIT,
    CREDIT_REACH,
    MOST_LIFT,
    RECENT_DAYS,
    SHRINK_REACH,
    Belief,
    Evidence,
    update_with_chance,
)
from drillbox.memory.columns import COLUMNS
from drillbox.memory.forgetting import (
    cold_tempo,
    forgetting_slope,
    idle_variance,
    octaves_lost,
)
from drillbox.memory.grade import Grade
from drillbox.memory.mixture import Moments, Term, condition, unless_apart, wild_spread
from drillbox.memory.tails import below, truncated

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    from drillbox.memory.parameters import Parameters

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

FEW = 24
"""With fewer cards than this in a rank, plain Python is quicker than arrays."""
CREDITS = np.array([CREDIT[grade] for grade in Grade])
TOLD = np.array([APART[grade] for grade in Grade])


@dataclass(frozen=True, slots=True)
class Takes:
    """A take log as columns, in the order in which it is to be believed.

    Parameters
    ----------
    card
        Index of the card in the list of beliefs.
    at, day, bpm, grade, level, level_after, measured
        As in `drillbox.memory.Evidence`; nan where no level was written down.
    """

    card: Ints
    at: Floats
    day: Ints
    bpm: Floats
    grade: Ints
    level: Floats
    level_after: Floats
    measured: NDArray[np.bool_]

    @classmethod
    def of(  # noqa: PLR0917 - the columns of a take, in the order of `Evidence`
        cls,
        card: ArrayLike,
        at: ArrayLike,
        day: ArrayLike,
        bpm: ArrayLike,
        grade: ArrayLike,
        level: ArrayLike | None = None,
        level_after: ArrayLike | None = None,
        measured: ArrayLike | None = None,
    ) -> Takes:
        """Build the columns from anything numpy reads."""
        whole, real = np.int64, np.float64
        unknown = np.full(np.shape(card), np.nan)
        return cls(
            np.asarray(card, whole),
            np.asarray(at, real),
            np.asarray(day, whole),
            np.asarray(bpm, real),
            np.asarray(grade, whole),
            unknown if level is None else np.asarray(level, real),
            unknown if level_after is None else np.asarray(level_after, real),
            np.isfinite(unknown) if measured is None else np.asarray(measured, np.bool_),
        )

    def rows(self, which: Ints) -> Takes:
        """Return some of the takes."""
        return Takes(*(getattr(self, field.name)[which] for field in fields(self)))

    def evidence(self, k: int) -> Evidence:
        """Return one take."""
        grade, level, after = self.grade[k], float(self.level[k]), float(self.level_after[k])
        return Evidence(
            float(self.at[k]),
            int(self.day[k]),
            float(self.bpm[k]),
            Grade(int(grade)),
            None if np.isnan(level) else level,
            None if np.isnan(after) else after,
            bool(self.measured[k]),
        )


@dataclass(slots=True)
class _State:
    """The beliefs about all cards, as columns."""

    mu: Floats
    ln_s: Floats
    var_mu: Floats
    cov: Floats
    var_ln_s: Floats
    at: Floats
    day: Ints
    today: Ints
    takes: Ints
    apart: Floats
    recent: Floats
    level: Floats

    @classmethod
    def of(cls, beliefs: Sequence[Belief]) -> _State:
        rows = [(b.mu, b.ln_s, b.var_mu, b.cov, b.var_ln_s) for b in beliefs]
        real = np.array(rows, np.float64).reshape(-1, 5).T.copy()
        return cls(
            real[0],
            real[1],
            real[2],
            real[3],
            real[4],
            np.array([np.nan if b.at is None else b.at for b in beliefs], np.float64),
            np.array([-1 if b.day is None else b.day for b in beliefs], np.int64),
            np.array([b.takes_that_day for b in beliefs], np.int64),
            np.array([b.takes for b in beliefs], np.int64),
            np.array([b.apart for b in beliefs], np.float64),
            np.array([b.recent for b in beliefs], np.float64),
            np.array([b.level for b in beliefs], np.float64),
        )

    @classmethod
    def room(cls, cards: int) -> _State:
        """Return columns to be written to."""
        real, whole = np.empty((9, cards)), np.empty((3, cards), np.int64)
        columns: list[Any] = [*real[:6], *whole, *real[6:]]
        return cls(*columns)

    def rows(self, cards: Ints) -> _State:
        return _State(*(getattr(self, field.name)[cards] for field in fields(self)))

    def write(self, cards: Ints, new: _State) -> None:
        for field in fields(self):
            getattr(self, field.name)[cards] = getattr(new, field.name)

    def lifted(self, level: Floats) -> _State:
        """Return the beliefs with the player's level elsewhere, where it is known."""
        there = np.where(np.isnan(level) | (self.takes == 0), self.level, level)
        rise = np.clip(there - self.level, -MOST_LIFT, MOST_LIFT)
        return replace(self, mu=self.mu + rise, level=there)

    def belief(self, i: int) -> Belief:
        new = self.takes[i] == 0
        return Belief(
            float(self.mu[i]),
            float(self.ln_s[i]),
            float(self.var_mu[i]),
            float(self.cov[i]),
            float(self.var_ln_s[i]),
            None if new else float(self.at[i]),
            None if new else int(self.day[i]),
            int(self.today[i]),
            int(self.takes[i]),
            float(self.apart[i]),
            float(self.recent[i]),
            float(self.level[i]),
        )


def replay(beliefs: Sequence[Belief], takes: Takes, parameters: Parameters) -> list[Belief]:
    """Return the beliefs after all the takes.

    Parameters
    ----------
    beliefs
        What is believed before the first take: the priors, or the state of a cache.
    takes
        The log, in order.
    parameters
        The player's numbers.
    """
    return replay_with_chances(beliefs, takes, parameters)[0]


def replay_with_chances(
    beliefs: Sequence[Belief], takes: Takes, parameters: Parameters
) -> tuple[list[Belief], Floats]:
    """Return the beliefs, and for each take the chance that its grade had been given."""
    return _replayed(beliefs, takes, parameters, None)


@dataclass(frozen=True, slots=True)
class Trace:
    """What was believed before and after each take, in the order of the takes.

    Parameters
    ----------
    told
        The chance of at least steady that was believed before the take, looked at as a cold one
        (`drillbox.memory.Outlook.p_hold` at its tempo).
    known
        Whether the card had a take before.
    cold
        Whether the take was the first of its practice day.
    after
        The beliefs right after the take.
    """

    told: Floats
    known: NDArray[np.bool_]
    cold: NDArray[np.bool_]
    after: _State

    @classmethod
    def empty(cls, takes: int) -> Trace:
        """Return a trace with room for so many takes."""
        flags = (np.zeros(takes, np.bool_), np.zeros(takes, np.bool_))
        return cls(np.empty(takes), *flags, _State.room(takes))

    def belief(self, k: int) -> Belief:
        """Return what was believed right after one take."""
        return self.after.belief(k)

    def note(self, which: Ints, before: _State, takes: Takes, after: _State, p: Parameters) -> None:
        """Keep what was believed around some takes of different cards."""
        self.known[which] = before.takes > 0
        self.cold[which] = (before.takes == 0) | (takes.day > before.day)
        self.told[which] = _told(before, takes, p)
        self.after.write(which, after)

    def take_over(self, which: Ints, other: Trace) -> None:
        """Put another trace in the place of some takes of this one."""
        self.known[which], self.cold[which] = other.known, other.cold
        self.told[which] = other.told
        self.after.write(which, other.after)


def replay_with_trace(
    beliefs: Sequence[Belief], takes: Takes, parameters: Parameters
) -> tuple[list[Belief], Trace]:
    """Return the beliefs after all the takes, and what was believed around each of them."""
    trace = Trace.empty(len(takes.card))
    return _replayed(beliefs, takes, parameters, trace)[0], trace


def _replayed(
    beliefs: Sequence[Belief], takes: Takes, parameters: Parameters, trace: Trace | None
) -> tuple[list[Belief], Floats]:
    order = np.argsort(takes.card, kind="stable")
    counts = np.bincount(takes.card, minlength=len(beliefs))
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    state = _State.of(beliefs)
    chances = np.empty(len(order))
    for rank in range(int(counts.max(initial=0))):
        cards = np.flatnonzero(counts > rank)
        which = order[starts[cards] + rank]
        if len(cards) < FEW:
            for card in cards.tolist():
                rest = order[starts[card] + rank : starts[card] + counts[card]]
                some, last = takes.rows(rest), np.array([len(rest)])
                states, chances[rest] = _finish(state.belief(card), some, parameters)
                state.write(np.array([card]), states.rows(last))
                if trace is not None:
                    before, after = (states.rows(np.arange(len(rest)) + later) for later in (0, 1))
                    trace.note(rest, before, some, after, parameters)
            break
        before, some = state.rows(cards), takes.rows(which)
        new, chances[which] = _step(before, some, parameters)
        state.write(cards, new)
        if trace is not None:
            trace.note(which, before, some, new, parameters)
    return [state.belief(i) for i in range(len(beliefs))], chances


def _finish(belief: Belief, takes: Takes, parameters: Parameters) -> tuple[_State, Floats]:
    """Take one card through the rest of its takes, one take at a time.

    Returns what was believed before the first and after each, and the chances of the grades.
    """
    course, chances = [belief], []
    for k in range(len(takes.card)):
        belief, chance = update_with_chance(belief, takes.evidence(k), parameters)
        course.append(belief)
        chances.append(chance)
    return _State.of(course), np.array(chances)


def _step(s: _State, t: Takes, p: Parameters) -> tuple[_State, Floats]:
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
        _State(
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
        ),
        chances,
    )


def _told(s: _State, t: Takes, p: Parameters) -> Floats:
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

    `drillbox.memory.belief._Expectation` as columns, and the verdict.
    """

    gap: Floats
    expected: Floats
    slope: Floats
    noise: Floats
    bpm: Floats
    step: Floats


def _learn(
    s: _State, expected_of: _Expectations, p: Parameters
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
    after, chances = condition(
        before,
        (to_mu, to_ln_s),
        _standardised(low, high, spread),
        _standardised(low, high, wild_spread(spread, expected_of.noise, p)),
        p,
    )
    told = TOLD[np.round(expected_of.step / 5.0).astype(np.int64) + 2]
    return unless_apart(before, after, chances, s.apart, told)


def _standardised(low: Floats, high: Floats, spread: Floats) -> Term[Floats]:
    sd = np.sqrt(spread)
    chance, mean, lost = truncated(low / sd, high / sd)
    return Term(chance, mean / sd, lost / spread)


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
