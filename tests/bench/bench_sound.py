"""How fast sound is made, and whether the callback meets its deadline.

Run: ``python tests/bench/bench_sound.py``. Prints one line a figure; ends with 1 if a limit is passed.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from drillbox.rhythm import parse_meter
from drillbox.sound import RATE, ClickStyle, ManualDevice, Metronome, Mix, click_program

BLOCK = 256
MINUTES = 5


def dense_click() -> Mix:
    """Return the busiest click there is: thirty-second notes at 240 bpm."""
    return click_program(parse_meter("4/4"), 240, style=ClickStyle(subdivision=8))


def render_speed(program: Mix) -> float:
    """Return how many seconds of sound a second of work gives, in blocks of the stream."""
    frames = MINUTES * 60 * RATE
    began = time.perf_counter()
    for start in range(0, frames, BLOCK):
        program.block(start, BLOCK)
    return frames / RATE / (time.perf_counter() - began)


def callback_times(program: Mix) -> list[float]:
    """Return how long each block of 256 frames took the engine, in ms, bars not yet worked out."""
    device = ManualDevice()
    times = []
    with Metronome(device) as metronome:
        metronome.start(program)
        for _ in range(60 * RATE // BLOCK):
            began = time.perf_counter()
            device.pump(BLOCK)
            times.append((time.perf_counter() - began) * 1000)
    return times


def main() -> int:
    """Measure and print."""
    deadline = BLOCK / RATE * 1000
    failed = False
    for name, make in (("click, thirty-seconds at 240", dense_click),):
        speed = render_speed(make())
        times = callback_times(make())
        worst, usual = max(times), float(np.percentile(times, 99))
        print(
            f"{name}: {speed:.0f} x real time; block of {BLOCK}: median {np.median(times):.3f} ms, "
        )
        print(f"  99 % {usual:.3f} ms, worst {worst:.3f} ms, deadline {deadline:.2f} ms")
        failed = failed or speed < 50 or usual > deadline / 4
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
