"""How long each command that prints lets a player wait: ``python tests/bench/bench_commands.py``.

Whole processes, in turn with ``drillbox --help`` of the same run, on boxes of 300 cards with 20,000
and 200,000 takes. Per command: the first content beyond the time of the help (budget 150 ms at
20,000 takes), the whole (budget 0.5 s; `checkup`, which reads every page of every backup, has
none), and how much longer ten times the takes need (budget 2). A number on the command line changes
how many rounds the medians are of.
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

from big_box import make_big_box

CARDS = 300
SIZES = (20_000, 200_000)
ROUNDS = int(sys.argv[1]) if len(sys.argv) > 1 else 5
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
HELP = ("--help",)
Seconds = tuple[float, float]


def waited(words: tuple[str, ...], box: Path) -> Seconds:
    """Return the seconds until a command's first byte, and until its end."""
    program = str(Path(sys.executable).with_name("drillbox"))
    said = [word if word != "FILE" else f"{box}.progress.jsonl" for word in words]
    start = time.perf_counter()
    with subprocess.Popen(
        [program, *said],
        env=os.environ | {"DRILLBOX_BOX": str(box), "COLUMNS": "80"},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    ) as process:
        assert process.stdout is not None
        process.stdout.read(1)
        first = time.perf_counter() - start
        process.stdout.read()
    return first, time.perf_counter() - start


def medians(words: tuple[str, ...], box: Path) -> tuple[Seconds, Seconds]:
    """Return the median waits of a command, and of the help in turn with it."""
    pairs = [(waited(words, box), waited(HELP, box)) for _ in range(ROUNDS + 1)][1:]
    ours, theirs = zip(*pairs, strict=True)
    return _middle(ours), _middle(theirs)


def _middle(waits: tuple[Seconds, ...]) -> Seconds:
    first, whole = zip(*waits, strict=True)
    return statistics.median(first), statistics.median(whole)


def main() -> None:
    """Make the boxes and time every command on both."""
    with tempfile.TemporaryDirectory() as folder:
        boxes = []
        for takes in SIZES:
            boxes.append(Path(folder) / f"{takes}.box")
            with make_big_box(boxes[-1], cards=CARDS, takes=takes) as box:
                box.archive.back_up(datetime.now(UTC))
        print(f"{'':<24}{SIZES[0]:>9,} takes{'':<14}{SIZES[1]:>9,} takes")
        print(f"{'command':<24}{'first':>8} {'beyond':>8} {'whole':>8}   {'whole':>8} {'ratio':>7}")
        for words in COMMANDS:
            (first, whole), (help_first, _) = medians(words, boxes[0])
            (_, larger), _ = medians(words, boxes[1])
            beyond = 1000 * (first - help_first)
            print(
                f"{' '.join(words):<24}{1000 * first:>5.0f} ms {beyond:>5.0f} ms {whole:>6.2f} s   "
                f"{larger:>6.2f} s {larger / whole:>7.2f}",
                flush=True,
            )


if __name__ == "__main__":
    main()
