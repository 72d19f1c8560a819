"""Takes made by the benchmark's drums, what the ear hears of them, and plain noise."""

from __future__ import annotations

import importlib
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from drillbox.ear import AskedTake, Measurement, measure

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.ear.energies import Samples

RATE = 44100
BENCH = Path(__file__).parent / "bench"


def maker() -> Callable[..., Any]:
    """Return the benchmark's maker of takes, which is no package."""
    sys.path.insert(0, str(BENCH))
    try:
        return importlib.import_module("takes").make_take  # type: ignore[no-any-return]
    finally:
        sys.path.remove(str(BENCH))


def heard(take: Any, samples: np.ndarray | None = None, **changes: Any) -> Measurement:
    """Return a take as the ear measures it."""
    asked = AskedTake(take.pattern, take.bpm, take.passes, take.start)
    sound = take.samples if samples is None else samples
    return measure(sound.astype(np.float32), RATE, replace(asked, **changes))


def noise(seconds: float, db: float, seed: int = 0, rate: int = RATE) -> Samples:
    """Return white noise of a root mean square in dB of full scale."""
    rng = np.random.default_rng(seed)
    return (rng.normal(size=int(seconds * rate)) * 10 ** (db / 20)).astype(np.float32)
