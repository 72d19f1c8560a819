"""What a plan answers when asked about a card, and the small values it is made of."""

from __future__ import annotations

from dataclasses import replace
from math import log, log2
from typing import Any

import pytest
from strategies import plan_day

from drillbox.memory import Belief, Evidence, Grade, Parameters, prior, update
from drillbox.plan import Candidate, Day, Done, Part, Plan, ahead, explain, make_plan, take_shape
from drillbox.plan.ahead import _expected, forecast, practise
from drillbox.plan.candidate_columns import Candidates
from drillbox.plan.planner import COMES_OFF
from drillbox.plan.table import tabulate

PLAIN = Parameters()
DAY = plan_day(20200.0)


def new(name: str, **changes: Any) -> Candidate:
    """Return a card nobody has played, goal 80."""
    return replace(Candidate(name, f"card {name}", prior(PLAIN), 80.0, 4.0), **changes)


def known(name: str, bpm: float = 74.0, *, ago: float = 4.0, **changes: Any) -> Candidate:
    """Return a card played a dozen times, goal 80."""
    belief = Belief(
        log2(bpm), log(4.0), 0.0009, 0.0, 0.1, DAY.at - ago, DAY.day - round(ago), 1, 12
    )
    return replace(Candidate(name, f"card {name}", belief, 80.0, 4.0), **changes)


def test_a_day_has_its_minutes_less_what_is_spent() -> None:
    """Fifteen minutes unless said otherwise, the next practice tomorrow; never less than none."""
    assert (900.0, 1.0, None, ()) == (DAY.left_seconds, DAY.next_in_days, DAY.most_new, DAY.done)
    assert replace(DAY, spent_seconds=100.5).left_seconds == 799.5
    assert replace(DAY, minutes=1.0, spent_seconds=61.0).left_seconds == 0.0
    assert (DAY.now.epoch_days, DAY.now.day) == (DAY.at, DAY.day)
    assert Day(DAY.now) == DAY


def test_a_card_is_ordinary_unless_it_says_otherwise() -> None:
    """One bar, weight one, no family, no date, climbing to the fastest tempo that is asked for."""
    card = Candidate("a", "a", prior(PLAIN), 80.0, 4.0)
    plain = (card.bars, card.importance, card.family, card.after, card.order, card.rested)
    assert plain == (1, 1.0, "", (), 0, False)
    assert (card.deadline, card.wanted_bpm, card.decks, card.pace) == (None, 0.0, (), None)
    assert card.ceiling_bpm == 400.0
    assert replace(card, climbs=False).ceiling_bpm == 80.0


def test_new_today_is_what_was_never_played_before_today() -> None:
    """Two takes today of two in all are new; of three they are not, nor yesterday's two."""
    belief = replace(prior(PLAIN), at=DAY.at, day=DAY.day, takes_that_day=2, takes=2)
    card = new("a", belief=belief)
    assert (True, 2) == (card.fresh(DAY.day), card.played(DAY.day))
    assert (False, 0) == (card.fresh(DAY.day + 1), card.played(DAY.day + 1))
    assert not replace(card, belief=replace(belief, takes=3)).fresh(DAY.day)
    assert new("b").fresh(DAY.day)


def test_begun_and_apart() -> None:
    """Taught from the first take on; apart once begun until it has come together."""
    card = new("a")
    one = replace(card, belief=replace(card.belief, takes=1))
    joined = replace(one, belief=replace(one.belief, apart=0.0))
    assert [(False, False), (True, True), (True, False)] == [
        (c.taught, c.apart) for c in (card, one, joined)
    ]


def test_a_deadline_counts_to_its_last_day() -> None:
    """Wanted on the day itself, not the day after, not without a date, not once fast enough."""
    card = known("a", bpm=64.0, deadline=DAY.day)
    assert card.wanted(DAY.day)
    assert not card.wanted(DAY.day + 1)
    assert not replace(card, deadline=None).wanted(DAY.day)
    assert not replace(card, wanted_bpm=64.0).wanted(DAY.day)
    assert replace(card, wanted_bpm=64.1).wanted(DAY.day)


def test_a_plan_is_as_long_as_its_items() -> None:
    """Its seconds are the sum of its items', and the takes of a meeting sum to a visit."""
    box = [new("n"), *(known(f"c{k}", order=k + 1) for k in range(4))]
    plan = make_plan(box, replace(DAY, minutes=6.0), PLAIN)
    assert plan.seconds == pytest.approx(sum(item.seconds for item in plan.items))
    assert Plan((), 1.0, 0.0, admits=True).seconds == 0.0
    takes = [item for item in plan.items if item.card_id == "n"]
    table = tabulate(Candidates(box), DAY, PLAIN)
    assert len(takes) > 1
    assert {1} == {item.takes for item in takes}
    expected = float(table.seconds[0, len(takes) - 1])
    assert expected == pytest.approx(sum(item.seconds for item in takes))
    # Each is a take and a change of card.
    one = take_shape(4.0, 1, takes[0].bpm).seconds + 6.0
    assert [one] * len(takes) == pytest.approx([item.seconds for item in takes])


