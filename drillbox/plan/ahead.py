"""What so many minutes a day would come to: the player's own next weeks, played through.

Every day is planned as it would be, and every take comes off as it is expected to: the grade is the
one nearest to the expected right tempo. No chance is involved, so the same box gives the same
forecast. It is what the model expects of this player, no promise.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, exp2
from typing import TYPE_CHECKING

from drillbox.memory import Evidence, Grade, update
from drillbox.memory.forgetting import warmth
from drillbox.plan.candidate_columns import Candidates
from drillbox.plan.candidates import Day, Done
from drillbox.plan.planner import planned_visits
from drillbox.plan.table import holds
from drillbox.plan.takes import USUAL_VISIT, next_bpm, take_shape

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from drillbox.base.now import Now
    from drillbox.memory import Belief, Parameters
    from drillbox.plan.candidates import Candidate
    from drillbox.plan.planner import PlannedVisit

SECONDS_A_DAY = 86400.0


@dataclass(frozen=True, slots=True)
class ForecastDay:
    """One day of a forecast, before its practice: day ordinal, cards in hand, cards begun."""

    day: int
    in_hand: int
    begun: int


def forecast(
    candidates: Sequence[Candidate],
    day: Day,
    parameters: Parameters,
    *,
    days: int = 90,
    rest_days: Collection[int] = (),
) -> tuple[ForecastDay, ...]:
    """Return the cards in hand on each of the days to come.

    Parameters
    ----------
    candidates, parameters
        The box and the player.
    day
        Today, with the minutes of every day.
    days
        How many to look ahead.
    rest_days
        Ordinals of the days without practice.
    """
    cards = Candidates(candidates)
    practice = [n for n in range(days) if day.day + n not in rest_days]
    result = []
    for n in range(days):
        now = day.now.on(day.day + n)
        result.append(_count(cards, now, parameters))
        if n in practice:
            later = next((m for m in practice if m > n), n + 1)
            today = Day(now, day.minutes, 0.0, float(later - n))
            practise(cards, today, parameters)
    return (*result, _count(cards, day.now.on(day.day + days), parameters))


def _count(cards: Candidates, now: Now, parameters: Parameters) -> ForecastDay:
    columns = cards.columns
    holding = holds(columns, now.epoch_days, parameters)
    begun = columns.takes > 0
    return ForecastDay(now.day, int(holding.sum()), int(begun.sum()))


def practise(cards: Candidates, day: Day, parameters: Parameters) -> None:
    """Play one day's plan through as every take is expected to come off, and change the cards.

    What time the takes leave over is planned once more if it is enough for one.
    """
    spent = 0.0
    done: tuple[Done, ...] = ()
    for _ in range(2):
        now = replace(day, spent_seconds=spent, done=done)
        if now.left_seconds < USUAL_VISIT:
            return
        for visit in planned_visits(cards, now, parameters):
            at = day.at + spent / SECONDS_A_DAY
            belief, last = _visited(cards.cards[visit.place], visit, at, day.day, parameters)
            cards.believe(visit.place, belief)
            spent += visit.seconds
            done = (*done, last)


def _visited(
    card: Candidate, visit: PlannedVisit, at: float, ordinal: int, parameters: Parameters
) -> tuple[Belief, Done]:
    """Return what is believed of a card after a visit, and the visit's last take."""
    belief, bpm, grade = card.belief, visit.bpm, Grade.STEADY
    for _ in range(visit.takes):
        grade = _expected(belief, bpm, at, ordinal, parameters)
        belief = update(belief, Evidence(at, ordinal, bpm, grade), parameters)
        played = bpm
        at += take_shape(card.seconds60, card.bars, bpm).seconds / SECONDS_A_DAY
        bpm = next_bpm(bpm, grade, card.ceiling_bpm)
    return belief, Done(card.card_id, played, grade)


def _expected(belief: Belief, bpm: int, at: float, ordinal: int, parameters: Parameters) -> Grade:
    """Return the grade whose step leads nearest to the expected right tempo."""
    if belief.day == ordinal:
        right = belief.mu + parameters.boost * warmth(belief.takes_that_day)
    else:
        right, _ = belief.cold(at, parameters)
    # Of two steps that lead as near the lower one is taken.
    steps = ceil((exp2(right) - bpm) / Grade.CLEAN.step_bpm - 0.5)
    return Grade(max(Grade.FELL_APART, min(steps, Grade.AUTOMATIC)))
