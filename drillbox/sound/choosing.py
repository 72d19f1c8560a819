"""Open the best device there is, and say in one sentence what is missing.

Conventions: nothing here raises for want of sound.
"""

from __future__ import annotations

import contextlib
import time
from typing import TYPE_CHECKING, Literal

from drillbox.sound.devices import SilentClock
from drillbox.sound.metronome import NO_DEVICE, NO_LIBRARY, OTHER_DEVICE, Metronome
from drillbox.sound.quiet import hush

if TYPE_CHECKING:
    from collections.abc import Callable


def open_metronome(
    *,
    prefer: Literal["auto", "silent"] = "auto",
    output: str = "",
    clock: Callable[[], float] = time.perf_counter,
    latency_ms: float = 0.0,
) -> Metronome:
    """Open a metronome on an output of the system, or on a silent clock where there is none.

    Parameters
    ----------
    prefer
        ``"silent"`` opens no device.
    output
        The output's name, one of `outputs`; empty is the system's default.
    clock
        Monotonic seconds.
    latency_ms
        The player's setting, added to what the device knows.
    """
    if prefer == "silent":
        return Metronome(SilentClock(clock))
    try:
        import miniaudio  # noqa: F401, PLC0415 - an extra, and loaded only where sound is wanted
    except (ImportError, OSError):  # OSError: it is there, but was built for another system
        return Metronome(SilentClock(clock), notice=NO_LIBRARY)
    hush()
    opened = _opened(output, "", clock, latency_ms)
    if opened is None and output:
        opened = _opened("", OTHER_DEVICE.format(output), clock, latency_ms)
    return opened or Metronome(SilentClock(clock), notice=NO_DEVICE)


def outputs() -> tuple[str, ...]:
    """Return the names of this machine's outputs; none without the sound library."""
    try:
        from drillbox.sound.miniaudio_device import MiniaudioError, output_names  # noqa: PLC0415
    except (ImportError, OSError):
        return ()
    hush()
    with contextlib.suppress(MiniaudioError):
        return output_names()
    return ()


def _opened(
    name: str, notice: str, clock: Callable[[], float], latency_ms: float
) -> Metronome | None:
    from drillbox.sound.miniaudio_device import MiniaudioDevice, MiniaudioError  # noqa: PLC0415

    try:
        device = MiniaudioDevice(clock, name=name)
    except MiniaudioError:
        return None
    try:
        return Metronome(device, notice=notice, latency_ms=latency_ms)
    except MiniaudioError:
        device.close()
        return None
