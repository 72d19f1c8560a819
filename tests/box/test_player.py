"""A player's own numbers.

Learned from the log, kept as a setting, used by every belief, never without need.
"""

from __future__ import annotations

import random
from datetime import timedelta
from math import log2
from typing import TYPE_CHECKING

import pytest

from drillbox.box.learned_numbers import KEY, parameters_in
from drillbox.memory import MODEL_VERSION, Grade, Parameters
from drillbox.memory.learning import FEWEST_COLD_TAKES

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box

NOISY_SIGMA = 0.2


def practise(box: Box, clock: ManualClock, *, days: int, noise: float) -> None:
    """Play every card once a day as a player does whose takes vary by `noise` octaves."""
    chance = random.Random(5)
    for day in range(days):
        for number, card in enumerate(box.cards(at=clock.now())):
            right = 2 ** chance.gauss(log2(80) + 0.04 * log2(1 + day), noise)
            grade = Grade(min(max(round((right - 85) / 5), -2), 2))
            at = clock.now() + timedelta(minutes=number)
            box.record(card.card_id, bpm=85, grade=grade, at=at, seconds=40)
        clock.forward(days=1)


def test_too_few_takes_teach_nothing(box: Box, clock: ManualClock) -> None:
    """The sentence says how many there are and how many are needed; nothing is kept."""
    practise(box, clock, days=3, noise=0.05)
    lesson = box.learn(at=clock.now())

    assert not lesson.changed
    assert f"12 first takes of a day so far; from {FEWEST_COLD_TAKES} on" in lesson.sentences[0]
    assert KEY not in box.archive.settings()
    assert not box.learning_is_due(at=clock.now())


def test_an_uneven_player_is_told_so_and_believed_less(box: Box, clock: ManualClock) -> None:
    """Takes that vary more than assumed give a larger sigma.

    Beliefs follow, and so does a second window's.
    """
    practise(box, clock, days=90, noise=NOISY_SIGMA)
    e = box.find("e")
    before = box.outlook(e, at=clock.now())
    assert box.learning_is_due(at=clock.now())
    lesson = box.learn(at=clock.now())
    after = box.outlook(e, at=clock.now())

    assert lesson.changed
    assert any("vary about" in sentence for sentence in lesson.sentences)
    assert parameters_in(box.archive.settings()).sigma > Parameters().sigma
    assert before != after
    assert not box.learning_is_due(at=clock.now())


@pytest.mark.parametrize(
    "stored",
    [
        {"model": "another", "gain": 0.05, "boost": 0.04, "sigma": 0.08},
        {"model": MODEL_VERSION, "gain": 50.0, "boost": float(10**9), "sigma": "loud"},
        "nonsense",
        None,
    ],
)
def test_numbers_that_cannot_be_meant_are_passed_over(
    box: Box, clock: ManualClock, stored: object
) -> None:
    """A setting of another model, or out of all reason, leaves the starting numbers."""
    box.archive.put_setting(KEY, stored, clock.now())

    assert Parameters() == parameters_in(box.archive.settings())


def test_relatives_move_the_first_tempo_of_a_card_nobody_played(
    box: Box, clock: ManualClock
) -> None:
    """Fast first takes raise what is expected of the others, slow ones lower it.

    The log keeps what was expected.
    """
    e, a = box.find("e"), box.find("a")
    plain = box.outlook(a, at=clock.now()).cold_bpm
    box.record(e, bpm=130, grade=Grade.STEADY, at=clock.now(), seconds=40)
    fast = {item.card_id: item.bpm for item in box.plan(at=clock.now()).items}
    box.undo(at=clock.now())
    box.record(e, bpm=45, grade=Grade.STEADY, at=clock.now(), seconds=40)
    slow = {item.card_id: item.bpm for item in box.plan(at=clock.now()).items}
    box.record(a, bpm=60, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    (first,) = box.archive.takes(card_id=a)

    assert fast[a] > slow[a]
    assert first.measures is not None
    assert first.measures["expected_bpm"] < plain


def test_a_good_morning_lifts_the_cards_not_played(box: Box, clock: ManualClock) -> None:
    """Where known cards come off too easily, a card not seen for weeks is expected faster.

    Where the player's level stood is written down with each take, so a fresh replay agrees.
    """
    a, e = box.find("a"), box.find("e")
    for day in range(0, 12, 3):
        at = clock.now() + timedelta(days=day)
        for card in (a, e):
            box.record(card, bpm=70, grade=Grade.STEADY, at=at, seconds=40)
    later = clock.now() + timedelta(days=30)
    before = box.outlook(e, at=later).cold_bpm
    box.record(a, bpm=70, grade=Grade.AUTOMATIC, at=later, seconds=40)
    measures = box.archive.takes()[-1].measures or {}

    assert before < box.outlook(e, at=later).cold_bpm < 1.02 * before
    assert measures["level"] < measures["level_after"]
    assert frozenset() == box.wrong_beliefs()
