"""Recordings from files: WAV by itself, FLAC and OGG by the library `soundfile`.

A WAV is a tree of chunks (RIFF; Multimedia Programming Interface and Data Specifications 1.0, IBM
and Microsoft 1991; WAVE_FORMAT_EXTENSIBLE as Microsoft documents it, values from memory). What is
there is read and what the header promises is not believed, so a file that was cut off is a
shorter recording. Only the part that is asked for is ever held in memory.

Conventions: samples mono float32, -1 to 1.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from drillbox.base.files import opened
from drillbox.errors import MissingExtraError, RecordingError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path
    from typing import BinaryIO

    from drillbox.ear.energies import Samples

_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
_LEAST_RATE, _MOST_RATE = 8000, 384_000
_MOST_CHANNELS = 32
_MOST_CHUNKS = 1000
_MOST_SECONDS_AT_ONCE = 1200
_DEAD_DB = 20.0
_LOUDEST = 1000.0
"""Full scale is 1; 60 dB above it lies no sound, and squares of it may be no numbers any more."""
OTHER_KINDS = (".flac", ".ogg", ".oga", ".opus", ".mp3", ".aif", ".aiff", ".caf", ".au")
"""Endings of the files that only the library reads."""


@dataclass(frozen=True, slots=True)
class Recording:
    """A sound file that can be read in parts.

    Attributes
    ----------
    rate
        Samples a second.
    frames
        How long it is.
    channels
        How many.
    """

    rate: int
    frames: int
    channels: int
    _read: Callable[[int, int], np.ndarray[Any, Any]]

    @property
    def seconds(self) -> float:
        """How long it is."""
        return self.frames / self.rate

    def part(self, begin: float = 0.0, end: float | None = None) -> Samples:
        """Return the sound between two times, mono.

        Raises
        ------
        RecordingError
            If it holds values that are no sound, or too much is asked for at once.
        """
        first = min(max(int(begin * self.rate), 0), self.frames)
        last = self.frames if end is None else min(max(int(end * self.rate), first), self.frames)
        if (last - first) / self.rate > _MOST_SECONDS_AT_ONCE:
            raise RecordingError(
                f"{(last - first) / self.rate / 60:.0f} minutes are too long to measure at once",
                fix=f"give --start and --passes, at most {_MOST_SECONDS_AT_ONCE // 60} minutes",
            )
        samples = self._read(first, last)
        if not np.isfinite(samples).all():
            raise RecordingError(
                "the recording holds values that are no numbers", fix="export it once more"
            )
        if samples.size and max(float(samples.max()), -float(samples.min())) > _LOUDEST:
            raise RecordingError(
                f"the recording holds values above {_LOUDEST:.0f}, where full scale is 1",
                fix="export it as PCM with 16 or 24 bits, or normalise it first",
            )
        return mono(samples)


def open_recording(path: Path) -> Recording:
    """Open a sound file.

    Raises
    ------
    RecordingError
        If it cannot be read, or is no sound.
    MissingExtraError
        If it is of a kind that needs the library, and that is not installed.
    """
    with opened(path, error=RecordingError, what="the recording") as file:
        head = file.read(12)
        if head[:4] in {b"RIFF", b"RF64"} and head[8:12] == b"WAVE":
            return _wav(path, file)
    if not head:
        raise RecordingError("the file is empty", where=str(path), fix="record it again")
    return _other(path)


def mono(samples: np.ndarray[Any, Any]) -> Samples:
    """Return the channels as one: their mean, without those that are dead beside the loudest.

    Channels that cancel each other (one of them wired the wrong way round) are not added up; the
    louder is taken.
    """
    if samples.ndim == 1 or samples.shape[1] == 1:
        return np.ascontiguousarray(samples.reshape(len(samples)), np.float32)
    power = np.mean(np.square(samples, dtype=np.float64), axis=0)
    alive = power > power.max() * 10 ** (-_DEAD_DB / 10)
    mixed = samples[:, alive].mean(axis=1, dtype=np.float32)
    if np.mean(np.square(mixed, dtype=np.float64)) < 0.1 * power[alive].mean():
        mixed = samples[:, int(np.argmax(power))]
    return np.ascontiguousarray(mixed, np.float32)


@dataclass(frozen=True, slots=True)
class _Format:
    tag: int
    channels: int
    rate: int
    bits: int
    frame_bytes: int


def _wav(path: Path, file: BinaryIO) -> Recording:
    """Walk the chunks of a WAV to its format and its sound."""
    size = path.stat().st_size
    form: _Format | None = None
    at = 12
    for _ in range(_MOST_CHUNKS):
        file.seek(at)
        head = file.read(8)
        if len(head) < 8:
            break
        name, length = head[:4], struct.unpack("<I", head[4:])[0]
        if name == b"fmt ":
            form = _format(path, file.read(min(length, 40)))
        if name == b"data":
            if form is None:
                break
            there = min(length, size - at - 8) if length < 0xFFFFFFFF else size - at - 8
            return _wav_recording(path, form, at + 8, there)
        at += 8 + length + length % 2
    raise RecordingError("the WAV holds no sound", where=str(path), fix="record it again")


def _format(path: Path, raw: bytes) -> _Format:
    if len(raw) < 16:
        raise RecordingError("the WAV has no format", where=str(path), fix="export it once more")
    tag, channels, rate, _, frame_bytes, bits = struct.unpack("<HHIIHH", raw[:16])
    if tag == _EXTENSIBLE and len(raw) >= 26:
        tag = struct.unpack("<H", raw[24:26])[0]
    known = (tag == _PCM and bits in {8, 16, 24, 32}) or (tag == _FLOAT and bits in {32, 64})
    if not known:
        raise RecordingError(
            f"the WAV is of a kind that cannot be read (format {tag}, {bits} bits)",
            where=str(path),
            fix="export it as PCM with 16, 24 or 32 bits",
        )
    if not (1 <= channels <= _MOST_CHANNELS and _LEAST_RATE <= rate <= _MOST_RATE):
        raise RecordingError(
            f"the WAV claims {channels} channels at {rate} Hz",
            where=str(path),
            fix="export it at 44100 or 48000 Hz",
        )
    if frame_bytes != channels * bits // 8:
        raise RecordingError(
            "the WAV contradicts itself about its samples",
            where=str(path),
            fix="export it once more",
        )
    return _Format(tag, channels, rate, bits, frame_bytes)


def _wav_recording(path: Path, form: _Format, offset: int, length: int) -> Recording:
    frames = length // form.frame_bytes
    if frames < form.rate // 10:
        raise RecordingError(
            "the recording is shorter than a tenth of a second",
            where=str(path),
            fix="record it again",
        )

    def read(first: int, last: int) -> np.ndarray[Any, Any]:
        with path.open("rb") as file:
            file.seek(offset + first * form.frame_bytes)
            raw = file.read((last - first) * form.frame_bytes)
        whole = len(raw) // form.frame_bytes * form.frame_bytes
        return _numbers(raw[:whole], form).reshape(-1, form.channels)

    return Recording(form.rate, frames, form.channels, read)


def _numbers(raw: bytes, form: _Format) -> np.ndarray[Any, Any]:
    if form.tag == _FLOAT:
        return np.frombuffer(raw, f"<f{form.bits // 8}").astype(np.float32)
    if form.bits == 8:
        return (np.frombuffer(raw, np.uint8).astype(np.float32) - 128) / 128
    if form.bits == 24:
        parts = np.frombuffer(raw, np.uint8).reshape(-1, 3).astype(np.int32)
        whole = (parts[:, 0] << 8) | (parts[:, 1] << 16) | (parts[:, 2] << 24)
        return whole.astype(np.float32) / np.float32(2**31)
    return np.frombuffer(raw, f"<i{form.bits // 8}").astype(np.float32) / np.float32(
        2 ** (form.bits - 1)
    )


def _other(path: Path) -> Recording:
    """Open a file that is no WAV with the library."""
    if path.suffix.lower() not in OTHER_KINDS:
        raise RecordingError(
            "this is no sound file that can be measured",
            where=str(path),
            fix="give a WAV, FLAC or OGG, or a .mid file",
        )
    try:
        import soundfile  # noqa: PLC0415 - an extra, and only for files that are no WAV
    except (ImportError, OSError):
        raise MissingExtraError(
            "files that are no WAV need the library soundfile",
            where=str(path),
            fix="install it with: pip install 'drillbox[ear]'",
        ) from None
    try:
        info = soundfile.info(str(path))
    except (soundfile.SoundFileError, TypeError, ValueError):
        raise RecordingError(
            "the file cannot be read as sound", where=str(path), fix="export it as WAV"
        ) from None

    def read(first: int, last: int) -> np.ndarray[Any, Any]:
        try:
            found = soundfile.read(
                str(path), start=first, stop=last, dtype="float32", always_2d=True
            )[0]
        except (soundfile.SoundFileError, ValueError):
            raise RecordingError(
                "the file breaks off", where=str(path), fix="export it as WAV"
            ) from None
        return np.asarray(found)

    rate, frames = int(info.samplerate), int(info.frames)
    if frames < rate // 10 or not _LEAST_RATE <= rate <= _MOST_RATE:
        raise RecordingError(
            "the recording is shorter than a tenth of a second",
            where=str(path),
            fix="record it again",
        )
    return Recording(rate, frames, int(info.channels), read)
