"""Drums, rooms, noises and clicks made by computation, for takes whose truth is known.

Nothing of it is shipped in the product. There are two families that share no method: the first
builds drums of damped modes and shaped noise (circular membranes: Fletcher & Rossing 1998, The
Physics of Musical Instruments, chapter 18; mode ratios from memory), rooms of decaying noise, and
clicks of sines; the second, held out, builds drums of noise whose bands decay one by one and of
swept tones, rooms of feedback delays, and clicks of filtered pulses.

Conventions: mono float64 at `RATE`; a stroke begins at its first sample and has peak 1 at level 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy import signal

from drillbox.rhythm import Voice

RATE = 44100
Samples = NDArray[np.float64]
_MEMBRANE = (1.0, 1.59, 2.14, 2.30, 2.65, 2.92, 3.16, 3.50)


class Kit(Protocol):
    """A drum set under one player's hands."""

    def strike(self, voice: Voice, level_db: float, rng: np.random.Generator) -> Samples:
        """Return one stroke, `level_db` under an accent; no two are alike."""


def _decay(seconds: float, length: float) -> Samples:
    """Return an amplitude that falls by 60 dB in `seconds`."""
    return np.asarray(10 ** (-3 * np.arange(int(length * RATE)) / RATE / seconds))


def _band(noise: Samples, low: float, high: float, order: int = 2) -> Samples:
    top = min(high, RATE * 0.49)
    sos = signal.butter(order, (low, top), "bandpass", fs=RATE, output="sos")
    return np.asarray(signal.sosfilt(sos, noise))


def _peaked(sound: Samples, level_db: float) -> Samples:
    return np.asarray(sound / np.max(np.abs(sound)) * 10 ** (level_db / 20))


@dataclass(frozen=True)
class ModalKit:
    """Damped modes and shaped noise; every number drawn once, and shaken a little each stroke."""

    f0: float
    damping: float
    wires: float
    wire_seconds: float
    stick_ms: float
    dull: float
    hat_low: float
    hat_seconds: float
    bass_f: float
    bass_seconds: float
    beater: float
    pad: bool

    @classmethod
    def drawn(cls, rng: np.random.Generator, *, pad: bool = False) -> ModalKit:
        """Draw a kit."""
        return cls(
            f0=rng.uniform(330, 700) if pad else rng.uniform(150, 260),
            damping=rng.uniform(0.03, 0.08) if pad else rng.uniform(0.12, 0.4),
            wires=0.0 if pad else rng.uniform(0.4, 1.4),
            wire_seconds=rng.uniform(0.1, 0.3),
            stick_ms=rng.uniform(0.4, 2.0),
            dull=rng.uniform(0.02, 0.06),
            hat_low=rng.uniform(4500, 7500),
            hat_seconds=rng.uniform(0.06, 0.2),
            bass_f=rng.uniform(45, 70),
            bass_seconds=rng.uniform(0.2, 0.5),
            beater=rng.uniform(0.1, 0.5),
            pad=pad,
        )

    def strike(self, voice: Voice, level_db: float, rng: np.random.Generator) -> Samples:
        """Return one stroke."""
        if voice is Voice.BASS:
            return _peaked(self._bass(rng), level_db)
        if voice.is_cymbal or voice is Voice.PEDAL:
            return _peaked(self._hat(rng, ring=voice is not Voice.HAT), level_db)
        return _peaked(self._drum(level_db, rng, low=voice is not Voice.SNARE), level_db)

    def _drum(self, level_db: float, rng: np.random.Generator, *, low: bool) -> Samples:
        length = 0.6
        t = np.arange(int(length * RATE)) / RATE
        f0 = self.f0 * (0.5 if low else 1) * rng.normal(1, 0.004)
        sound = np.zeros_like(t)
        spot = rng.uniform(0.3, 1.0)
        for number, ratio in enumerate(_MEMBRANE):
            weight = spot**number * rng.lognormal(0, 0.3) / (1 + 0.3 * number)
            seconds = self.damping * rng.lognormal(0, 0.08) / (1 + 0.25 * number)
            bend = f0 * ratio * (t + 0.002 * 10 ** (level_db / 40) * (1 - np.exp(-t / 0.01)))
            sound += weight * np.sin(2 * np.pi * bend) * _decay(seconds, length)
        # The quieter, the duller: the felt contact is longer (Hertz) and the wires move less.
        bright = 10 ** (self.dull * level_db / 2)
        ms = self.stick_ms * 10 ** (-level_db / 60)
        stick = _band(rng.normal(size=t.size), 500, max(1500, 9000 * bright))
        sound += 1.2 * bright**0.3 * stick * np.exp(-t / (ms / 1000)) / 0.35
        if self.wires and not low:
            wires = _band(rng.normal(size=t.size), 900, max(2500, 9000 * bright**0.5))
            rise = 1 - np.exp(-t / 0.0008)
            fall = _decay(self.wire_seconds * rng.lognormal(0, 0.1), length)
            sound += self.wires * bright**0.35 * wires * rise * fall / 0.35
        return sound

    def _hat(self, rng: np.random.Generator, *, ring: bool) -> Samples:
        length = 1.2 if ring else 0.4
        t = np.arange(int(length * RATE)) / RATE
        seconds = self.hat_seconds * (6 if ring else 1) * rng.lognormal(0, 0.15)
        noise = _band(rng.normal(size=t.size), self.hat_low, 16000)
        tones = sum(
            np.sin(2 * np.pi * rng.uniform(3000, 12000) * t + rng.uniform(0, 6)) for _ in range(12)
        )
        stick = _band(rng.normal(size=t.size), 1500, 9000) * np.exp(-t / 0.002)
        return np.asarray((noise + 0.05 * tones) * _decay(seconds, length) + 0.4 * stick)

    def _bass(self, rng: np.random.Generator) -> Samples:
        length = 0.6
        t = np.arange(int(length * RATE)) / RATE
        sweep = self.bass_f * t + 1.2 * (1 - np.exp(-t / 0.015))
        body = np.sin(2 * np.pi * sweep) * _decay(self.bass_seconds, length)
        click = _band(rng.normal(size=t.size), 800, 5000) * np.exp(-t / 0.004)
        return np.asarray(body + self.beater * rng.lognormal(0, 0.2) * click)


