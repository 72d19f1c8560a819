"""How fast sound is made, and whether the callback meets its deadline.

Run: ``python tests/bench/bench_sound.py``. Prints the figures; ends with 1 if a limit is passed.
The callback is measured in the thread's own processor time: on a shared machine the wall clock
would measure the neighbours.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from drillbox.rhythm import parse, parse_meter
from drillbox.sound import (
    RATE,
    ClickStyle,
    ManualDevice,
    Metronome,
    Mix,
    Timeline,
    click_program,
    play_along,
    practice_track,
    write_wav,
)

BLOCK = 256
SECONDS = 120
LEAST_SPEED = 50.0


def dense_click() -> Mix:
    """Return the busiest click there is: thirty-second notes at 240 bpm."""
    return click_program(parse_meter("4/4"), 240, style=ClickStyle(subdivision=8))


def dense_groove() -> Mix:
    """Return a busy card: every voice, every ornament, the click on its own grid, at 160 bpm."""
    pattern = parse(
        "hat: 1 &\nride: 4\ncrash: 1\nbass: 1 3\nsnare: >2 >4 (z1e) (/3e) (1a) (d3a) f2&\n"
    )
    return play_along(pattern, Timeline.steady(pattern.meter, 160))


def render_speed(program: Mix) -> float:
    """Return how many seconds of sound a second of work gives, in blocks of the stream."""
    frames = SECONDS * RATE
    began = time.perf_counter()
    for start in range(0, frames, BLOCK):
        program.block(start, BLOCK)
    return SECONDS / (time.perf_counter() - began)


def callback_times(program: Mix) -> list[float]:
    """Return how long each block took the engine, in ms, while a screen asks 30 times a second."""
    device = ManualDevice()
    times = []
    with Metronome(device) as metronome:
        metronome.start(program)
        for block in range(SECONDS * RATE // BLOCK):
            if block % 6 == 0:
                metronome.position()
            began = time.thread_time()
            device.pump(BLOCK)
            times.append((time.thread_time() - began) * 1000)
    return times


def file_speed() -> float:
    """Return how many seconds of practice track a second of work writes."""
    pattern = parse("hat: 1 &\nbass: 1 3\nsnare: >2 >4 (1e) (3a)\n")
    takes = [
        play_along(pattern, Timeline.steady(pattern.meter, 80 + card, bars=16, count_in_bars=1))
        for card in range(20)
    ]
    track = practice_track(takes)
    with tempfile.TemporaryDirectory() as folder:
        began = time.perf_counter()
        write_wav(Path(folder) / "track.wav", track)
        return track.frames_total / RATE / (time.perf_counter() - began)


def main() -> int:
    """Measure and print."""
    deadline = BLOCK / RATE * 1000
    failed = False
    for name, make in (
        ("click, thirty-seconds at 240", dense_click),
        ("busy groove at 160", dense_groove),
    ):
        speed, times = render_speed(make()), callback_times(make())
        usual, worst = float(np.percentile(times, 99)), max(times)
        print(f"{name}: rendered at {speed:.0f} x real time")
        print(
            f"  block of {BLOCK} frames: median {np.median(times):.3f} ms, 99 % {usual:.3f} ms, "
            f"worst {worst:.3f} ms, deadline {deadline:.2f} ms"
        )
        failed = failed or speed < LEAST_SPEED or worst > deadline
    written = file_speed()
    print(f"practice track of 20 cards: written at {written:.0f} x real time")
    return int(failed or written < LEAST_SPEED)


if __name__ == "__main__":
    sys.exit(main())
