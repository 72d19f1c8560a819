"""Open the best device there is, and say in one sentence what is missing.

ALSA and JACK write to file descriptor 2 by themselves, and a terminal screen draws on it, so a metronome is opened
before the screen starts; while it is being opened the descriptor points at nothing.

Conventions: nothing here raises for want of sound.
"""

from __future__ import annotations

import contextlib
import os
import time
from typing import TYPE_CHECKING, Literal

from drillbox.sound.devices import SilentClock
from drillbox.sound.metronome import NO_DEVICE, NO_LIBRARY, Metronome

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


def open_metronome(
    *,
    prefer: Literal["auto", "silent"] = "auto",
    clock: Callable[[], float] = time.perf_counter,
    latency_ms: float = 0.0,
) -> Metronome:
    """Open a metronome on the system's output, or on a silent clock where there is none.

    Call it before the terminal screen starts.

    Parameters
    ----------
    prefer
        ``"silent"`` opens no device.
    clock
        Monotonic seconds.
    latency_ms
        The player's setting, added to what the device knows.
    """
    if prefer == "silent":
        return Metronome(SilentClock(clock))
    try:
        import miniaudio  # noqa: PLC0415 - an extra, and loaded only where sound is wanted

        from drillbox.sound.miniaudio_device import MiniaudioDevice  # noqa: PLC0415 - needs the extra
    except ImportError:
        return Metronome(SilentClock(clock), notice=NO_LIBRARY)
    device: MiniaudioDevice | None = None
    try:
        with _quiet_stderr():
            device = MiniaudioDevice(clock)
            return Metronome(device, latency_ms=latency_ms)
    except miniaudio.MiniaudioError:
        if device is not None:
            device.close()
        return Metronome(SilentClock(clock), notice=NO_DEVICE)


@contextlib.contextmanager
def _quiet_stderr() -> Iterator[None]:
    try:
        kept = os.dup(2)
    except OSError:  # closed, as under a windowed interpreter
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(nowhere)
        os.close(kept)
