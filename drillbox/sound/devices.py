"""Where frames go, and what makes time pass.

The engine is a `Feed`: it is pulled for samples or, where nothing sounds, told to skip them. A
`Device` pulls. The two here need no library: `SilentClock` lets a monotonic clock stand for the
sound card, so that the visual click works the same without sound, and `ManualDevice` is pumped by
hand.

Conventions: mono float32 at `RATE`; a device's own seconds start anywhere but never go back.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import numpy as np

from drillbox.sound.timeline import RATE

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.sound.tones import Samples


class Feed(Protocol):
    """The engine as a device sees it."""

    def pull(self, frames: int) -> Samples:
        """Return the next samples."""

    def skip(self, frames: int) -> None:
        """Let frames pass that nobody hears."""

    def hear(self, samples: Samples) -> None:
        """Take what a microphone heard while the last block was played."""


class Device(Protocol):
    """A taker of frames."""

    @property
    def audible(self) -> bool:
        """Whether a listener hears it."""

    @property
    def listens(self) -> bool:
        """Whether it has a microphone, and gives its feed what that hears."""

    @property
    def latency_frames(self) -> int:
        """Frames handed over but not yet heard, as far as the device knows."""

    @property
    def buffer_frames(self) -> int:
        """Frames it holds ahead; fed later than these last, it runs dry. 0 if it cannot."""

    def now(self) -> float:
        """Return seconds on the clock by which frames are timed."""

    def start(self, feed: Feed) -> None:
        """Begin to take frames."""

    def tick(self) -> None:
        """Catch up: called whenever the position is asked for."""

    def close(self) -> None:
        """Take no more frames; may be called twice."""


class SilentClock:
    """No sound: frames pass as an injected monotonic clock says."""

    audible = False
    listens = False
    latency_frames = 0
    buffer_frames = 0

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._feed: Feed | None = None
        self._began = 0.0
        self._passed = 0

    def now(self) -> float:
        """Return the injected clock's seconds."""
        return self._clock()

    def start(self, feed: Feed) -> None:
        """Begin to count."""
        self._feed, self._began, self._passed = feed, self._clock(), 0

    def tick(self) -> None:
        """Skip the frames that have passed since the last tick."""
        due = int((self._clock() - self._began) * RATE)
        if self._feed is not None and due > self._passed:
            self._feed.skip(due - self._passed)
            self._passed = due

    def close(self) -> None:
        """Stop counting."""
        self._feed = None


class ManualDevice:
    """Takes frames only when pumped; its clock is the count of frames it took.

    Parameters
    ----------
    latency_frames
        What it says of its own latency.
    room
        Its microphone: given what was just played, what is heard meanwhile. None for no microphone.
    """

    audible = True
    buffer_frames = 0

    def __init__(
        self, *, latency_frames: int = 0, room: Callable[[Samples], Samples] | None = None
    ) -> None:
        self.latency_frames = latency_frames
        self.listens = room is not None
        self._room = room
        self.taken = 0
        self._feed: Feed | None = None

    def now(self) -> float:
        """Return the seconds of sound taken so far."""
        return self.taken / RATE

    def start(self, feed: Feed) -> None:
        """Remember whom to pull."""
        self._feed = feed

    def tick(self) -> None:
        """Do nothing: only `pump` moves time."""

    def pump(self, frames: int, *, block: int | None = None) -> Samples:
        """Take frames, in blocks of at most `block`, and return what was played."""
        played = [np.zeros(0, dtype=np.float32)]
        left = frames if self._feed is not None else 0
        while left and self._feed is not None:
            size = min(left, block or left)
            played.append(self._feed.pull(size))
            if self._room is not None:
                self._feed.hear(self._room(played[-1]))
            self.taken += size
            left -= size
        return np.concatenate(played)

    def close(self) -> None:
        """Take no more frames."""
        self._feed = None
