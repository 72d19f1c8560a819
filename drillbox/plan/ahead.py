"""What so many minutes a day would come to: the player's own next weeks, played through.

Every day is planned as it would be, and every take comes off as it is expected to: the grade is the
one nearest to the expected right tempo. No chance is involved, so the same box gives the same
forecast. It is what the model expects of this player, no promise.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp2
from typing import TYPE_CHECKING

from drillbox.memory import Evidence, Grade, State, state, update
from drillbox.plan.candidates import Day, Done
from drillbox.plan.planner import make_plan
from drillbox.plan.takes import USUAL_VISIT, next_bpm, take_shape

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from drillbox.base.now import Now
    from drillbox.memory import Belief, Parameters
    from drillbox.plan.candidates import Candidate, Item

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
    cards = {c.card_id: c for c in candidates}
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


def _count(cards: dict[str, Candidate], now: Now, parameters: Parameters) -> ForecastDay:
    holding = sum(
        state(c.belief, now.epoch_days, parameters, goal_bpm=c.goal_bpm) is State.HOLDING
        for c in cards.values()
    )
    return ForecastDay(now.day, holding, sum(c.taught for c in cards.values()))


def practise(cards: dict[str, Candidate], day: Day, parameters: Parameters) -> None:
    """Play one day's plan through, as every take is expected to come off.

    And put the cards as they are then.

    What time the takes leave over is planned once more if it is enough for one.
    """
    spent = 0.0
    done: tuple[Done, ...] = ()
    for _ in range(2):
        now = replace(day, spent_seconds=spent, done=done)
        if now.left_seconds < USUAL_VISIT:
            return
        plan = make_plan(list(cards.values()), now, parameters)
        for item in plan.items:
            at = day.at + spent / SECONDS_A_DAY
            cards[item.card_id], last = _visit(cards[item.card_id], item, at, day.day, parameters)
            spent += item.seconds
            done = (*done, last)


def _visit(
    card: Candidate, item: Item, at: float, ordinal: int, parameters: Parameters
) -> tuple[Candidate, Done]:
    belief, bpm, grade = card.belief, item.bpm, Grade.STEADY
    for _ in range(item.takes):
        grade = _expected(belief, bpm, at, ordinal, parameters)
        belief = update(belief, Evidence(at, ordinal, bpm, grade), parameters)
        played = bpm
        at += take_shape(card.seconds60, card.bars, bpm).seconds / SECONDS_A_DAY
        bpm = next_bpm(bpm, grade, card.ceiling_bpm)
    return replace(card, belief=belief), Done(card.card_id, played, grade)


def _expected(belief: Belief, bpm: int, at: float, ordinal: int, parameters: Parameters) -> Grade:
    """Return the grade whose step leads nearest to the expected right tempo."""
    right, _ = belief.cold(at, parameters)
    if belief.day == ordinal:
        right = belief.mu + parameters.boost * (1.0 - 0.5**belief.takes_that_day)
    off = exp2(right) - bpm
    return min(Grade, key=lambda grade: (abs(grade.step_bpm - off), int(grade)))
