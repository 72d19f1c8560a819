from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date
from itertools import pairwise
from math import log, log2

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from strategies import boxes, plan_day

from drillbox.memory import Belief, Evidence, Grade, Parameters, State, prior, state, update
from drillbox.plan import Candidate, Done, Part, explain, make_plan
from drillbox.plan.ahead import practise
from drillbox.plan.candidate_columns import Candidates

PLAIN = Parameters()
TODAY = 20200
EPOCH = date(1970, 1, 1).toordinal()
DAY = plan_day(float(TODAY))


def card(name: str, **changes: object) -> Candidate:
    """Return a new card of one 4/4 bar, goal 90."""
    plain = Candidate(name, f"card {name}", prior(PLAIN, bpm=70.0), 90.0, 4.0)
    return replace(plain, **changes)  # type: ignore[arg-type]


def played(
    name: str, *, bpm: float, days_ago: int, visits: int = 6, **changes: object
) -> Candidate:
    """Return a card that came off steady at a tempo on daily visits, the last some days ago."""
    belief = prior(PLAIN, bpm=bpm)
    for k in range(visits):
        day = TODAY - days_ago - (visits - 1 - k)
        belief = update(belief, Evidence(float(day), EPOCH + day, bpm, Grade.STEADY), PLAIN)
    return card(name, belief=belief, **changes)


@examples(60)
@given(boxes(), st.floats(0.0, 45.0), st.floats(0.0, 3000.0), st.floats(1.0, 20.0))
def test_the_minutes_are_never_exceeded(
    box: list[Candidate], minutes: float, spent: float, wait: float
) -> None:
    """Whatever the box, the plan ends inside the time that is left.

    Only a card that is being met comes up more than once, one take at a time; and nothing is played
    faster than the card's top tempo.
    """
    day = plan_day(20450.0, minutes=minutes, spent_seconds=spent, next_in_days=wait)
    plan = make_plan(box, day, PLAIN)
    by_id = {c.card_id: c for c in box}
    often = Counter(item.card_id for item in plan.items)
    assert plan.seconds <= max(0.0, 60.0 * minutes - spent) + 1e-6
    assert all(by_id[card].belief.apart for card, times in often.items() if times > 1)
    assert all(item.takes == 1 for item in plan.items if by_id[item.card_id].belief.apart)
    assert all(item.bpm <= max(20, by_id[item.card_id].ceiling_bpm) for item in plan.items)
    assert all(1 <= item.takes <= 4 for item in plan.items)


@examples(20)
@given(boxes(), st.randoms(use_true_random=False))
def test_the_plan_follows_from_the_box_alone(box: list[Candidate], chance: object) -> None:
    """Asked twice it is the same; and what is chosen does not depend on the order cards come in."""
    day = plan_day(20450.0)
    shuffled = list(box)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    first, second, other = (make_plan(cards, day, PLAIN) for cards in (box, box, shuffled))
    assert first == second
    chosen = [{(i.card_id, i.takes, i.bpm) for i in plan.items} for plan in (first, other)]
    assert chosen[0] == chosen[1]


@examples(20)
@given(boxes())
def test_every_card_can_say_why(box: list[Candidate]) -> None:
    """Each card, in the plan or not, answers in one sentence; a planned one as its item does."""
    day = plan_day(20450.0)
    plan = make_plan(box, day, PLAIN)
    planned = {item.card_id: item.why for item in plan.items}
    for c in box:
        sentence = explain(c.card_id, box, day, PLAIN)
        assert sentence.endswith(".")
        assert planned.get(c.card_id, sentence) == sentence


def test_rested_cards_rest() -> None:
    """A card set aside is never planned, and says so."""
    box = [card("a", rested=True), card("b")]
    assert {i.card_id for i in make_plan(box, DAY, PLAIN).items} == {"b"}
    assert explain("a", box, DAY, PLAIN).startswith("Set aside by you")


