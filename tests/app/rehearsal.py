"""A drummer in a room, for tests of the stand: what is heard while a take is played.

The drums are those of the benchmark (tests/bench/drum_synth.py), not the product's own. The device
lets a still clock stand for the sound card, as `SilentClock` does, and has a microphone.
"""

from __future__ import annotations

import importlib
import sys
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from drillbox.ear.expected import expected_strokes
from drillbox.rhythm import Level, Voice
from drillbox.sound import RATE, Mix, PadHit, PatternTrack

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from drillbox.ear.expected import Expected
    from drillbox.sound.devices import Feed
    from drillbox.sound.tones import Samples

_BENCH = Path(__file__).parent.parent / "bench"
_BLOCK = 4800


def _synth() -> Any:
    sys.path.insert(0, str(_BENCH))
    try:
        return importlib.import_module("drum_synth")
    finally:
        sys.path.remove(str(_BENCH))


@dataclass
class Drummer:
    """Plays whatever card is on the stand.

    Attributes
    ----------
    jitter_ms, ghosts_db
        How unsteady, and how far ghosts lie under accents.
    late_ms
        How late strokes come, by place of the pattern.
    leaves_out
        Places that are never played.
    way_ms
        From the program through the room to the microphone.
    voices
        What is played; a pad has a snare alone.
    bleed
        How much of what is sounded comes back into the microphone.
    """

    jitter_ms: float = 4.0
    ghosts_db: float = 20.0
    late_ms: dict[float, float] = field(default_factory=dict)
    leaves_out: frozenset[float] = frozenset()
    way_ms: float = 60.0
    voices: frozenset[Voice] = frozenset({Voice.SNARE})
    bleed: float = 0.0
    noise: float = 1e-4

    def heard(self, program: Mix) -> Samples:
        """Return what the microphone hears of a whole take."""
        rng = np.random.default_rng(7)
        kit = _synth().ModalKit.drawn(rng, pad=True)
        frames = (program.frames_total or 0) + 2 * RATE
        out = rng.normal(0, self.noise, frames)
        for stroke, at in self._struck(program, rng):
            sound = kit.strike(stroke.voice, self._db(stroke), rng)
            first = round(at * RATE)
            out[first : first + len(sound)] += 0.5 * sound[: max(frames - first, 0)]
        played = program.block(0, frames)
        way = round(self.way_ms / 1000 * RATE)
        mixed = out + self.bleed * played
        return np.concatenate([np.zeros(way), mixed])[:frames].astype(np.float32)

    def notes(self, program: Mix) -> list[tuple[float, int]]:
        """Return when pads are hit in a take, and how hard."""
        rng = np.random.default_rng(7)
        return [
            (at, 112 if self._db(stroke) > -10 else 30) for stroke, at in self._struck(program, rng)
        ]

    def _struck(self, program: Mix, rng: np.random.Generator) -> Iterator[tuple[Expected, float]]:
        """Give what is struck in a take, and when; nothing where no pattern is asked for."""
        timeline = program.timeline
        bpm, count_in = float(timeline.tempi[0].bpm), float(timeline.seconds_at(Fraction(0)))
        for track in program.tracks:
            if isinstance(track, PatternTrack):
                passes = (timeline.bars or 0) // track.pattern.bars
                for stroke in expected_strokes(track.pattern, bpm, passes):
                    if stroke.voice in self.voices and float(stroke.place) not in self.leaves_out:
                        yield stroke, count_in + stroke.seconds + self._off(stroke, rng)

    def _db(self, stroke: Expected) -> float:
        return -self.ghosts_db if stroke.level is Level.GHOST else 0.0

    def _off(self, stroke: Expected, rng: np.random.Generator) -> float:
        late = self.late_ms.get(float(stroke.place), 0.0)
        return float(rng.normal(late, self.jitter_ms)) / 1000


class HitPads:
    """Pads that a test hits: what is put into `hits` comes when its time has come."""

    listens, name, notice = True, "Test pads", ""

    def __init__(self, clock: Callable[[], float]) -> None:
        self.hits: list[PadHit] = []
        self._clock = clock

    def take(self) -> tuple[PadHit, ...]:
        """Return what was hit since this was last asked."""
        due = tuple(hit for hit in self.hits if hit.seconds <= self._clock())
        self.hits = [hit for hit in self.hits if hit not in due]
        return due

    def close(self) -> None:
        """Do nothing."""


class Rehearsal:
    """A device whose time is a still clock's, and whose microphone hears a drummer.

    Attributes
    ----------
    gone_after
        Seconds of its own after which it takes no more frames, as if it were pulled out.
    """

    audible = listens = True
    latency_frames = 0

    def __init__(self, clock: Callable[[], float], drummer: Drummer) -> None:
        self.drummer = drummer
        self.gone_after = float("inf")
        self.buffer_frames = 0
        self._clock = clock
        self._feed: Any = None
        self._began = clock()
        self._passed = 0
        self._take = 0
        self._sound: Samples = np.zeros(0, np.float32)

    def now(self) -> float:
        """Return the seconds of what was taken; once gone, the clock's."""
        taken = self._began + self._passed / RATE
        return self._clock() if self._passed >= self.gone_after * RATE else taken

    def start(self, feed: Feed) -> None:
        """Begin to take frames."""
        self._feed, self._began, self._passed = feed, self._clock(), 0

    def tick(self) -> None:
        """Take the frames that have passed, and hand over what was heard meanwhile."""
        due = int(min(self._clock() - self._began, self.gone_after) * RATE)
        while self._feed is not None and self._passed < due:
            size = min(_BLOCK, due - self._passed)
            self._feed.pull(size)
            self._feed.hear(self._heard(size))
            self._passed += size

    def _heard(self, size: int) -> Samples:
        stamp, request = self._feed.stamp, self._feed.request
        out = np.zeros(size, np.float32)
        if not stamp.moving or not isinstance(request.program, Mix):
            return out
        if stamp.take != self._take:
            self._take, self._sound = stamp.take, self.drummer.heard(request.program)
        part = self._sound[stamp.frame : stamp.frame + size]
        out[: len(part)] = part
        return out

    def close(self) -> None:
        """Take no more frames."""
        self._feed = None
