"""What the plan says in words over a month: no sentence that cannot be true."""

from __future__ import annotations

import random
import re
from datetime import timedelta
from typing import TYPE_CHECKING

from drillbox.memory import Grade

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.plan import Item

NEVER = ("some years", "years", "ago", "-1", "nan", "inf ", "no takes", "  ", "None")
"""Words for what nobody knows, for what is past, and for numbers that are none."""
NOW_AND_GOAL = re.compile(r"(?:About|now near) (\d+).*on the way to (\d+)")
UNDER = re.compile(r"about (\d+) today and (?:just )?under its goal of (\d+)")


def wrong_with(sentence: str, *, takes: int) -> list[str]:
    """Return what cannot be true in a sentence about a card that was played so many times."""
    wrong = [word for word in NEVER if word in sentence]
    if takes and sentence.startswith("New"):
        wrong.append("new after a take")
    for pattern in (NOW_AND_GOAL, UNDER):
        told = pattern.search(sentence)
        if told and int(told[1]) > int(told[2]):
            wrong.append("on the way to a goal that is passed")
    return wrong


def wrong_in_all(
    box: Box, planned: Iterable[Item], at: datetime, taken: dict[str, int]
) -> list[str]:
    """Return the sentences of a moment with something wrong in them: in the plan, and left out."""
    said = [(item.card_id, item.why) for item in planned]
    every = [(card.card_id, box.why(card.card_id, at=at)) for card in box.cards(at=at)]
    return [
        f"{why} ({wrong})"
        for card, why in said + every
        if (wrong := wrong_with(why, takes=taken.get(card, 0)))
    ]


def test_a_month_of_reasons_says_nothing_impossible(box: Box, clock: ManualClock) -> None:
    """Played by a player who gets better, with a week away.

    After each take every sentence can be true.
    """
    chance, start = random.Random(5), clock.now()
    taken: dict[str, int] = {}
    wrong: list[str] = []
    for day in (*range(14), *range(21, 30)):
        at = start + timedelta(days=day)
        for _ in range(8):
            items = box.plan(at=at).items
            wrong += wrong_in_all(box, items, at, taken)
            if not items:
                break
            item = items[0]
            ease = 60 + 3 * day - item.bpm + chance.gauss(0, 8)
            grade = Grade(max(-2, min(2, round(ease / 8))))
            at += timedelta(seconds=45)
            box.record(item.card_id, item.bpm, grade, at, 45)
            taken[item.card_id] = taken.get(item.card_id, 0) + 1
    assert [] == wrong
    assert 100 < sum(taken.values())
    assert 4 == len(taken)


def test_the_check_finds_what_cannot_be_true() -> None:
    """Sentences of the kinds that must never come back are found."""
    for sentence, takes in (
        ("holds 72 for another some years", 3),
        ("New, not begun: the cards in the plan gain more from the same time.", 4),
        ("Played today already, now near 92, on the way to 80: one take more at 92.", 2),
        ("about 84, slips under the goal 53 days ago", 5),
    ):
        assert wrong_with(sentence, takes=takes)
