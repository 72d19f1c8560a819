"""Marks of the weeks, days read in bulk, doubt from one side: small things of the studio."""

from __future__ import annotations

import gc
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import pytest
from students_by_hand import TODAY, aged, card, student

from drillbox.base.tempi import LOGGED
from drillbox.studio import Asked, DeckInfo, look_at, studio_page
from drillbox.studio.day_lines import days_at_once
from drillbox.studio.drawings import minutes_chart
from drillbox.studio.field_checks import (
    FIRST_DAY,
    LAST_DAY,
    MOST_SECONDS,
    MOST_TAKES,
    _is_asked,
)
from drillbox.studio.figures import _stood_at
from drillbox.studio.lesson_notes import _cut
from drillbox.studio.tasks import next_up

if TYPE_CHECKING:
    from collections.abc import Iterator

    from drillbox.studio import Progress

ONE = f"{1:016x}"


def line(**changes: Any) -> str:
    """Return a line of a file: a day of a card."""
    usual: dict[str, Any] = {"day": "2026-11-20", "takes": 3, "seconds": 60.0, "cold_bpm": 80.0}
    day = usual | changes
    return (
        f'{{"kind": "day", "rhythm": "{day.get("rhythm", ONE)}", "day": "{day["day"]}", "takes":'
        f' {day["takes"]}, "seconds": {day["seconds"]}, "cold_bpm": {day["cold_bpm"]}}}\n'
    )


@pytest.mark.parametrize(
    ("inside", "outside"),
    [
        ({"day": FIRST_DAY}, {"day": "1969-11-30"}),
        ({"day": LAST_DAY}, {"day": "2200-02-01"}),
        ({"day": "2024-02-29"}, {"day": "2026-02-29"}),
        ({"takes": MOST_TAKES}, {"takes": MOST_TAKES + 1}),
        ({"takes": 1}, {"takes": 0}),
        ({"seconds": float(MOST_SECONDS)}, {"seconds": MOST_SECONDS + 1.0}),
        ({"cold_bpm": float(LOGGED.least)}, {"cold_bpm": LOGGED.least - 0.5}),
        ({"cold_bpm": float(LOGGED.most)}, {"cold_bpm": LOGGED.most + 0.5}),
    ],
)
def test_usual_days_are_read_at_once_and_odd_ones_are_not(
    inside: dict[str, Any], outside: dict[str, Any]
) -> None:
    """Each limit from both sides: what is odd is read line by line, and told by its line."""
    assert days_at_once(line(**inside).encode()) is not None
    assert days_at_once(line(**outside).encode()) is None


def test_days_read_at_once_are_of_one_card_in_their_order() -> None:
    """Another card's day between them, the same day twice, a cut line: each is looked at alone."""
    days = [line(day=f"2026-11-{n:02}", takes=n) for n in (1, 2, 9)]
    found = days_at_once("".join(days).encode())
    assert found is not None
    assert (ONE, [1, 2, 9], 3) == (found.rhythm, [d.takes for d in found.days], len(found))
    for wrong in (
        [days[1], days[0]],
        [days[0], days[0]],
        [days[0], line(day="2026-11-05", rhythm=f"{2:016x}")],
        [days[0], days[1][:-1]],
        [days[0], "\n"],
    ):
        assert days_at_once("".join(wrong).encode()) is None