def test_a_card_waits_for_what_it_builds_on() -> None:
    """A blend is begun once its parts are nearly at their goals.

    A rested or unknown part holds up nothing.

    Three minutes are full with the part, so nothing is let in to fill them.
    """
    short = replace(DAY, minutes=3.0)
    blend = card("blend", after=("part", "unknown"))
    waiting = [played("part", bpm=60.0, days_ago=1), blend]
    ready = [played("part", bpm=88.0, days_ago=1), blend]
    rested = [replace(waiting[0], rested=True), blend]
    seen = [
        "blend" in {i.card_id for i in make_plan(box, short, PLAIN).items}
        for box in (waiting, ready, rested)
    ]
    assert seen == [False, True, True]
    assert explain("blend", waiting, short, PLAIN).startswith("Waits for “card part” (near ")


def test_a_first_day_fills_its_minutes_in_the_order_things_build_on_each_other() -> None:
    """With a deck that nobody has played, each card is begun after those it builds on.

    And no minute is left empty.
    """
    names = [f"c{k}" for k in range(12)]
    box = [
        card(name, order=k, after=tuple(names[k - 1 : k]), family="singles")
        for k, name in enumerate(names)
    ]
    plan = make_plan(box, DAY, PLAIN)
    order = list(dict.fromkeys(item.card_id for item in plan.items))

    assert names[: len(order)] == order
    assert plan.left_seconds - plan.seconds < 60.0


def test_a_card_in_two_decks_is_a_new_one_of_both() -> None:
    """A deck's pace counts what it shares: quarters and eighths, then no sixteenths on one day."""
    shared = [
        card(name, decks=("first", "pad"), pace=2, order=k) for k, name in enumerate(("4", "8"))
    ]
    rest = [
        card("16", decks=("pad",), pace=2, order=2),
        card("hat", decks=("first",), pace=3, order=3),
    ]
    begun = {item.card_id for item in make_plan([*shared, *rest], DAY, PLAIN).items}

    assert {"4", "8", "hat"} == begun


@pytest.mark.parametrize(("days_ago", "begun"), [(1, {"4"}), (0, {"4", "8"})])
def test_nothing_is_built_on_what_did_not_come_together_yesterday(
    days_ago: int, begun: set[str]
) -> None:
    """Eighths wait while quarters fall apart from day to day; a first day goes on in order."""
    then = Evidence(DAY.at - days_ago - 0.01, DAY.day - days_ago, 60.0, Grade.FELL_APART)
    quarters = card("4", belief=update(prior(PLAIN, bpm=70.0), then, PLAIN))
    items = make_plan([quarters, card("8", after=("4",), order=1)], DAY, PLAIN).items

    assert quarters.apart
    assert begun == {item.card_id for item in items}


def test_a_card_played_enough_today_makes_way() -> None:
    """After a whole visit a card comes up again only when nothing else is left to play.

    Massed practice depresses retention (Lee & Genovese, Research Quarterly for Exercise and Sport
    59, 1988).
    """
    seen = prior(PLAIN, bpm=70.0)
    for k in range(4):
        seen = update(seen, Evidence(DAY.at - 0.01 + 0.001 * k, DAY.day, 70.0, Grade.CLEAN), PLAIN)
    massed = card("massed", belief=seen)
    others = [card(f"c{k}", order=k + 1) for k in range(8)]

    assert "massed" not in {i.card_id for i in make_plan([massed, *others], DAY, PLAIN).items}
    assert ["massed"] == [i.card_id for i in make_plan([massed], DAY, PLAIN).items]


def test_takes_of_one_day_are_counted_over_every_plan_of_it() -> None:
    """Planned anew after each take, a day gives no card more takes than one plan would."""
    seen = prior(PLAIN, bpm=70.0)
    for k in range(3):
        seen = update(seen, Evidence(DAY.at - 0.01 + 0.001 * k, DAY.day, 70.0, Grade.CLEAN), PLAIN)
    others = [card(f"c{k}", order=k + 1) for k in range(8)]
    plan = make_plan([card("going", belief=seen), *others], DAY, PLAIN)

    assert all(item.takes == 1 for item in plan.items if item.card_id == "going")


