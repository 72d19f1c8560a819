"""What the stand costs while its playhead moves: ``python tests/bench/bench_stand.py``.

The app runs in a pseudo-terminal of 160 by 50, counts in and plays; its share of one core is read
from the operating system over some seconds, for the stand ready and for the stand playing. Budget:
10 %. Linux only (``/proc``).
"""

from __future__ import annotations

import fcntl
import os
import pty
import select
import struct
import subprocess
import sys
import tempfile
import termios
import time
from pathlib import Path

ROWS, COLUMNS = 50, 160
SECONDS = 12.0
TICKS = os.sysconf("SC_CLK_TCK")


def drain(terminal: int, seconds: float) -> int:
    """Read what the app draws for some seconds; return how many bytes it was."""
    end, drawn = time.monotonic() + seconds, 0
    while time.monotonic() < end:
        if select.select([terminal], [], [], 0.05)[0]:
            drawn += len(os.read(terminal, 65536))
    return drawn


def cpu_seconds(pid: int) -> float:
    """Return the processor seconds a process has used, its threads included."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def share(pid: int, terminal: int, what: str) -> None:
    """Print the share of one core over the measured seconds."""
    before, start = cpu_seconds(pid), time.monotonic()
    drawn = drain(terminal, SECONDS)
    used = (cpu_seconds(pid) - before) / (time.monotonic() - start)
    print(
        f"{what}: {100 * used:.1f} % of one core (budget 10 %),"
        f" {drawn / SECONDS / 1000:.1f} kB/s drawn"
    )


def main() -> None:
    """Play one take and look on."""
    with tempfile.TemporaryDirectory() as folder:
        environment = os.environ | {
            "DRILLBOX_BOX": str(Path(folder) / "player.box"),
            "TERM": "xterm-256color",
        }
        drillbox = [sys.executable, "-m", "drillbox"]
        subprocess.run(
            [*drillbox, "decks", "add", "sixteenth-ghosts"],
            env=environment,
            check=True,
            stdout=subprocess.DEVNULL,
        )
        pid, terminal = pty.fork()
        if pid == 0:
            os.execve(drillbox[0], drillbox, environment)  # noqa: S606 - our own program
        fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
        drain(terminal, 8)
        os.write(terminal, b"\r")
        drain(terminal, 4)
        share(pid, terminal, "the stand, ready")
        os.write(terminal, b"b")
        drain(terminal, 0.5)
        os.write(terminal, b" ")
        drain(terminal, 4)
        share(pid, terminal, "the stand, click and kit, playhead moving")
        os.kill(pid, 9)
        os.waitpid(pid, 0)


if __name__ == "__main__":
    main()