def test_every_third_week_is_marked_at_its_day() -> None:
    """Where the bar of that day begins, with its date; the first is the chart's first day."""
    every = {TODAY - timedelta(days=n): 20.0 for n in range(200)}
    svg = ET.fromstring(minutes_chart(every, today=TODAY))
    bars = sorted(float(bar.attrib["x"]) for bar in svg.iter("rect"))
    first = TODAY - timedelta(days=len(bars) - 1)
    marks = [each for each in svg.iter("line") if each.attrib["x1"] == each.attrib["x2"]]
    labels = [text.text for text in svg.iter("text")][2:]
    assert len(marks) == len(labels) == -(-len(bars) // 21)
    for n, (mark, label) in enumerate(zip(marks, labels, strict=True)):
        day = first + timedelta(days=21 * n)
        assert f"{day.day} {day:%b}" == label
        assert bars[21 * n] - 1 == pytest.approx(float(mark.attrib["x1"]))


@pytest.mark.parametrize("known", [{"low_bpm": 79.0}, {"high_bpm": 99.0}])
def test_doubt_told_from_one_side_is_none(known: dict[str, Any]) -> None:
    """A card's band has two ends; with one of them it is as if there were none."""
    played = tuple((ago, 4, 80.0) for ago in (20, 16, 12, 8, 4, 1))
    plain = card(1, "building", *played)
    kinds = {aged(0, one).cards[0].kind for one in (plain, replace(plain, **known))}
    assert {"stuck"} == kinds


def test_the_charts_go_back_as_far_as_a_file_shows() -> None:
    """Whole weeks up to today: nothing of an older day is drawn."""
    drawn = ET.fromstring(minutes_chart({date(2020, 1, 1): 20.0, TODAY: 10.0}, today=TODAY))
    assert 1 == len(list(drawn.iter("rect")))
    assert drawn.attrib["aria-label"].startswith("10 minutes on 1 of the last ")


@pytest.mark.parametrize(("most", "last"), [(3, "c"), (2, "and 1 more"), (1, "and 2 more")])
def test_a_list_is_cut_where_it_is_longer_than_it_may_be(most: int, last: str) -> None:
    """And what is left out is counted; a list that just fits has no such end."""
    assert last == _cut(("a", "b", "c"), most)[-1]
    assert (*"abc",)[:most] == _cut(("a", "b", "c"), most)[:most]


def test_a_deck_that_was_begun_is_finished_first() -> None:
    """Its waiting cards come next, before those of a deck that stands before it."""
    decks = [DeckInfo("first", "First", 1), DeckInfo("begun", "Begun", 1)]
    cards = [
        replace(card(1, "waiting"), decks=("first",)),
        replace(card(2, "holding", (9, 4, 90.0), (2, 3, 104.0)), decks=("begun",)),
        replace(card(3, "waiting"), decks=("begun",)),
    ]
    file = replace(student(1, "Mia", *cards), decks=tuple(decks))
    coming = next_up(look_at([file], today=TODAY)[0])
    assert ["card 3", "card 1"] == [one.title for one in coming.new]


def test_half_a_minute_is_a_day_of_practice() -> None:
    """A short one, with its bar; a day of nothing has none."""
    drawn = ET.fromstring(minutes_chart({TODAY: 0.5, date(2026, 11, 24): 0.0}, today=TODAY))
    assert 1 == len(list(drawn.iter("rect")))
    assert " on 1 of the last " in drawn.attrib["aria-label"]


@pytest.mark.parametrize("falling", [(80.0, 75.0, 70.0), (80.0, 70.0)])
def test_a_guess_that_only_falls_stands_at_its_last_day(falling: tuple[float, ...]) -> None:
    """Of a card of which nothing is expected now; else at what is, and after a rise at the rise."""
    played = tuple((9 - n, 1, bpm) for n, bpm in enumerate(falling))
    silent = replace(card(1, "building", *played), cold_bpm=None)
    assert falling[-1] == _stood_at(silent, 0)
    assert 66.0 == _stood_at(replace(silent, cold_bpm=66.0), 0)
    risen = card(1, "building", *played, (1, 1, 90.0))
    assert falling[-1] == _stood_at(risen, 0)
    assert 90.0 == _stood_at(risen, len(falling))


def test_a_page_of_two_decks_counts_each_deck_s_own_cards() -> None:
    """Under its title: what stands how, of that deck alone."""
    decks = (DeckInfo("one", "One", 1), DeckInfo("two", "Two", 3))
    cards = [replace(card(n, "waiting"), decks=("one",)) for n in (1, 2, 3)]
    cards.append(replace(card(4, "holding", (2, 3, 104.0)), decks=("two",)))
    file = replace(student(1, "Mia", *cards), decks=decks)
    page = studio_page(look_at([file], today=TODAY), today=TODAY)
    for title, states in (("One, edition 1", "3 waiting"), ("Two, edition 3", "1 in hand")):
        assert f'<h3>{title}</h3><p class="soft">{states}</p>' in page


@pytest.mark.parametrize("goal", [0, 1001, "92", None])
def test_what_is_asked_of_a_card_is_a_tempo(goal: object) -> None:
    """A file that asks for another is no file of ours."""
    assert _is_asked({"by": "2026-12-10", "goal_bpm": 92.0})
    assert _is_asked({"by": "2026-12-10", "goal_bpm": 92.0, "given": "2026-11-10"})
    assert not _is_asked({"by": "2026-12-10", "goal_bpm": goal})
    assert not _is_asked({"by": "soon", "goal_bpm": 92.0})
    assert not _is_asked({"by": "2026-12-10", "goal_bpm": 92.0, "given": "soon"})
    assert not _is_asked({"by": "2026-12-10", "goal_bpm": 92.0, "more": 1})


@pytest.mark.parametrize(("ago", "status"), [(0, "met"), (1, "met"), (5, "not due")])
def test_what_was_reached_on_the_day_of_the_file_is_reached(ago: int, status: str) -> None:
    """And what was there before it was asked for is not met by that."""
    asked = Asked(TODAY + timedelta(days=3), 90.0, TODAY - timedelta(days=3))
    played = card(1, "building", (9, 3, 70.0), (ago, 3, 92.0))
    one = aged(0, replace(played, cold_bpm=92.0, asked=(asked,)))
    (task,) = one.cards[0].tasks
    assert status == task.status


@pytest.mark.parametrize("works", [True, False])
def test_the_collector_of_cycles_is_as_it_was(*, works: bool) -> None:
    """It rests while files are read, and goes on only where it was at work before."""
    before = gc.isenabled()
    (gc.enable if works else gc.disable)()
    try:
        seen = []

        def files() -> Iterator[Progress]:
            seen.append(gc.isenabled())
            yield student(1, "Mia", card(1, "waiting"))

        look_at(files(), today=TODAY)
        assert ([False], works) == (seen, gc.isenabled())
    finally:
        (gc.enable if before else gc.disable)()
