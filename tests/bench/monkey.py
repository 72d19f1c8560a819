"""A monkey at the keys: ``python tests/bench/monkey.py [SEED] [KEYS]``.

Thousands of keys, resizes, pastes and clicks at random, on a box of some months, with the clock
turned on between them: the app must not end but by its own quit key, and every take in the log must
have been graded. Prints the seed, how often each screen was up and how many takes came of it; ends
with 1 where the app fell.
"""

from __future__ import annotations

import asyncio
import os
import random
import sys
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from big_box import make_big_box
from textual import app as textual_app
from textual import pilot as textual_pilot
from textual.events import Paste

from drillbox.app.app import DrillboxApp
from drillbox.app.desk import Desk
from drillbox.base.clock import ManualClock
from drillbox.sound import Metronome, SilentClock

KEYS = [
    *"asdfglhunmbcrpwystxoqjkvz1234567890/.,;-'",
    *("space", "enter", "escape", "backspace", "tab", "question_mark", "slash", "ctrl+p", "f2"),
    *("up", "down", "left", "right", "pageup", "pagedown", "home", "end"),
    *["space"] * 6,
    *["enter"] * 4,
    *["escape"] * 3,
]
SIZES = [(80, 24), (160, 50), (100, 30), (60, 18), (40, 10), (12, 4), (1, 1), (300, 90)]
PASTES = ["", "e of every beat", "[/b]", "\x1b[31m\n\n" * 50, "é" * 5000]


async def a_turn(min_sleep: float = 0.0, max_sleep: float = 1.0) -> None:
    """Wait for a few milliseconds: a pilot would wait at each key until the process is idle."""
    del min_sleep, max_sleep
    await asyncio.sleep(0.004)


async def run(seed: int, keys: int, path: Path) -> int:
    """Let the monkey play; return the exit code."""
    chance = random.Random(seed)
    clock = ManualClock(datetime.now(UTC))
    box = make_big_box(path, cards=60, takes=2_000, now=clock.now())
    desk = Desk(box, clock, lambda: Metronome(SilentClock(clock.seconds)))
    seen: Counter[str] = Counter()
    last = ""
    before, pressed = len(box.archive.takes()), 0
    for module in (textual_app, textual_pilot):
        module.wait_for_idle = a_turn  # type: ignore[attr-defined]
    while pressed < keys:
        app = DrillboxApp(lambda: desk)
        async with app.run_test(size=(80, 24)) as pilot:
            while pressed < keys and app._exit is False:
                key = chance.choice(KEYS)
                if key == "q" and chance.random() < 0.95:
                    continue
                await pilot.press(key)
                pressed += 1
                clock.forward(seconds=chance.choice([0, 0, 0.3, 1, 5, 20, 60]))
                if chance.random() < 0.01:
                    await pilot.resize_terminal(*chance.choice(SIZES))
                if chance.random() < 0.01:
                    app.screen.post_message(Paste(chance.choice(PASTES)))
                if chance.random() < 0.005:
                    clock.forward(days=chance.choice([1, 3, 40]))
                last = type(app.screen).__name__
                seen[last] += 1
        if app.return_code not in {0, None}:
            print(f"seed {seed}: the app fell after {pressed} keys, {last}: {app._exception!r}")
            app._print_error_renderables()
            return 1
    takes = len(box.archive.takes()) - before
    print(f"seed {seed}: {pressed} keys, {takes} takes; {dict(seen.most_common())}")
    box.close()
    return 0


def main() -> None:
    """Run once with the seed and the number of keys that were asked for."""
    seed = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    keys = int(sys.argv[2]) if len(sys.argv) > 2 else 5_000
    with TemporaryDirectory() as folder:
        os.chdir(folder)  # the monkey finds the keys that write a file
        sys.exit(asyncio.run(run(seed, keys, Path(folder) / "player.box")))


if __name__ == "__main__":
    main()
