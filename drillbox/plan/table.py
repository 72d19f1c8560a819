"""Tempos, chances, prices and lengths of the next takes, for all candidates at once.

Tempos are in bpm, lengths in seconds, prices in worth per second.
"""

from __future__ import annotations

from math import exp2, nan
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from drillbox.base.tempi import ASKED, TAKEN
from drillbox.memory.array_maths import COLUMNS
from drillbox.memory.forgetting import cold_tempo, days_held, warmth
from drillbox.memory.grade import HALF_STEP
from drillbox.plan.climbing import Climbers, climb_prices, weariness
from drillbox.plan.prices import FURTHER_TAKES, GAIN_AT_GOAL, PracticeLaw, price_table, step
from drillbox.plan.takes import (
    CHANGE_SECONDS,
    COUNT_IN_SECONDS,
    FIVES_FROM,
    GRADE_SECONDS,
    MEETING_SUCCESS_SDS,
    PLAY_SECONDS,
    caution,
    nearest_mark,
    next_bpm,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drillbox.memory import Parameters
    from drillbox.plan.candidate_columns import Candidates, Columns
    from drillbox.plan.candidates import Day
    from drillbox.plan.prices import Floats

MOST_TAKES = 1 + FURTHER_TAKES
"""Takes of a card in a day; after three or four the warm-up is over and more is massing."""
FIRST_LOOK, FIRST_LOOK_KNOWN = 1.2, 3.0
"""How much more a card never played is worth: its first take also tells where it stands.

The second number is what comes on top where the cards begun of late were all known already: they
fade while nobody looks at them. On the benchmark a box of 400 cards of which half are known is
otherwise looked through too slowly; with a larger first number one of 400 new cards is begun on too
many."""
KNOWN_OCTAVES = 0.15
"""A card that stands this near to its goal after so few takes was known before (assumption)."""
SEEN_TAKES, SEEN_PRIOR = 5, 6.0
"""A card with no more takes than this tells whether those never played may be known already.

So many that were not are counted beside them at first."""
BUILDING_RETURN_DAYS = 10.0
"""The longest wait of a card below its goal before new cards are held back."""
HOLDING_RETURN_DAYS = 4.0
"""The shortest wait of one above it that is counted there: what came off once may hold longer than
anybody knows yet."""
MOST_URGENT, URGENT_DAYS = 4.0, 4.0
"""A card with a deadline is worth up to so many times as much, from about so many spare days down.

On forecasts with 12 of 120 cards due in 14, 21, 35 or 60 days, 4 brings all twelve to their goals
in time (1, 2, 6 and 8 without a deadline), and more only costs the others."""
DEADLINE_MARGIN = 0.1
"""Octaves over the goal to be had by a deadline, for the nerves (assumption)."""
MEETING_SLOWEST = 0.6
"""A pattern that has not come together is not slowed down below this share of what is expected."""
APART_WORTH = 3.0
"""How much more another take of such a pattern is worth than a visit to it would be, once begun."""
SPREAD = np.sqrt(3.0)
"""Gauss-Hermite points of order three.

0 and this many standard deviations, with weights 2/3 and 1/6.
"""


class TakeTable(NamedTuple):
    """One number for each card, or one for each card and number of takes from now on.

    Parameters
    ----------
    bpm, success
        Tempo of the next take, and the chance that it is at least steady.
    price
        Price per second of the next take, then of each further one.
    seconds
        Length of a visit of so many takes from now on.
    upkeep
        Forecast of the seconds a day that the card needs; 0 before it is begun.
    first_upkeep
        What it would add if it were begun.
    above
        Whether its peak is at or above its goal.
    """

    bpm: NDArray[np.int64]
    success: Floats
    price: Floats
    seconds: Floats
    upkeep: Floats
    first_upkeep: Floats
    above: NDArray[np.bool_]


def tabulate(candidates: Candidates, day: Day, parameters: Parameters) -> TakeTable:
    """Return the table of all candidates."""
    c = candidates.columns
    today, since = c.played(day.day), c.gap(day.at)
    gap = np.where(today > 0, 0.0, since)
    bpm, success = _tempi(c, today, gap, parameters, _asked_for(candidates, day))
    one = _take_seconds(c, bpm)
    another = one + CHANGE_SECONDS
    first = another.copy()
    if day.done and day.done[-1].card_id in candidates.by_id:
        on_stand = candidates.place(day.done[-1].card_id)
        first[on_stand] = one[on_stand]
    # The takes of a first meeting stand apart, so each of them is a change of card.
    again = np.where(c.apart > 0.0, another, one)
    seconds = first[:, None] + again[:, None] * np.arange(MOST_TAKES)
    margin = c.over_goal()
    held = days_held(margin, c.ln_s, parameters.lam, COLUMNS)
    upkeep = another / np.where(
        held > 0.0, np.maximum(held, HOLDING_RETURN_DAYS), BUILDING_RETURN_DAYS
    )
    # A holiday ahead ages every card by half of it on the average.
    wait = gap + 0.5 * max(0.0, day.next_in_days - 1.0)
    weight = c.weight * _urgency(c, day, parameters)
    climbers = Climbers(c.mu, c.ln_s, c.takes, today, c.climbs, c.ceiling_bpm)
    worth = _prices(c, margin, today, wait, parameters)
    worth += climb_prices(climbers, wait, parameters, MOST_TAKES)
    price = worth * (weight / another / weariness(c.recent, since))[:, None]
    return TakeTable(
        bpm.astype(np.int64),
        success,
        price,
        seconds,
        np.where(c.takes > 0, upkeep, 0.0),
        another / BUILDING_RETURN_DAYS,
        (c.takes > 0) & (held > 0.0),
    )


def holds(c: Columns, at: float, parameters: Parameters) -> NDArray[np.bool_]:
    """Return which cards are in hand at a moment, as `drillbox.memory.state` says it of one."""
    goal = np.log2(np.maximum(c.goal_bpm, TAKEN.least))
    cold, _ = cold_tempo(c.moments, c.gap(at), parameters, COLUMNS)
    begun = (c.takes > 0) & (c.apart == 0.0)
    held: NDArray[np.bool_] = begun & (c.mu >= goal) & (cold >= goal)
    return held


def _asked_for(candidates: Candidates, day: Day) -> Floats:
    """Return where the last grade sent the metronome, for the card on the stand and first meetings.

    Nan for all others.
    """
    asked = np.full(len(candidates.cards), nan)
    on_stand = day.done[-1].card_id if day.done else ""
    for done in {done.card_id: done for done in day.done}.values():
        card = candidates.by_id.get(done.card_id)
        if card is not None and (card.card_id == on_stand or card.apart):
            bpm = next_bpm(round(done.bpm), done.grade, card.ceiling_bpm)
            if card.apart:
                bpm = max(bpm, nearest_mark(MEETING_SLOWEST * exp2(card.belief.mu)))
            asked[candidates.place(card.card_id)] = bpm
    return asked


def _tempi(
    c: Columns, today: Floats, gap: Floats, p: Parameters, asked: Floats
) -> tuple[Floats, Floats]:
    """Return the tempo of each card's next take, and the chance that it is at least steady."""
    cold, variance = cold_tempo(c.moments, gap, p, COLUMNS)
    right = cold + p.boost * warmth(today)
    spread = np.sqrt(variance + p.sigma**2)
    come_together = caution(c.over_goal(), c.streak, COLUMNS)
    sds = np.where(c.apart > 0.0, MEETING_SUCCESS_SDS, come_together)
    likely = HALF_STEP + np.exp2(right - sds * spread)
    marks = np.where(likely >= FIVES_FROM, 5.0, 2.0)
    likely = marks * np.floor(likely / marks + 0.5)
    aimed = np.minimum(likely, np.floor(c.ceiling_bpm))
    aimed = np.minimum(np.maximum(aimed, ASKED.least), ASKED.most)
    bpm = np.where(np.isnan(asked), aimed, asked)
    return bpm, step((right - np.log2(bpm - HALF_STEP)) / spread)


def _urgency(c: Columns, day: Day, p: Parameters) -> Floats:
    """Return by how much a deadline raises each card's worth.

    The fewer days it can spare, the more, until it is met.
    """
    days_left = c.deadline - day.day
    short = np.log2(np.maximum(c.wanted_bpm, TAKEN.least)) + DEADLINE_MARGIN - c.mu
    visits = np.maximum(short, 0.0) / (GAIN_AT_GOAL * p.gain)
    spare = (days_left - visits) / URGENT_DAYS
    ahead = np.isfinite(spare) & (days_left >= 0.0) & (short > 0.0)
    close = 1.0 / (1.0 + np.maximum(np.where(ahead, spare, 0.0) - 1.0, 0.0) ** 2)
    result: Floats = np.where(ahead, 1.0 + (MOST_URGENT - 1.0) * close, 1.0)
    return result


def _prices(c: Columns, margin: Floats, today: Floats, wait: Floats, p: Parameters) -> Floats:
    """Return the price of each card's next take and of the further ones, averaged over doubt."""
    table = price_table(p)
    law = PracticeLaw.of(p)
    sd = SPREAD * np.sqrt(np.maximum(c.var_mu, 0.0))
    met = c.takes > 0
    places = np.stack([margin - sd, margin, margin + sd])
    low, middle, high = table.visit(places, c.ln_s, np.where(met, wait, 1.0))
    visit = (1 / 6) * low + (2 / 3) * middle + (1 / 6) * high
    later, grown = law.after(margin, c.ln_s, wait)
    # What was played today is already where the visit leads; the rest is looked at as it will be
    # then.
    again = table.again(np.where(today > 0, margin, later), np.where(today > 0, c.ln_s, grown))
    taken = today.astype(np.int64)[:, None] + np.arange(MOST_TAKES)
    further = np.take_along_axis(again, np.minimum(np.maximum(taken, 1), FURTHER_TAKES) - 1, axis=1)
    usual = np.where(taken > 0, further, visit[:, None])
    # A pattern that has not come together wants takes until it has, each worth as much as the last.
    apart = c.apart[:, None]
    begun = apart * (APART_WORTH * middle[:, None]) + (1.0 - apart) * usual
    new = (_first_look(c, margin) * visit)[:, None] * apart ** np.arange(MOST_TAKES)
    result: Floats = np.where(met[:, None], begun, new)
    return result


def _first_look(c: Columns, margin: Floats) -> float:
    """Return how much more a card never played is worth than the visit to it.

    The more of the cards begun of late turned out to be known already, the more.
    """
    seen = (c.takes > 0) & (c.takes <= SEEN_TAKES)
    known = seen & (c.apart == 0.0) & (margin > -KNOWN_OCTAVES)
    return FIRST_LOOK + FIRST_LOOK_KNOWN * float(known.sum() / (seen.sum() + SEEN_PRIOR))


def _take_seconds(c: Columns, bpm: Floats) -> Floats:
    one_pass = c.seconds60 * 60.0 / bpm
    bar = one_pass / c.bars
    count_in = np.maximum(1.0, np.ceil(COUNT_IN_SECONDS / bar - 1e-9))
    passes = np.maximum(1.0, np.floor(PLAY_SECONDS / one_pass + 0.5))
    result: Floats = count_in * bar + passes * one_pass + GRADE_SECONDS
    return result
