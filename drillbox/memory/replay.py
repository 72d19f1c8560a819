"""Replaying a whole take log at once.

The takes are ranked per card; rank by rank, every card that has a take of that rank is updated in
one array operation. The arithmetic is that of `drillbox.memory.belief.update`, term for term, and
the test of the two holds them to 1e-9. The last few ranks, when hardly any card is left, go through
`update` itself.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from drillbox.memory.belief import (
    CREDIT,
    CREDIT_REACH,
    LN2,
    SHRINK_REACH,
    SLOWEST_BPM,
    Belief,
    Evidence,
    update_with_chance,
)
from drillbox.memory.grade import Grade
from drillbox.memory.mixture import Moments, Term, condition, wild_spread
from drillbox.memory.tails import truncated

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import ArrayLike, NDArray

    from drillbox.memory.parameters import Parameters

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

FEW = 24
"""With fewer cards than this in a rank, plain Python is quicker than arrays."""
CREDITS = np.array([CREDIT[grade] for grade in Grade])


@dataclass(frozen=True, slots=True)
class Takes:
    """A take log as columns, in the order in which it is to be believed.

    Parameters
    ----------
    card
        Index of the card in the list of beliefs.
    at, day, bpm, grade
        As in `drillbox.memory.Evidence`.
    """

    card: Ints
    at: Floats
    day: Ints
    bpm: Floats
    grade: Ints

    @classmethod
    def of(
        cls, card: ArrayLike, at: ArrayLike, day: ArrayLike, bpm: ArrayLike, grade: ArrayLike
    ) -> Takes:
        """Build the columns from anything numpy reads."""
        whole, real = np.int64, np.float64
        return cls(
            np.asarray(card, whole),
            np.asarray(at, real),
            np.asarray(day, whole),
            np.asarray(bpm, real),
            np.asarray(grade, whole),
        )

    def rows(self, which: Ints) -> Takes:
        """Return some of the takes."""
        return Takes(*(getattr(self, field.name)[which] for field in fields(self)))

    def evidence(self, k: int) -> Evidence:
        """Return one take."""
        return Evidence(
            float(self.at[k]), int(self.day[k]), float(self.bpm[k]), Grade(int(self.grade[k]))
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
        )

    def rows(self, cards: Ints) -> _State:
        return _State(*(getattr(self, field.name)[cards] for field in fields(self)))

    def write(self, cards: Ints, new: _State) -> None:
        for field in fields(self):
            getattr(self, field.name)[cards] = getattr(new, field.name)

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
    order = np.argsort(takes.card, kind="stable")
    counts = np.bincount(takes.card, minlength=len(beliefs))
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    state = _State.of(beliefs)
    chances = np.empty(len(order))
    for rank in range(int(counts.max(initial=0))):
        cards = np.flatnonzero(counts > rank)
        which = order[starts[cards] + rank]
        if len(cards) < FEW:
            ends = [order[starts[c] + rank : starts[c] + counts[c]] for c in cards]
            _finish(state, zip(cards.tolist(), ends, strict=True), takes, parameters, chances)
            break
        new, chances[which] = _step(state.rows(cards), takes.rows(which), parameters)
        state.write(cards, new)
    return [state.belief(i) for i in range(len(beliefs))], chances


def _finish(
    state: _State,
    ends: Iterable[tuple[int, Ints]],
    takes: Takes,
    parameters: Parameters,
    chances: Floats,
) -> None:
    """Take the few cards with the longest histories through the rest of them, one take at a time."""
    for card, rest in ends:
        belief = state.belief(card)
        for k in rest.tolist():
            belief, chances[k] = update_with_chance(belief, takes.evidence(k), parameters)
        state.write(np.array([card]), _State.of([belief]))


def _step(s: _State, t: Takes, p: Parameters) -> tuple[_State, Floats]:
    """Return all the states after one take each, and the chances of the grades."""
    cold = (s.takes == 0) | (t.day > s.day)
    today = np.where(cold, 0, s.today)
    gap = np.where(cold & (s.takes > 0), np.maximum(0.0, t.at - np.nan_to_num(s.at)), 0.0)
    warm = np.where(cold, 0.0, p.boost * (1.0 - 0.5**today))
    expected = s.mu - p.lam * np.log2(1.0 + gap * np.exp(-s.ln_s)) + warm
    slope = p.lam / LN2 * gap / (gap + np.exp(s.ln_s))
    noise = p.sigma**2 + np.where(cold, 0.0, p.warm_noise**2)
    bpm = np.maximum(t.bpm, SLOWEST_BPM)
    expected_of = _Expectations(gap, expected, slope, noise, bpm, 5.0 * t.grade.astype(np.float64))
    seen, chances = _learn(s, expected_of, p)
    off = (np.log2(bpm) - seen.mu) / p.edge
    fresh = p.gain * p.practice / (p.practice + s.takes)
    gain = fresh * p.fatigue**today * np.exp(-0.5 * off * off)
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
        ),
        chances,
    )


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


def _learn(s: _State, expected_of: _Expectations, p: Parameters) -> tuple[Moments[Floats], Floats]:
    idle = np.maximum(0.0, np.minimum(p.idle_var * expected_of.gap, p.first_sd**2 - s.var_mu))
    var_mu = s.var_mu + idle
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
    return condition(
        Moments(s.mu, s.ln_s, var_mu, s.cov, s.var_ln_s),
        (to_mu, to_ln_s),
        _standardised(low, high, spread),
        _standardised(low, high, wild_spread(spread, expected_of.noise, p)),
        p,
    )


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
