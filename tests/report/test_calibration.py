"""How well first takes are foretold.

Counted once each, and right for a player who is as the model says.
"""

from __future__ import annotations

import random
from datetime import timedelta
from typing import TYPE_CHECKING

from drillbox.memory import Grade, Parameters
from drillbox.report.calibration import Tenth, calibration, calibration_chart

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box

DAYS = 60


def test_a_player_who_is_as_the_model_says_is_foretold_rightly(
    box: Box, clock: ManualClock
) -> None:
    """Grades drawn from what is believed come off as often as told, within fifteen points."""
    chance = random.Random(7)
    sigma = Parameters().sigma
    for _ in range(DAYS):
        for number, card in enumerate(box.cards(at=clock.now())):
            at = clock.now() + timedelta(minutes=number)
            told = box.outlook(card.card_id, at=at)
            bpm = round(told.cold_bpm * chance.uniform(0.9, 1.1))
            right = told.cold_bpm * 2 ** chance.gauss(0.0, (told.sd**2 + sigma**2) ** 0.5)
            grade = Grade(min(max(round((right - bpm) / 5), -2), 2))
            box.record(card.card_id, bpm=bpm, grade=grade, at=at, seconds=40)
        clock.forward(days=1)
    tenths = calibration(box)

    assert 4 * (DAYS - 1) == sum(tenth.takes for tenth in tenths)
    for tenth in tenths:
        if tenth.takes >= 30:
            assert abs(tenth.said - tenth.seen) < 0.15


def test_steady_has_come_off_and_shaky_has_not(box: Box, clock: ManualClock) -> None:
    """Counted by hand: of two later days one came off."""
    box.record(box.find("e"), bpm=80, grade=Grade.STEADY, at=clock.now(), seconds=40)
    for grade in (Grade.STEADY, Grade.SHAKY):
        clock.forward(days=1)
        box.record(box.find("e"), bpm=80, grade=grade, at=clock.now(), seconds=40)
    tenths = calibration(box)

    assert 2 == sum(tenth.takes for tenth in tenths)
    assert 1.0 == sum(tenth.seen * tenth.takes for tenth in tenths)
    assert all(0.1 * int(10 * tenth.said) <= tenth.said < 1.0 for tenth in tenths)


def test_takes_of_one_day_foretell_nothing(box: Box, clock: ManualClock) -> None:
    """The first day of a card and its warm takes are left out."""
    for _ in range(3):
        box.record(box.find("e"), bpm=80, grade=Grade.STEADY, at=clock.now(), seconds=40)

    assert () == calibration(box)


def test_the_chart_has_a_line_a_tenth() -> None:
    """The bar is what was seen, the mark what was told."""
    lines = calibration_chart((Tenth(0.25, 0.5, 8), Tenth(0.85, 0.8, 40)), width=66).splitlines()

    assert " 25 %   50 %      8" in lines[1]
    assert 19 == lines[1].count("█")
    assert "┃" == lines[2][-1]
