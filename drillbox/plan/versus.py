"""Playing a card today compared with playing it on the next practice day."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, exp2, log, log2
from typing import TYPE_CHECKING

from drillbox.base.wording import YEARS_DAYS
from drillbox.memory import Grade, interval_days
from drillbox.memory.belief import CREDIT, Belief
from drillbox.memory.forgetting import days_grown, fresh_gain
from drillbox.memory.grade import HALF_STEP
from drillbox.memory.normal import below
from drillbox.plan.takes import visit_bpm
from drillbox.plan.why import by_day, how_long

if TYPE_CHECKING:
    from drillbox.memory import Parameters
    from drillbox.plan.candidates import Candidate, Day


@dataclass(frozen=True, slots=True)
class ExpectedVisit:
    """What is expected of a visit of one take.

    Parameters
    ----------
    cold_bpm
        Cold tempo then.
    bpm, success
        Tempo of the take, and the chance that it is at least steady.
    stability_days
        Stability after it.
    hold_days
        Days from then until the card would slip under its goal; 0 if it would not yet reach it.
    """

    cold_bpm: float
    bpm: int
    success: float
    stability_days: float
    hold_days: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """Today's visit, the next practice day's, and one sentence on the difference."""

    today: ExpectedVisit
    later: ExpectedVisit
    sentence: str


def compare(candidate: Candidate, day: Day, parameters: Parameters) -> Comparison:
    """Return what playing a card today would bring, against playing it the next practice day."""
    next_day = day.day + round(day.next_in_days)
    today = _visit(candidate, day.at, parameters)
    later = _visit(candidate, day.now.on(next_day).epoch_days, parameters)
    when = by_day(day.day, next_day)
    goal = f"{candidate.goal_bpm:.0f}"
    if not candidate.taught:
        guess = f"Never played; from its relatives about {today.cold_bpm:.0f}, a guess."
        return Comparison(today, later, guess)
    tempi = f"Today about {today.cold_bpm:.0f} cold, {when} about {later.cold_bpm:.0f}"
    # Both visits lead to the same peak, so either of them holds the goal or none does.
    if today.hold_days <= 0.0:
        return Comparison(today, later, f"{tempi}; one visit more does not hold {goal} yet.")
    if _held(today) == _held(later):
        alike = f"{tempi}; played on either day it would hold {goal} {_held(today)}."
        return Comparison(today, later, alike)
    sentence = (
        f"{tempi}; played today it would hold {goal} {_held(today)}, played {when} {_held(later)}."
    )
    return Comparison(today, later, sentence)


def _held(visit: ExpectedVisit) -> str:
    return (
        "for years" if visit.hold_days >= YEARS_DAYS else f"for about {how_long(visit.hold_days)}"
    )


def _visit(candidate: Candidate, at: float, parameters: Parameters) -> ExpectedVisit:
    belief = candidate.belief
    mean, variance = belief.cold(at, parameters)
    bpm = visit_bpm(candidate, at, parameters)
    spread = (variance + parameters.sigma**2) ** 0.5
    days = days_grown(exp(belief.ln_s), belief.gap(at), CREDIT[Grade.STEADY], parameters.growth)
    gain = fresh_gain(belief.takes, parameters.gain, parameters.practice)
    after = Belief(belief.mu + gain, log(days), belief.var_mu, 0.0, belief.var_ln_s, at)
    hold = interval_days(after, parameters, hold_bpm=candidate.goal_bpm)
    success = below((mean - log2(bpm - HALF_STEP)) / spread)
    return ExpectedVisit(exp2(mean), bpm, success, days, hold)