@dataclass(frozen=True)
class BandKit:
    """The held-out family: noise and tones in bands that decay one by one."""

    edges: Samples
    seconds: Samples
    weights: Samples
    tone: float
    attack_ms: float
    tilt: float
    metal: Samples
    bass_f: float

    @classmethod
    def drawn(cls, rng: np.random.Generator, *, pad: bool = False) -> BandKit:
        """Draw a kit."""
        edges = np.geomspace(120, 15000, 13)
        middle = np.sqrt(edges[1:] * edges[:-1])
        short = 0.25 if pad else 1.0
        return cls(
            edges=edges,
            seconds=short
            * rng.uniform(0.15, 0.45)
            * (middle / 300) ** -0.3
            * rng.lognormal(0, 0.15, 12),
            weights=rng.lognormal(0, 0.5, 12) * (middle / 1000) ** rng.uniform(-0.6, 0.1),
            tone=rng.uniform(170, 240) * (2.0 if pad else 1.0),
            attack_ms=rng.uniform(0.15, 0.9),
            tilt=rng.uniform(0.15, 0.5),
            metal=rng.uniform(2500, 14000, 30),
            bass_f=rng.uniform(40, 65),
        )

    def strike(self, voice: Voice, level_db: float, rng: np.random.Generator) -> Samples:
        """Return one stroke."""
        t = np.arange(int(0.6 * RATE)) / RATE
        if voice is Voice.BASS:
            fall = np.exp(-t / rng.uniform(0.05, 0.07))
            tone = np.sin(2 * np.pi * (self.bass_f * t + 0.8 * np.log1p(t / 0.004)))
            slap = _band(rng.normal(size=t.size), 1500, 4500) * np.exp(-t / 0.003)
            return _peaked(tone * fall + 0.25 * slap, level_db)
        if voice.is_cymbal or voice is Voice.PEDAL:
            wave = sum(signal.square(2 * np.pi * f * t + rng.uniform(0, 6)) for f in self.metal)
            bright = _band(np.asarray(wave) + 4 * rng.normal(size=t.size), 5000, 15000)
            seconds = 0.12 if voice is Voice.HAT else 0.9
            return _peaked(bright * 10 ** (-3 * t / seconds), level_db)
        sound = np.zeros_like(t)
        pairs = zip(self.edges[:-1], self.edges[1:], self.seconds, self.weights, strict=True)
        for low, high, seconds, weight in pairs:
            noise = _band(rng.normal(size=t.size), low, high)
            fall = 10 ** (-3 * t / (seconds * rng.lognormal(0, 0.1)))
            duller = (np.sqrt(low * high) / 300) ** (self.tilt * level_db / 20)
            sound += weight * rng.lognormal(0, 0.15) * duller * noise * fall * 6
        tone = np.sin(2 * np.pi * self.tone * (t + 0.001 * (1 - np.exp(-t / 0.006))))
        sound += 1.5 * tone * 10 ** (-3 * t / self.seconds[0])
        rise = 1 - np.exp(-t / (self.attack_ms / 1000 * 10 ** (-level_db / 80)))
        return _peaked(sound * rise, level_db)


