"""The page of the year, read back from its own characters, and the same year for programs."""

from __future__ import annotations

import json
from datetime import UTC, date, timedelta
from typing import TYPE_CHECKING

import pytest

from drillbox.base.text_charts import BLOCKS
from drillbox.box.views import MAP_LEGEND
from drillbox.memory import Grade, State
from drillbox.report.in_hand import LookBack, Record, coming_back, look_back
from drillbox.report.time_away import LONG_DAYS, after_time_away
from drillbox.report.year import below_the_plots, states_line, year_sections
from drillbox.report.year_figures import MOST_POINTS, family_curves
from drillbox.report.year_values import year_values
from drillbox.store import TakeRow

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box

MONDAY = date(2026, 3, 2).toordinal()
"""2 March 2026 (ISO 8601)."""
MINUTES, COMING, RECORDS = (
    "Minutes practised",
    "Coming back in the next 60 days, if left alone",
    "Fastest cold takes, at least steady",
)


def practise(box: Box, start: ManualClock, days: range, name: str = "e", bpm: float = 80.0) -> None:
    """Merge a take of a card on each of some days, all at once."""
    box.merge(
        TakeRow(
            f"{day + 1:032x}", box.find(name), bpm, int(Grade.CLEAN),
            start.now() + timedelta(days=day), "Europe/Zurich", 60.0, "self",
        )
        for day in days
    )  # fmt: skip


def made(first: int, last: int, minutes: dict[int, float], *records: Record) -> LookBack:
    """Return a progress of these days."""
    return LookBack(first, last, (0,) * (last - first + 1), minutes, records)


def below(box: Box, clock: ManualClock, done: LookBack, width: int = 80) -> dict[str, str]:
    """Return the sections under the plots by their titles."""
    return dict(below_the_plots(box, done, at=clock.now(), width=width))


def heights(chart: str) -> list[float]:
    """Read each column of a chart back as a number, by its scale."""
    *rows, _ = chart.splitlines()
    top = float(rows[0].split("│")[0])
    cells = [row.split("│")[1] for row in rows]
    wide = max(map(len, cells))
    return [
        sum(BLOCKS.index(row.ljust(wide)[n]) for row in cells) / 8 * top / len(rows)
        for n in range(wide)
    ]


def test_the_chart_of_cards_in_hand_is_the_progress(box: Box, clock: ManualClock) -> None:
    """A column a day, as high as its count, first day to today; how they stand before it."""
    for day, name in ((0, "e"), (1, "a"), (3, "a-doubled"), (4, "e")):
        at = clock.now() + timedelta(days=day)
        grade = Grade.FELL_APART if day == 4 else Grade.CLEAN
        box.record(box.find(name), bpm=100, grade=grade, at=at, seconds=40)
    clock.forward(days=7)
    done = look_back(box, at=clock.now())
    (first, states), (title, chart), *_ = year_sections(box, at=clock.now(), width=8 + 6)

    assert "How the cards stand today" == first
    assert "Vocabulary in hand, at goal tempo when cold" == title
    assert len(set(done.in_hand)) > 2
    assert list(done.in_hand) == [round(height) for height in heights(chart)]
    assert 8 == len(chart.splitlines())
    assert ["2", "Mar", "today"] == chart.splitlines()[-1].split()
    assert states_line(box, clock.now()) == states


