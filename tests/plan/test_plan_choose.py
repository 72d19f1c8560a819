"""Who gets the minutes: the choice on tables written by hand, each limit from both sides.

A take of every card lasts 30 seconds, and a change of card none, unless a test says otherwise.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import plan_day

from drillbox.memory import Belief, Grade, Parameters, prior
from drillbox.plan import Candidate, Day, Done
from drillbox.plan.candidate_columns import Candidates
from drillbox.plan.choose import (
    LEAST_PRICE,
    MEETING_PLANNED,
    NOTHING,
    OFFERS_LOOKED_AT,
    READY_OCTAVES,
    Choice,
    WhyNot,
    choose,
    ready,
    waiting_for,
)
from drillbox.plan.table import MOST_TAKES, TakeTable

if TYPE_CHECKING:
    from collections.abc import Sequence

PLAIN = Parameters()
DAY = plan_day(20200.0)
TAKE = 30.0


def new(name: str, **changes: Any) -> Candidate:
    """Return a card nobody has played."""
    return replace(Candidate(name, name, prior(PLAIN), 80.0, 4.0), **changes)


def known(name: str, *, bpm: float = 70.0, today: int = 0, **changes: Any) -> Candidate:
    """Return a card played a dozen times, so often of them today."""
    day = DAY.day if today else DAY.day - 3
    belief = Belief(np.log2(bpm), 1.0, 0.0009, 0.0, 0.1, DAY.at - 3.0, day, today or 1, 12)
    return replace(Candidate(name, name, belief, 80.0, 4.0), **changes)


def met(name: str, *, today: int, takes: int | None = None, **changes: Any) -> Candidate:
    """Return a card that was begun today and has not come together."""
    belief = replace(prior(PLAIN), at=DAY.at, day=DAY.day, takes_that_day=today)
    belief = replace(belief, takes=today if takes is None else takes, apart=0.4)
    return replace(Candidate(name, name, belief, 80.0, 4.0), **changes)


def table_of(
    prices: Sequence[Sequence[float]],
    *,
    above: Sequence[bool] | None = None,
    upkeep: float = 0.0,
    first_upkeep: float = 6.0,
    change: float = 0.0,
) -> TakeTable:
    """Return a table: for each card the prices of its takes, the last of them for all further."""
    n = len(prices)
    rows = [[*row, *[row[-1]] * MOST_TAKES][:MOST_TAKES] for row in prices]
    lengths = np.tile(change + TAKE * np.arange(1, MOST_TAKES + 1), (n, 1))
    return TakeTable(
        bpm=np.full(n, 70),
        success=np.full(n, 0.7),
        price=np.array(rows, dtype=np.float64).reshape(n, MOST_TAKES),
        seconds=lengths.reshape(n, MOST_TAKES),
        upkeep=np.full(n, upkeep),
        first_upkeep=np.full(n, first_upkeep),
        above=np.array([False] * n if above is None else above, dtype=np.bool_),
    )


def choice_of(cards: Sequence[Candidate], day: Day, table: TakeTable) -> Choice:
    """Return what is chosen of some cards."""
    return choose(Candidates(cards), day, table)


def taken(
    cards: list[Candidate], table: TakeTable, *, takes: float, **changes: Any
) -> dict[str, int]:
    """Return the takes chosen by card, where there is time for so many takes and a second."""
    day = replace(DAY, minutes=(takes * TAKE + 1.0) / 60.0, **changes)
    return {cards[i].card_id: n for i, n in choice_of(cards, day, table).takes.items()}


def test_the_dearest_second_is_bought_first() -> None:
    """Five takes of time: a's first two at 9 and 7, b's at 8 and 6, then c's first at 5."""
    cards = [known("a"), known("b"), known("c")]
    table = table_of([[9, 7, 1], [8, 6, 1], [5, 4, 3]])
    assert {"a": 2, "b": 2, "c": 1} == taken(cards, table, takes=5)


