"""How long each command that prints lets a player wait: ``python tests/bench/bench_commands.py``.

Whole processes, in turn with ``drillbox --help`` and ``python -c pass`` of the same run, on boxes
of 300 cards with 20,000 and 200,000 takes. Per command the least and the median of some rounds: the
first content beyond the least time of the help (budget 150 ms at 20,000 takes) and the whole
(budget 0.5 s), and how much longer ten times the takes need (budget 2, of the least). `export` and
`checkup` go through every take and every page, `learn` replays takes a hundred times: none of them
can be told from a cache. So it is also told what one take more costs them in processor time, beside
a bare loop that writes the lines of an export unchecked, and SQLite's own check of the box and its
backup. A number on the command line changes how many rounds there are.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from big_box import make_big_box

CARDS = 300
SIZES = (20_000, 200_000)
ROUNDS = int(sys.argv[1]) if len(sys.argv) > 1 else 7
COMMANDS: tuple[tuple[str, ...], ...] = (
    ("today",),
    ("why", "c0"),
    ("cards",),
    ("card", "c0"),
    ("year",),
    ("ahead",),
    ("learn", "--report"),
    ("learn",),
    ("path", "many"),
    ("vocabulary",),
    ("decks",),
    ("set",),
    ("export", "-"),
    ("progress", "export", "FILE"),
    ("checkup",),
)
BARE_EXPORT = """
import sqlite3, sys
takes = "SELECT id, card_id, bpm, grade, at, zone, seconds, source FROM take ORDER BY at, id"
for key, card, bpm, grade, at, zone, seconds, source in sqlite3.connect(sys.argv[1]).execute(takes):
    sys.stdout.buffer.write(
        f'{{"kind": "take", "id": "{key}", "card": "{card}", "bpm": {bpm!r}, "grade": {grade}, '
        f'"at": "{at}", "zone": "{zone}", "seconds": {seconds!r}, "source": "{source}"}}'.encode()
        + bytes([10])
    )
"""
BARE_CHECK = """
import pathlib, sqlite3, sys
for box in (sys.argv[1], *pathlib.Path(sys.argv[1] + ".backups").glob("*.box")):
    db = sqlite3.connect(box)
    db.execute("PRAGMA cache_size = -65536")
    print(db.execute("PRAGMA integrity_check").fetchall())
"""
EVERY_TAKE = {("export", "-"): BARE_EXPORT, ("checkup",): BARE_CHECK}
"""Commands that go through every take, and what is bare of it."""


def drillbox(words: tuple[str, ...], box: Path) -> list[str]:
    """Return a command as the system starts it."""
    program = str(Path(sys.executable).with_name("drillbox"))
    return [program, *(word if word != "FILE" else f"{box}.progress.jsonl" for word in words)]


class Seconds(NamedTuple):
    """The seconds until a program's first byte and until its end, and those of the processor."""

    first: float
    whole: float
    processor: float


def waited(program: list[str], box: Path) -> Seconds:
    """Run a program to its end."""
    environment = os.environ | {"DRILLBOX_BOX": str(box), "COLUMNS": "80"}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # an installed program has its bytecode
    before, start = _processor(), time.perf_counter()
    with subprocess.Popen(
        program,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    ) as process:
        assert process.stdout is not None
        process.stdout.read(1)
        first = time.perf_counter() - start
        process.stdout.read()
    return Seconds(first, time.perf_counter() - start, _processor() - before)


def _processor() -> float:
    """Return the seconds that the processor has worked for all programs that have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


class Waits(NamedTuple):
    """The least and the median seconds of a command; what starting alone takes in turn with it."""

    first: tuple[float, float]
    whole: tuple[float, float]
    processor: float
    help: float
    python: float


def waits(words: tuple[str, ...], box: Path) -> Waits:
    """Time a command, once more than is counted."""
    rounds = [
        (
            waited(drillbox(words, box), box),
            waited(drillbox(("--help",), box), box),
            waited([sys.executable, "-c", "pass"], box),
        )
        for _ in range(ROUNDS + 1)
    ][1:]
    first, whole, processor = zip(*(ours for ours, _, _ in rounds), strict=True)
    return Waits(
        (min(first), statistics.median(first)),
        (min(whole), statistics.median(whole)),
        min(processor),
        min(helped.first for _, helped, _ in rounds),
        min(python.whole for _, _, python in rounds),
    )


def one_more(words: tuple[str, ...], boxes: list[Path]) -> tuple[float, float]:
    """Return the processor's microseconds a take more of a command, and of what is bare of it."""
    ours = [drillbox(words, box) for box in boxes]
    bare = [[sys.executable, "-c", EVERY_TAKE[words], str(box)] for box in boxes]
    costs = []
    for programs in (ours, bare):
        small, large = (
            min(waited(program, box).processor for _ in range(ROUNDS))
            for program, box in zip(programs, boxes, strict=True)
        )
        costs.append(1e6 * (large - small) / (SIZES[1] - SIZES[0]))
    return costs[0], costs[1]


def main() -> None:
    """Make the boxes and time every command on both."""
    with tempfile.TemporaryDirectory() as folder:
        boxes = []
        for takes in SIZES:
            boxes.append(Path(folder) / f"{takes}.box")
            with make_big_box(boxes[-1], cards=CARDS, takes=takes) as box:
                box.archive.back_up(datetime.now(UTC))
        print(f"of {ROUNDS} rounds the least / the median, in ms")
        print(f"{'':<22}{SIZES[0]:>9,} takes{'':<35}{SIZES[1]:>9,} takes")
        head = f"{'first':>13} {'beyond':>7} {'whole':>13}"
        print(f"{'command':<22}{head} {'pass':>5}   {head} {'ratio':>6}")
        for words in COMMANDS:
            small, large = (waits(words, box) for box in boxes)
            ratio = large.whole[0] / small.whole[0]
            print(
                f"{' '.join(words):<22}{_cells(small)} {1000 * small.python:>5.0f}   "
                f"{_cells(large)} {ratio:>6.2f}",
                flush=True,
            )
        print("one take more, in microseconds of the processor, and bare of all else:")
        for words in EVERY_TAKE:
            ours, bare = one_more(words, boxes)
            print(f"{' '.join(words):<22}{ours:>9.1f} {bare:>9.1f}")


def _cells(of: Waits) -> str:
    first, whole = (f"{1000 * least:>6.0f} /{1000 * usual:>5.0f}" for least, usual in of[:2])
    return f"{first} {1000 * (of.first[0] - of.help):>7.0f} {whole}"


if __name__ == "__main__":
    main()