def test_a_card_waits_and_says_for_what() -> None:
    """The first that it waits for, where that stands, how many more there are, and what else helps.

    Open minutes let it in before its parts are near their goals: once all have come together, or
    on the day that begins those that are missing.
    """
    part = known("p", bpm=60.0)
    blend = new("b", after=("p", "q", "r"), order=1)
    short = replace(DAY, minutes=1.0)
    one = explain("b", [part, replace(blend, after=("p",))], short, PLAIN)
    spare = "A day with minutes to spare"
    assert one == f"Waits for “card p” (near 60, goal 80). {spare} has it sooner."
    assert "b" in {
        item.card_id for item in make_plan([part, replace(blend, after=("p",))], DAY, PLAIN).items
    }
    box = [new("q", after=("p",)), new("r", after=("p",)), blend, part]
    three = explain("b", box, short, PLAIN)
    begun = f"{spare} that begins those cards first has it sooner."
    assert three == f"Waits for “card p” (near 60, goal 80) and 2 more cards. {begun}"
    new_part = explain("b", [new("p"), known("z"), blend], replace(DAY, minutes=0.0), PLAIN)
    begun = f"{spare} that begins that card first has it sooner."
    assert new_part == f"Waits for “card p” (not begun, goal 80). {begun}"
    failed = replace(part, belief=replace(part.belief, apart=1.0))
    assert "Waits for “card p” (near 60, goal 80)." == explain(
        "b", [failed, replace(blend, after=("p",))], short, PLAIN
    )


def test_a_card_that_waits_says_whose_limit_on_new_ones_it_is() -> None:
    """The deck's own pace of two a day, or the player's limit: each says so, and not the other."""
    box = [new(f"n{k}", order=k, decks=("slow",), pace=2) for k in range(3)]
    assert explain("n2", box, replace(DAY, most_new=8), PLAIN) == (
        "New: its deck asks for at most 2 new cards a day,"
        " and today's practice has as many already."
    )
    assert explain("n2", box, replace(DAY, most_new=2), PLAIN) == (
        "New: as many cards as you want to begin in a day are in today's practice already."
    )


def test_new_cards_wait_and_say_for_how_many_minutes() -> None:
    """Cards begun that need more than a day of one minute keep new ones out, in whole minutes."""
    box = [known(f"c{k}", order=k) for k in range(40)]
    sentence = explain("n", [*box, new("n", importance=99.0)], replace(DAY, minutes=2.0), PLAIN)
    need = tabulate(Candidates(box), DAY, PLAIN).upkeep.sum() / 60.0
    assert sentence == (
        f"New cards wait: what you have begun already needs about {need:.0f} minutes a day, and"
        " new ones join it below 2."
    )


def test_the_other_reasons_to_be_left_out() -> None:
    """Enough today, and a look-alike in the plan: each says so in a sentence of its own."""
    seen = known("a", ago=0.0)
    seen = replace(seen, belief=replace(seen.belief, takes_that_day=4))
    box = [seen, *(known(f"c{k}", order=k + 1) for k in range(9))]
    assert explain("a", box, replace(DAY, minutes=3.0), PLAIN) == (
        "Played enough today: more takes on one day add little, so it comes back only where"
        " minutes would stay empty."
    )
    failed = replace(seen, belief=replace(seen.belief, apart=0.5))
    assert explain("a", [failed], replace(DAY, minutes=60.0), PLAIN) == (
        "Played enough today: more takes on one day add little, so it rests until tomorrow."
    )
    alike = [new(f"n{k}", family="x", order=k) for k in range(3)]
    assert explain("n2", alike, replace(DAY, minutes=3.0), PLAIN) == (
        "New, and a card that looks like it is new today as well or has not come together yet."
    )
    with pytest.raises(KeyError):
        explain("nobody", box, DAY, PLAIN)


def test_only_what_comes_off_opens_the_day() -> None:
    """A card at COMES_OFF or likelier may warm up or wrap up; a new one, however easy, may not."""
    box = [known(f"c{k}", bpm=70.0 + k, order=k) for k in range(8)]
    box.append(new("easy", belief=prior(PLAIN, bpm=200.0, sd=0.01), order=9))
    plan = make_plan(box, DAY, PLAIN)
    table = tabulate(Candidates(box), DAY, PLAIN)
    chance = {c.card_id: float(p) for c, p in zip(box, table.success, strict=True)}
    opening = {item.card_id for item in plan.items if item.part is not Part.WORK}
    assert opening
    assert "easy" not in opening
    assert all(chance[name] >= COMES_OFF for name in opening)
    unlikely = [c for c in box if chance[c.card_id] < COMES_OFF]
    parts = {item.part for item in make_plan(unlikely, DAY, PLAIN).items}
    assert Part.WARM_UP not in parts