def test_new_cards_wait_while_upkeep_is_heavy() -> None:
    """Two hundred and fifty cards begun and not yet at goal leave no room for a new one.

    Reddy, Labutov, Banerjee & Joachims (KDD 2016): above a critical rate of new items the queue
    jams.
    """
    box = [played(f"c{k}", bpm=75.0, days_ago=2, order=k) for k in range(250)]
    box.append(card("new", importance=50.0))
    plan = make_plan(box, DAY, PLAIN)
    assert not plan.admits
    assert "new" not in {item.card_id for item in plan.items}
    assert explain("new", box, DAY, PLAIN).startswith("New cards wait: ")


def test_an_empty_box_has_an_empty_plan() -> None:
    """No cards, no items, no error."""
    assert make_plan([], DAY, PLAIN).items == ()


def test_no_time_left_means_nothing_planned() -> None:
    """When the minutes are spent the plan is empty."""
    spent = replace(DAY, spent_seconds=900.0)
    assert make_plan([card("a")], spent, PLAIN).items == ()


def test_a_month_away_brings_no_flood() -> None:
    """After a month without playing, 300 faded cards still make one useful practice."""
    box = [played(f"c{k}", bpm=95.0, days_ago=31, order=k) for k in range(300)]
    plan = make_plan(box, DAY, PLAIN)
    assert 600.0 < plan.seconds <= 900.0


def test_importance_decides_between_equals() -> None:
    """Of cards alike in everything, those that matter more are played."""
    box = [
        played(f"c{k}", bpm=88.0, days_ago=6, order=k, importance=1.0 + (k % 2)) for k in range(60)
    ]
    chosen = {item.card_id for item in make_plan(box, replace(DAY, minutes=5), PLAIN).items}
    assert {int(name[1:]) % 2 for name in chosen} == {1}


def test_practice_opens_and_closes_on_what_holds() -> None:
    """It warms up and wraps up on known cards that come off, and neighbours differ in family."""
    box = [
        played(f"c{k}", bpm=80.0 + k, days_ago=5 + k % 3, order=k, family=f"f{k % 4}")
        for k in range(24)
    ]
    plan = make_plan(box, DAY, PLAIN)
    parts = [item.part for item in plan.items]
    families = {c.card_id: c.family for c in box}
    neighbours = [families[a.card_id] == families[b.card_id] for a, b in pairwise(plan.items)]
    assert parts[0] is Part.WARM_UP
    assert parts[-1] is Part.WRAP_UP
    assert set(parts[1:-1]) == {Part.WORK}
    assert sum(neighbours) <= 1


def test_planning_again_goes_on_where_the_practice_stands() -> None:
    """After a take there is no second warm-up, and less time is planned."""
    box = [played(f"c{k}", bpm=80.0 + k, days_ago=5, order=k) for k in range(24)]
    first = make_plan(box, DAY, PLAIN).items[0]
    i = next(i for i, c in enumerate(box) if c.card_id == first.card_id)
    evidence = Evidence(DAY.at, DAY.day, first.bpm, Grade.STEADY)
    box[i] = replace(box[i], belief=update(box[i].belief, evidence, PLAIN))
    done = (Done(first.card_id, first.bpm, Grade.STEADY),)
    again = make_plan(box, replace(DAY, spent_seconds=50.0, done=done), PLAIN)
    assert Part.WARM_UP not in {item.part for item in again.items}
    assert again.seconds <= 850.0


