"""The families' curves, worked out again by hand from the days that are kept."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from drillbox.memory import Grade
from drillbox.report.year_figures import family_curves

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


def test_a_familys_curve_is_the_mean_of_its_cards_on_each_day(box: Box, clock: ManualClock) -> None:
    """Each card at what was expected after its last practice; today at what is expected now."""
    start = clock.now()
    for day in range(12):
        for n, name in enumerate(("e", "a", "e-a")[: 1 + day // 4]):
            bpm, grade = 70 + 2 * day + 5 * n, Grade.CLEAN if day % 3 else Grade.SHAKY
            at = start + timedelta(days=day, minutes=n)
            box.record(box.find(name), bpm=bpm, grade=grade, at=at, seconds=40)
    clock.forward(days=20)
    now = clock.now()
    curves = family_curves(box, at=now)
    titles = box.deck_titles()
    days, cards = box.days(), {card.card_id: card for card in box.cards(at=now)}
    kept = list(zip(days.card.tolist(), days.rows.day.tolist(), days.rows.mu.tolist(), strict=True))

    assert sum(card.cold_bpm is not None for card in cards.values()) == sum(
        curve.cards for curve in curves
    )
    for curve in curves:
        mine = {
            card_id
            for card_id, card in cards.items()
            if card.cold_bpm is not None and curve.name in {card.family, titles[card.deck_ids[0]]}
        }
        for ordinal, told in zip(curve.days[:-1], curve.bpm[:-1], strict=True):
            tempi = {days.cards[c]: 2.0**mu for c, on, mu in kept if on <= ordinal}
            known = [tempo for card_id, tempo in tempi.items() if card_id in mine]
            assert told == pytest.approx(sum(known) / len(known))
        colds = [cards[card_id].cold_bpm or 0.0 for card_id in mine]
        assert box.now(now).day == curve.days[-1]
        assert curve.bpm[-1] == pytest.approx(sum(colds) / len(colds))


def test_what_has_not_come_together_has_no_curve(box: Box, clock: ManualClock) -> None:
    """Takes that fell apart tell no tempo."""
    box.record(box.find("a"), bpm=80, grade=Grade.FELL_APART, at=clock.now(), seconds=40)

    assert () == family_curves(box, at=clock.now())
