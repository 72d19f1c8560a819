"""The teacher's desk with 40 and with 1,000 students of five years each.

Reading all files and making the page is measured together, beside the time that the standard JSON
reader takes for the same bytes alone, and the most memory held. Seconds are of the processor, so
that a busy machine changes little. Budgets: 1 s and 10 s.

    .venv/bin/python tests/bench/bench_studio.py [STUDENTS ...]
"""

from __future__ import annotations

import json
import random
import resource
import sys
import tempfile
import time
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from drillbox.studio import (
    CardProgress,
    DeckInfo,
    Played,
    Progress,
    look_at,
    read_progress,
    studio_page,
    write_progress,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

TODAY = date(2026, 11, 25)
YEARS, CARDS, DAYS_A_WEEK, CARDS_A_DAY = 5, 40, 4, 4
STATES = ("holding", "building", "fading", "waiting", "rested", "outgrown")
DIFFERENT = 40
BUDGETS = {40: 1.0, 1_000: 10.0}


def student(number: int) -> Progress:
    """Return a student who practised for five years."""
    chance = random.Random(number)
    days: dict[int, list[Played]] = {card: [] for card in range(CARDS)}
    for ago in range(365 * YEARS, 0, -1):
        if chance.random() < DAYS_A_WEEK / 7:
            for card in chance.sample(range(CARDS), CARDS_A_DAY):
                tempo = 60 + 40 * (1 - ago / (365 * YEARS)) + chance.random()
                days[card].append(Played(TODAY - timedelta(days=ago), 2, 90.0, round(tempo, 1)))
    cards = tuple(
        CardProgress(
            f"{n:016x}", f"card {n}", ("deck",), 95.0, chance.choice(STATES), 94.0, tuple(p)
        )
        for n, p in days.items()
    )
    return replace(student_head(number), cards=cards)


def student_head(number: int) -> Progress:
    """Return a student with no card yet."""
    written = datetime(2026, 11, 25, 17, tzinfo=UTC)
    return Progress(
        f"{number:032x}", f"Student {number}", written, (DeckInfo("deck", "Deck", 1),), (), TODAY
    )


def megabytes() -> float:
    """Return the most memory this process ever held."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def write_class(students: int, folder: Path) -> None:
    """Write the files of a class: as many different ones as are worth the wait, under new ids."""
    bodies = []
    for number in range(students):
        if number < DIFFERENT:
            out = BytesIO()
            write_progress(student(number), out)
            bodies.append(out.getvalue().split(b"\n", 1)[1])
        head = BytesIO()
        write_progress(student_head(number), head)
        first = head.getvalue().split(b"\n", 1)[0]
        (folder / f"{number}.jsonl").write_bytes(first + b"\n" + bodies[number % DIFFERENT])


def measure(students: int, folder: Path) -> None:
    """Write the files of a class, then read and show them."""
    write_class(students, folder)
    files = sorted(folder.glob("*.jsonl"))
    size = sum(file.stat().st_size for file in files) / 1e6
    began = time.process_time()
    for file in files:
        for line in file.read_bytes().splitlines():
            json.loads(line)
    plain = time.process_time() - began
    began = time.process_time()
    page = studio_page(look_at(read(files), today=TODAY), today=TODAY)
    making = time.process_time() - began
    budget = BUDGETS.get(students, 10.0 * students / 1_000)
    print(
        f"{students} students, {size:.0f} MB: json alone {plain:.2f} s; files read and page made "
        f"in {making:.2f} s ({making / plain:.1f} times; budget {budget:.0f} s), "
        f"{len(page) / 1e6:.1f} MB; at most {megabytes():.0f} MB of memory",
        flush=True,
    )


def read(files: list[Path]) -> Iterator[Progress]:
    """Give the files one by one, as the studio takes them."""
    for file in files:
        yield read_progress(BytesIO(file.read_bytes()), file.name)


def main() -> None:
    """Measure each class."""
    for students in map(int, sys.argv[1:] or ("40", "1000")):
        with tempfile.TemporaryDirectory() as folder:
            measure(students, Path(folder))


if __name__ == "__main__":
    main()
