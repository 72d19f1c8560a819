"""What the tests of sound share: whole takes as samples, and where something begins in them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from drillbox.rhythm import parse_meter
from drillbox.sound import Metronome, Mix, Position, click_program

if TYPE_CHECKING:
    from drillbox.sound.export import Playable
    from drillbox.sound.tones import Samples


FOUR = parse_meter("4/4")
BEAT = 24_000


def clicks_at_120(bars: int | None = 4, count_in_bars: int = 0) -> Mix:
    """Return clicks at 120 bpm: one every 24,000 frames."""
    return click_program(FOUR, 120, bars=bars, count_in_bars=count_in_bars)


def heard(metronome: Metronome) -> Position:
    """Return the position of something that plays."""
    position = metronome.position()
    assert position is not None
    return position


def render(program: Playable, blocks: list[int] | None = None) -> Samples:
    """Return a whole take, in one block or in blocks of the given sizes in turn."""
    total = program.frames_total
    assert total is not None
    parts: list[Samples] = []
    at = 0
    while at < total:
        size = min(blocks[len(parts) % len(blocks)] if blocks else total, total - at)
        parts.append(program.block(at, size))
        at += size
    return np.concatenate(parts)


def onsets(samples: Samples, *, silence: int = 40) -> list[int]:
    """Return where sound begins after at least `silence` frames of nothing."""
    sounding = np.flatnonzero(samples)
    gaps = np.diff(sounding, prepend=-silence - 1)
    return [int(frame) for frame in sounding[gaps > silence]]


def level_db(samples: Samples) -> float:
    """Return the root mean square in dB relative to full scale."""
    return float(10 * np.log10(np.mean(samples.astype(np.float64) ** 2)))
