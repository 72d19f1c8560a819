"""How long each command that prints lets a player wait: ``python tests/bench/bench_commands.py``.

Whole processes, in turn with ``drillbox --help`` and ``python -c pass`` of the same run, on boxes
of 300 cards with 20,000 and 200,000 takes. Per command the least and the median of some rounds: the
first content beyond the least time of the help (budget 150 ms at 20,000 takes) and the whole
(budget 0.5 s), and how much longer ten times the takes need (budget 2, of the least). `export` and
`checkup` go through every take and every page, `learn` replays takes a hundred times: none of them
can be told from a cache. A number on the command line changes how many rounds there are.
"""

from __future__ import annotations

import os
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
Seconds = tuple[float, float]


def drillbox(words: tuple[str, ...], box: Path) -> list[str]:
    """Return a command as the system starts it."""
    program = str(Path(sys.executable).with_name("drillbox"))
    return [program, *(word if word != "FILE" else f"{box}.progress.jsonl" for word in words)]


def waited(program: list[str], box: Path) -> Seconds:
    """Return the seconds until a program's first byte, and until its end."""
    environment = os.environ | {"DRILLBOX_BOX": str(box), "COLUMNS": "80"}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # an installed program has its bytecode
    start = time.perf_counter()
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
    return first, time.perf_counter() - start


class Waits(NamedTuple):
    """The least and the median seconds of a command; what starting alone takes in turn with it."""

    first: Seconds
    whole: Seconds
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
    first, whole = zip(*(ours for ours, _, _ in rounds), strict=True)
    return Waits(
        (min(first), statistics.median(first)),
        (min(whole), statistics.median(whole)),
        min(helped for _, (helped, _), _ in rounds),
        min(python for _, _, (_, python) in rounds),
    )


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


def _cells(of: Waits) -> str:
    first, whole = (f"{1000 * least:>6.0f} /{1000 * usual:>5.0f}" for least, usual in of[:2])
    return f"{first} {1000 * (of.first[0] - of.help):>7.0f} {whole}"


if __name__ == "__main__":
    main()
