"""What is said and offered when the day is over: its cards, what comes next, goals, a deck."""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest

from drillbox.app import next_steps
from drillbox.app.day_sheet import MOST_NAMED, coming_words, done_rows, gone_words
from drillbox.app.next_steps import ENOUGH_SECONDS, NextSteps
from drillbox.app.screens.wrapup import _over
from drillbox.base.wording import counted
from drillbox.memory import Grade
from drillbox.plan import Item, Part

if TYPE_CHECKING:
    from drillbox.app.desk import Desk
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box


def test_only_a_day_past_its_minutes_is_explained() -> None:
    """To the second; how many minutes it has is said."""
    assert "" == _over(900.0, 15)
    assert "15 minutes" in _over(900.1, 15)
    assert "1 minute." in _over(61.0, 1)


def test_a_day_that_is_over_has_a_row_for_each_card(box: Box, clock: ManualClock) -> None:
    """In the order they were begun; first and last tempo where they differ; the last grade."""
    for slug, bpm, grade in (
        ("a", 70, Grade.STEADY),
        ("e", 60, Grade.CLEAN),
        ("e", 65, Grade.STEADY),
        ("e", 65, Grade.SHAKY),
    ):
        clock.forward(seconds=40.0)
        box.record(box.find(slug), bpm, grade, clock.now(), 40)
    rows = done_rows(box, at=clock.now())

    assert [("1", "70", "steady"), ("3", "60→65", "shaky")] == [row[1:4] for row in rows]


def test_a_card_that_left_with_its_deck_keeps_the_title_it_was_played_as(
    box: Box, clock: ManualClock
) -> None:
    """Its id says nothing to a player; of a take before this start nothing else is known."""
    card = box.find("e")
    title = box.title(card)
    box.record(card, 60, Grade.STEADY, clock.now(), 40)
    box.remove_deck("first-ghosts")
    assert [(title, "gone")] == [
        (row[0], row[4]) for row in done_rows(box, at=clock.now(), played_as={card: title})
    ]
    assert f"card {card}" == done_rows(box, at=clock.now())[0][0]


@pytest.mark.parametrize("cards", [1, MOST_NAMED, MOST_NAMED + 1, MOST_NAMED + 3])
def test_what_comes_next_is_named_up_to_four_and_counted_beyond(cards: int) -> None:
    """Each card once, at the tempo of its first visit; of what slips the first four."""
    items = [Item(f"c{n}", 60 + n, 3, 90.0, "because", Part.WORK) for n in range(cards)]
    again = [Item("c0", 99, 1, 30.0, "because", Part.WRAP_UP)]
    slipping = [SimpleNamespace(title=f"s{n}", returns_on=12 + n) for n in range(cards)]
    box = SimpleNamespace(
        now=lambda _: SimpleNamespace(day=10),
        next_practice=lambda at: (11, SimpleNamespace(items=[*items, *again])),
        title=lambda card_id: card_id,
        coming=lambda at, days: slipping if days == 7 else [],
    )
    first, slips = coming_words(cast("Box", box), at=cast("Any", None)).splitlines()

    assert min(cards, MOST_NAMED) == first.count(" at ")
    assert "c0 at 60" in first
    assert (f"{cards - MOST_NAMED} more" in first) == (cards > MOST_NAMED)
    assert min(cards, MOST_NAMED) == slips.count("in ")
    assert "s0 in 2 d" in slips


@pytest.mark.parametrize(("slips_on", "told"), [(10, "tomorrow"), (11, "tomorrow"), (12, "in 2 d")])
def test_nothing_holds_and_slips_on_one_day(slips_on: int, told: str) -> None:
    """A card that holds now is said to slip by tomorrow at the soonest."""
    box = SimpleNamespace(
        now=lambda _: SimpleNamespace(day=10),
        next_practice=lambda at: (11, SimpleNamespace(items=[])),
        coming=lambda at, days: [SimpleNamespace(title="e of 1", returns_on=slips_on)],
    )

    assert coming_words(cast("Box", box), at=cast("Any", None)).endswith(f": e of 1 {told}.")