def test_equals_are_taken_in_the_order_of_their_deck() -> None:
    """At one price the place in the deck decides, and then the card's own id."""
    cards = [known("z", order=2), known("y", order=1), known("b", order=3), known("a", order=3)]
    table = table_of([[5, 1]] * 4)
    assert {"y": 1, "z": 1, "a": 1} == taken(cards, table, takes=3)


def test_what_does_not_fit_is_passed_over() -> None:
    """A dear visit too long for what is left leaves its time to a shorter one."""
    cards = [known("long"), known("short")]
    table = table_of([[9, 1], [5, 1]])
    table.seconds[0] += 1000.0
    day = replace(DAY, minutes=1.0)
    seen = choice_of(cards, day, table)
    assert {1: 1} == seen.takes
    assert {0: WhyNot.PRICE} == seen.left_out


def test_a_sum_of_lengths_stays_inside_the_minutes_however_it_rounds() -> None:
    """Thirty seconds do not hold a take of thirty; a hundredth of a millisecond more does."""
    cards, table = [known("a")], table_of([[9, 1]])
    for extra, expected in ((0.0, {}), (1e-5, {0: 1})):
        day = replace(DAY, minutes=(TAKE + extra) / 60.0)
        assert expected == choice_of(cards, day, table).takes


@pytest.mark.parametrize(("today", "expected"), [(0, 4), (1, 3), (3, 1)])
def test_takes_of_a_day_are_four(today: int, expected: int) -> None:
    """Alike in price, a card is given what is left of its four takes first; more only to fill.

    Warm-up decrement is over by then (Adams 1961: a few takes).
    """
    cards = [known("a", today=today), known("b", order=1)]
    table = table_of([[9], [5]])
    seen = taken(cards, table, takes=expected + 1)
    assert {"a": expected, "b": 1} == seen


def test_a_card_with_four_takes_is_asked_last() -> None:
    """Played enough, it fills the minutes that nothing else wants, as if it had not been played."""
    cards, table = [known("a", today=4), known("b", order=1)], table_of([[9], [5]])
    assert {"b": 4} == taken(cards, table, takes=4)
    assert {"b": 4, "a": 4} == taken(cards, table, takes=9)
    short = replace(DAY, minutes=2.2)
    assert choice_of(cards, short, table).left_out == {0: WhyNot.ENOUGH}


def test_a_meeting_has_three_takes_a_plan_and_four_a_day() -> None:
    """Until it comes together; and no more, not even where nothing else wants the minutes."""
    for today, expected in ((0, 3), (1, 3), (2, 2), (3, 1)):
        card = met("a", today=today, takes=5)
        cards, table = [card, known("b", order=1)], table_of([[9], [5]])
        assert {"a": expected, "b": 1} == taken(cards, table, takes=expected + 1)
    rests = [met("a", today=MOST_TAKES), known("b", order=1)]
    assert {"b": 2} == taken(rests, table_of([[9], [5]]), takes=2)
    assert {"b": 4} == taken(rests, table_of([[9], [5]]), takes=9)
    assert (4, 3) == (MOST_TAKES, MEETING_PLANNED)


def test_rhythms_on_the_same_syllables_are_not_begun_together() -> None:
    """One at a time: the other waits until it has come together, unless minutes would stay empty.

    Memory for one of two similar melodies learned on a day suffered: Duke & Davis 2006 (abstract).
    """
    for first, look, begun in (
        (new("a", look=7), 7, False),
        (met("a", today=1, look=7), 7, False),
        (known("a", look=7), 7, True),
        (new("a", look=7), 9, True),
        (new("a", look=0), 0, True),
    ):
        cards = [first, new("b", look=look, order=1), known("c", order=2)]
        seen = taken(cards, table_of([[9], [7], [5]]), takes=5)
        assert begun is ("b" in seen)
    for rests, first_of_all in ((True, "b"), (False, "c")):
        cards = [met("a", today=4, look=7, rested=rests), new("b", look=7, order=1), known("c")]
        assert {first_of_all: 1} == taken(cards, table_of([[9], [7], [5]]), takes=1)


