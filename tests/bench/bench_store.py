"""How long a take takes to be safe, and how long a box takes to open and to load.

Run: ``python tests/bench/bench_store.py [FOLDER]``. The box has 300 cards and 20,000 takes; FOLDER
chooses the disk. Prints one line a figure; ends with 1 if a limit is passed. Durable writes are
measured against bare sqlite3 doing the same durable insert, turn by turn, so that both see the same
disk at the same time: where the disk itself takes long now and then, the limit of the slowest
hundredth is twice what bare sqlite3 had.
"""

from __future__ import annotations

import os
import random
import sqlite3
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import drillbox
from drillbox.store import Archive, BeliefRow, CardRow, DeckRow, Standing, TakeRow, schema

if TYPE_CHECKING:
    from collections.abc import Callable

CARDS, TAKES, RECORDS = 300, 20_000, 500
NOW = datetime(2026, 3, 12, 18, 30, tzinfo=UTC)
MODEL = "bench"


def milliseconds(work: Callable[[], object], *, times: int = 1) -> float:
    """Return the median time of some work."""
    spans = []
    for _ in range(times):
        began = time.perf_counter()
        work()
        spans.append((time.perf_counter() - began) * 1000)
    return sorted(spans)[times // 2]


def opened(path: Path, *, day: int = 0) -> Archive:
    """Open the box some days on."""
    return Archive.open(path, now=NOW + timedelta(days=day), new_id=lambda: uuid4().hex)


def take(chance: random.Random, at: datetime) -> TakeRow:
    """Return a take of any card."""
    card = f"{chance.randrange(CARDS):016x}"
    key = f"{chance.getrandbits(128):032x}"
    bpm, grade = chance.uniform(50, 160), chance.randint(-2, 2)
    return TakeRow(key, card, bpm, grade, at, "Europe/Berlin", 45.0, "self")


def make(path: Path, chance: random.Random) -> None:
    """Make the usual box: two years of practice."""
    deck = DeckRow("bench", "Bench", 1, "", "CC0-1.0", "", "x" * 60_000, NOW)
    pattern = "hat: 1 & 2 & 3 & 4 &\nsnare: >2 >4 (1e) (3e)\nbass: 1 3\n"
    cards = [
        CardRow("bench", f"c{n}", f"{n:016x}", f"Card {n}", pattern, 4.0, 1, 100.0, 1.0, (), "f", n)
        for n in range(CARDS)
    ]
    body = tuple(chance.random() for _ in range(12))
    with opened(path) as box:
        box.put_deck(deck, cards)
        box.merge(
            take(chance, NOW - timedelta(minutes=50 * n, microseconds=n)) for n in range(TAKES)
        )
        box.put_beliefs(
            [BeliefRow(card.card_id, body) for card in cards], since=None, now=standing(box.mark())
        )


def standing(mark: int) -> Standing:
    """Return what a cache accounts for."""
    return Standing(MODEL, mark, NOW + timedelta(days=1))


def durable_records(path: Path, chance: random.Random) -> tuple[list[float], list[float]]:
    """Return the times of recording a take, by the store and by bare sqlite3, in ms."""
    bare = sqlite3.connect(path.with_name("bare"), isolation_level=None)
    bare.execute("PRAGMA synchronous = EXTRA")
    bare.execute(schema.TAKE)
    ours, theirs = [], []
    with opened(path) as box:
        for number in range(RECORDS):
            row = take(chance, NOW + timedelta(seconds=number))
            beliefs = [BeliefRow(row.card_id, (1.0,) * 12)]
            began = time.perf_counter()
            box.record(row, beliefs, since=standing(box.mark()), now=standing(box.mark() + 1))
            middle = time.perf_counter()
            bare.execute("BEGIN IMMEDIATE")
            bare.execute(
                "INSERT INTO take VALUES"
                " (?, ?, ?, ?, ?, '2026-03-12T18:30:00.000000Z', ?, ?, ?, NULL, 1)",
                (
                    number,
                    row.id,
                    row.card_id,
                    row.bpm,
                    row.grade,
                    row.zone,
                    row.seconds,
                    row.source,
                ),
            )
            bare.execute("COMMIT")
            ours.append((middle - began) * 1000)
            theirs.append((time.perf_counter() - middle) * 1000)
    bare.close()
    return sorted(ours), sorted(theirs)


def load(path: Path) -> None:
    """Open the box and read what the day's plan needs."""
    with opened(path) as box:
        cache = box.beliefs(MODEL)
        assert cache is not None
        assert len(cache.rows) == len(box.cards()) == len(box.last_takes()) == CARDS
        assert box.mark() >= TAKES
        box.wishes()
        box.settings()
        box.takes(since=NOW - timedelta(days=1))


def import_time(folder: str) -> float:
    """Return what importing the store adds to an interpreter that has sqlite3, in ms."""
    world = {key: os.environ[key] for key in os.environ if key != "PYTHONDONTWRITEBYTECODE"}
    world["PYTHONPYCACHEPREFIX"] = folder
    world["PYTHONPATH"] = str(Path(drillbox.__file__).parent.parent)

    def run(program: str) -> Callable[[], object]:
        return lambda: subprocess.run([sys.executable, "-c", program], check=True, env=world)

    ours, bare = run("import sqlite3, drillbox.store"), run("import sqlite3")
    ours()
    return milliseconds(ours, times=15) - milliseconds(bare, times=15)


def report(name: str, measured: float, limit: float, unit: str = "ms") -> bool:
    """Print a figure and return whether it is within its limit."""
    print(f"{name:<52} {measured:8.2f} {unit}   limit {limit:g}")
    return measured <= limit


def main() -> int:
    """Measure and print."""
    chance = random.Random(1)
    with tempfile.TemporaryDirectory(dir=sys.argv[1] if len(sys.argv) > 1 else None) as folder:
        path = Path(folder) / "box"
        make(path, chance)
        print(f"{CARDS} cards, {TAKES} takes, {path.stat().st_size / 1e6:.1f} MB")
        first = milliseconds(lambda: opened(path).close())
        usual = milliseconds(lambda: opened(path).close(), times=21)
        loading = milliseconds(lambda: load(path), times=21)
        everything = milliseconds(lambda: opened(path).takes(), times=5)
        ours, theirs = durable_records(path, chance)
        opened(path, day=1).close()
        with opened(path, day=1) as box:
            daily = milliseconds(lambda: box.add_take(take(chance, NOW)))
        importing = import_time(folder)
    ends = [times[RECORDS * 99 // 100] for times in (ours, theirs)]
    print(
        f"bare sqlite3, one durable insert: median {theirs[RECORDS // 2]:.2f},"
        f" 99 % {ends[1]:.2f} ms"
    )
    middle = ours[RECORDS // 2] / theirs[RECORDS // 2]
    within = [
        report("record a take, durable: median", ours[RECORDS // 2], 20),
        report("record a take, durable: 99 %", ends[0], max(20.0, 2 * ends[1])),
        report("record a take, over bare sqlite3 (median)", middle, 3, "times"),
        report("open, first time in the day (with the quick check)", first, 50),
        report("open", usual, 5),
        report("open and load what a plan needs", loading, 20),
        report("read all takes", everything, 400),
        report("first write of a day (with the backup)", daily, 250),
        report("import drillbox.store", importing, 50),
    ]
    return int(not all(within))


if __name__ == "__main__":
    sys.exit(main())
