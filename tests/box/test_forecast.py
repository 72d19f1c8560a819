"""The next weeks as the model sees them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


def test_a_forecast_is_the_same_for_the_same_box(box: Box, clock: ManualClock) -> None:
    """No clock, no chance: asked twice, answered alike; and the box is as it was."""
    before = box.cards(at=clock.now())
    first = box.ahead(at=clock.now(), minutes=15, days=40)

    assert first == box.ahead(at=clock.now(), minutes=15, days=40)
    assert before == box.cards(at=clock.now())
    assert 40 == len(first)


def test_practice_brings_the_vocabulary_into_hand(box: Box, clock: ManualClock) -> None:
    """Fifteen minutes a day for three months bring more of four cards to their goals.

    Rested cards stay where they are.
    """
    course = box.ahead(at=clock.now(), minutes=15, days=90)

    assert course[0] < 2
    assert course[-1] > course[0] + 1
    for card in box.cards(at=clock.now()):
        box.rest(card.card_id, resting=True, at=clock.now())
    assert {0} == set(box.ahead(at=clock.now(), minutes=15, days=30))


def test_holidays_cost(box: Box, clock: ManualClock) -> None:
    """With practice on one day in a fortnight less is in hand than with practice every day."""
    daily = box.ahead(at=clock.now(), minutes=10, days=60)
    box.change_settings(at=clock.now(), days="FREQ=DAILY;INTERVAL=14")
    seldom = box.ahead(at=clock.now(), minutes=10, days=60)

    assert sum(seldom) < sum(daily)
