"""Takes with a known truth: a pattern, a player of computed unsteadiness, a kit, a room, a noise.

Three grades of difficulty; each a mixture, so that no single trick wins:

=========== ===================== ========== ============= ============ ============
grade       what sounds           bpm        ghosts under  click        room, noise
=========== ===================== ========== ============= ============ ============
easy        pad or dry snare      60 to 90   12 to 18 dB   none         dry, -65 dB
realistic   snare or whole kit    70 to 115  16 to 25 dB   none or -22  room, -50 dB
hard        whole kit mostly      100 to 150 19 to 29 dB   none or -9   wet, -41 dB
=========== ===================== ========== ============= ============ ============

Conventions: seconds of the file; strokes in the order of `drillbox.rhythm.strikes`, pass after
pass; levels are peaks of the dry stroke in dB of full scale.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from drum_synth import (
    RATE,
    BandKit,
    ModalKit,
    Samples,
    block_click,
    decaying_room,
    delay_room,
    mains_hum,
    room_noise,
    sine_click,
)
from scipy import signal

from drillbox.ear.expected import expected_strokes
from drillbox.rhythm import Level, Part, Pattern, Voice, parse

GRADES = ("easy", "realistic", "hard")
SNARE_ALONE = (
    "snare: >2 >4 (1a) (3e)",
    "snare: >2 >4 (1e) (1a) (3e) (3a)",
    "snare: >2 >4 (2a) (4e) (3&)",
    "snare: >1 >3 (e) (a)",
    "snare: >2 >4 (1e) (1&) (2e) (3&) (3a)",
    "grid: 8t\nsnare: >2 >4 (1t) (1l) (3l)",
    "grid: 8t\nsnare: >1 >3 (2) (4) (t) (l)",
    "snare: >2 >4 1 3 (2&) (4&) (1e) (3a)",
    "snare: >2 >4 (/1e) (3a)",
    "snare: >2 >4 (z1&) (3a)",
    "snare: >f2 >4 (1a) (3e)",
)
WHOLE_KIT = tuple(
    f"hat: {hat}\nbass: {bass}\n{snare}"
    for hat, bass, snare in (
        ("beat &", "1 3", "snare: >2 >4 (1a) (3e)"),
        ("beat &", "1 3", "snare: >2 >4 (1e) (1a) (3e) (3a)"),
        ("beat &", "1 2& 3", "snare: >2 >4 (2a) (4e) (3&)"),
        ("beat", "1 3&", "snare: >2 >4 (e) (a)"),
        ("beat &", "1 1& 3", "snare: >2 >4 (2e) (2a) (4a)"),
        ("beat &", "1 3 4&", "snare: >2 >4 (1&) (2a) (3e)"),
    )
)


@dataclass(frozen=True)
class TrueStroke:
    """A stroke as it really came; `at` is nan where it was left out."""

    index: int
    nominal: float
    at: float
    voice: Voice
    level: Level
    peak_db: float
    covered: bool
    part: Part = Part.STROKE

    @property
    def played(self) -> bool:
        """Whether it was played."""
        return bool(np.isfinite(self.at))


@dataclass(frozen=True)
class Take:
    """A recording with its truth."""

    grade: str
    pattern: Pattern
    bpm: float
    passes: int
    start: float
    samples: Samples
    strokes: tuple[TrueStroke, ...]


@dataclass(frozen=True)
class Player:
    """How a player is unsteady, in seconds and dB."""

    jitter: float
    bias: dict[float, float]
    ghost_late: float
    contrast: float
    accent_sd: float
    ghost_sd: float


def _player(rng: np.random.Generator, grade: str) -> Player:
    low, high = {"easy": (12, 18), "realistic": (16, 25), "hard": (19, 29)}[grade]
    return Player(
        jitter=rng.choice([0.004, 0.007, 0.011, 0.016]),
        bias={each / 12: rng.normal(0, 0.004) for each in range(12)},
        ghost_late=rng.normal(0, 0.006),
        contrast=rng.uniform(low, high),
        accent_sd=1.2,
        ghost_sd=rng.uniform(1.5, 3.0),
    )


def make_take(
    seed: int,
    grade: str,
    *,
    held_out: bool = False,
    missing: float = 0.0,
    hum: float | None = None,
    seconds: float = 22.0,
) -> Take:
    """Return a take of about so many seconds; the same seed gives the same one."""
    rng = np.random.default_rng([seed, GRADES.index(grade), held_out])
    kit_share = {"easy": 0.0, "realistic": 0.5, "hard": 0.7}[grade]
    whole = rng.random() < kit_share
    texts = WHOLE_KIT if whole else SNARE_ALONE
    pattern = parse(str(rng.choice(texts)) + "\n")
    bpm = float(
        round(rng.uniform(*{"easy": (60, 90), "realistic": (70, 115), "hard": (100, 150)}[grade]))
    )
    if any(stroke.ornament.value == "double" for stroke in pattern.strokes):
        bpm = min(bpm, 95.0)
    passes = int(np.clip(round(seconds / pattern.seconds(bpm)), 4, 12))
    pad = not whole and rng.random() < {"easy": 0.6, "realistic": 0.3, "hard": 0.1}[grade]
    kit = (BandKit if held_out else ModalKit).drawn(rng, pad=pad)
    start = rng.uniform(0.3, 0.8) + 4 * 60 / bpm
    strokes = _played(
        rng,
        pattern,
        bpm,
        passes,
        start=start,
        player=_player(rng, grade),
        missing=missing,
    )
    dry = _mixed(rng, kit, strokes, start + passes * pattern.seconds(bpm) + 1.0, whole=whole)
    loud = float(
        np.median(
            [abs(10 ** (s.peak_db / 20)) for s in strokes if s.played and s.level is Level.ACCENT]
        )
    )
    wet = _in_room(rng, dry, grade, held_out=held_out)
    wet += _noise(rng, wet.size, grade, held_out=held_out, hum=hum) * loud
    wet += _click(rng, wet.size, grade, bpm, start, held_out=held_out) * loud
    gain = 10 ** (rng.uniform(-12, -1) / 20) / np.max(np.abs(wet))
    shift = 20 * np.log10(gain)
    return Take(
        grade,
        pattern,
        bpm,
        passes,
        start,
        wet * gain,
        tuple(replace(s, peak_db=s.peak_db + shift) for s in strokes),
    )


def _played(
    rng: np.random.Generator,
    pattern: Pattern,
    bpm: float,
    passes: int,
    *,
    start: float,
    player: Player,
    missing: float,
) -> tuple[TrueStroke, ...]:
    rows = expected_strokes(pattern, bpm, passes)
    length = passes * pattern.seconds(bpm)
    latency = rng.uniform(-0.02, 0.05)
    drift, bend = rng.normal(0, 0.003), rng.normal(0, 0.003)
    wander = np.cumsum(rng.normal(0, 0.0012, len(rows)))
    wander -= np.linspace(0, wander[-1], len(rows))
    gaps = np.diff(sorted({round(row.seconds, 4) for row in rows if row.part is not Part.GRACE}))
    closest = float(gaps.min())
    jitter = min(player.jitter, 0.2 * closest)
    strokes = []
    for index, row in enumerate(rows):
        nominal, voice, level = row.seconds, row.voice, row.level
        x = nominal / length
        slide = length * (drift * x + bend * x * (x - 1))
        ghost = level is Level.GHOST
        late = player.ghost_late * (ghost and voice is Voice.SNARE)
        part = round(float(row.place) % 1 * 12) % 12 / 12
        at = start + nominal + latency + slide + wander[index] + late
        at += player.bias[part] * 0.7 + rng.normal(
            0, jitter * (0.3 if row.part is Part.GRACE else 1)
        )
        covered = any(
            abs(other.seconds - nominal) < 1e-4 and other.voice is not voice for other in rows
        )
        left_out = ghost and rng.random() < missing
        strokes.append(
            TrueStroke(
                index,
                start + nominal,
                np.nan if left_out else at,
                voice,
                level,
                _level_db(rng, voice, level, player),
                covered,
                row.part,
            )
        )
    return tuple(strokes)


def _level_db(rng: np.random.Generator, voice: Voice, level: Level, player: Player) -> float:
    if voice is Voice.BASS:
        return float(rng.normal(-2, 1))
    if voice is not Voice.SNARE:
        return float(rng.normal(-16, 1.5))
    if level is Level.GHOST:
        return float(rng.normal(-player.contrast, player.ghost_sd))
    return float(rng.normal(0 if level is Level.ACCENT else -player.contrast / 3, player.accent_sd))


def _mixed(
    rng: np.random.Generator,
    kit: ModalKit | BandKit,
    strokes: tuple[TrueStroke, ...],
    seconds: float,
    *,
    whole: bool,
) -> Samples:
    out = np.zeros(int(seconds * RATE))
    # The microphone of a kit stands nearer to the snare than to hat and bass.
    far = {Voice.HAT: rng.uniform(-4, 6), Voice.BASS: rng.uniform(-10, 2)} if whole else {}
    for stroke in strokes:
        if not stroke.played:
            continue
        sound = kit.strike(stroke.voice, stroke.peak_db, rng) * 10 ** (
            far.get(stroke.voice, 0) / 20
        )
        frame, part = divmod(stroke.at * RATE, 1)
        at = int(frame)
        if stroke.part is Part.BUZZ:
            sound = _bounced(kit, stroke, sound, rng)
        end = min(at + sound.size, out.size - 1)
        # Between two samples: the truth is not a multiple of the sample's length.
        out[at:end] += (1 - part) * sound[: end - at]
        out[at + 1 : end + 1] += part * sound[: end - at]
    return out


def _bounced(
    kit: ModalKit | BandKit, stroke: TrueStroke, push: Samples, rng: np.random.Generator
) -> Samples:
    """Return a pressed stroke with its bounces."""
    out = np.concatenate([push, np.zeros(RATE // 2)])
    at, db = 0.0, stroke.peak_db
    for _ in range(int(rng.integers(3, 6))):
        at += rng.uniform(0.022, 0.034)
        db -= rng.uniform(0.5, 1.8)
        sound = kit.strike(stroke.voice, db, rng)
        first = int(at * RATE)
        out[first : first + sound.size] += sound[: out.size - first]
    return out


def _in_room(rng: np.random.Generator, dry: Samples, grade: str, *, held_out: bool) -> Samples:
    seconds, wet = {
        "easy": (rng.uniform(0.1, 0.2), rng.uniform(-25, -18)),
        "realistic": (rng.uniform(0.2, 0.5), rng.uniform(-16, -8)),
        "hard": (rng.uniform(0.35, 0.9), rng.uniform(-10, -3)),
    }[grade]
    room = (delay_room if held_out else decaying_room)(rng, seconds, wet)
    return np.asarray(signal.oaconvolve(dry, room)[: dry.size])


def _noise(
    rng: np.random.Generator, length: int, grade: str, *, held_out: bool, hum: float | None
) -> Samples:
    db = {"easy": -65, "realistic": -50, "hard": -41}[grade] + rng.normal(0, 2)
    noise = room_noise(rng, length, rng.uniform(1.2, 2.0) if held_out else rng.uniform(0, 1.2))
    noise *= 10 ** (db / 20)
    if hum is None and grade == "hard" and rng.random() < 0.3:
        hum = -32.0
    return noise if hum is None else noise + mains_hum(rng, length) * 10 ** (hum / 20)


def _click(
    rng: np.random.Generator, length: int, grade: str, bpm: float, start: float, *, held_out: bool
) -> Samples:
    out = np.zeros(length)
    if grade == "easy" or rng.random() < 0.4:
        return out
    db = {"realistic": -22, "hard": -9}[grade] + rng.uniform(-4, 4)
    pitch = rng.uniform(700, 2200)
    make = block_click if held_out else sine_click
    usual, first = make(rng, pitch), make(rng, pitch * rng.choice([1.0, 1.5]))
    late = rng.uniform(0.005, 0.04)
    for number in range(-4, int((length / RATE - start) * bpm / 60) + 1):
        frame = round((start + late + number * 60 / bpm) * RATE)
        sound = (first if number % 4 == 0 else usual) * 10 ** (db / 20)
        if 0 <= frame < length - sound.size:
            out[frame : frame + sound.size] += sound
    return out
