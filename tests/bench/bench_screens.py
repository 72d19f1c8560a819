"""How long each screen lets a player wait: ``python tests/bench/bench_screens.py``.

The app runs in a pseudo-terminal of 80 by 24 on boxes of 300 cards with 20,000 and 200,000 takes.
Of each screen: the time from the key to its first contents, the first time it is opened in a
session (its module is loaded then) and after that, and until nothing more is drawn. Budgets: 150 ms
to the first contents, 0.5 s for the whole, at most twice the time for ten times the takes. A number
on the command line changes how often each screen is opened. Linux and macOS (pseudo-terminals).
"""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import statistics
import struct
import sys
import tempfile
import termios
import time
from pathlib import Path
from typing import NamedTuple

from big_box import make_big_box

CARDS = 300
SIZES = (20_000, 200_000)
TIMES = int(sys.argv[1]) if len(sys.argv) > 1 else 7
ROWS, COLUMNS = 24, 80
QUIET, SHORT_QUIET = 0.4, 0.15
LONGEST = 20.0
_CONTROL = re.compile(rb"\x1b\[[0-9;?<>=]*[ -/]*[@-~]|\x1b[()][A-Z0-9]|\x1b[=>78]")


class Step(NamedTuple):
    """A key, and what the screen then says."""

    key: bytes
    says: bytes


class Screen(NamedTuple):
    """A screen: its name, the step that opens it, those from Today up to it and back to Today."""

    name: str
    opens: Step
    before: tuple[Step, ...]
    leaves: tuple[Step, ...]


SHELF = Step(b"s", b"in deck order")
BACK_TO_SHELF = Step(b"\x1b", b"in deck order")
BACK_TO_TODAY = Step(b"\x1b", "⏎ play".encode())
SCREENS = (
    Screen("shelf", SHELF, (), (BACK_TO_TODAY,)),
    Screen("card page", Step(b"\r", b"Cold now about"), (SHELF,), (BACK_TO_SHELF, BACK_TO_TODAY)),
    Screen("map", Step(b"v", b"The map:"), (SHELF,), (BACK_TO_SHELF, BACK_TO_TODAY)),
    Screen("week", Step(b"w", b"Minutes"), (), (BACK_TO_TODAY,)),
    Screen("year", Step(b"y", b"Vocabulary in hand"), (), (BACK_TO_TODAY,)),
    Screen("stand", Step(b"\r", b"space or enter starts it"), (), (BACK_TO_TODAY,)),
)


class Waits(NamedTuple):
    """Seconds from a key to the first contents, and to the last thing drawn."""

    first: float
    whole: float


def drawn_after(terminal: int, step: Step, quiet: float = QUIET) -> Waits:
    """Press a key and read what is drawn until nothing more comes; return the waits."""
    start = time.perf_counter()
    os.write(terminal, step.key)
    seen, first, last = b"", 0.0, start
    while time.perf_counter() - last < quiet or (
        not first and time.perf_counter() - start < LONGEST
    ):
        if select.select([terminal], [], [], 0.02)[0]:
            seen += os.read(terminal, 65536)
            last = time.perf_counter()
            if not first and step.says in b" ".join(_CONTROL.sub(b"", seen).split()):
                first = last - start
    if not first:
        sys.exit(f"{step.says.decode()!r} never came after {step.key!r}")
    return Waits(first, last - start)


def waits_in(box: Path, times: int) -> dict[str, list[Waits]]:
    """Open every screen several times in one session of the app."""
    environment = os.environ | {"DRILLBOX_BOX": str(box), "TERM": "xterm-256color"}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    program = [sys.executable, "-m", "drillbox"]
    pid, terminal = pty.fork()
    if pid == 0:
        os.execve(program[0], program, environment)  # noqa: S606 - our own program
    try:
        fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
        drawn_after(terminal, BACK_TO_TODAY._replace(key=b""))
        return {screen.name: _waits_of(terminal, screen, times) for screen in SCREENS}
    finally:
        os.kill(pid, 9)
        os.waitpid(pid, 0)


def _waits_of(terminal: int, screen: Screen, times: int) -> list[Waits]:
    found = []
    for _ in range(times):
        for step in screen.before:
            drawn_after(terminal, step, SHORT_QUIET)
        found.append(drawn_after(terminal, screen.opens))
        for step in screen.leaves:
            drawn_after(terminal, step, SHORT_QUIET)
    return found


def main() -> None:
    """Make the boxes, open every screen on both, and print the waits."""
    with tempfile.TemporaryDirectory() as folder:
        sizes = []
        for takes in SIZES:
            path = Path(folder) / f"{takes}.box"
            make_big_box(path, cards=CARDS, takes=takes).close()
            waits_in(path, 1)  # so that the pages of the file and the bytecode are there
            sizes.append(waits_in(path, TIMES))
    print(f"{'':<11}{SIZES[0]:>9,} takes{'':<18}{SIZES[1]:>9,} takes")
    head = f"{'opened':>8} {'again':>8} {'whole':>8}"
    print(f"{'screen':<11}{head}   {head} {'ratio':>6}")
    for screen in SCREENS:
        cells = []
        for waits in (size[screen.name] for size in sizes):
            again = [one.first for one in waits[1:]]
            whole = [one.whole for one in waits[1:]]
            cells.append((waits[0].first, statistics.median(again), statistics.median(whole)))
        told = "   ".join(" ".join(f"{1000 * one:>5.0f} ms" for one in cell) for cell in cells)
        print(f"{screen.name:<11}{told} {cells[1][1] / cells[0][1]:>6.2f}", flush=True)


if __name__ == "__main__":
    main()
