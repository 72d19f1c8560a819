"""The engine at the stand: one stream, from the first look at a card to the last.

`Metronome` is what the screen holds. It is started, paused and asked where the music is; the
samples are made by its `Transport` in the sound card's thread. Time is the stream's own count of
frames; between two blocks it is carried on by the clock, less the latency, so that what is drawn is
what is heard.

A sound card that goes away, or does not keep time, is replaced by the silent clock, and `notice`
says so.

Conventions: as in `drillbox.sound.timeline`; latency in ms; volume is a factor from 0 to 1.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Self

from drillbox.sound.devices import SilentClock
from drillbox.sound.recorder import Recorder
from drillbox.sound.timeline import RATE
from drillbox.sound.transport import Stamp, Transport

if TYPE_CHECKING:
    from fractions import Fraction

    from drillbox.sound.devices import Device
    from drillbox.sound.program import Program
    from drillbox.sound.timeline import Position

NO_DEVICE = "No sound device found; the click is shown, not sounded."
NO_LIBRARY = "The sound library is not installed; run: pip install 'drillbox[sound]'."
OTHER_DEVICE = "The sound output {!r} is not there; the system's own choice is used."
DEVICE_GONE = "The sound device went away; the click is shown, not sounded."

NOBODY_LISTENS = "Nobody listens."
NO_MICROPHONE = "No microphone can be opened, so nobody listens; the click goes on as ever."
OTHER_MICROPHONE = "The microphone {!r} is not there; the system's own choice listens."

DEVICE_RUNS_AWAY = "The sound output does not keep time; the click is shown, not sounded."


class Metronome:
    """Plays programs on a device and knows where they are.

    Made by `drillbox.sound.open_metronome`, or around any `Device`. A context manager.

    Attributes
    ----------
    notice
        One sentence about the device that the player should read once; empty if all is well.
    latency_ms
        The player's own setting, on top of what the device knows about itself.
    """

    def __init__(self, device: Device, *, notice: str = "", latency_ms: float = 0.0) -> None:
        self.notice = notice
        self.latency_ms = latency_ms
        self._device = device
        self._transport = Transport(device.now, device.buffer_frames)
        self._shown = (0, 0)
        self._stall = _Stall()
        device.start(self._transport)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def audible(self) -> bool:
        """Whether a listener hears the click."""
        return self._device.audible

    @property
    def listens(self) -> bool:
        """Whether there is a microphone that hears the take."""
        return self._device.listens

    @property
    def recorder(self) -> Recorder | None:
        """What was heard of the take that was last started to be recorded."""
        return self._transport.recorder

    @property
    def running(self) -> bool:
        """Whether a program plays and is not paused."""
        return self._transport.request.sounding

    @property
    def fault(self) -> str:
        """One sentence about a program that failed while playing.

        Empty if none did since the last start.
        """
        return self._transport.fault

    @property
    def underruns(self) -> int:
        """How often the device ran dry since it was opened: gaps that could be heard."""
        return self._transport.underruns

    def start(self, program: Program, *, record: bool = False) -> None:
        """Play a program from its first frame; whatever played before ends.

        Parameters
        ----------
        program
            What is played.
        record
            Whether to keep what the microphone hears meanwhile, see `recorder`; a recording that
            was there is let go.
        """
        self._transport.fault = ""
        program.position(0)  # lets it prepare in this thread
        take = self._transport.request.take + 1
        kept = Recorder(take, program.frames_total) if record and self.listens else None
        self._transport.recorder = kept
        self._request(program=program, take=take, paused=False)

    def swap(self, program: Program) -> None:
        """Go on at the present frame with another program."""
        self._request(program=program)

    def change_tempo(self, bpm: Fraction | float) -> None:
        """Go on at another tempo from the next bar line that is not yet on its way to the ear."""
        request, stamp = self._transport.request, self._transport.stamp
        if request.program is not None:
            ahead = stamp.frame + stamp.frames if stamp.take == request.take else 0
            # One more buffer, in case the next block is being made at this moment.
            self.swap(request.program.with_tempo_after(ahead + self._device.buffer_frames, bpm))

    def stop(self) -> None:
        """Play nothing."""
        self._request(program=None)

    def pause(self) -> None:
        """Hold where the take is."""
        self._request(paused=True)

    def resume(self) -> None:
        """Go on from where the take was held."""
        self._request(paused=False)

    def position(self) -> Position | None:
        """Return what the player hears now; ``None`` if nothing is started.

        Never goes back within a take.
        """
        self._device.tick()
        self._replace_if_gone()
        request = self._transport.request
        if request.program is None:
            return None
        take, last = self._shown
        frame = max(self._heard(request.take), last if take == request.take else 0)
        self._shown = (request.take, frame)
        return request.program.position(frame)

    def take_peak(self) -> float:
        """Return the loudest that the microphone heard since this was last asked, 0 to 1."""
        peak, self._transport.peak = self._transport.peak, 0.0
        return peak

    def take_seconds(self, at: float) -> float:
        """Return where in the take the ear was at some seconds of the device's clock.

        Count-in included; for what happens outside the stream, such as a stroke on a pad.
        """
        stamp = self._transport.stamp
        return stamp.frame / RATE + at - stamp.seconds - self._late_frames / RATE

    def close(self) -> None:
        """Let the device go; may be called twice."""
        self.stop()
        self._device.close()

    def _request(self, **changes: object) -> None:
        self._device.tick()
        self._transport.request = replace(self._transport.request, **changes)  # type: ignore[arg-type]

    def _heard(self, take: int) -> int:
        stamp = self._transport.stamp
        if stamp.take != take:
            return 0
        if not stamp.moving:
            return stamp.frame
        frame = stamp.frame + (self._device.now() - stamp.seconds) * RATE - self._late_frames
        return round(min(max(frame, 0), stamp.frame + stamp.frames))

    @property
    def _late_frames(self) -> float:
        return self._device.latency_frames + self.latency_ms * RATE / 1000

    def _replace_if_gone(self) -> None:
        device, transport = self._device, self._transport
        if not device.buffer_frames:
            return
        gone = self._stall.lasts(transport.stamp, device.now())
        if gone or transport.runaway:
            device.close()
            self.notice = DEVICE_RUNS_AWAY if transport.runaway else DEVICE_GONE
            self._device = SilentClock(device.now)
            self._device.start(self._transport)


class _Stall:
    """Notices a device that takes no more frames.

    Only time during which the screen kept asking counts: a process that was stopped and goes on has
    lost nothing.
    """

    _LIMIT_SECONDS = 1.0
    _LONGEST_POLL = 0.1

    def __init__(self) -> None:
        self._stamp: Stamp | None = None
        self._asked = 0.0
        self._stalled = 0.0

    def lasts(self, stamp: Stamp, now: float) -> bool:
        """Say whether the stamp has stood still too long."""
        waited = min(now - self._asked, self._LONGEST_POLL)
        self._stalled = self._stalled + waited if stamp is self._stamp else 0.0
        self._stamp, self._asked = stamp, now
        return self._stalled >= self._LIMIT_SECONDS
