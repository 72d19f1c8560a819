"""A simulated class whose truth is known: every figure a teacher sees, from the logs alone.

The logs are plain lists made here. What is shown is read back out of the text, the JSON, the CSV
and the page, and compared with sums over the lists; only how tempos are remembered is taken from
the boxes themselves.
"""

from __future__ import annotations

import csv
import random
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from io import BytesIO, StringIO
from zoneinfo import ZoneInfo

import html5lib
import pytest
from conftest import SMALL_DECK

from drillbox.app.screens.studio import StudioApp
from drillbox.base.clock import ManualClock
from drillbox.box import Box
from drillbox.deckfile import parse_deck
from drillbox.report.parents import parents_sections
from drillbox.report.progress_file import progress_of
from drillbox.store import TakeRow
from drillbox.studio import (
    Progress,
    as_csv,
    as_objects,
    look_at,
    read_progress,
    student_lines,
    studio_page,
    table_rows,
    write_progress,
)

ZONES = ("Pacific/Auckland", "America/Los_Angeles", "Europe/Zurich", "Asia/Kolkata")
NAMES = ("Ada", "Ben", "Cleo", "Dan")
DECK = parse_deck(
    f'{SMALL_DECK}\n[[assignment]]\nby = 2026-03-10\ncards = ["e"]\ngoal = 75\n', name="d.toml"
)
CARDS = [card.card_id for card in DECK.cards]
HTML = "{http://www.w3.org/1999/xhtml}"


@dataclass(frozen=True)
class Truth:
    """What a student did: day, card, grade and seconds of each take, and what the box says.

    `states` is how each card stands in the box when the file is made.
    """

    name: str
    takes: tuple[tuple[date, str, int, float], ...]
    until: date
    states: dict[str, str]

    def month(self, back: int = 0) -> list[tuple[date, str, int, float]]:
        """Return the takes of the 30 days that end so many months before the file."""
        last = self.until - timedelta(days=30 * back)
        return [take for take in self.takes if last - timedelta(days=30) < take[0] <= last]


def simulated(number: int) -> tuple[Progress, Truth]:
    """Return a student's file and the truth of it: late at night, in a zone of one's own."""
    chance, zone = random.Random(number), ZoneInfo(ZONES[number])
    end = datetime(2026, 3, 25, 23, 30, tzinfo=zone) - timedelta(days=3 * number)
    clock = ManualClock(end)
    log: list[TakeRow] = []
    truth: list[tuple[date, str, int, float]] = []
    for ago in range(70, 0, -1):
        if chance.random() > (0.9, 0.5, 0.2, 0.7)[number]:
            continue
        day = end.date() - timedelta(days=ago)
        for card in chance.sample(CARDS[: 2 + number % 2], 2):
            # Between nine in the evening and four in the morning: one practice day.
            at = datetime(day.year, day.month, day.day, 21, tzinfo=zone).timestamp()
            moment = datetime.fromtimestamp(at + chance.random() * 25_000, zone)
            seconds = float(chance.randint(20, 90))
            offset, bpm, grade = f"{moment:%z}", 60.0 + (70 - ago) / 2, chance.choice((0, 1))
            # Ben's first card stands still, and nothing comes together for Cleo.
            if number == 1 and card == CARDS[0]:
                bpm, grade = 70.0, 0
            grade = -2 if number == 2 else grade
            log.append(
                TakeRow(
                    f"{number:08x}{len(log):024x}", card, bpm, grade, moment,
                    f"{offset[:3]}:{offset[3:]}", seconds, "self",
                )
            )  # fmt: skip
            truth.append((day, card, grade, seconds))
    with Box.open(":memory:", clock=clock) as box:
        box.put_deck(DECK, at=end)
        box.merge(log)
        file = progress_of(box, at=end, new_id=lambda: f"{number:032x}", name=NAMES[number])
        states = {card.card_id: card.state.value for card in box.cards(at=end)}
    out = BytesIO()
    write_progress(file, out)
    again = read_progress(BytesIO(out.getvalue()), "file")
    return again, Truth(NAMES[number], tuple(truth), end.date(), states)


CLASS = [simulated(number) for number in range(4)]
TODAY = date(2026, 3, 27)
FOUND = {one.progress.name: one for one in look_at([file for file, _ in CLASS], today=TODAY)}