def decaying_room(rng: np.random.Generator, seconds: float, wet_db: float) -> Samples:
    """Return an impulse response: a few early echoes, then noise that decays, duller as it goes."""
    length = int(min(seconds * 1.2, 1.2) * RATE)
    t = np.arange(length) / RATE
    tail = rng.normal(size=length) * 10 ** (-3 * t / seconds)
    tail[: int(0.012 * RATE)] = 0
    dull = _band(rng.normal(size=length), 100, 2500) * 10 ** (-3 * t / seconds)
    tail += dull
    for _ in range(6):
        tail[int(rng.uniform(0.002, 0.02) * RATE)] += rng.normal(0, 6)
    return _with_direct(tail, wet_db)


def delay_room(rng: np.random.Generator, seconds: float, wet_db: float) -> Samples:
    """Return an impulse response of eight feedback combs and two all-passes (Schroeder 1962)."""
    length = int(min(seconds * 1.2, 1.2) * RATE)
    pulse = np.zeros(length)
    pulse[0] = 1
    tail = np.zeros(length)
    for _ in range(8):
        delay = int(rng.uniform(0.011, 0.043) * RATE)
        gain = 10 ** (-3 * delay / RATE / seconds)
        feedback = np.zeros(delay + 2)
        feedback[0], feedback[delay], feedback[delay + 1] = 1, -0.7 * gain, -0.3 * gain
        tail += signal.lfilter([0.0] * delay + [1.0], feedback, pulse)
    for delay in (int(0.005 * RATE), int(0.0017 * RATE)):
        b = np.zeros(delay + 1)
        b[0], b[-1] = -0.7, 1
        tail = signal.lfilter(b, b[::-1], tail)
    return _with_direct(tail, wet_db)


def _with_direct(tail: Samples, wet_db: float) -> Samples:
    tail *= 10 ** (wet_db / 20) / np.sqrt(np.sum(tail**2))
    tail[0] += 1
    return tail


def room_noise(rng: np.random.Generator, length: int, colour: float) -> Samples:
    """Return noise of power falling by ``f ** -colour``, root mean square 1."""
    spectrum = np.fft.rfft(rng.normal(size=length))
    f = np.maximum(np.fft.rfftfreq(length, 1 / RATE), 20)
    noise = np.fft.irfft(spectrum * f ** (-colour / 2), length)
    return np.asarray(noise / np.sqrt(np.mean(noise**2)))


def mains_hum(rng: np.random.Generator, length: int) -> Samples:
    """Return 50 Hz and its harmonics, root mean square 1."""
    t = np.arange(length) / RATE
    hum = sum(
        rng.lognormal(0, 0.4) / n * np.sin(2 * np.pi * 50.02 * n * t + rng.uniform(0, 6))
        for n in range(1, 13)
    )
    return np.asarray(hum / np.sqrt(np.mean(np.square(hum))))


def sine_click(rng: np.random.Generator, pitch: float) -> Samples:
    """Return a click of a sine and its octave."""
    t = np.arange(int(0.04 * RATE)) / RATE
    tone = np.sin(2 * np.pi * pitch * t) + 0.4 * np.sin(4 * np.pi * pitch * t)
    return np.asarray(_peaked(tone * np.exp(-t / rng.uniform(0.005, 0.01)), 0.0))


def block_click(rng: np.random.Generator, pitch: float) -> Samples:
    """Return a click of a pulse through two resonances, as of a wood block."""
    t = np.arange(int(0.06 * RATE)) / RATE
    one = np.sin(2 * np.pi * pitch * t) * np.exp(-t / 0.012)
    two = np.sin(2 * np.pi * pitch * rng.uniform(1.4, 1.9) * t) * np.exp(-t / 0.006)
    edge = rng.normal(size=t.size) * np.exp(-t / 0.001)
    return _peaked(one + 0.7 * two + 0.3 * edge, 0.0)
