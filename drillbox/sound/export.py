"""A practice track: card after card in one sound file, for a telephone in the practice room.

Each card is announced by its number in the row, as clicks to be counted: a long low tone for each
ten, a short one for each one. Then a breath, then its take with count-in, then a rest.

Conventions: mono float32 at `RATE`; files are 16-bit PCM WAV, rounded and not dithered, so that the
same track gives the same bytes.
"""

from __future__ import annotations

import wave
from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING, Protocol

import numpy as np

from drillbox.base.files import written_whole
from drillbox.errors import UsageError
from drillbox.sound.levels import decibels
from drillbox.sound.timeline import RATE

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from drillbox.sound.tones import Samples

REST_SECONDS = 4.0
"""Between two cards: long enough to look at the next one."""

_ONE_SECONDS = 0.25
_TEN_SECONDS = 0.60
_BREATH_SECONDS = 0.75
_BLOCK = 1 << 16


class Playable(Protocol):
    """Sound of a known length that may ring on after its end, as `Mix` is."""

    @property
    def frames_total(self) -> int | None:
        """Length in frames; ``None`` has no end and cannot be written."""

    @property
    def ring(self) -> int:
        """Frames for which it may sound on."""

    def block(self, start: int, frames: int) -> Samples:
        """Return the samples of frames ``start`` to ``start + frames``."""


@dataclass(frozen=True, slots=True)
class Recorded:
    """Samples that are already there."""

    samples: Samples
    ring: int = 0

    @property
    def frames_total(self) -> int:
        """Length in frames."""
        return len(self.samples)

    def block(self, start: int, frames: int) -> Samples:
        """Return the samples of frames ``start`` to ``start + frames``; silence outside."""
        out = np.zeros(frames, dtype=np.float32)
        begin, end = max(start, 0), min(start + frames, len(self.samples))
        if begin < end:
            out[begin - start : end - start] = self.samples[begin:end]
        return out


class Chain:
    """Playables one after another; each rings on into the next."""

    def __init__(self, parts: Sequence[Playable]) -> None:
        lengths = [frames_of(part) for part in parts]
        self._starts = list(accumulate(lengths, initial=0))
        self._parts = tuple(parts)

    @property
    def frames_total(self) -> int:
        """Length in frames."""
        return self._starts[-1]

    @property
    def ring(self) -> int:
        """Frames for which it may sound on."""
        return max((part.ring for part in self._parts), default=0)

    def block(self, start: int, frames: int) -> Samples:
        """Return the samples of frames ``start`` to ``start + frames``."""
        out = np.zeros(frames, dtype=np.float32)
        for part, begins, ends in zip(self._parts, self._starts, self._starts[1:], strict=False):
            skip = max(begins - start, 0)
            if skip < frames and start < ends + part.ring:
                out[skip:] += part.block(start + skip - begins, frames - skip)
        return out


def frames_of(part: Playable) -> int:
    """Return the length of something that has one."""
    total = part.frames_total
    if total is None:
        raise UsageError("a take without an end cannot be written", fix="give it a number of bars")
    return total


def announcement(number: int) -> Recorded:
    """Return a number as tones to be counted, and a breath."""
    tens, ones = divmod(number, 10)
    tones = [_tone(330.0, _TEN_SECONDS)] * tens + [_tone(660.0, _ONE_SECONDS)] * ones
    return Recorded(np.concatenate([*tones, _silence(_BREATH_SECONDS)]))


def practice_track(takes: Sequence[Playable]) -> Chain:
    """Return takes in a row, each announced by its number, with a rest after each."""
    rest = Recorded(_silence(REST_SECONDS))
    parts = [
        part
        for number, take in enumerate(takes, start=1)
        for part in (announcement(number), take, rest)
    ]
    return Chain(parts)


def write_wav(path: Path, part: Playable, *, over: bool = False) -> None:
    """Write a sound, with what rings on after it, as a 16-bit mono WAV file.

    Raises
    ------
    UsageError
        If it has no end.
    NotSavedError
        If the file cannot be written, or one is there and is not to be written over; a file that
        was there before is then still whole.
    """
    frames = frames_of(part) + part.ring
    with written_whole(path, over=over) as raw, wave.open(raw, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        for start in range(0, frames, _BLOCK):
            file.writeframes(_as_pcm(part.block(start, min(_BLOCK, frames - start))))


def _as_pcm(samples: Samples) -> bytes:
    return np.rint(np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes()


def _tone(hertz: float, seconds: float) -> Samples:
    """Return a tone that fills two thirds of its time and is silent for the rest."""
    frames = round(seconds * RATE * 2 / 3)
    phase = 2 * np.pi * hertz * np.arange(frames) / RATE
    swell = np.minimum(1, np.minimum(np.arange(frames), np.arange(frames)[::-1]) / (RATE / 100))
    sound = (np.sin(phase) * swell * decibels(-16.0)).astype(np.float32)
    return np.concatenate([sound, _silence(seconds - frames / RATE)])


def _silence(seconds: float) -> Samples:
    return np.zeros(round(seconds * RATE), dtype=np.float32)