def test_what_is_worth_nothing_fills_no_minute() -> None:
    """At the least worth a take is made, under it not even where time would stay empty."""
    for price, expected in ((NOTHING, {0: 4}), (NOTHING * 0.99, {})):
        seen = choice_of([known("a")], DAY, table_of([[price]]))
        assert expected == seen.takes
    assert {0: WhyNot.NOTHING} == seen.left_out
    # A further take that is worth nothing says nothing of the card.
    seen = choice_of([known("a")], DAY, table_of([[9, 0.0]]))
    assert ({0: 1}, {}) == (seen.takes, seen.left_out)


def test_above_its_goal_a_cheap_visit_waits_for_everything_else() -> None:
    """At the least price and above the goal a card comes only when nothing else is left.

    Above that price, or below its goal, it comes in its turn.
    """
    cards = [known("safe"), known("b", order=1)]
    rows = [[LEAST_PRICE], [LEAST_PRICE / 2]]
    assert {"b": 1} == taken(cards, table_of(rows, above=[True, False]), takes=1)
    assert {"safe": 1} == taken(cards, table_of(rows, above=[False, False]), takes=1)
    dearer = [[LEAST_PRICE * 1.01], [LEAST_PRICE / 2]]
    assert {"safe": 1} == taken(cards, table_of(dearer, above=[True, False]), takes=1)
    day = replace(DAY, minutes=0.6)
    seen = choice_of(cards, day, table_of(rows, above=[True, False]))
    assert {0: WhyNot.WORTHLESS} == seen.left_out


def test_a_cheap_further_take_above_the_goal_is_put_off() -> None:
    """Its second take at the least price waits until others are served, then fills the time."""
    cards = [known("safe"), known("b", order=1)]
    rows = [[9, LEAST_PRICE], [LEAST_PRICE / 2]]
    above = table_of(rows, above=[True, False])
    below = table_of(rows, above=[False, False])
    assert {"safe": 1, "b": 1} == taken(cards, above, takes=2)
    assert {"safe": 2} == taken(cards, below, takes=2)
    assert {"safe": 4, "b": 4} == taken(cards, above, takes=8)
    dearer = table_of([[9, LEAST_PRICE * 1.01], [LEAST_PRICE / 2]], above=[True, False])
    assert {"safe": 2} == taken(cards, dearer, takes=2)


def test_new_cards_are_begun_while_their_upkeep_fits() -> None:
    """A day of 6 minutes holds 360 seconds of upkeep: 348 and two new ones of 6 fill it whole.

    A third has no room, whatever its price. Below the limit the day says that it admits.
    """
    cards = [known("old"), new("n0", order=1), new("n1", order=2), new("n2", order=3)]
    for upkeep, begun in ((348.0, {1, 2}), (354.0, {1}), (354.1, set()), (400.0, set())):
        table = table_of([[1], [9], [9], [9]], first_upkeep=6.0)
        table.upkeep[0] = upkeep
        seen = choice_of(cards, replace(DAY, minutes=6.0), table)
        assert begun == seen.takes.keys() - {0}
        barred = {i for i, bar in seen.left_out.items() if bar is WhyNot.UPKEEP}
        assert {1, 2, 3} - begun == barred
        assert seen.upkeep == upkeep + 6.0 * len(begun)
        assert seen.admits == (seen.upkeep < 360.0)
        assert 360.0 == seen.limit