@pytest.mark.parametrize("grade", Grade)
def test_a_visit_broken_off_goes_on_where_the_grade_sent_the_metronome(grade: Grade) -> None:
    """The card on the stand starts at its last tempo and the grade's step, whatever is believed."""
    going = played("going", bpm=70.0, days_ago=5)
    evidence = Evidence(DAY.at, DAY.day, 70, grade)
    going = replace(going, belief=update(going.belief, evidence, PLAIN))
    plan = make_plan([going], replace(DAY, done=(Done("going", 70, grade),)), PLAIN)

    assert [70 + grade.step_bpm] == [item.bpm for item in plan.items]


def test_a_recital_brings_its_cards_forward() -> None:
    """Of cards alike in everything, those wanted in ten days are played, and say so.

    Once past, a date is nothing.
    """
    box = [
        played(f"c{k}", bpm=75.0, days_ago=3, order=k, deadline=None if k % 2 else DAY.day + 10)
        for k in range(60)
    ]
    plan = make_plan(box, replace(DAY, minutes=5), PLAIN)
    assert {int(item.card_id[1:]) % 2 for item in plan.items} == {0}
    assert all(", wanted in 10 days: " in item.why for item in plan.items)
    late = [replace(c, deadline=c.deadline and DAY.day - 1) for c in box]
    plain = [replace(c, deadline=None) for c in box]
    assert make_plan(late, DAY, PLAIN) == make_plan(plain, DAY, PLAIN)


def test_a_recital_card_is_at_its_goal_in_time() -> None:
    """Twelve of eighty new cards wanted in three weeks are there; without the date hardly any is.

    The player comes off as expected at each take, as in a forecast.
    """
    on_time = []
    for deadline in (DAY.day + 21, None):
        box = Candidates(
            card(
                f"c{k}",
                order=k,
                belief=prior(PLAIN, bpm=68.0, sd=0.1),
                deadline=deadline if k >= 68 else None,
            )
            for k in range(80)
        )
        for n in range(21):
            practise(box, plan_day(DAY.at + n), PLAIN)
        last = [box.by_id[f"c{k}"] for k in range(68, 80)]
        states = [state(c.belief, DAY.at + 21.0, PLAIN, goal_bpm=c.goal_bpm) for c in last]
        on_time.append(states.count(State.HOLDING))
    assert on_time[0] == 12
    assert on_time[1] <= 6


def test_what_holds_for_months_makes_way_for_what_waits() -> None:
    """A blend whose parts are begun is let in before cards are refreshed that hold for months."""
    secure = Belief(log2(105.0), log(60.0), 0.0009, 0.0, 0.05, DAY.at - 2.0, DAY.day - 2, 1, 20)
    box = [card(f"c{k}", belief=secure, order=k) for k in range(40)]
    box += [
        played("part", bpm=60.0, days_ago=1, order=98),
        card("blend", after=("part",), order=99),
    ]
    chosen = [item.card_id for item in make_plan(box, replace(DAY, minutes=10), PLAIN).items]
    assert {"part", "blend"} <= set(chosen)
    assert len(chosen) > 2


def test_a_player_may_limit_new_cards() -> None:
    """With a limit of two, two new cards are begun in a day, however often it is planned.

    The others say why.
    """
    box = [card(f"c{k}", order=k) for k in range(9)]
    two = replace(DAY, most_new=2)
    first = make_plan(box, two, PLAIN)
    assert [item.card_id for item in first.items[:4]] == ["c0", "c1", "c0", "c1"]
    assert {item.card_id for item in first.items} == {"c0", "c1"}
    assert explain("c2", box, two, PLAIN).startswith("New: as many cards as you want to begin")
    seen = update(box[0].belief, Evidence(DAY.at, DAY.day, 60.0, Grade.STEADY), PLAIN)
    box[0] = replace(box[0], belief=seen)
    again = replace(two, spent_seconds=40.0, done=(Done("c0", 60.0, Grade.STEADY),))
    assert {item.card_id for item in make_plan(box, again, PLAIN).items} == {"c0", "c1"}