def test_the_line_of_states_counts_the_cards(box: Box, clock: ManualClock) -> None:
    """Those that hold, that slipped and that are on their way; the others are in the whole."""
    for name, bpm in (("e", 100), ("a", 60), ("a-doubled", 81)):
        box.record(box.find(name), bpm=bpm, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    seen = set()
    for _ in range(8):
        states = [card.state for card in box.cards(at=clock.now())]
        counts = [states.count(one) for one in (State.HOLDING, State.FADING, State.BUILDING)]
        seen.add(tuple(counts))
        holding, fading, building = counts
        told = f"{holding} holding, {fading} fading, {building} building, of 4 cards."
        assert told == states_line(box, clock.now())
        clock.forward(days=20)
    assert len(seen) > 1


@pytest.mark.parametrize("first", range(MONDAY, MONDAY + 7))
@pytest.mark.parametrize("days", [1, 7, 8, 40])
def test_the_calendar_has_every_day_of_practice(
    box: Box, clock: ManualClock, first: int, days: int
) -> None:
    """In the row of its weekday; no more than one week is empty in front (weeks by ISO 8601)."""
    last = first + days - 1
    text = below(box, clock, made(first, last, dict.fromkeys(range(first, last + 1), 7.0)))
    months, *rows, _ = text[MINUTES].splitlines()
    told = {row[:2]: row[3:] for row in rows}
    week_of = [date.fromordinal(day).isocalendar()[:2] for day in range(first, last + 1)]
    touched = len(set(week_of))

    assert ["Mo", "Tu", "We", "Th", "Fr", "Sa", "Su"] == list(told)
    for weekday, cells in enumerate(told.values(), start=1):
        played = [d for d in range(first, last + 1) if date.fromordinal(d).isoweekday() == weekday]
        assert len(played) == cells.count("7")
    assert touched <= (max(map(len, told.values())) + 1) // 3 <= touched + 1
    assert months.split()[0] == f"{date.fromordinal(first):%b}"


def test_the_calendar_ends_at_half_a_year_and_at_the_width(box: Box, clock: ManualClock) -> None:
    """26 weeks at most, and no column past the width."""
    last = MONDAY + 6
    done = made(MONDAY - 700, last, dict.fromkeys(range(MONDAY - 700, last + 1), 12.0))
    for width, weeks in ((200, 26), (81, 26), (80, 25), (33, 10)):
        rows = below(box, clock, done, width)[MINUTES].splitlines()[1:-1]
        assert [weeks] * 7 == [row.count("12") for row in rows]


def test_the_last_thirty_days_are_thirty(box: Box, clock: ManualClock) -> None:
    """Today is one of them; the day thirty days ago is none."""
    minutes = {MONDAY - 30: 50.0, MONDAY - 29: 8.0, MONDAY: 3.6}
    text = below(box, clock, made(MONDAY - 30, MONDAY, minutes))

    assert "Last 30 days: 2 days, 12 minutes." == text[MINUTES].splitlines()[-1]


def test_what_slips_is_drawn_on_its_day(box: Box, clock: ManualClock) -> None:
    """Today first, sixty days, each as high as its count; before anything holds a sentence."""
    done = made(MONDAY, MONDAY, {MONDAY: 1.0})
    nothing = "Nothing is held at its goal yet, so nothing can slip."
    assert nothing == below(box, clock, done)[COMING]

    for name, bpm in (("e", 91), ("a", 93), ("a-doubled", 81)):
        box.record(box.find(name), bpm=bpm, grade=Grade.CLEAN, at=clock.now(), seconds=60)
    today = box.now(clock.now()).day
    counts = coming_back(box.cards(at=clock.now()), today=today, days=60)
    for width in (66, 200):
        chart = below(box, clock, done, width)[COMING]
        assert list(counts) == [round(height) for height in heights(chart)] + [0] * (
            60 - len(heights(chart))
        )
        end = date.fromordinal(today + 59)
        assert ["today", str(end.day), f"{end:%b}"] == chart.splitlines()[-1].split()
        assert 5 == len(chart.splitlines())
    assert 3 == sum(counts)


def test_where_all_that_holds_is_safe_nothing_slips(box: Box, clock: ManualClock) -> None:
    """A card that holds for longer than is looked ahead is held, and told so."""
    for _ in range(12):
        box.record(box.find("e"), bpm=150, grade=Grade.AUTOMATIC, at=clock.now(), seconds=60)
        clock.forward(days=3)
    safe = "Nothing slips under its goal within 60 days."
    assert safe == below(box, clock, made(MONDAY, MONDAY, {MONDAY: 1.0}))[COMING]


def test_those_under_their_goals_already_come_back_today(box: Box, clock: ManualClock) -> None:
    """And what slips on the last day looked at is counted; the day after it is not."""
    for name, bpm in (("e", 91), ("a-doubled", 84)):
        box.record(box.find(name), bpm=bpm, grade=Grade.CLEAN, at=clock.now(), seconds=60)
    days = sorted(
        card.returns_on
        for card in box.cards(at=clock.now())
        if card.holds and card.returns_on is not None
    )
    today = box.now(clock.now()).day
    for shift in (0, days[0] - today, days[0] - today + 1, days[1] - today):
        cards = box.cards(at=clock.now())
        for length in (1, 2, days[1] - today, days[1] - today + 1):
            counts = coming_back(cards, today=today + shift, days=length)
            expected = [0] * length
            for day in days:
                ahead = max(day - today - shift, 0)
                if ahead < length:
                    expected[ahead] += 1
            assert tuple(expected) == counts


def test_records_are_named_dated_and_drawn_to_scale(box: Box, clock: ManualClock) -> None:
    """The fastest fills its line; a name that is too long is cut with a sign; twelve are shown."""
    day = date(2026, 3, 4).toordinal()
    records = [Record("f", "x" * 90, 120.0, day), Record("g", "short", 60.0, day)]
    text = below(box, clock, made(MONDAY, MONDAY, {MONDAY: 1.0}, *records))[RECORDS]
    long, short = text.splitlines()

    assert long.startswith(f"f: {'x' * 46}…   4 Mar 2026 █")
    assert short.startswith(f"g: short{' ' * 42}   4 Mar 2026 █")
    assert 80 >= max(map(len, (long, short)))
    assert long.count("█") == 2 * short.count("█") > 8
    assert (" 120", " 60") == (long[-4:], short[-3:])
    many = [Record(f"f{n}", "t", 100.0, day) for n in range(14)]
    lines = below(box, clock, made(MONDAY, MONDAY, {MONDAY: 1.0}, *many))[RECORDS].splitlines()
    assert [f"f{n}: t" for n in range(12)] == [line.split("  ")[0] for line in lines]
    assert "None yet." == below(box, clock, made(MONDAY, MONDAY, {MONDAY: 1.0}))[RECORDS]


def test_the_map_stands_under_the_year(box: Box, clock: ManualClock) -> None:
    """With its legend, and no wider than the page; without cards there is none."""
    done = made(MONDAY, MONDAY, {MONDAY: 1.0})
    text = below(box, clock, done)
    title = "The vocabulary: ghosts on every beat, by partials"

    assert [MINUTES, COMING, RECORDS, title] == list(text)
    assert text[title].endswith(MAP_LEGEND)
    box.remove_deck("first-ghosts")
    assert [MINUTES, COMING, RECORDS] == list(below(box, clock, done))


def test_the_year_for_programs_is_the_year(box: Box, clock: ManualClock) -> None:
    """Plain values with ISO dates; tempos and minutes to a tenth; an empty box has empty lists."""
    empty = year_values(box, at=clock.now())
    assert {"from": None, "to": None, "in_hand": [], "minutes": {}, "records": []} == {
        key: empty[key] for key in ("from", "to", "in_hand", "minutes", "records")
    }
    assert ({"waiting": 4}, [0] * 60) == (empty["states"], empty["slipping"])

    for day, name, bpm, seconds in ((1, "a", 92.26, 40), (0, "e", 91, 65), (3, "a", 60, 30)):
        at = clock.now() + timedelta(days=day)
        box.record(box.find(name), bpm=bpm, grade=Grade.CLEAN, at=at, seconds=seconds)
    clock.forward(days=4)
    told, done = year_values(box, at=clock.now()), look_back(box, at=clock.now())
    cards = box.cards(at=clock.now())
    states = [card.state.value for card in cards]

    assert ("2026-03-02", "2026-03-06") == (told["from"], told["to"])
    assert list(done.in_hand) == told["in_hand"]
    assert [("2026-03-02", 1.1), ("2026-03-03", 0.7), ("2026-03-05", 0.5)] == list(
        told["minutes"].items()
    )
    assert {state: states.count(state) for state in states} == told["states"]
    assert list(coming_back(cards, today=done.last, days=60)) == told["slipping"]
    assert [
        {"family": "First ghosts", "title": "a of every beat", "bpm": 92.3, "day": "2026-03-03"}
    ] == told["records"]
    assert told == json.loads(json.dumps(told))


def test_a_long_curve_is_drawn_through_fewer_days(box: Box, clock: ManualClock) -> None:
    """No more points than a screen shows, the first day and today among them, all in order."""
    practise(box, clock, range(0, 3 * MOST_POINTS, 2))
    start = box.now(clock.now()).day
    clock.forward(days=3 * MOST_POINTS + 5)
    today = box.now(clock.now()).day
    (curve,) = family_curves(box, at=clock.now())

    assert MOST_POINTS + 1 == len(curve.days) == len(curve.bpm)
    assert (start, today) == (curve.days[0], curve.days[-1])
    assert sorted(set(curve.days)) == list(curve.days)
    assert max(b - a for a, b in zip(curve.days, curve.days[1:], strict=False)) <= 8
    assert today - 7 == curve.days[-2]
    assert 90.0 == curve.goal_bpm


def test_a_curve_of_today_alone_has_one_point(box: Box, clock: ManualClock) -> None:
    """The tempo expected now stands for today, and no earlier one of the same day."""
    box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    clock.forward(seconds=3600)
    (curve,) = family_curves(box, at=clock.now())

    assert (box.now(clock.now()).day,) == curve.days
    assert (box.card(box.find("e"), at=clock.now()).cold_bpm,) == pytest.approx(curve.bpm)


@pytest.mark.parametrize(("days", "is_long"), [(1, False), (13, False), (14, True), (15, True)])
def test_two_weeks_are_a_long_time_away(
    days: int, *, is_long: bool, box: Box, clock: ManualClock
) -> None:
    """Counted in practice days, whatever the hour; what was never held is not said to be lost."""
    box.record(box.find("e"), bpm=60, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    for hours in (-3, 0, 9):
        at = clock.now() + timedelta(days=days, hours=hours)
        told = after_time_away(box, at=at)
        assert is_long == bool(told)
        assert not told or told.startswith(f"{days} days away. No debt: ")
    assert 14 == LONG_DAYS


def test_a_long_time_away_counts_what_was_held_and_what_is_lost(
    box: Box, clock: ManualClock
) -> None:
    """Before against now, card by card, of those that held right after the last take."""
    for name, bpm, back in (("a-doubled", 120, 3), ("a", 91, 2), ("e", 60, 0), ("e-a", 130, 0)):
        at = clock.now() - timedelta(days=back)
        for minute in range(2):
            later = at + timedelta(minutes=minute)
            box.record(box.find(name), bpm=bpm, grade=Grade.STEADY, at=later, seconds=40)
    before = {card.card_id: card for card in box.cards(at=clock.now() + timedelta(minutes=2))}
    clock.forward(days=60)
    after = {card.card_id: card for card in box.cards(at=clock.now())}
    held = [key for key, card in before.items() if card.holds]
    lost = [key for key in held if not after[key].holds]
    drops = [1 - (after[key].cold_bpm or 0) / (before[key].cold_bpm or 1) for key in held]

    assert (2, 1) <= (len(held), len(lost)) < (4, 3)
    slipped = "has slipped under its goal" if len(lost) == 1 else "have slipped under their goals"
    assert after_time_away(box, at=clock.now()) == (
        f"60 days away: {len(lost)} of {len(held)} cards that held {slipped}, and "
        f"tempos are about {100 * sum(drops) / len(drops):.0f} % lower. No debt: these are the "
        "minutes that bring back most."
    )


def test_who_never_played_was_never_away(box: Box, clock: ManualClock) -> None:
    """Nor is a take of a card that has left the box a time away from the others."""
    assert "" == after_time_away(box, at=clock.now())
    box.record(box.find("e"), bpm=90, grade=Grade.CLEAN, at=clock.now().astimezone(UTC), seconds=40)
    box.remove_deck("first-ghosts")
    clock.forward(days=40)
    assert "" == after_time_away(box, at=clock.now())
