"""The drum kit: single strokes, read from the package and brought to one level.

The strokes were rendered from the FluidR3 GM soundfont (MIT licence, Frank Wen), each alone and cut
at its attack; ``strokes/LICENCE.txt`` has the terms. The snare comes in three degrees (a dull soft
one for ghosts and bounces), the bass drum in two; the other voices differ by level alone.

Conventions: mono float32 at `RATE`; after loading, the root mean square of the first 50 ms of every
stroke is 1, so that a gain is a level.
"""

from __future__ import annotations

import wave
from functools import cache, lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

import numpy as np

from drillbox.rhythm import Level, Voice
from drillbox.sound.timeline import RATE

if TYPE_CHECKING:
    from drillbox.sound.tones import Samples

REFERENCE_FRAMES = RATE // 20
_CHOKE_FRAMES = RATE // 50
"""20 ms in which closing cymbals die away (judgement)."""

_FILES = {
    (Voice.SNARE, Level.GHOST): "snare-soft",
    (Voice.SNARE, Level.TAP): "snare-plain",
    (Voice.SNARE, Level.PLAIN): "snare-plain",
    (Voice.SNARE, Level.ACCENT): "snare-loud",
    (Voice.BASS, Level.GHOST): "bass-plain",
    (Voice.BASS, Level.TAP): "bass-plain",
    (Voice.BASS, Level.PLAIN): "bass-plain",
    (Voice.BASS, Level.ACCENT): "bass-loud",
}


def stroke_sound(voice: Voice, level: Level, *, rings: bool = False) -> Samples:
    """Return the sound of a stroke, at unit level; `rings` is an open hat."""
    return _loaded("hat-open" if rings else _FILES.get((voice, level), voice.value))


@lru_cache(maxsize=64)
def choked(frames: int) -> Samples:
    """Return the open hat, closed after so many frames."""
    whole = stroke_sound(Voice.HAT, Level.PLAIN, rings=True)
    kept = min(frames, len(whole))
    sound = whole[:kept].copy()
    fade = min(_CHOKE_FRAMES, kept)
    sound[kept - fade :] *= np.linspace(1, 0, fade, dtype=np.float32)
    return sound


@cache
def _loaded(name: str) -> Samples:
    folder = files("drillbox.sound") / "strokes"
    with (folder / f"{name}.wav").open("rb") as raw, wave.open(raw) as file:
        samples = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2").astype(np.float64)
    samples /= np.sqrt(np.mean(samples[:REFERENCE_FRAMES] ** 2))
    return samples.astype(np.float32)
