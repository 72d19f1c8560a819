"""Charts read back off their scales: every mark stands where plain sums over the days put it.

The places are worked out here again from the layout, in user units: twelve weeks of days four
units apart, from 42, where the numbers of the scale end, to the frame's end four after the last;
the scale from 8 down to 72, then a foot of 18 for the dates. Printed numbers have a tenth.
"""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest
from students_by_hand import TODAY, aged, card, failed

from drillbox.studio.drawings import (
    SHOWN_WEEKS,
    minutes_chart,
    states_chart,
    states_in_words,
    tempo_chart,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.studio import CardFigures

DAYS, STEP, LEFT, TOP, FLOOR, WIDE, HIGH = 84, 4, 42, 8, 72, 382, 90
FIRST = TODAY - timedelta(days=DAYS - 1)
TENTH = 0.0501


def at(share: float) -> float:
    """Return how far down a share of the scale stands."""
    return FLOOR - (FLOOR - TOP) * share


def near(expected: float) -> object:
    """Return a number that is met to the tenth that is printed."""
    return pytest.approx(expected, abs=TENTH)


def numbers(shape: ET.Element, *names: str) -> tuple[float, ...]:
    """Return some attributes as numbers."""
    return tuple(float(shape.attrib[name]) for name in names)


def kinds(drawn: ET.Element, tag: str, kind: str) -> list[ET.Element]:
    """Return the shapes of a class."""
    return [shape for shape in drawn.iter(tag) if shape.get("class") == kind]


def is_level(drawn: ET.Element, line: ET.Element, label: str, share: float) -> None:
    """Check a line of the scale: from the axis to the frame's end, its number left of it."""
    assert (LEFT, WIDE, near(at(share)), near(at(share))) == numbers(line, "x1", "x2", "y1", "y2")
    (text,) = (text for text in drawn.iter("text") if text.text == label)
    assert (LEFT - 4, near(at(share) + 4)) == numbers(text, "x", "y")
    assert "end" == text.attrib["text-anchor"]


def has_weeks(drawn: ET.Element) -> None:
    """Check the dates: every third week from the first day on, under the axis, inside the frame."""
    marks = [m for m in kinds(drawn, "line", "level") if m.attrib["x1"] == m.attrib["x2"]]
    dates = [text for text in drawn.iter("text") if "text-anchor" not in text.attrib]
    days = [FIRST + timedelta(days=n) for n in range(0, DAYS, 21)]
    assert [f"{day.day} {day:%b}" for day in days] == [text.text for text in dates]
    for n, (mark, text) in enumerate(zip(marks, dates, strict=True)):
        x = LEFT + 21 * n * STEP
        assert (x, x, FLOOR, FLOOR + 5) == numbers(mark, "x1", "x2", "y1", "y2")
        assert (x + 3, FLOOR + 14) == numbers(text, "x", "y")


def read(svg: str, kind: str, *, high: int = HIGH) -> ET.Element:
    """Return a chart, once its frame is right."""
    drawn = ET.fromstring(svg)
    assert (kind, f"0 0 {WIDE} {high}") == (drawn.attrib["class"], drawn.attrib["viewBox"])
    return drawn


@pytest.mark.parametrize("most", [0.4, 14.0, 15.0, 15.4, 16.0, 90.0])
def test_every_bar_is_as_high_as_its_day_was_long(most: float) -> None:
    """The scale ends at the longest day, or at a quarter of an hour; no day without practice."""
    chance = random.Random(most)
    minutes = {
        TODAY - timedelta(days=ago): chance.choice((0.0, most, most * chance.random()))
        for ago in (-1, 0, 1, 2, 3, 40, 81, 82, 83, 84, 85)
    } | {TODAY: most}
    drawn = read(minutes_chart(minutes, today=TODAY), "minutes")
    shown = [(n, minutes.get(FIRST + timedelta(days=n), 0.0)) for n in range(DAYS)]
    played, top = [(n, value) for n, value in shown if value > 0], max(most, 15.0)

    for (n, value), bar in zip(played, kinds(drawn, "rect", "bar"), strict=True):
        x, y, width, height = numbers(bar, "x", "y", "width", "height")
        high = (FLOOR - TOP) * value / top
        assert (LEFT + STEP * n + 1, STEP - 1) == (x, width)
        assert (near(FLOOR - high), near(high)) == (y, height)
        day, unit = FIRST + timedelta(days=n), "minute" if round(value) == 1 else "minutes"
        assert f"{day.day} {day:%b}: {round(value)} {unit}" == "".join(bar.itertext())
    upper, lower = kinds(drawn, "line", "level")[:2]
    is_level(drawn, upper, f"{top:.0f}", 1.0)
    is_level(drawn, lower, "0", 0.0)
    has_weeks(drawn)
    whole = round(sum(value for _, value in played))
    said = f"{whole} minute{'' if whole == 1 else 's'} on {len(played)} of the last 84 days"
    assert said == drawn.attrib["aria-label"]
    assert DAYS == 7 * SHOWN_WEEKS


def expected_shares(cards: Sequence[CardFigures]) -> dict[int, float]:
    """Return the mean share of the goals on each day drawn, day by day and card by card."""
    found = {}
    for n in range(DAYS):
        day, shares = FIRST + timedelta(days=n), []
        for one in cards:
            played = [played for played in one.card.days if played.day <= TODAY]
            if one.card.state == "rested" or one.card.cold_bpm is None or not played:
                continue
            last, until_then = played[-1], [each for each in played if each.day <= day]
            if not until_then:
                continue
            bpm = until_then[-1].cold_bpm
            if day > last.day:
                gone = (day - last.day) / (TODAY - last.day)
                bpm += gone * (one.card.cold_bpm - bpm)
            shares.append(bpm / one.card.goal_bpm)
        if shares:
            found[n] = sum(shares) / len(shares)
    return found


@pytest.mark.parametrize("low", [40.0, 78.0, 81.0, 96.0, 108.0])
@pytest.mark.parametrize("seed", range(6))
def test_every_point_of_the_line_is_the_mean_of_its_day(low: float, seed: int) -> None:
    """Cards begun before and within the weeks, played today or long ago, with goals of their own.

    The scale goes up to the highest point, at least to 105 %, down to the tenth under the lowest,
    at least to 80 %; a card at rest, one not together and a day still to come are not drawn.
    """
    chance = random.Random(f"{low} {seed}")
    cards = []
    for number in range(1, 5):
        days = chance.sample((120, 90, 84, 83, 82, 50, 21, 9, 2, 1, 0, -1), chance.randint(1, 6))
        played = [(ago, 2, low + 10 * chance.random()) for ago in sorted(days, reverse=True)]
        one = replace(card(number, "building", *played), goal_bpm=chance.choice((90.0, 100.0)))
        cards.append(replace(one, cold_bpm=low + 10 * chance.random()))
    cards += [card(5, "rested", (60, 2, 10.0)), failed(6, (60, 2, 12.0)), card(7, "waiting")]
    figures = aged(0, *cards).cards
    expected = expected_shares(figures)
    drawn = read(tempo_chart(figures, today=TODAY), "tempo")
    has_weeks(drawn)
    (goal,) = kinds(drawn, "line", "goal")
    floor = kinds(drawn, "line", "level")[0]
    if not expected:
        assert "no card has come together yet" == drawn.attrib["aria-label"]
        return
    top, least = max(1.05, *expected.values(), 0.0), min(0.8, *expected.values(), 9.0)
    bottom = int(10 * least) / 10

    def share(value: float) -> float:
        return (value - bottom) / (top - bottom)

    is_level(drawn, goal, "100 %", share(1.0))
    is_level(drawn, floor, f"{bottom * 100:.0f} %", 0.0)
    (line,) = kinds(drawn, "polyline", "line")
    points = [tuple(map(float, point.split(","))) for point in line.attrib["points"].split()]
    assert [LEFT + STEP * n + STEP / 2 for n in expected] == [x for x, _ in points]
    assert [near(at(share(value))) for value in expected.values()] == [y for _, y in points]
    (dot,) = kinds(drawn, "circle", "dot")
    assert (*points[-1], 3) == numbers(dot, "cx", "cy", "r")
    begun, *_, last = (*expected.values(), *list(expected.values())[-1:])
    said = f"mean cold tempo {100 * last:.0f} % of the goals; {100 * begun:.0f} % at first"
    assert said == drawn.attrib["aria-label"]


def test_a_line_of_nobody_is_a_scale_alone() -> None:
    """From 80 to 105 %, with the goal on it and the dates; said in words."""
    drawn = read(tempo_chart((), today=TODAY), "tempo")
    assert "no card has come together yet" == drawn.attrib["aria-label"]
    assert not list(drawn.iter("polyline"))
    assert not list(drawn.iter("circle"))
    is_level(drawn, kinds(drawn, "line", "goal")[0], "100 %", 0.8)
    is_level(drawn, kinds(drawn, "line", "level")[0], "80 %", 0.0)
    has_weeks(drawn)


ORDER = ("holding", "outgrown", "fading", "building", "rested", "waiting")
WORDS = dict(zip(ORDER, ("in hand", *ORDER[1:]), strict=True))


@pytest.mark.parametrize(
    "counts",
    [
        {},
        {"holding": 1},
        {"waiting": 3, "holding": 1},
        {"fading": 6, "building": 94},
        {"outgrown": 8, "rested": 92},
        {"rested": 20, "waiting": 80},
        {"holding": 22, "waiting": 78},
        {"holding": 27, "building": 15, "waiting": 58},
        {"holding": 10, "outgrown": 10, "fading": 2, "building": 30, "rested": 5, "waiting": 43},
    ],
)
def test_a_strip_is_shared_out_as_the_cards_are(counts: dict[str, int]) -> None:
    """In one order, one part after the other to the frame's end, each with its number inside.

    A part under 7 % of the strip has no number, one under 21 % no word, and a colour is not needed:
    a part's title says both.
    """
    states = [state for state, count in counts.items() for _ in range(count)]
    random.Random(1).shuffle(states)
    drawn = read(states_chart(states), "states", high=22)
    parts, x, texts = list(drawn.iter("rect")), 0.0, iter(drawn.iter("text"))
    present = [state for state in ORDER if counts.get(state)]

    assert present == [part.attrib["class"] for part in parts]
    for state, part in zip(present, parts, strict=True):
        width, said = WIDE * counts[state] / len(states), f"{counts[state]} {WORDS[state]}"
        assert (near(x), 1, near(width), 20) == numbers(part, "x", "y", "width", "height")
        assert said == "".join(part.itertext())
        if width >= 0.07 * WIDE:
            text = next(texts)
            assert (said if width >= 0.21 * WIDE else str(counts[state])) == text.text
            assert (near(x + width / 2), 15.5) == numbers(text, "x", "y")
            assert "middle" == text.attrib["text-anchor"]
            assert ("off" if state == "waiting" else "on") == text.attrib["class"]
        x += width
    assert next(texts, None) is None
    words = ", ".join(f"{counts[state]} {WORDS[state]}" for state in present) or "no cards"
    assert words == drawn.attrib["aria-label"] == states_in_words(states)


def test_a_number_has_room_from_just_so_much_on() -> None:
    """At the very share from which on there is room, it is shown."""
    drawn = ET.fromstring(states_chart(["holding"] * 7 + ["waiting"] * 93))
    assert "7" == next(drawn.iter("text")).text


def test_no_day_is_a_date_of_another_year() -> None:
    """Across the turn of a year days are still days: 31 December stands before 1 January."""
    ends = {date(2026, 12, 31): 20.0, date(2027, 1, 1): 10.0}
    bars = kinds(ET.fromstring(minutes_chart(ends, today=date(2027, 1, 9))), "rect", "bar")
    assert ["31 Dec: 20 minutes", "1 Jan: 10 minutes"] == ["".join(b.itertext()) for b in bars]
    assert STEP == numbers(bars[1], "x")[0] - numbers(bars[0], "x")[0]
