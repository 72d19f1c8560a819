"""The sound card, through miniaudio.

What is odd about the library and is met here: an error inside its generator mutes the stream for
ever, so the feed never raises; a device still running when the interpreter ends hangs the process,
so closing is registered with `atexit`; without a card it raises instead of falling back to its null
backend, which `NullMiniaudio` asks for by name; its duplex stream asks of what is yielded whether
it is true, which an array does not answer, so that stream yields bytes.

Conventions: as in `drillbox.sound.devices`.
"""

from __future__ import annotations

import atexit
import time
from typing import TYPE_CHECKING

import miniaudio
import numpy as np
from miniaudio import MiniaudioError

from drillbox.sound.timeline import RATE

if TYPE_CHECKING:
    from collections.abc import Callable, Generator

    from drillbox.sound.devices import Feed
    from drillbox.sound.tones import Samples

__all__ = [
    "MiniaudioDevice",
    "MiniaudioDuplex",
    "MiniaudioError",
    "NullMiniaudio",
    "input_names",
    "output_names",
]

_PERIOD_MS = 20
_PERIODS = 3


class MiniaudioDevice:
    """An output by its name, or the system's default. Raises `MiniaudioError` if there is none.

    Three periods of 20 ms are held ahead. The library does not report its latency; two of the three
    periods are taken for it, and the listener's own setting covers the rest (Bluetooth above all).
    """

    audible = True
    listens = False
    latency_frames = (_PERIODS - 1) * _PERIOD_MS * RATE // 1000
    buffer_frames = _PERIODS * _PERIOD_MS * RATE // 1000

    def __init__(
        self,
        clock: Callable[[], float] = time.perf_counter,
        *,
        name: str = "",
        backends: tuple[miniaudio.Backend, ...] = (),
    ) -> None:
        self._clock = clock
        self._device = miniaudio.PlaybackDevice(
            output_format=miniaudio.SampleFormat.FLOAT32,
            nchannels=1,
            sample_rate=RATE,
            buffersize_msec=_PERIOD_MS,
            callback_periods=_PERIODS,
            device_id=_chosen(name, _outputs, backends),
            backends=list(backends) or None,
            app_name="drillbox",
        )
        self.backend: str = self._device.backend
        atexit.register(self.close)

    def now(self) -> float:
        """Return the seconds of the clock by which blocks are stamped."""
        return self._clock()

    def start(self, feed: Feed) -> None:
        """Start the stream, which pulls from its own thread."""
        stream = _stream(feed)
        next(stream)
        self._device.start(stream)

    def tick(self) -> None:
        """Do nothing: the stream's thread moves time."""

    def close(self) -> None:
        """Stop the stream and let the device go."""
        atexit.unregister(self.close)
        self._device.close()


class MiniaudioDuplex(MiniaudioDevice):
    """An output and a microphone as one stream, on one clock.

    Raises `MiniaudioError` if either cannot be had.
    """

    listens = True

    def __init__(
        self,
        clock: Callable[[], float] = time.perf_counter,
        *,
        name: str = "",
        microphone: str = "",
        backends: tuple[miniaudio.Backend, ...] = (),
    ) -> None:
        self._clock = clock
        self._device = miniaudio.DuplexStream(
            playback_format=miniaudio.SampleFormat.FLOAT32,
            playback_channels=1,
            capture_format=miniaudio.SampleFormat.FLOAT32,
            capture_channels=1,
            sample_rate=RATE,
            buffersize_msec=_PERIOD_MS,
            callback_periods=_PERIODS,
            playback_device_id=_chosen(name, _outputs, backends),
            capture_device_id=_chosen(microphone, _inputs, backends),
            backends=list(backends) or None,
            app_name="drillbox",
        )
        self.backend = self._device.backend
        atexit.register(self.close)

    def start(self, feed: Feed) -> None:
        """Start the stream, which pulls from its own thread and hands over what it hears."""
        stream = _duplex_stream(feed)
        next(stream)
        self._device.start(stream)


class NullMiniaudio(MiniaudioDevice):
    """The library's null backend: the whole real engine in real time, and nothing to hear."""

    audible = False

    def __init__(self, clock: Callable[[], float] = time.perf_counter) -> None:
        super().__init__(clock, backends=(miniaudio.Backend.NULL,))


def output_names() -> tuple[str, ...]:
    """Return the names of the outputs this machine has, as the system calls them."""
    return tuple(_outputs(()))


def input_names() -> tuple[str, ...]:
    """Return the names of the microphones this machine has, as the system calls them."""
    return tuple(_inputs(()))


def _chosen(
    name: str,
    known: Callable[[tuple[miniaudio.Backend, ...]], dict[str, object]],
    backends: tuple[miniaudio.Backend, ...],
) -> object:
    """Return what the library calls a device by; None for the system's own choice."""
    if not name:
        return None
    found = known(backends)
    if name not in found:
        raise MiniaudioError(f"no device called {name}")
    return found[name]


def _inputs(backends: tuple[miniaudio.Backend, ...]) -> dict[str, object]:
    found = miniaudio.Devices(list(backends) or None).get_captures()
    return {each["name"]: each["id"] for each in found}


def _outputs(backends: tuple[miniaudio.Backend, ...]) -> dict[str, object]:
    found = miniaudio.Devices(list(backends) or None).get_playbacks()
    return {each["name"]: each["id"] for each in found}


def _stream(feed: Feed) -> Generator[Samples | bytes, int, None]:
    frames = yield b""
    while True:
        frames = yield feed.pull(frames)


def _duplex_stream(feed: Feed) -> Generator[bytes, bytes, None]:
    raw = yield b""
    while True:
        heard = np.frombuffer(raw, np.float32)
        played = feed.pull(len(heard))
        feed.hear(heard)
        raw = yield played.tobytes()
