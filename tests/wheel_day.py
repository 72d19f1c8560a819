"""A practice day from an installed wheel: ``python tests/wheel_day.py PATH_TO_DRILLBOX``.

First by commands, then the app itself in a real pseudo-terminal, by keyboard, at sixty times the
pace of life. Needs only the standard library, so it runs in the empty environment the wheel was
installed into.
"""

from __future__ import annotations

import json
import os
import re
import select
import subprocess
import sys
import tempfile
import time
from pathlib import Path

PACE = "60"
PATIENCE_SECONDS = 300.0
TODAY, READY, QUESTION, OVER = "stroke", "enter starts", "go next", "Wrap-up"
"""Words of the screens that a day goes through; each is drawn in one piece when it comes up."""


def command(program: str, *words: str) -> str:
    """Run one command and return what it printed; any failure ends the day."""
    done = subprocess.run([program, *words], capture_output=True, text=True, check=False)
    if done.returncode or done.stderr:
        sys.exit(f"{' '.join(words)}: exit {done.returncode}: {done.stderr}")
    return done.stdout


def day_by_commands(program: str) -> None:
    """Add a starter deck that came inside the wheel, plan, record.

    And see tomorrow's plan follow.
    """
    command(program, "decks", "add", "sixteenth-ghosts")
    before = json.loads(command(program, "today", "--json"))
    first = before["items"][0]
    for _ in range(first["takes"]):
        command(program, "record", first["card_id"], str(first["bpm"]), "clean")
    card = json.loads(command(program, "card", first["card_id"], "--json"))
    after = json.loads(command(program, "today", "--json"))
    assert card["takes"] == first["takes"]
    assert after["seconds_left"] < before["seconds_left"]


def day_in_a_terminal(program: str) -> None:
    """Start the app as a player does, and play until the wrap-up."""
    import pty

    pid, terminal = pty.fork()
    if pid == 0:
        os.environ.update(TERM="xterm-256color", COLUMNS="80", LINES="24", DRILLBOX_PACE=PACE)
        os.execv(program, [program])  # noqa: S606 - the program under test
    seen, read = "", 0
    end = time.monotonic() + PATIENCE_SECONDS

    def wait_for(*words: str) -> None:
        """Read on until one of some words is drawn."""
        nonlocal seen, read, end
        while not any(word in seen[read:] for word in words) and time.monotonic() < end:
            if select.select([terminal], [], [], 0.05)[0]:
                try:
                    seen += os.read(terminal, 65536).decode("utf-8", "replace")
                except OSError:  # the other end has closed: the app is gone
                    end = 0.0
        read = len(seen)

    def press(key: str, *then: str) -> None:
        """Press a key, and wait for what it leads to."""
        os.write(terminal, key.encode())
        wait_for(*then)

    wait_for(TODAY)
    press("\r", READY)
    graded = 0
    while OVER not in seen and time.monotonic() < end:
        press(" ", QUESTION)
        press("f", READY, OVER)
        graded += 1
    os.write(terminal, b"q")
    _, status = os.waitpid(pid, 0)
    code = os.waitstatus_to_exitcode(status)
    if OVER not in seen or code:
        text = re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", " ", seen)[-2000:]
        sys.exit(f"no wrap-up after {graded} takes (exit {code}): {text}")


def main() -> None:
    """Play the day in a box of its own."""
    program = str(Path(sys.argv[1]).absolute())
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DRILLBOX_BOX"] = str(Path(folder) / "player.box")
        day_by_commands(program)
        if sys.platform != "win32":
            day_in_a_terminal(program)
            takes = command(program, "export", "-").count('"kind": "take"')
            assert takes >= 8, takes
    print("a practice day from the wheel: 1 passed, 0 failed")  # noqa: T201 - a script's result


if __name__ == "__main__":
    main()
