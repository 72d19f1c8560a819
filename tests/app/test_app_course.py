"""A day at the stand brings what its plan promised, whoever plays it."""

from __future__ import annotations

from datetime import timedelta
from itertools import groupby, pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drillbox.app.day_order import MOST_IN_A_ROW
from drillbox.app.sitting import Phase, Sitting
from drillbox.app.unsaved import Unsaved
from drillbox.box import Box
from drillbox.box.practice import by_card
from drillbox.deckfile import parse_deck
from drillbox.memory import Grade

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock

FIRST_WEEK = Path(__file__).parents[2] / "decks" / "first-week.toml"
LONE_DECK = """\
[deck]
id = "alone"
title = "Alone"
edition = 1
author = "a teacher"
licence = "CC0-1.0"
about = "One card for tests."
goal = 90

[[card]]
id = "e"
title = "e of every beat"
snare = ">1 (e) >2 (e) >3 (e) >4 (e)"
"""
READS, GRADES = 5.0, 3.0
"""Seconds that a player of these tests reads a card that is new on the stand, and grades a take."""


def first_week(clock: ManualClock) -> Box:
    """Return a box with the first of the starter decks."""
    box = Box.open(":memory:", clock=clock)
    box.put_deck(parse_deck(FIRST_WEEK.read_text(), name="first-week"), at=clock.now())
    return box


def take(sitting: Sitting, clock: ManualClock, grade: Grade, *, reads: float) -> str:
    """Play the take on the stand and grade it; return its card."""
    card = sitting.card.card_id
    clock.forward(seconds=reads)
    sitting.start()
    clock.forward(seconds=sitting.shape.seconds - 6.0)
    sitting.finished_playing()
    clock.forward(seconds=GRADES)
    sitting.grade(grade)
    return card


def play_day(sitting: Sitting, clock: ManualClock, grade: Grade) -> list[str]:
    """Play until the stand has no more to play; return the card of each take."""
    cards = [""]
    while sitting.phase is not Phase.OVER:
        new = sitting.card.card_id != cards[-1]
        cards.append(take(sitting, clock, grade, reads=READS if new else 0.0))
    return cards[1:]


@pytest.mark.parametrize("minutes", [6, 15])
@pytest.mark.parametrize("grade", [Grade.SHAKY, Grade.STEADY, Grade.CLEAN, Grade.AUTOMATIC])
def test_a_day_brings_all_that_its_plan_promised(
    clock: ManualClock, grade: Grade, minutes: int
) -> None:
    """On three days: every card of the plan, few takes of one in a row, all in the minutes."""
    with first_week(clock) as box:
        for _ in range(3):
            begun = clock.now()
            promised = {item.card_id for item in box.plan(begun, minutes).items}
            sitting = Sitting(box, clock, minutes=minutes, unsaved=Unsaved(box, clock))
            cards = play_day(sitting, clock, grade)

            assert promised <= set(cards)
            assert MOST_IN_A_ROW >= max(len(list(run)) for _, run in groupby(cards))
            assert timedelta(minutes=minutes) >= clock.now() - begun
            clock.forward(seconds=86_400.0 - (clock.now() - begun).total_seconds())


def test_a_first_meeting_is_spread_over_the_day(clock: ManualClock) -> None:
    """What fell apart comes back after another card, not at once: A B A."""
    with first_week(clock) as box:
        sitting = Sitting(box, clock, minutes=15, unsaved=Unsaved(box, clock))
        cards = play_day(sitting, clock, Grade.FELL_APART)[:6]

        assert all(one != other for one, other in pairwise(cards))
        assert len(set(cards)) < len(cards)


def test_the_stand_says_which_card_comes_next(clock: ManualClock) -> None:
    """After the last take of a visit it is the one that was announced before, while all is well."""
    with first_week(clock) as box:
        sitting = Sitting(box, clock, minutes=15, unsaved=Unsaved(box, clock))
        announced = sitting.following
        take(sitting, clock, Grade.STEADY, reads=READS)

        assert announced is not None
        assert announced.card.card_id == sitting.card.card_id


def test_a_card_that_has_the_day_to_itself_goes_on(clock: ManualClock) -> None:
    """With nothing to put between its takes follow each other, as many as are planned."""
    with Box.open(":memory:", clock=clock) as box:
        box.put_deck(parse_deck(LONE_DECK, name="alone"), at=clock.now())
        planned = box.plan(clock.now(), 15).items
        sitting = Sitting(box, clock, minutes=15, unsaved=Unsaved(box, clock))
        played = play_day(sitting, clock, Grade.SHAKY)

        assert [by_card(planned)[0].card_id] == list(dict.fromkeys(played))
        assert sum(item.takes for item in planned) <= len(played)
        assert len(played) > MOST_IN_A_ROW


def test_the_plan_is_told_card_by_card(clock: ManualClock) -> None:
    """A card that comes back between others is one row, with all its takes and all its time."""
    with first_week(clock) as box:
        plan = box.plan(clock.now(), 15)
        rows = by_card(plan.items)

        assert len(rows) == len({item.card_id for item in plan.items}) < len(plan.items)
        assert sum(item.takes for item in plan.items) == sum(row.takes for row in rows)
        assert plan.seconds == pytest.approx(sum(row.seconds for row in rows))
        assert plan.items[0].card_id == rows[0].card_id
