"""Pads and electronic kits played live: what was hit when, from a MIDI input.

A hit is stamped when the system hands it over, in the clock that the metronome runs by. The library
is an extra; without it, or without a MIDI input, nobody listens and one sentence says so.

Conventions: seconds of the injected clock; keys and velocities as MIDI has them, 0 to 127.
"""

from __future__ import annotations

import time
from collections import deque
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable

NO_PAD_LIBRARY = "Pads need a library; run: pip install 'drillbox[pads]'."
NO_PADS = "No MIDI input is there, so nobody listens: connect the pads, and open the stand again."
OTHER_PADS = "The pads {!r} are not there; {!r} listens."
_MOST_HITS = 20_000
"""Nobody hits more often in an hour; older hits are let go."""


class PadHit(NamedTuple):
    """One hit: when, on which key, how hard."""

    seconds: float
    key: int
    velocity: int


class Pads(Protocol):
    """Where hits come from.

    Attributes
    ----------
    name, notice
        What the system calls it; one sentence that the player should read once.
    listens
        Whether anything comes at all.
    """

    name: str
    notice: str
    listens: bool

    def take(self) -> tuple[PadHit, ...]:
        """Return what was hit since this was last asked, in order."""

    def close(self) -> None:
        """Listen no more; may be called twice."""


class NoPads:
    """No pads, and why."""

    listens = False
    name = ""

    def __init__(self, notice: str = "") -> None:
        self.notice = notice

    def take(self) -> tuple[PadHit, ...]:
        """Return nothing."""
        return ()

    def close(self) -> None:
        """Do nothing."""


class MidiPads:
    """A MIDI input, opened by a function of `mido`'s shape.

    Parameters
    ----------
    name
        What the system calls it.
    open_port
        Called with the name and the function to call with each message; returns the port.
    clock
        Monotonic seconds, the metronome's own.
    notice
        What the player should read once.
    """

    listens = True

    def __init__(
        self,
        name: str,
        open_port: Callable[..., Any],
        clock: Callable[[], float] = time.perf_counter,
        *,
        notice: str = "",
    ) -> None:
        self.name = name
        self.notice = notice
        self._clock = clock
        self._hits: deque[PadHit] = deque(maxlen=_MOST_HITS)
        self._port = open_port(name, callback=self._came)

    def _came(self, message: Any) -> None:
        # Called in the library's own thread; a deque takes and gives single values safely.
        if message.type == "note_on" and message.velocity > 0:
            self._hits.append(PadHit(self._clock(), message.note, message.velocity))

    def take(self) -> tuple[PadHit, ...]:
        """Return what was hit since this was last asked, in order."""
        return tuple(self._hits.popleft() for _ in range(len(self._hits)))

    def close(self) -> None:
        """Let the input go; may be called twice."""
        self._port.close()


def open_pads(name: str = "", *, clock: Callable[[], float] = time.perf_counter) -> Pads:
    """Open the pads of this name, or the first there are; `NoPads` with the reason where none are.

    Parameters
    ----------
    name
        One of `pad_names`; empty is the first.
    clock
        Monotonic seconds, the metronome's own.
    """
    try:
        import mido  # noqa: PLC0415 - an extra, and loaded only where pads are wanted
        import rtmidi  # noqa: F401, PLC0415 - mido's way to the system, of the same extra
    except (ImportError, OSError):
        return NoPads(NO_PAD_LIBRARY)
    there = pad_names()
    if not there:
        return NoPads(NO_PADS)
    chosen = name if name in there else there[0]
    notice = OTHER_PADS.format(name, chosen) if name and name != chosen else ""
    try:
        return MidiPads(chosen, mido.open_input, clock, notice=notice)
    except (OSError, RuntimeError):  # the library's errors of a busy or vanished input are these
        return NoPads(NO_PADS)


def pad_names() -> tuple[str, ...]:
    """Return the names of this machine's MIDI inputs; none without the library."""
    try:
        import mido  # noqa: PLC0415 - as above

        return tuple(dict.fromkeys(mido.get_input_names()))
    except (ImportError, OSError, RuntimeError):
        return ()
