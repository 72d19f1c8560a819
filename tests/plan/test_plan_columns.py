"""The cards of a plan as columns, kept while what is believed of them changes."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from strategies import beliefs, boxes, plan_day

from drillbox.memory import Belief, Parameters, State, prior, state
from drillbox.plan import Candidate, make_plan
from drillbox.plan.candidate_columns import Candidates
from drillbox.plan.planner import planned_visits
from drillbox.plan.table import holds

PLAIN = Parameters()
DAY = plan_day(20450.0)


@examples(60)
@given(boxes(), st.lists(st.tuples(st.integers(0, 24), beliefs())))
def test_what_is_believed_anew_is_as_if_it_had_been_so(
    box: list[Candidate], news: list[tuple[int, Belief]]
) -> None:
    """Told one by one what is believed now, the columns are those of the cards as they are now."""
    kept, cards = Candidates(box), list(box)
    for i, belief in news:
        if i < len(cards):
            kept.believe(i, belief)
            cards[i] = replace(cards[i], belief=belief)
    anew = Candidates(cards)
    assert (cards, {c.card_id: c for c in cards}) == (kept.cards, kept.by_id)
    for name, column in anew.columns._asdict().items():
        assert np.array_equal(column, getattr(kept.columns, name), equal_nan=True), name
    assert list(range(len(cards))) == [kept.place(card.card_id) for card in cards]


@examples(60)
@given(boxes(), st.floats(-30.0, 300.0))
def test_in_hand_is_what_the_memory_calls_holding(box: list[Candidate], later: float) -> None:
    """At any moment, of each card by itself, whatever is believed of it."""
    at = DAY.at + later
    said = [state(c.belief, at, PLAIN, goal_bpm=c.goal_bpm) is State.HOLDING for c in box]
    assert said == holds(Candidates(box).columns, at, PLAIN).tolist()


@examples(60)
@given(boxes())
def test_a_forecast_plays_what_the_plan_says(box: list[Candidate]) -> None:
    """The visits without their reasons are the items of the same day's plan."""
    candidates = Candidates(box)
    visits = planned_visits(candidates, DAY, PLAIN)
    items = make_plan(box, DAY, PLAIN).items
    assert [(i.card_id, i.bpm, i.takes, i.seconds, i.part) for i in items] == [
        (candidates.cards[v.place].card_id, v.bpm, v.takes, v.seconds, v.part) for v in visits
    ]


def test_only_what_is_believed_of_a_card_changes() -> None:
    """Every other field stays, set to something else than it is by itself."""
    card = Candidate(
        *("id", "title", prior(PLAIN), 91.0, 7.0, 3, 2.5, "family", ("a", "b"), 12, True),
        *(DAY.day + 9, 88.0, ("one", "two"), 4, False, 133.0, 6),
    )
    usual = Candidate("", "", prior(PLAIN), 0.0, 0.0)
    unlike = [f.name for f in fields(Candidate) if getattr(card, f.name) != getattr(usual, f.name)]
    assert [f.name for f in fields(Candidate) if f.name != "belief"] == unlike
    new = prior(PLAIN, bpm=99.0)
    assert replace(card, belief=new) == card.with_belief(new)
