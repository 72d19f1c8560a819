"""The part of the engine that runs in the sound card's thread.

The screen says what it wants by replacing one value, `request`; the transport reads it once a block
and tells where it stands by replacing another, `stamp`. Neither ever waits for the other. A request
always holds all of the earlier ones, so that none is lost when two come between two blocks.

Whatever a program does, `pull` returns samples: one that raises is muted and reported in `fault`. A
device that takes frames faster than time runs is held (`runaway`) until the engine replaces it.

Conventions: as in `drillbox.sound.timeline`; seconds are those of the device's clock.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from drillbox.sound.timeline import RATE

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.sound.program import Program
    from drillbox.sound.recorder import Recorder
    from drillbox.sound.tones import Samples

# 5 ms: too short to hear as a fade, long enough not to tick.
_FADE_FRAMES = RATE // 200

# Sound cards and system clocks differ by some hundred parts in a million; that alone must not look
# like lateness.
_CLOCK_TOLERANCE = 1e-3

_RUNAWAY_FRAMES = RATE // 2


@dataclass(frozen=True, slots=True)
class Request:
    """What the screen wants: `take` rises with every start from frame 0."""

    program: Program | None = None
    take: int = 0
    paused: bool = False

    @property
    def sounding(self) -> bool:
        """Whether a program runs."""
        return self.program is not None and not self.paused


@dataclass(frozen=True, slots=True)
class Stamp:
    """The last block: when it was asked for, its first frame and length, whether time moved."""

    seconds: float = 0.0
    frame: int = 0
    frames: int = 0
    take: int = 0
    moving: bool = False


class Transport:
    """Turns requests into samples, block by block, and counts the frames.

    Parameters
    ----------
    now
        The device's clock.
    buffer_frames
        What the device holds ahead; 0 for a device that cannot run dry.
    """

    def __init__(self, now: Callable[[], float], buffer_frames: int) -> None:
        self.request = Request()
        self.stamp = Stamp()
        self.recorder: Recorder | None = None
        self.peak = 0.0
        self.fault = ""
        self.underruns = 0
        self.runaway = False
        self._now = now
        self._was = Request()
        self._frame = 0
        self._buffer = buffer_frames
        self._held = float(buffer_frames)
        self._ahead = 0.0
        self._last_pull: float | None = None

    def pull(self, frames: int) -> Samples:
        """Return the next samples of whatever is requested."""
        now = self._now()
        self._watch_the_clock(now, frames)
        if self.runaway:
            return np.zeros(frames, dtype=np.float32)
        request, was, left_at = self.request, self._was, self._frame
        start = self._advance(request, frames)
        self.stamp = Stamp(now, start, frames, request.take, request.sounding)
        same = was.sounding and (was.take, was.program) == (request.take, request.program)
        fade = min(frames, _FADE_FRAMES)
        out = np.zeros(frames, dtype=np.float32)
        if request.sounding:
            out += self._render(request, start, frames)
            if start and not same:
                out[:fade] *= np.linspace(0, 1, fade, dtype=np.float32)
        if was.sounding and not (same and request.sounding):
            out[:fade] += self._render(was, left_at, fade) * np.linspace(
                1, 0, fade, dtype=np.float32
            )
        return out

    def skip(self, frames: int) -> None:
        """Let frames pass without making samples."""
        request = self.request
        start = self._advance(request, frames)
        end = start + frames if request.sounding else start
        self.stamp = Stamp(self._now(), end, 0, request.take, request.sounding)

    def hear(self, samples: Samples) -> None:
        """Keep what was heard while the last block was played, where its take is recorded.

        `peak` is the loudest since somebody set it back.
        """
        if len(samples):
            self.peak = max(self.peak, float(np.abs(samples).max()))
        stamp, recorder = self.stamp, self.recorder
        if recorder is not None and stamp.moving and stamp.take == recorder.take:
            recorder.put(samples, stamp.frame)

    def _advance(self, request: Request, frames: int) -> int:
        start = self._frame if request.take == self._was.take else 0
        self._frame = start + frames if request.sounding else start
        self._was = request
        return start

    def _render(self, request: Request, start: int, frames: int) -> Samples:
        try:
            block = request.program.block(start, frames) if request.program else np.zeros(frames)
            if block.shape != (frames,):
                raise ValueError(f"{block.shape} samples where {frames} were due")  # noqa: TRY301
        except Exception as error:  # noqa: BLE001 - an error here would mute the stream for good
            self.fault = self.fault or f"The sound of this take failed ({error}); go on without it."
            return np.zeros(frames, dtype=np.float32)
        return np.asarray(block, dtype=np.float32)

    def _watch_the_clock(self, now: float, frames: int) -> None:
        # A model of the device's buffer: it drains as the clock runs and is refilled by each block.
        # One that takes far more than the clock allows (a sink that throws sound away does) would
        # race through the take.
        if self._last_pull is not None and self._buffer:
            drained = (now - self._last_pull) * RATE
            self._held -= drained * (1 - _CLOCK_TOLERANCE)
            if self._held < 0:
                self.underruns += 1
                self._held = 0.0
            self._held = min(self._held + frames, self._buffer)
            self._ahead = max(self._ahead + frames - drained * (1 + _CLOCK_TOLERANCE), 0.0)
            self.runaway = self.runaway or self._ahead > self._buffer + _RUNAWAY_FRAMES
        self._last_pull = now
