"""Open the best device there is, and say in one sentence what is missing.

Conventions: nothing here raises for want of sound.
"""

from __future__ import annotations

import contextlib
import time
from functools import partial
from typing import TYPE_CHECKING, Literal

from drillbox.sound.devices import SilentClock
from drillbox.sound.metronome import (
    NO_DEVICE,
    NO_LIBRARY,
    NO_MICROPHONE,
    NOBODY_LISTENS,
    OTHER_DEVICE,
    OTHER_MICROPHONE,
    Metronome,
)
from drillbox.sound.quiet import hush

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.sound.miniaudio_device import MiniaudioDevice


def open_metronome(
    *,
    prefer: Literal["auto", "silent"] = "auto",
    output: str = "",
    microphone: str | None = None,
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
    microphone
        The microphone that is to listen, one of `microphones`; empty is the system's default, None
        opens none.
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
    for said, make in _ways(output, microphone, clock):
        opened = _opened(make, said, latency_ms)
        if opened is not None:
            return opened
    deaf = "" if microphone is None else NOBODY_LISTENS
    return Metronome(SilentClock(clock), notice=_said(NO_DEVICE, deaf))


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


def microphones() -> tuple[str, ...]:
    """Return the names of this machine's microphones; none without the sound library."""
    try:
        from drillbox.sound.miniaudio_device import MiniaudioError, input_names  # noqa: PLC0415
    except (ImportError, OSError):
        return ()
    hush()
    with contextlib.suppress(MiniaudioError):
        return input_names()
    return ()


def _ways(
    output: str, microphone: str | None, clock: Callable[[], float]
) -> list[tuple[str, Callable[[], MiniaudioDevice]]]:
    """Return the ways to open a device, the best first, and what is to be said of each."""
    from drillbox.sound.miniaudio_device import MiniaudioDevice, MiniaudioDuplex  # noqa: PLC0415

    outs = [(output, "")]
    if output:
        outs.append(("", OTHER_DEVICE.format(output)))
    ways: list[tuple[str, Callable[[], MiniaudioDevice]]] = []
    if microphone is not None:
        ins = [(microphone, "")]
        if microphone:
            ins.append(("", OTHER_MICROPHONE.format(microphone)))
        ways = [
            (_said(no_out, no_in), partial(MiniaudioDuplex, clock, name=out, microphone=into))
            for into, no_in in ins
            for out, no_out in outs
        ]
    deaf = "" if microphone is None else NO_MICROPHONE
    return [
        *ways,
        *((_said(no_out, deaf), partial(MiniaudioDevice, clock, name=out)) for out, no_out in outs),
    ]


def _said(*sentences: str) -> str:
    return " ".join(sentence for sentence in sentences if sentence)


def _opened(
    make: Callable[[], MiniaudioDevice], notice: str, latency_ms: float
) -> Metronome | None:
    from drillbox.sound.miniaudio_device import MiniaudioError  # noqa: PLC0415

    try:
        device = make()
    except MiniaudioError:
        return None
    try:
        return Metronome(device, notice=notice, latency_ms=latency_ms)
    except MiniaudioError:
        device.close()
        return None