def recomputed(file: Progress, truth: Truth, deck: str | None = None) -> dict[str, float | None]:
    """Return all figures of a student's cards, from the log and the lines of the file."""
    cards = [c for c in file.cards if c.state != "rested" and (deck is None or deck in c.decks)]
    names = {card.rhythm for card in cards}
    month, before = ([take for take in truth.month(back) if take[1] in names] for back in range(2))
    played = {card for _, card, _, _ in truth.takes if card in names}
    together = {card for _, card, grade, _ in truth.takes if grade >= 0}
    states = [truth.states[name] for name in names]
    gains, stuck = [], 0
    for card in cards:
        recent = [day for day in card.days if 0 <= (file.until - day.day).days < 30]
        older = [day for day in card.days if (file.until - day.day).days >= 30]
        if not recent or card.cold_bpm is None:
            continue
        gain = card.cold_bpm - (older[-1] if older else recent[0]).cold_bpm
        gains.append(gain)
        assert card.low_bpm is not None
        assert card.high_bpm is not None
        # The upper end of the gain, one-sided at 90 %: half of the file's 80 % band above it.
        upper = gain + (card.high_bpm - card.low_bpm) / 2
        many = sum(take[1] == card.rhythm for take in month) >= 12
        stuck += many and gain < 2 and upper < 5 and truth.states[card.rhythm] == "building"
    return {
        "cards": len(cards),
        "rested": 0,
        "begun": len(played),
        "in_hand": sum(state in {"holding", "outgrown"} for state in states),
        "outgrown": states.count("outgrown"),
        "fading": states.count("fading"),
        "stuck": stuck,
        "not_together": len(played - together),
        "days": len({day for day, *_ in month}),
        "minutes": sum(take[3] for take in month) / 60,
        "takes": len(month),
        "days_before": len({day for day, *_ in before}),
        "minutes_before": sum(take[3] for take in before) / 60,
        "gain_bpm": sum(gains) / len(gains) if gains else None,
    }


def same(told: object, expected: float | None) -> bool:
    """Whether a figure, as shown to a tenth or a whole number, is the one that was worked out."""
    if expected is None:
        return told in {None, "", "–"}
    places = len(str(told).partition(".")[2])
    return bool(abs(float(str(told)) - expected) <= 0.5 * 10**-places + 0.051)


@pytest.mark.parametrize(("file", "truth"), CLASS, ids=NAMES)
def test_every_figure_of_json_and_csv_is_that_of_the_log(file: Progress, truth: Truth) -> None:
    """All cards together and each deck, by the student's own practice days in four zones."""
    one = FOUND[truth.name]
    (said,) = as_objects([one])
    rows = list(csv.DictReader(StringIO(as_csv([one]))))
    parts = [(None, said, rows[0])] + [
        (str(deck["id"]), deck, row) for deck, row in zip(said["decks"], rows[1:], strict=True)
    ]

    assert [""] + [deck["id"] for deck in said["decks"]] == [row["deck"] for row in rows]
    for deck_id, values, row in parts:
        for key, expected in recomputed(file, truth, deck_id).items():
            assert same(values[key], expected), f"{deck_id} {key}: {values[key]}, not {expected}"
            assert same(row[key], expected), f"{deck_id} {key}: {row[key]}, not {expected}"
    last = max(day for day, *_ in truth.takes)
    for told in (said, rows[0]):
        assert (TODAY - truth.until).days == int(told["age_days"])
        assert (truth.until - last).days == int(told["idle_days"])
    assert truth.until.isoformat() == said["day"] == file.until.isoformat()


def expected_row(file: Progress, truth: Truth) -> list[str]:
    """Return what a row of the table must say, from the log."""
    found = recomputed(file, truth)
    last = max(day for day, *_ in truth.takes)
    gain, age = found["gain_bpm"], (TODAY - truth.until).days
    return [
        f"{found['days']}",
        f"{found['minutes']:.0f}",
        f"{found['in_hand']}/{found['cards']}",
        f"{found['outgrown']}",
        "–" if gain is None else f"{gain:+.1f}",
        f"{found['stuck']}",
        f"{found['fading']}",
        f"{last.day} {last:%b}",
        {0: "today", 1: "yesterday"}.get(age, f"{age} days"),
    ]


async def test_every_figure_of_text_screen_and_page_is_that_of_the_log() -> None:
    """The rows of the table as printed, as drawn in a terminal, and as a browser gets them."""
    students = list(FOUND.values())
    expected = {truth.name: expected_row(file, truth) for file, truth in CLASS}
    tree = html5lib.parse(studio_page(students, today=TODAY))
    page = [
        ["".join(cell.itertext()) for cell in row if cell.tag.rpartition("}")[2] == "td"]
        for row in next(tree.iter(f"{HTML}table")).iter(f"{HTML}tr")
    ][1:]
    app = StudioApp(students, clock=ManualClock(datetime(2026, 3, 27, 12, tzinfo=UTC)))
    async with app.run_test(size=(160, 50)) as pilot:
        await pilot.pause()
        drawn = [strip.text.split("  ") for strip in app.screen._compositor.render_strips()]
    screen = {
        cells[0]: cells[1:]
        for row in drawn
        if (cells := [cell.strip() for cell in row if cell.strip()]) and cells[0] in expected
    }

    for one, cells in zip(students, page, strict=True):
        name = one.label
        assert expected[name] == list(table_rows([one])[0][1:-1])
        assert expected[name] == cells
        assert expected[name] == screen[name][: len(expected[name])]


