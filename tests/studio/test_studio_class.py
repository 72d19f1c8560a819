"""A simulated class whose truth is known: every figure a teacher sees, from the logs alone.

The logs are plain lists made here. What is shown is read back out of the text, the JSON, the CSV
and the page, and compared with sums over the lists; only how tempos are remembered is taken from
the boxes themselves.
"""

from __future__ import annotations

import csv
import random
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from io import BytesIO, StringIO
from zoneinfo import ZoneInfo

import html5lib
import pytest
from conftest import SMALL_DECK

from drillbox.base.clock import ManualClock
from drillbox.box import Box
from drillbox.deckfile import parse_deck
from drillbox.memory import State
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
    """What a student did: day, card and seconds of each take, and when the file was made."""

    name: str
    takes: tuple[tuple[date, str, float], ...]
    until: date
    holding: int

    def month(self, back: int = 0) -> list[tuple[date, str, float]]:
        """Return the takes of the 30 days that end so many months before the file."""
        last = self.until - timedelta(days=30 * back)
        return [take for take in self.takes if last - timedelta(days=30) < take[0] <= last]


def simulated(number: int) -> tuple[Progress, Truth]:
    """Return a student's file and the truth of it: late at night, in a zone of one's own."""
    chance, zone = random.Random(number), ZoneInfo(ZONES[number])
    end = datetime(2026, 3, 25, 23, 30, tzinfo=zone) - timedelta(days=3 * number)
    clock = ManualClock(end)
    log: list[TakeRow] = []
    truth: list[tuple[date, str, float]] = []
    for ago in range(70, 0, -1):
        if chance.random() > (0.9, 0.5, 0.2, 0.7)[number]:
            continue
        day = end.date() - timedelta(days=ago)
        for card in chance.sample(CARDS[: 2 + number % 2], 2):
            # Between nine in the evening and four in the morning: one practice day.
            at = datetime(day.year, day.month, day.day, 21, tzinfo=zone).timestamp()
            moment = datetime.fromtimestamp(at + chance.random() * 25_000, zone)
            seconds = float(chance.randint(20, 90))
            offset = f"{moment:%z}"
            log.append(
                TakeRow(
                    f"{number:08x}{len(log):024x}", card, 60.0 + (70 - ago) / 2,
                    chance.choice((0, 1)), moment, f"{offset[:3]}:{offset[3:]}", seconds, "self",
                )
            )  # fmt: skip
            truth.append((day, card, seconds))
    with Box.open(":memory:", clock=clock) as box:
        box.put_deck(DECK, at=end)
        box.merge(log)
        file = progress_of(box, at=end, new_id=lambda: f"{number:032x}", name=NAMES[number])
        holding = sum(card.state is State.HOLDING for card in box.cards(at=end))
    out = BytesIO()
    write_progress(file, out)
    again = read_progress(BytesIO(out.getvalue()), "file")
    return again, Truth(NAMES[number], tuple(truth), end.date(), holding)


CLASS = [simulated(number) for number in range(4)]
TODAY = date(2026, 3, 27)
FOUND = {one.progress.name: one for one in look_at([file for file, _ in CLASS], today=TODAY)}


@pytest.mark.parametrize(("file", "truth"), CLASS, ids=NAMES)
def test_days_minutes_and_takes_are_those_of_the_log(file: Progress, truth: Truth) -> None:
    """Both months, by the student's own practice days, in every form of the figures."""
    one, month, before = FOUND[truth.name], truth.month(), truth.month(1)
    minutes = sum(seconds for *_, seconds in month) / 60
    (said,) = [o for o in as_objects([one]) if o["name"] == truth.name]
    (row, *_) = csv.DictReader(StringIO(as_csv([one])))
    cells = table_rows([one])[0]

    assert (len({day for day, *_ in month}), len(month)) == (said["days"], said["takes"])
    assert minutes == pytest.approx(said["minutes"], abs=0.06)
    assert len({day for day, *_ in before}) == said["days_before"]
    assert (row["days"], row["takes"]) == (str(said["days"]), str(said["takes"]))
    assert float(row["minutes"]) == pytest.approx(minutes, abs=0.06)
    assert cells[1:4] == (str(said["days"]), f"{minutes:.0f}", f"{truth.holding}/4")
    assert (TODAY - truth.until).days == said["age_days"]
    assert (truth.until - max(day for day, *_ in truth.takes)).days == said["idle_days"]
    assert truth.until.isoformat() == said["day"] == file.until.isoformat()


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
    expected = [
        "stuck" if c.stuck else c.card.state
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
    days, minutes = len({day for day, _, _ in takes}), sum(each for _, _, each in takes) / 60
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