def test_two_look_alikes_are_begun_in_a_plan() -> None:
    """The third of a family waits until nothing else is left (Duke & Davis 2006).

    Cards of no family are no look-alikes.
    """
    cards = [new(f"n{k}", order=k, family="singles") for k in range(3)]
    cards.append(known("old", order=9))
    table = table_of([[9, 5], [9, 5], [9, 5], [1]])
    day = replace(DAY, minutes=10 * TAKE / 60)
    seen = choice_of(cards, day, table)
    assert {0, 1, 3} == seen.takes.keys()
    assert {2: WhyNot.LOOK_ALIKE} == seen.left_out
    loose = [replace(c, family="") for c in cards]
    assert {"n0": 1, "n1": 1, "n2": 1} == taken(loose, table, takes=3)
    # Time left over: now the third may come.
    assert {"n0", "n1", "n2", "old"} == taken(cards, table, takes=20).keys()


@pytest.mark.parametrize(
    ("grade", "fresh", "expected"),
    [
        (Grade.FELL_APART, True, False),
        (Grade.SHAKY, True, False),
        (Grade.STEADY, True, True),
        (Grade.FELL_APART, False, True),
    ],
)
def test_no_look_alike_after_one_that_went_badly(
    grade: Grade, *, fresh: bool, expected: bool
) -> None:
    """A card new today that went worse than steady closes its family for the day.

    One that was known before, or that came off, closes nothing.
    """
    first = met("m", today=1, takes=1 if fresh else 9, family="singles")
    cards = [new("n", family="singles"), known("old", order=2), first]
    table = table_of([[9], [1], [0.0]])
    seen = taken(cards, table, takes=4, done=(Done("m", 60.0, grade),))
    assert expected == ("n" in seen)


def test_a_player_s_limit_counts_what_was_begun_today() -> None:
    """With a limit of two and one begun today, one more is begun.

    A card known before is free, and so is one that was begun today and turned out to be known: in
    a box of which much is known already the limit is for what is new to the hands.
    """
    cards = [new(f"n{k}", order=k) for k in range(3)]
    found = replace(known("m", today=1), belief=replace(known("m", today=1).belief, takes=1))
    for begun, expected in ((met("m", today=1), 1), (known("m", today=1), 2), (found, 2)):
        table = table_of([[9], [9], [9], [0.0]])
        seen = choice_of([*cards, begun], replace(DAY, most_new=2), table)
        assert expected == len(seen.takes)
        assert expected == 3 - list(seen.left_out.values()).count(WhyNot.MOST_NEW)
    assert 3 == len(choice_of(cards, replace(DAY, most_new=None), table_of([[9]] * 3)).takes)
    assert {} == choice_of(cards, replace(DAY, most_new=0), table_of([[9]] * 3)).takes


def test_a_deck_s_pace_is_its_own() -> None:
    """A deck with pace 2 and one card begun today begins one more; another deck's go free.

    Pace 0 begins none.
    """
    slow = [new(f"s{k}", order=k, decks=("slow",), pace=2) for k in range(3)]
    other = [new(f"o{k}", order=k + 5, decks=("other",)) for k in range(3)]
    begun = met("m", today=1, decks=("slow",), pace=2)
    table = table_of([[9]] * 6 + [[0.0]])
    seen = choice_of([*slow, *other, begun], DAY, table)
    assert {0, 3, 4, 5} == seen.takes.keys()
    assert {1: WhyNot.PACE, 2: WhyNot.PACE} == {
        i: bar for i, bar in seen.left_out.items() if i != 6
    }
    stopped = [replace(c, pace=0) for c in slow]
    assert {} == choice_of(stopped, DAY, table_of([[9]] * 3)).takes


def test_a_card_set_aside_says_so_before_anything_else() -> None:
    """Rested stands over every other reason to be left out, and is never lifted."""
    cards = [known("a", rested=True, today=4), new("b", rested=True, after=("a",))]
    seen = choice_of(cards, DAY, table_of([[9], [9]]))
    assert ({}, {0: WhyNot.RESTED, 1: WhyNot.RESTED}) == (seen.takes, seen.left_out)


