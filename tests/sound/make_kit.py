"""Make the strokes of the kit. Run by a maintainer, once.

Its results are in ``drillbox/sound/strokes``.

Run: ``python tests/sound/make_kit.py SOUNDFONT OUT_FOLDER``

Needs ``fluidsynth`` and FluidR3_GM.sf2 (MIT licence, Frank Wen; Debian: ``apt-get install
fluidsynth fluid-soundfont-gm``). Every stroke is rendered alone, because the synthesiser starts
notes on blocks of 64 samples, cut at its attack (the first sample above 2 % of its peak), faded at
its end, and stored at -1 dBFS: levels are the program's own business. Keys are those of the General
MIDI percussion map.
"""

from __future__ import annotations

import struct
import subprocess
import sys
import tempfile
import wave
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from scipy.signal import butter, sosfilt

if TYPE_CHECKING:
    from numpy.typing import NDArray

RATE = 48_000


@dataclass(frozen=True)
class Take:
    """A stroke to be made.

    GM key, velocity, seconds kept, and for a ghost the frequency above which it is dulled.
    """

    key: int
    velocity: int
    seconds: float
    dull_above: float | None = None


TAKES = {
    "hat": Take(42, 100, 0.25),
    "hat-open": Take(46, 100, 0.80),
    "pedal": Take(44, 100, 0.20),
    "ride": Take(51, 100, 0.90),
    "crash": Take(49, 100, 1.30),
    "snare-soft": Take(38, 70, 0.30, 5000.0),
    "snare-plain": Take(38, 90, 0.33),
    "snare-loud": Take(38, 120, 0.36),
    "rim": Take(37, 100, 0.22),
    "tom": Take(48, 100, 0.50),
    "floor": Take(41, 100, 0.55),
    "bass-plain": Take(36, 70, 0.26),
    "bass-loud": Take(36, 115, 0.28),
}


def midi_file(key: int, velocity: int) -> bytes:
    """Return a MIDI file of one stroke on channel 10, half a second in, at 120 bpm."""
    events = bytes.fromhex("00c900") + b"\x83\x60" + bytes([0x99, key, velocity])
    events += b"\x8f\x00" + bytes([0x89, key, 0]) + b"\x8f\x00" + bytes.fromhex("ff2f00")
    header = b"MThd" + struct.pack(">IHHH", 6, 0, 1, 480)
    return header + b"MTrk" + struct.pack(">I", len(events)) + events


def rendered(soundfont: Path, take: Take) -> NDArray[np.float64]:
    """Return the stroke as the synthesiser gives it, both channels together."""
    with tempfile.TemporaryDirectory() as folder:
        song, sound = Path(folder) / "stroke.mid", Path(folder) / "stroke.wav"
        song.write_bytes(midi_file(take.key, take.velocity))
        dry = ["-R", "0", "-C", "0", "-r", str(RATE), "-g", "1.0", "-O", "s24", "-T", "wav"]
        command = [
            "fluidsynth",
            "-n",
            "-i",
            "-q",
            *dry,
            "-F",
            str(sound),
            str(soundfont),
            str(song),
        ]
        subprocess.run(command, check=True)
        with wave.open(str(sound)) as file:
            raw = np.frombuffer(file.readframes(file.getnframes()), dtype=np.uint8).reshape(-1, 3)
    whole = (
        raw[:, 0].astype(np.int32)
        | raw[:, 1].astype(np.int32) << 8
        | raw[:, 2].astype(np.int8).astype(np.int32) << 16
    )
    return np.asarray(whole.reshape(-1, 2).mean(axis=1), dtype=np.float64)


def stroke(soundfont: Path, take: Take) -> NDArray[np.int16]:
    """Return the stroke cut, dulled, faded and at -1 dBFS."""
    sound = rendered(soundfont, take)
    if take.dull_above is not None:
        sound = sosfilt(butter(1, take.dull_above, fs=RATE, output="sos"), sound)
    start = int(np.flatnonzero(np.abs(sound) > 0.02 * np.abs(sound).max())[0])
    sound = sound[start : start + round(take.seconds * RATE)]
    tail = int(len(sound) * 0.4)
    sound[-tail:] *= np.cos(np.linspace(0, np.pi / 2, tail)) ** 2
    loudest = 10 ** (-1 / 20) * 32767
    return np.asarray(np.rint(sound * loudest / np.abs(sound).max()), dtype=np.int16)


def main(soundfont: Path, out: Path) -> None:
    """Write every stroke as a mono 16-bit WAV file."""
    out.mkdir(parents=True, exist_ok=True)
    for name, take in TAKES.items():
        with wave.open(str(out / f"{name}.wav"), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(RATE)
            file.writeframes(stroke(soundfont, take).tobytes())


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
