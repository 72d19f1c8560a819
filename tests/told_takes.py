"""Takes told stroke by stroke, without sound: what the ear says of them is exact."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.ear import AskedTake, ExtraStroke, Measurement
from drillbox.ear.expected import Expected, expected_strokes
from drillbox.ear.measuring import judged, on_the_grid
from drillbox.ear.verdict import StrokeFact
from drillbox.rhythm import Level, Pattern, parse

if TYPE_CHECKING:
    from collections.abc import Callable

START = 1.5
DB = {Level.GHOST: -34.0, Level.TAP: -22.0, Level.PLAIN: -18.0, Level.ACCENT: -14.0}
"""How loud each level is played where a test says nothing else: 20 dB from ghost to accent."""


def told(
    pattern: Pattern | str,
    *,
    bpm: float = 90,
    passes: int = 6,
    late: Callable[[Expected], float] = lambda _: 0.0,
    level: Callable[[Expected], float] = lambda stroke: DB[stroke.level],
    state: Callable[[Expected], str] = lambda _: "heard",
    covered: Callable[[Expected], bool] = lambda _: False,
    extra: tuple[ExtraStroke, ...] = (),
    noise_db: float | None = None,
    absent: tuple[str, ...] = (),
) -> Measurement:
    """Return the measurement of a take, each stroke so many milliseconds late and so loud."""
    asked = AskedTake(parse(pattern) if isinstance(pattern, str) else pattern, bpm, passes, START)
    facts = [
        StrokeFact(
            stroke,
            "heard",
            START + stroke.seconds + late(stroke) / 1000,
            level(stroke),
            covered(stroke),
        )
        if state(stroke) == "heard"
        else StrokeFact(stroke, state(stroke), covered=covered(stroke))
        for stroke in expected_strokes(asked.pattern, bpm, passes)
    ]
    grid, laid = on_the_grid(facts, asked, START)
    return judged(asked, grid, extra, laid, noise_db=noise_db, absent=absent)