def test_what_is_built_on_is_near_its_goal() -> None:
    """Within a quarter of an octave of its goal of 80 a part is near: 67.27 bpm and up.

    One that was never played is not, however fast it is thought to be.
    """
    assert READY_OCTAVES == 0.25
    blend = new("blend", after=("part",))
    for bpm, expected in ((80.0 * 2**-0.2501, False), (80.0 * 2**-0.2499, True)):
        part = known("part", bpm=bpm)
        assert expected == ready(blend, {"part": part})
    exact = known("part", bpm=64.0, goal_bpm=64.0 * 2**0.25)
    assert ready(blend, {"part": exact}) == (exact.belief.mu >= np.log2(64.0 * 2**0.25) - 0.25)
    guessed = new("part", belief=prior(PLAIN, bpm=200.0))
    assert [guessed] == waiting_for(blend, {"part": guessed})
    assert [] == waiting_for(blend, {"part": replace(guessed, rested=True)})
    assert [] == waiting_for(replace(blend, belief=known("x").belief), {"part": guessed})


def test_prerequisites_are_let_in_to_fill_the_day() -> None:
    """A card whose part is begun, or begun today, comes when minutes stay empty; else it waits.

    A part that is not begun today either holds it back.
    """
    table = table_of([[9, 0.0], [8, 0.0]])
    blend = new("blend", after=("part",), order=1)
    assert {"part": 1, "blend": 1} == taken([known("part", bpm=50.0), blend], table, takes=9)
    assert {"part": 1, "blend": 1} == taken([new("part"), blend], table, takes=9)
    assert {"part": 1} == taken([known("part", bpm=50.0), blend], table, takes=1)
    barred = [new("part", after=("far",)), blend, new("far")]
    seen = choice_of(barred, replace(DAY, most_new=0), table_of([[9], [8], [7]]))
    assert {} == seen.takes
    assert {0: WhyNot.PREREQUISITE, 1: WhyNot.PREREQUISITE, 2: WhyNot.MOST_NEW} == seen.left_out


def test_only_the_dearest_four_hundred_are_looked_at() -> None:
    """Of more cards than a day has room for, the dearest are the ones; at the limit all are."""
    assert OFFERS_LOOKED_AT == 400
    prices = np.linspace(1.0, 2.0, 401)
    cards = [known(f"c{k:03}", order=k) for k in range(401)]
    day = replace(DAY, minutes=401 * 4 * TAKE / 60 + 1)
    seen = choice_of(cards, day, table_of([[p] for p in prices]))
    assert set(range(1, 401)) == seen.takes.keys()
    seen = choice_of(cards[1:], day, table_of([[p] for p in prices[1:]]))
    assert set(range(400)) == seen.takes.keys()


def test_no_second_round_without_time_for_a_take() -> None:
    """Where the shortest take does not fit any more, what was left out stays as it is."""
    cards = [known("a"), known("b", today=4)]
    seen = choice_of(cards, replace(DAY, minutes=0.9), table_of([[9, 0.0], [8]]))
    assert {0: 1} == seen.takes
    assert {1: WhyNot.ENOUGH} == seen.left_out


@given(
    st.lists(st.lists(st.floats(0.0, 9.0), min_size=MOST_TAKES, max_size=MOST_TAKES), max_size=8),
    st.floats(0.0, 12.0),
)
def test_falling_prices_are_served_like_water(prices: list[list[float]], minutes: float) -> None:
    """No take that was left out, and would have fitted, was dearer than one that was made.

    Takes all last the same here, so a plan is the dearest takes that fit.
    """
    rows = [sorted(row, reverse=True) for row in prices]
    cards = [known(f"c{k}", order=k) for k in range(len(rows))]
    seen = choice_of(cards, replace(DAY, minutes=minutes), table_of(rows)).takes
    fit = max(0, int((60.0 * minutes - 1e-6) // TAKE))
    worth = sorted((p for row in rows for p in row if p >= NOTHING), reverse=True)[:fit]
    made = sorted((p for i, n in seen.items() for p in rows[i][:n]), reverse=True)
    assert worth == pytest.approx(made)
