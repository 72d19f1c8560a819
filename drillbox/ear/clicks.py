"""Take a metronome's click out of a recording.

A click that bleeds into the microphone comes again and again with the same waveform, exactly one
pulse apart, which no hand does: the average of the recording over all pulses keeps the click and
loses the strokes. What the pulses have in common is subtracted from each of them. The first of each
bar may sound different: it is then averaged by itself.

Conventions: seconds of the recording; samples mono float32.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from drillbox.ear.loudness import without_slow

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drillbox.ear.energies import Samples

_BEFORE, _LENGTH = 0.2, 0.3
"""Seconds before the nominal pulse at which a click is looked for, and how far."""
_RING = 0.09
_LEAST = 6
"""Fewer pulses say nothing."""
_COHERENT = 0.35
_SLICE = 0.003
_RESTING, _LEAST_RESTS = 0.12, 3
"""Seconds around a pulse without strokes, and how many such pulses must show the click."""
_ALIKE = 2.0
"""Two clicks are one where what it leaves of the second is no more than so often what is usual."""


@dataclass(frozen=True, slots=True)
class Declicked:
    """A recording without its click.

    Attributes
    ----------
    samples
        The rest.
    at
        Seconds at which each click began, shape (clicks,); empty where none was found.
    """

    samples: Samples
    at: NDArray[np.float64]


def remove_click(
    samples: Samples,
    rate: int,
    first: float,
    period: float,
    struck: NDArray[np.float64] | None = None,
    *,
    bar: int = 1,
) -> Declicked:
    """Subtract the click from a recording, where there is one.

    Parameters
    ----------
    samples, rate
        The recording.
    first
        Seconds of the first pulse of some bar, as nominally as it is known.
    period
        Seconds from pulse to pulse.
    struck
        Nominal times of strokes. What is alike at pulses with strokes alone is no click: it must be
        heard at pulses without, in the count-in or in rests.
    bar
        Pulses from one first pulse of a bar, which may click in its own way, to the next; 1 where
        that is not known.
    """
    nothing = Declicked(samples, np.zeros(0))
    number = np.arange(-int(first / period) - 1, int((samples.size / rate - first) / period) + 1)
    begins = np.asarray(first + number * period - _BEFORE, np.float64)
    inside = (begins > 0) & (begins + _LENGTH + _RING < samples.size / rate)
    if inside.sum() < _LEAST:
        return nothing
    number, begins = number[inside], begins[inside]
    frames = np.round(begins * rate).astype(np.int64)
    length = int((_LENGTH + _RING) * rate)
    lined = _above(samples, rate)[frames[:, None] + np.arange(length)]
    at = _coherent(lined, rate)
    if at is None:
        return nothing
    rows = lined[:, at : at + int(_RING * rate)]
    rests = _resting(begins + _BEFORE, struck)
    clicks = _clicks(rows, rests, number % bar == 0 if bar > 1 else np.zeros(number.size, bool))
    if clicks is None:
        return nothing
    cleaned = samples.copy()
    for turn, template in zip(frames + at, clicks, strict=True):
        place = slice(turn, turn + template.size)
        cleaned[place] -= _fitted(cleaned[place], template)
    return Declicked(cleaned, (frames + at) / rate)


def _resting(pulses: NDArray[np.float64], struck: NDArray[np.float64] | None) -> NDArray[np.bool_]:
    """Return which pulses have no stroke near; all where strokes are not known."""
    if struck is None:
        return np.ones(pulses.size, bool)
    apart = np.abs(pulses[:, None] - struck).min(axis=1, initial=np.inf)
    return np.asarray(apart > _RESTING)


def _clicks(
    rows: Samples, rests: NDArray[np.bool_], firsts: NDArray[np.bool_]
) -> list[Samples] | None:
    """Return the click of each row; None where it is not heard in rests.

    Parameters
    ----------
    rows
        The recording around each pulse.
    rests
        Which pulses have no stroke near.
    firsts
        Which are the first of a bar.
    """
    if rests.sum() < _LEAST_RESTS:
        return None
    if not (rests & ~firsts).any() or (~firsts).sum() < _LEAST:
        firsts = np.zeros(firsts.size, bool)
    usual = _common(rows[~firsts])
    if not _heard(rows[rests & ~firsts], usual):
        return None
    own = _click_of_firsts(rows, rests, firsts, usual)
    return [own if each else usual for each in firsts]


def _click_of_firsts(
    rows: Samples, rests: NDArray[np.bool_], firsts: NDArray[np.bool_], usual: Samples
) -> Samples:
    """Return the click of the first pulses: the usual one, their own, or silence.

    Their own is what a first pulse without strokes, in the count-in, has in common with the first
    pulses that strokes come to. Of the usual one it leaves no more than this leaves elsewhere.
    """
    quiet = rows[rests & firsts]
    if not quiet.size:
        return usual if not firsts.any() or _heard(rows[firsts], usual) else usual * 0
    left = np.median(_left(quiet, usual))
    if left <= _ALIKE * np.median(_left(rows[rests & ~firsts], usual)):
        return usual
    own = _common(rows[firsts])
    others = rows[firsts & ~rests]
    if np.median(_left(quiet, own)) < left and (not others.size or _heard(others, own)):
        return own
    return usual if _heard(rows[firsts], usual) else usual * 0


def _heard(rows: Samples, template: Samples) -> bool:
    """Return whether most rows hold a click about as loud as a template."""
    gains = rows @ template / (template @ template + 1e-12)
    return bool(np.median(gains) > 0.5)


def _left(rows: Samples, template: Samples) -> Samples:
    """Return the energy that is left of each row without a click."""
    return np.asarray(np.mean((rows - template) ** 2, axis=1), np.float32)


def _above(samples: Samples, rate: int) -> Samples:
    """Return the recording without what is below some 300 Hz, where bass drums are alike.

    What is above comes through whole, or the click would not fit the recording.
    """
    width = int(rate / 300) | 1
    high = without_slow(without_slow(samples.astype(np.float64), width), width)
    return high.astype(np.float32)


def _coherent(lined: Samples, rate: int) -> int | None:
    """Return the frame at which all rows begin to have a waveform in common, or None."""
    width = max(int(_SLICE * rate), 1)
    middle = np.median(lined, axis=0)
    common = _sums(middle**2, width)
    usual = np.median(np.stack([_sums(row**2, width) for row in lined]), axis=0)
    share = common / (usual + 1e-12)
    floor = np.median(usual)
    heard = (share > _COHERENT) & (usual > 2 * floor)
    heard[int(_LENGTH * rate) - width :] = False
    if not heard.any():
        return None
    best = int(np.argmax(np.where(heard, common, 0)))
    loud = common > 0.02 * common[best]
    while best > 0 and loud[best - 1]:
        best -= 1
    return max(best - width, 0)


def _sums(power: Samples, width: int) -> Samples:
    total = np.concatenate([np.zeros(1), np.cumsum(power, dtype=np.float64)])
    return np.asarray(total[width:] - total[:-width], np.float32)


def _common(rows: Samples) -> Samples:
    """Return the waveform that the rows share; rows that a stroke hit count little."""
    guess = np.median(rows, axis=0)
    for _ in range(3):
        rest = np.mean((rows - guess) ** 2, axis=1)
        weight = 1 / (rest + 1e-3 * np.mean(guess**2) + 1e-12)
        guess = np.asarray(weight @ rows / weight.sum(), np.float32)
    return guess


def _fitted(heard: Samples, template: Samples) -> Samples:
    """Return the template as loud as it stands in what is heard, within a third."""
    gain = float(heard @ template) / (float(template @ template) + 1e-12)
    return template * np.float32(np.clip(gain, 0.7, 1.3) if 0.3 < gain < 3 else 1.0)
