"""Beliefs as the box keeps them: what makes sense, what is the same, how late it is, whose goal."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from math import inf, nan
from typing import TYPE_CHECKING

import pytest

from drillbox.box.agreement import differing
from drillbox.box.beliefs import MOST_ONE_BY_ONE, _belief, _row
from drillbox.box.catalogue import _goal, _keeping, _paces
from drillbox.box.days_played import DayRow, packed
from drillbox.box.history import first_belief
from drillbox.deckfile import parse_deck
from drillbox.memory import Belief, Grade, Parameters, State, prior
from drillbox.store import TakeRow, Wish

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.deckfile import Deck

CARD = "c" * 16
P = Parameters()
KNOWN = Belief(6.4, 1.5, 0.01, -0.02, 0.3, 20000.5, 739163, 2, 9, 0.25, 3.5, 0.01)
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


@pytest.mark.parametrize("belief", [KNOWN, prior(P), replace(KNOWN, apart=0.0)])
def test_a_kept_belief_comes_back_exactly(belief: Belief) -> None:
    """Nothing of it is lost, not what is not known yet."""
    assert belief == _belief(_row(CARD, belief, b""))


@pytest.mark.parametrize("place", [0, 1, 2, 3, 4, 9, 11])
def test_numbers_out_of_all_reason_are_no_belief(place: int) -> None:
    """Fifty octaves, or fifty powers of e, are none; a little less is; neither nan nor endless."""
    row = _row(CARD, KNOWN, b"")

    def changed(number: float) -> Belief:
        return _belief(replace(row, body=(*row.body[:place], number, *row.body[place + 1 :])))

    changed(49.99)
    if place in {2, 4}:  # a variance
        with pytest.raises(ValueError, match=CARD):
            changed(-49.99)
    else:
        changed(-49.99)
    for number in (50.0, -50.0, nan, inf):
        with pytest.raises(ValueError, match=CARD):
            changed(number)


@pytest.mark.parametrize("numbers", [0, 12, 14])
def test_more_or_fewer_numbers_are_no_belief(numbers: int) -> None:
    """A row that another version wrote under this one's name is not read by guesswork."""
    row = _row(CARD, KNOWN, b"")
    assert 13 == len(row.body)
    with pytest.raises(ValueError, match=CARD):
        _belief(replace(row, body=(*row.body, 0.0)[:numbers]))


def test_the_last_bits_are_no_difference() -> None:
    """A billionth is none, a millionth is one, in the belief and in its days; so is another day."""
    days = packed([DayRow(1.0, 1.0, 2.0, 30.0, 5.0, 6.0, 1.0, 0.0)])
    mine = _row(CARD, KNOWN, days)
    nearly = _row(CARD, replace(KNOWN, mu=KNOWN.mu * (1 + 1e-10)), days)
    others = [
        _row(CARD, replace(KNOWN, mu=KNOWN.mu * (1 + 1e-6)), days),
        _row(CARD, replace(KNOWN, mu=inf), days),
        _row(CARD, replace(KNOWN, at=None), days),
        _row(CARD, KNOWN, packed([DayRow(1.0, 1.0, 3.0, 30.0, 5.0, 6.0, 1.0, 0.0)])),
        _row(CARD, KNOWN, days * 2),
        _row(CARD, KNOWN, b""),
    ]
    assert frozenset() == differing([], []) == differing([mine], [mine])
    assert frozenset() == differing([mine], [nearly])
    for other in others:
        assert frozenset({CARD}) == differing([mine], [other]) == differing([other], [mine])


@pytest.mark.parametrize("wrong", [{1}, {2}, {3}, {1, 3}])
def test_only_the_cards_that_differ_are_named(wrong: set[int]) -> None:
    """Wherever they stand among others: a number of their last day differs, or a day is more."""
    day = DayRow(1.0, 1.0, 2.0, 30.0, 5.0, 6.0, 1.0, 0.0)
    days = {k: [day] * k for k in (1, 2, 3)}
    otherwise = {k: [day] * (k - 1) + [day._replace(mu=7.0)] for k in days}
    longer = {k: [day] * (k + 1) for k in days}
    kept = [_row(f"{k}" * 16, KNOWN, packed(days[k])) for k in days]
    for changed in (otherwise, longer):
        told = {k: changed[k] if k in wrong else days[k] for k in days}
        anew = [_row(f"{k}" * 16, KNOWN, packed(told[k])) for k in days]
        assert {f"{k}" * 16 for k in wrong} == differing(kept, anew)