@pytest.mark.parametrize(
    ("left", "items", "in_box", "offered"),
    [
        (ENOUGH_SECONDS, (), 3, True),
        (ENOUGH_SECONDS - 0.1, (), 3, False),
        (900.0, ("one",), 3, False),
        (900.0, (), 0, False),
    ],
)
def test_a_deck_is_offered_where_much_of_the_day_is_left_and_nothing_to_play(
    monkeypatch: pytest.MonkeyPatch, left: float, items: object, in_box: int, *, offered: bool
) -> None:
    """Two minutes are much; a box without a card has had no day."""
    deck = SimpleNamespace(title="Next", cards=[SimpleNamespace(title="e")])
    monkeypatch.setattr(next_steps, "_next_deck", lambda *_: deck)
    box = SimpleNamespace(
        now=lambda at: at,
        goals=SimpleNamespace(outgrown=lambda _: ()),
        plan=lambda at, minutes: SimpleNamespace(items=items, left_seconds=left),
        cards_in_box=in_box,
    )
    steps = NextSteps(cast("Desk", SimpleNamespace(box=box, minutes_today=lambda: 15)))
    steps.look(at=cast("Any", None))

    assert offered == (steps.deck is not None)
    assert not steps.may_raise
    assert offered == bool(steps.sentences())


@pytest.mark.parametrize("cards", [1, 2, next_steps.MOST_NAMED + 2])
def test_outgrown_goals_are_named_and_what_was_raised_is_counted(cards: int) -> None:
    """From where to where, the first few by name; then how many went up, and the key back."""
    changes = tuple(SimpleNamespace(title=f"c{n}", now_bpm=90, then_bpm=95) for n in range(cards))
    goals = SimpleNamespace(make=lambda *_, **__: None, undo=lambda **_: None)
    steps = NextSteps(cast("Desk", SimpleNamespace(box=SimpleNamespace(goals=goals))))
    none = steps.sentences()
    steps.outgrown = cast("Any", changes)
    offered = steps.sentences()
    steps.raise_or_take_back(at=cast("Any", None))
    raised = steps.sentences()

    assert "" == none
    have = "card has outgrown its goal" if cards == 1 else "cards have outgrown their goals"
    assert offered.startswith(f"{cards} {have}. r raises by 5: c0 90 to 95")
    assert min(cards, next_steps.MOST_NAMED) == offered.count(" 90 to 95")
    assert f"Goals of {counted(cards, 'card')} raised by 5: r takes it back." == raised


@pytest.mark.parametrize(
    ("left", "told"), [(0, ""), (1, "1 card of today has left"), (2, "2 cards of today have left")]
)
def test_cards_of_today_that_left_the_box_are_counted(left: int, told: str) -> None:
    """Each once, however often it was played; those that are there are not."""
    played = [f"c{n}" for n in range(3)] * 2
    box = SimpleNamespace(
        day=lambda _: SimpleNamespace(takes=[SimpleNamespace(card_id=one) for one in played]),
        entries=lambda: dict.fromkeys([f"c{n}" for n in range(left, 9)]),
    )
    words = gone_words(cast("Box", box), at=cast("Any", None))

    assert words.startswith(told)
    assert bool(left) == bool(words)
    assert left != 1 or words.endswith("once it is back.")
    assert left != 2 or words.endswith("once they are back.")


def test_one_key_raises_goals_and_takes_that_back() -> None:
    """The same offer is not made twice at once; with none nothing is changed."""
    done: list[str] = []
    goals = SimpleNamespace(
        make=lambda changes, at: done.append(f"{len(changes)} up"),
        undo=lambda at: done.append("back"),
    )
    desk = SimpleNamespace(box=SimpleNamespace(goals=goals))
    steps = NextSteps(cast("Desk", desk))
    steps.raise_or_take_back(at=cast("Any", None))
    steps.outgrown = cast("Any", ("one", "two", "three"))
    told = [steps.may_raise]
    for _ in range(3):
        steps.raise_or_take_back(at=cast("Any", None))
        steps.outgrown = () if done[-1] != "back" else cast("Any", ("one",))
        told.append(steps.may_raise)

    assert ["3 up", "back", "1 up"] == done
    assert [True] * 4 == told
    assert "" == steps.add_deck(at=cast("Any", None))
