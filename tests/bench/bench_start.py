"""How long a player waits: ``python tests/bench/bench_start.py``.

Whole processes, in turn with a reference process, so that the ratio holds on a noisy machine:

- ``drillbox today`` (300 cards, 20,000 takes) against ``import click, numpy, sqlite3``: budget 2.
- the app's first frame against an empty Textual app's: budget 1.3; and, for itself, until today's
  plan stands on it.
- one take recorded, durable, 300 cards: budget 20 ms.
"""

from __future__ import annotations

import os
import pty
import select
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from big_box import make_big_box

from drillbox.memory import Grade

ROUNDS = 11
EMPTY_APP = "from textual.app import App\nApp().run()"
ENOUGH_BYTES = 1500
"""A first frame has arrived when so much has been drawn: an empty screen of 80 by 24 takes more."""


def whole_process(command: list[str], environment: dict[str, str]) -> float:
    """Return the seconds a process takes from start to end."""
    start = time.perf_counter()
    subprocess.run(command, env=environment, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def on_screen(command: list[str], environment: dict[str, str], *, words: bytes = b"") -> float:
    """Return the seconds until a pseudo-terminal got a frame, or until it got some words."""
    start = time.perf_counter()
    pid, terminal = pty.fork()
    if pid == 0:
        os.execve(command[0], command, environment)  # noqa: S606
    drawn = b""
    while len(drawn) < ENOUGH_BYTES or words not in drawn:
        if select.select([terminal], [], [], 10)[0]:
            drawn += os.read(terminal, 65536)
    seconds = time.perf_counter() - start
    os.kill(pid, 9)
    os.waitpid(pid, 0)
    os.close(terminal)
    return seconds


def compare(name: str, ours: list[float], reference: list[float], budget: float) -> None:
    """Print medians and the median of the pairwise ratios."""
    ratio = statistics.median(a / b for a, b in zip(ours, reference, strict=True))
    print(
        f"{name}: {statistics.median(ours) * 1000:.0f} ms against "
        f"{statistics.median(reference) * 1000:.0f} ms, ratio {ratio:.2f} (budget {budget})"
    )


def main() -> None:
    """Run all three."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environment |= {"TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"}
    python = sys.executable
    with tempfile.TemporaryDirectory() as folder:
        environment["DRILLBOX_BOX"] = str(Path(folder) / "player.box")
        box = make_big_box(Path(environment["DRILLBOX_BOX"]), cards=300, takes=20_000)
        program = str(Path(python).with_name("drillbox"))
        today = [program, "today"]
        imports = [python, "-c", "import click, numpy, sqlite3"]
        app, empty = [program], [python, "-c", EMPTY_APP]
        pairs = [
            (whole_process(today, environment), whole_process(imports, environment))
            for _ in range(ROUNDS + 1)
        ][1:]
        compare("drillbox today", [a for a, _ in pairs], [b for _, b in pairs], 2.0)
        pairs = [
            (on_screen(app, environment), on_screen(empty, environment)) for _ in range(ROUNDS + 1)
        ][1:]
        compare("first frame", [a for a, _ in pairs], [b for _, b in pairs], 1.3)
        plans = [on_screen(app, environment, words=b"of 15:00 left") for _ in range(ROUNDS)]
        print(f"today's plan on the screen: {statistics.median(plans) * 1000:.0f} ms")
        card = box.find("c0")
        spent = []
        for _ in range(60):
            start = time.perf_counter()
            box.record(card, bpm=80, grade=Grade.STEADY, at=datetime.now(UTC), seconds=40)
            spent.append(time.perf_counter() - start)
        box.close()
        print(
            f"one take, durable: median {statistics.median(spent) * 1000:.1f} ms, "
            f"worst {max(spent) * 1000:.1f} ms (budget 20)"
        )


if __name__ == "__main__":
    main()