def test_a_met_card_on_the_stand_lets_one_other_come_between() -> None:
    """After a first take that fell apart, the next item is another card; known cards go on."""
    fell = update(prior(PLAIN), Evidence(DAY.at, DAY.day, 60.0, Grade.FELL_APART), PLAIN)
    box = [new("n", belief=fell), known("c", order=1), known("d", order=2)]
    day = replace(DAY, minutes=5.0, done=(Done("n", 60.0, Grade.FELL_APART),), spent_seconds=40.0)
    names = [item.card_id for item in make_plan(box, day, PLAIN).items]
    assert "n" in names
    assert names[0] != "n"
    alone = [item.card_id for item in make_plan(box[:1], day, PLAIN).items]
    assert alone
    assert {"n"} == set(alone)
    steady = update(box[1].belief, Evidence(DAY.at, DAY.day, 70.0, Grade.STEADY), PLAIN)
    going = [box[0], replace(box[1], belief=steady), box[2]]
    day = replace(day, done=(*day.done, Done("c", 70.0, Grade.STEADY)))
    plan = make_plan(going, day, PLAIN)
    if "c" in {item.card_id for item in plan.items}:
        assert plan.items[0].card_id == "c"


@pytest.mark.parametrize(
    ("right", "expected"),
    [
        (55.0, Grade.FELL_APART),
        (62.0, Grade.FELL_APART),
        (63.0, Grade.SHAKY),
        (67.0, Grade.SHAKY),
        (68.0, Grade.STEADY),
        (72.0, Grade.STEADY),
        (73.0, Grade.CLEAN),
        (77.0, Grade.CLEAN),
        (78.0, Grade.AUTOMATIC),
        (99.0, Grade.AUTOMATIC),
    ],
)
def test_a_forecast_takes_the_grade_that_leads_nearest(right: float, expected: Grade) -> None:
    """Played at 70: the grade whose step leads nearest to the right tempo, cold or warm."""
    cold = known("a", bpm=right, ago=0.0).belief
    cold = replace(cold, day=DAY.day - 1)
    assert expected is _expected(cold, 70, DAY.at, DAY.day, PLAIN)
    warm = replace(cold, mu=log2(right) - 0.5 * PLAIN.boost, day=DAY.day, takes_that_day=1)
    assert expected is _expected(warm, 70, DAY.at, DAY.day, PLAIN)


def test_a_practice_played_through_is_a_day_of_takes() -> None:
    """The takes of a day are dated one after the other inside it, and all are counted."""
    cards = Candidates(known(f"c{k}", order=k, ago=9.0) for k in range(6))
    before = dict(cards.by_id)
    practise(cards, DAY, PLAIN)
    played = [c.belief for c in cards.cards if c != before[c.card_id]]
    moments = sorted(belief.at or 0.0 for belief in played)
    assert len(moments) > 2
    assert moments[-1] <= DAY.at + 900.0 / 86400.0
    assert moments[-1] > DAY.at + 450.0 / 86400.0
    assert {DAY.day} == {belief.day for belief in played}
    assert all(belief.takes > 12 for belief in played)


def test_a_forecast_rests_on_the_days_of_rest() -> None:
    """A box of one new card: begun on the first day that is not one of rest, and no day before.

    It has a row for each day and one for the day after the last.
    """
    rest = {DAY.day, DAY.day + 1}
    seen = forecast([new("a")], DAY, PLAIN, days=4, rest_days=rest)
    assert [DAY.day + n for n in range(5)] == [row.day for row in seen]
    assert [0, 0, 0, 1, 1] == [row.begun for row in seen]
    assert 91 == len(forecast([], DAY, PLAIN))
    assert [0] * 3 == [row.in_hand for row in forecast([], DAY, PLAIN, days=2)]


def test_the_holiday_ahead_enters_a_forecast() -> None:
    """Before a fortnight of rest the last practice is planned for the gap, as a plan by itself is.

    One day forecast with thirteen of rest behind it is the practice with fourteen days ahead.
    """
    box = [known(f"c{k}", bpm=78.0 + k, order=k, ago=1.0 + k % 5) for k in range(20)]
    rest = range(DAY.day + 1, DAY.day + 14)
    seen = forecast(box, replace(DAY, minutes=4.0), PLAIN, days=15, rest_days=rest)
    cards = Candidates(box)
    practise(cards, replace(DAY, minutes=4.0, next_in_days=14.0), PLAIN)
    held = forecast(cards.cards, DAY, PLAIN, days=2, rest_days=range(DAY.day, DAY.day + 9))
    assert (seen[1].in_hand, seen[2].in_hand) == (held[1].in_hand, held[2].in_hand)


def test_a_forecast_knows_the_gap_before_each_practice(monkeypatch: pytest.MonkeyPatch) -> None:
    """Practice on days 0, 1 and 4 of five: gaps of 1 and 3 days, and after the last one of 1."""
    gaps = []

    def noted(cards: Candidates, day: Day, parameters: Parameters) -> None:
        assert cards.cards
        assert parameters is PLAIN
        gaps.append((day.day - DAY.day, day.next_in_days, day.minutes, day.spent_seconds))

    monkeypatch.setattr(ahead, "practise", noted)
    rest = {DAY.day + 2, DAY.day + 3}
    forecast([new("a")], replace(DAY, minutes=7.0), PLAIN, days=5, rest_days=rest)
    assert [(0, 1.0, 7.0, 0.0), (1, 3.0, 7.0, 0.0), (4, 1.0, 7.0, 0.0)] == gaps
