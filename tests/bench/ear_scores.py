"""How right the ear is: a measurement beside the truth of a made-up take.

Strokes that should come together count once in F and precision, as the loudest of them; ghosts are
counted one by one.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from drillbox.ear import AskedTake, Measurement, measure
from drillbox.ear.expected import expected_strokes
from drillbox.ear.measuring import judged, on_the_grid
from drillbox.ear.recordings import mono
from drillbox.ear.verdict import StrokeFact
from drillbox.rhythm import Level

if TYPE_CHECKING:
    from takes import Take

NEAR = 0.030
"""Seconds within which a stroke counts as found."""


@dataclass
class Score:
    """Sums over takes, and one figure a take."""

    counts: Counter[str] = field(default_factory=Counter)
    figures: dict[str, list[float]] = field(default_factory=dict)

    def add(self, name: str, value: float | None) -> None:
        """Add one take's figure, where there is one."""
        if value is not None and np.isfinite(value):
            self.figures.setdefault(name, []).append(float(value))

    def include(self, other: Score) -> None:
        """Add what was counted and measured elsewhere."""
        self.counts.update(other.counts)
        for name, values in other.figures.items():
            self.figures.setdefault(name, []).extend(values)

    def ratio(self, part: str, whole: str) -> float:
        """Return a share of sums."""
        return self.counts[part] / max(self.counts[whole], 1)

    def mean(self, name: str) -> float:
        """Return the mean over takes."""
        return float(np.mean(self.figures.get(name, [np.nan])))

    @property
    def f(self) -> float:
        """F of the strokes within 30 ms."""
        return 2 * self.counts["hit"] / max(self.counts["said"] + self.counts["struck"], 1)


def asked_of(take: Take, *, start: float = 0.0, bpm: float = 1.0) -> AskedTake:
    """Return what the ear is told; `start` seconds and a factor of the tempo off."""
    return AskedTake(take.pattern, take.bpm * bpm, take.passes, take.start + start)


def measured(take: Take) -> Measurement:
    """Return the take as the ear measures it."""
    return measure(take.samples.astype(np.float32), 44100, asked_of(take))


def true_measurement(take: Take, like: Measurement) -> Measurement:
    """Return what a perfect ear would say: the same sums over the true strokes."""
    expected = expected_strokes(take.pattern, take.bpm, take.passes)
    facts = [
        StrokeFact(
            stroke,
            "heard" if true.played else "missed",
            float(true.at) if true.played else None,
            float(true.peak_db) if true.played else None,
            fact.covered,
        )
        for stroke, true, fact in zip(expected, take.strokes, like.facts, strict=True)
    ]
    asked = asked_of(take)
    found, laid = on_the_grid(facts, asked, take.start)
    return judged(asked, found, (), laid)


def compare(score: Score, take: Take, found: Measurement) -> None:
    """Add one take to a score."""
    true = np.array([s.at for s in take.strokes])
    played = np.isfinite(true)
    state = np.array([f.state for f in found.facts])
    at = np.array([np.nan if f.at is None else f.at for f in found.facts])
    heard, missed = state == "heard", state == "missed"
    hit = heard & (np.abs(at - true) < NEAR)
    ghost = np.array([s.level is Level.GHOST for s in take.strokes])
    covered = np.array([f.covered for f in found.facts])
    bare = ghost & played & ~covered
    _together(score, take, played=played, heard=heard, covered=covered, off=np.abs(at - true))
    score.counts["said"] += len(found.extra)
    score.counts.update(
        strokes=len(true),
        ghosts=int((ghost & played).sum()),
        ghosts_hit=int((ghost & hit).sum()),
        hidden=int((ghost & played & covered).sum()),
        hidden_hit=int((ghost & hit & covered).sum()),
        bare=int(bare.sum()),
        bare_untold=int((bare & ~heard & ~missed).sum()),
        played=int(played.sum()),
        played_missed=int((played & missed).sum()),
        left_out=int((~played).sum()),
        left_out_heard=int((~played & heard).sum()),
        extra=len(found.extra),
    )
    timed = np.array([f.timed for f in found.facts]) & hit
    if timed.any():
        off = (at - true)[timed]
        score.add("timing", float(np.median(np.abs(off - np.median(off))) * 1000))
    perfect = true_measurement(take, found)
    _numbers(score, found, perfect, len(true))


def _together(
    score: Score,
    take: Take,
    *,
    played: np.ndarray,
    heard: np.ndarray,
    covered: np.ndarray,
    off: np.ndarray,
) -> None:
    groups: dict[float, list[int]] = {}
    for stroke in take.strokes:
        groups.setdefault(round(stroke.nominal, 5), []).append(stroke.index)
    for group in groups.values():
        best = max(group, key=lambda i: (played[i], take.strokes[i].peak_db))
        score.counts["struck"] += int(played[best])
        said = [i for i in group if heard[i]]
        if said:
            score.counts["said"] += 1
            main = min(said, key=lambda i: bool(covered[i]))
            near = played[best] and abs(off[main]) < NEAR
            score.counts["hit"] += int(near or (played[best] and off[best] < NEAR))


def _numbers(score: Score, found: Measurement, perfect: Measurement, strokes: int) -> None:
    ours, truth = found.numbers, perfect.numbers
    score.add("missed_wrong", abs(ours.missed - truth.missed) / strokes)
    pairs = {
        "spread": (ours.spread_ms, truth.spread_ms),
        "ghosts_late": (ours.ghosts_ms, truth.ghosts_ms),
        "contrast": (ours.contrast_db, truth.contrast_db),
    }
    for name, (one, other) in pairs.items():
        if one is not None and other is not None:
            score.add(name, abs(one - other))
    if found.proposal.grade is None or perfect.proposal.grade is None:
        score.counts["withheld"] += 1
        return
    off = abs(found.proposal.grade - perfect.proposal.grade)
    score.counts.update(graded=1, grade_equal=int(off == 0), grade_far=int(off > 1))


def _dead_channel(samples: np.ndarray) -> np.ndarray:
    """Return what is read of a stereo recording of which one side is hardly more than hiss."""
    other = np.random.default_rng(0).normal(0, 1e-4, samples.size)
    return mono(np.stack([samples, other], axis=1))


def variants(take: Take) -> dict[str, tuple[np.ndarray, int, AskedTake]]:
    """Return worse recordings of the same take: samples, rate, what the ear is told."""
    from scipy import signal

    x = take.samples
    told = asked_of(take)
    narrow = signal.sosfiltfilt(signal.butter(8, 11000, fs=44100, output="sos"), x)
    slow = signal.resample_poly(x, 160, 441)
    peak = np.max(np.abs(x))
    clipped = np.clip(x, -peak * 10 ** (-3 / 20), peak * 10 ** (-3 / 20))
    quiet = np.round(x * 10 ** (-8 / 20) * 32767) / 32767
    return {
        "plain": (x, 44100, told),
        "11 kHz bandwidth": (narrow, 44100, told),
        "16 kHz sampling": (slow, 16000, told),
        "clipped by 3 dB": (clipped, 44100, told),
        "8 dB quieter, 16 bit": (quiet, 44100, told),
        "a dead channel": (_dead_channel(x), 44100, told),
        "start off by 150 ms": (x, 44100, replace(told, start=told.start + 0.15)),
        "tempo off by 3 %": (x, 44100, replace(told, bpm=told.bpm * 1.03)),
    }