def test_a_first_take_says_what_was_expected_only_whole() -> None:
    """Tempo and doubt together; one of them alone is nothing."""
    told = {"expected_bpm": 90.0, "expected_sd": 0.2}
    assert prior(P, bpm=90.0, sd=0.2) == first_belief(told, P)
    for some in (None, {}, {"expected_bpm": 90.0}, {"expected_sd": 0.2}):
        assert prior(P) == first_belief(some, P)


@pytest.mark.parametrize(
    ("own", "given", "expected"),
    [
        (None, None, None),
        (80.0, None, 80.0),
        (None, (90.0, 0), 90.0),
        (80.0, (90.0, -1), 80.0),
        (80.0, (90.0, 0), 90.0),
        (80.0, (90.0, 1), 90.0),
    ],
)
def test_the_later_word_on_a_goal_stands(
    own: float | None, given: tuple[float, int] | None, expected: float | None
) -> None:
    """The player's if it is later; of one moment, and where the player has none, the teacher's."""
    wish = Wish(CARD, own, None, resting=False, at=NOON)
    teacher = None if given is None else (given[0], NOON + timedelta(hours=given[1]))
    assert expected == _goal(wish, teacher)
    assert (given and given[0]) == _goal(None, teacher)


def test_a_head_says_its_pace_and_that_it_keeps() -> None:
    """On a line of its own, with blanks or none; a longer name and `false` say nothing."""
    heads = {"a": "[deck]\npace=3\nkeep = true", "b": "\tpace = 12\n keep=true # so",
             "c": "space = 3\nkeep = false", "d": "paces = 4\nkeeper = true", "e": "",
             "f": "pace = 5x\nkeep = truely"}  # fmt: skip
    assert {"a": 3, "b": 12} == _paces(heads)
    assert frozenset("ab") == _keeping(heads)


@pytest.mark.parametrize("cards", [1, 3, 4])
def test_takes_that_come_in_late_are_believed_as_if_in_time(
    box: Box, clock: ManualClock, cards: int
) -> None:
    """From another machine, of some cards or of all: the same as a fresh replay of the log."""
    ids = [card.card_id for card in box.cards(at=clock.now())][:cards]
    for card in ids:
        box.record(card, bpm=80, grade=Grade.STEADY, at=clock.now(), seconds=40)
    late = [
        TakeRow(f"{n:032x}", card, 70.0, 1, clock.now() - timedelta(days=2), "+01:00", 30.0, "self")
        for n, card in enumerate(ids, start=900)
    ]
    assert cards == box.merge(late)
    assert {2} == {box.card(card, at=clock.now()).takes for card in ids}
    assert frozenset() == box.wrong_beliefs()
    before = [box.outlook(card, at=clock.now()) for card in ids]
    box.forget_beliefs()
    again = [box.outlook(card, at=clock.now()) for card in ids]
    assert [one.cold_bpm for one in before] == pytest.approx([one.cold_bpm for one in again])
    assert MOST_ONE_BY_ONE == 12


def test_what_the_player_set_aside_stays_so_in_a_new_edition(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """A card that the edition before had as well is not woken; nor is its own rest a removal's."""
    a = box.find("a")
    box.rest(a, resting=True, at=clock.now())
    text = small_deck.text.replace("edition = 1", "edition = 2").replace("goal = 90", "goal = 95")
    box.put_deck(parse_deck(text, name="second.toml"), at=clock.now())
    card = box.card(a, at=clock.now())
    assert (State.RESTED, 95.0) == (card.state, card.goal_bpm)
    assert State.WAITING is box.card(box.find("e"), at=clock.now()).state
