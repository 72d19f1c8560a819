"""What a measured grade is worth to memory: how far expected cold tempi lie from the true ones.

Run: ``python tests/bench/bench_measured.py``. Players are simulated by a law that is not the
model's (exponential forgetting): a cold tempo per card, an unevenness from take to take, and, in
their own grades only, a judging error on top. Three memories look at the same days: own grades;
measured grades taken for own ones; measured grades taken as measured.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from math import exp, log2

import numpy as np

from drillbox.memory import Evidence, Grade, Parameters, prior, update

CARDS, DAYS = 300, 25
TAKE_SD, JUDGING_SD = 0.0645, 0.0473
"""Octaves; together 0.08, the model's noise of a graded take."""


def graded(bpm: float, right: float) -> Grade:
    """Return the grade whose step is nearest to where the metronome should go."""
    step = round((2**right - bpm) / 5)
    return Grade(int(np.clip(step, -2, 2)))


def main() -> int:
    """Print the root mean square error of each, in octaves and per cent."""
    parameters = Parameters()
    errors: dict[str, list[float]] = {"own": [], "measured": [], "measured, told": []}
    for seed in range(CARDS):
        for name, off in errors.items():
            rng = np.random.default_rng(seed)
            cold, belief, at = log2(80) + rng.normal(0, 0.3), prior(parameters), 20000.0
            for _ in range(DAYS):
                gap = float(rng.choice([1, 2, 3, 5, 9]))
                at += gap
                cold += 0.02 - 0.05 * (1 - exp(-gap / 8))
                mean, _ = belief.cold(at, parameters)
                if belief.takes >= 5:
                    off.append(mean - cold)
                bpm = round(2**mean)
                right = cold + rng.normal(0, TAKE_SD)
                judged = right + rng.normal(0, JUDGING_SD)
                grade = graded(bpm, judged if name == "own" else right)
                seen = Evidence(at, 719163 + int(at), bpm, grade)
                belief = update(
                    belief, replace(seen, measured=name == "measured, told"), parameters
                )
    own = float(np.sqrt(np.mean(np.square(errors["own"]))))
    for name, off in errors.items():
        value = float(np.sqrt(np.mean(np.square(off))))
        print(f"{name:16} off by {value:.4f} octave ({value / own:.2f} of own grades)")
    return 0


if __name__ == "__main__":
    sys.exit(main())
