"""The player's next weeks as the model sees them: what so many minutes a day would bring.

Each day is planned as it would be, and each take is graded by a draw from what the model expects of it; the belief learns
from that grade as from a real one. So a forecast is one possible course, the same for the same seed, and is only as good as
the model is.
"""

from __future__ import annotations

from dataclasses import replace
from math import log2
from random import Random
from typing import TYPE_CHECKING

from drillbox.memory import Evidence, Grade, update
from drillbox.plan import Day, make_plan, next_bpm

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from drillbox.memory import Belief, Parameters
    from drillbox.plan import Candidate, Item

EVENING = 0.75
"""Time of day at which the forecast practises, as a share of the day; it matters little."""
UNIX_EPOCH_ORDINAL = 719_163


def forecast(
    candidates: Sequence[Candidate],
    parameters: Parameters,
    *,
    today: int,
    days: int,
    minutes: float,
    next_day: Callable[[int], int],
    seed: int = 0,
) -> tuple[int, ...]:
    """Return how many cards would be in hand at the end of each of the next days.

    Parameters
    ----------
    candidates
        The cards as they stand now.
    parameters
        The player's numbers.
    today, days
        The practice day before the first one, and how many days to look ahead.
    minutes
        Minutes a practice day.
    next_day
        The practice day after a day.
    seed
        Which of the possible courses.
    """
    chance = Random(seed)  # noqa: S311 - a forecast wants repeatable draws
    cards = {card.card_id: card for card in candidates}
    counts = []
    practice = next_day(today)
    for number in range(today + 1, today + days + 1):
        if number == practice:
            practice = next_day(number)
            day = Day(
                at=number - UNIX_EPOCH_ORDINAL + EVENING,
                day=number,
                minutes=minutes,
                next_in_days=float(practice - number),
            )
            _practise(cards, parameters, day, chance)
        at = number - UNIX_EPOCH_ORDINAL + EVENING
        counts.append(sum(_in_hand(card, at, parameters) for card in cards.values()))
    return tuple(counts)


def _practise(
    cards: dict[str, Candidate], parameters: Parameters, day: Day, chance: Random
) -> None:
    for item in make_plan(list(cards.values()), day, parameters).items:
        card = cards[item.card_id]
        cards[item.card_id] = replace(card, belief=_visit(card, item, day, parameters, chance))


def _visit(card: Candidate, item: Item, day: Day, parameters: Parameters, chance: Random) -> Belief:
    belief, bpm = card.belief, item.bpm
    for _ in range(item.takes):
        grade = _grade(belief, bpm, day, parameters, chance)
        belief = update(belief, Evidence(day.at, day.day, float(bpm), grade), parameters)
        bpm = next_bpm(bpm, grade, card.goal_bpm)
    return belief


def _grade(belief: Belief, bpm: int, day: Day, parameters: Parameters, chance: Random) -> Grade:
    mean, variance = belief.cold(day.at, parameters)
    if belief.day == day.day:
        mean += parameters.boost * (1.0 - 0.5**belief.takes_that_day)
    right = 2.0 ** chance.gauss(mean, (variance + parameters.sigma**2) ** 0.5)
    step = round((right - bpm) / 5.0)
    return Grade(min(max(step, Grade.FELL_APART), Grade.AUTOMATIC))


def _in_hand(card: Candidate, at: float, parameters: Parameters) -> bool:
    return card.taught and card.belief.cold(at, parameters)[0] >= log2(card.goal_bpm)