def test_the_simulated_class_has_something_of_everything() -> None:
    """Else the comparison says little: stuck, in hand, apart, and a student who is away."""
    found = {truth.name: recomputed(file, truth) for file, truth in CLASS}

    assert 2 == found["Cleo"]["not_together"]
    assert found["Cleo"]["gain_bpm"] is None
    assert any(one["stuck"] for one in found.values())
    assert any(one["in_hand"] for one in found.values())


@pytest.mark.parametrize(("file", "truth"), CLASS, ids=NAMES)
def test_gains_and_assignments_follow_from_the_files_days(file: Progress, truth: Truth) -> None:
    """Recomputed from the lines of the file, with nothing of the program's."""
    del truth
    one, last, gains = FOUND[file.name], file.until, []
    for card in file.cards:
        month = [d for d in card.days if 0 <= (last - d.day).days < 30]
        old = [d for d in card.days if (last - d.day).days >= 30]
        if month and card.cold_bpm is not None and card.state != "rested":
            gains.append(card.cold_bpm - (old or month)[-1 if old else 0].cold_bpm)
    said = as_objects([one])[0]
    expected = round(sum(gains) / len(gains), 1) if gains else None
    assert expected == said["gain_bpm"]
    (e,) = [card for card in file.cards if card.rhythm == CARDS[0]]
    reached = [d.day for d in e.days if d.cold_bpm >= 75]
    met = bool(reached) and reached[0] <= date(2026, 3, 10)
    status = "met" if met else "late" if reached else "missed"
    assert ["not due" if last <= date(2026, 3, 10) and not met else status] == [
        task["status"] for task in said["asked"]
    ]


def test_the_page_says_what_the_other_forms_say() -> None:
    """A row, a map and an article each, with the same numbers; what is fading is in all of them."""
    students = list(FOUND.values())
    tree = html5lib.parse(studio_page(students, today=TODAY))
    rows = [
        ["".join(cell.itertext()) for cell in row if cell.tag.rpartition("}")[2] == "td"]
        for row in next(tree.iter(f"{HTML}table")).iter(f"{HTML}tr")
    ]
    articles = ["".join(article.itertext()) for article in tree.iter(f"{HTML}article")]

    assert [list(cells[1:-1]) for cells in table_rows(students)] == rows[1:]
    assert len(students) == len(articles)
    for one, text in zip(students, articles, strict=True):
        assert student_lines(one)[0] in text
        for card in one.cards:
            if card.stuck or card.fading:
                assert card.card.title in text


def test_the_map_counts_every_card_of_every_student_once() -> None:
    """As many signs of each kind as there are such cards."""
    students = list(FOUND.values())
    tree = html5lib.parse(studio_page(students, today=TODAY))
    signs = [cell.get("class") for cell in tree.iter(f"{HTML}td") if cell.get("title")]
    begun = {c.card.rhythm for one in students for c in one.cards if c.card.days}
    together = {
        (truth.name, card) for _, truth in CLASS for _, card, grade, _ in truth.takes if grade >= 0
    }
    expected = [
        "stuck"
        if c.stuck
        else "apart"
        if c.begun_on and (one.label, c.card.rhythm) not in together
        else c.card.state
        for one in students
        for c in one.cards
        if c.card.rhythm in begun
    ]

    assert sorted(expected) == sorted(kind or "" for kind in signs)


@pytest.mark.parametrize(("file", "truth"), CLASS, ids=NAMES)
def test_parents_read_what_the_log_says(file: Progress, truth: Truth) -> None:
    """Days and minutes from the log; new is what stands at its goal and did not a month before."""
    told = dict(parents_sections(FOUND[truth.name]))
    takes = truth.month()
    days, minutes = len({day for day, *_ in takes}), sum(take[3] for take in takes) / 60
    before = truth.until - timedelta(days=30)
    new = {
        card.title
        for card in file.cards
        if card.state in {"holding", "outgrown"}
        and ([0.0] + [day.cold_bpm for day in card.days if day.day <= before])[-1] < card.goal_bpm
    }
    unit = "day" if days == 1 else "days"

    assert f"on {days} {unit} of the 30, {minutes:.0f} minute" in told["Practice"][0]
    assert new == {
        line[3:].rsplit(", ", 1)[0] for line in told["New this month"] if line.startswith("•")
    }
