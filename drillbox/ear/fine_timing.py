"""When each stroke began, to a fraction of a millisecond.

The columns of a spectrum lie a millisecond and a half apart and see a stroke come early. Here the
power of the recording above 400 Hz and above 2.5 kHz, smoothed over less than a millisecond, is
laid over the usual rise of strokes of its kind, learned within the take, at every tenth of a
millisecond; the likeliest place is taken.

A library's onsets come later the softer the stroke, by 3 to 12 ms, and would tell every drummer
that the ghosts drag; here all kinds are brought to one zero: where their usual rise begins.

Conventions: seconds of the recording.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.ear.energies import Samples
    from drillbox.ear.looks import Columns, Floats

_STEP = 1e-4
_SMOOTH_SECONDS = 0.0004
_EDGES_HZ = (400.0, 2500.0)
_BEFORE, _AFTER = 60, 90
"""Steps of a template before and after the beginning."""
_REACH = 50
_ROUNDS = 3
_FEWEST = 3
_TRUST, _MOST_DOUBT = 4.0, 400.0
"""How much less likely a stroke is a millisecond from where its looks in all bands put it, against
others of its kind; the square of the milliseconds counts to a most. In noise the looks know more.
"""
_RISEN = 0.2
"""Share of the height of the usual rise (its amplitude) at which a stroke is said to begin."""


def fine_times(
    samples: Samples,
    rate: int,
    at: Floats,
    kinds: Sequence[Columns],
    beside: Sequence[Sequence[Columns]] | None = None,
) -> Floats:
    """Return when strokes began.

    Parameters
    ----------
    samples, rate
        The recording, click taken out.
    at
        About when, shape (strokes,), in order.
    kinds
        For each kind of stroke, the numbers of its strokes; one that is in none keeps its time.
    beside
        For each of them, of each softer stroke that comes together with it, the numbers of such
        strokes that stand alone: power up to theirs tells nothing of the stroke itself.
    """
    power = [_power(samples, rate, edge) for edge in _EDGES_HZ if edge < rate / 3]
    refined = at.copy()
    for members, others in zip(kinds, beside or [()] * len(kinds), strict=True):
        if members.size < _FEWEST:
            continue
        hiding = [sum((_height(band, at[each]) for each in others), 0.0) for band in power]
        refined[members] = _aligned(power, at[members], hiding)
    return refined


def _height(band: Floats, at: Floats) -> float:
    """Return the usual peak power of strokes."""
    if not at.size:
        return 0.0
    places = np.round(at / _STEP).astype(np.int64)
    return float(np.median(np.max(_windows(band, places, np.arange(-_REACH, _AFTER)), axis=1)))


def _power(samples: Samples, rate: int, edge: float) -> Floats:
    """Return the smoothed power above an edge at every step."""
    taps = max(int(rate / edge) | 1, 3)
    window = np.hanning(taps + 2)[1:-1]
    window /= window.sum()
    high = samples - np.convolve(samples, window, "same")
    smooth = np.hanning(max(int(2 * _SMOOTH_SECONDS * rate), 3) + 2)[1:-1]
    power = np.convolve(high**2, smooth / smooth.sum(), "same")
    times = np.arange(0, samples.size / rate, _STEP)
    frames = np.arange(samples.size) / rate
    return np.asarray(np.interp(times, frames, np.maximum(power, 1e-14)))


def _aligned(power: Sequence[Floats], at: Floats, hiding: Sequence[float]) -> Floats:
    power = [band + hidden for band, hidden in zip(power, hiding, strict=True)]
    places = np.round(at / _STEP).astype(np.int64)
    reach = np.arange(-_REACH, _REACH + 1)
    span = np.arange(-_BEFORE, _AFTER)
    shift = _steepest(power[0], places) - places
    for _ in range(_ROUNDS):
        score = np.zeros((at.size, reach.size))
        for band in power:
            usual = _usual(band, places + shift, span)
            score += _likelihood(band, places + shift, reach, span, usual)
        off = (shift[:, None] + reach - np.median(shift)) * _STEP
        score -= _TRUST * np.minimum((off / 1e-3) ** 2, _MOST_DOUBT)
        step = reach[np.argmax(score, axis=1)]
        shift = shift + step
        reach = np.arange(-_REACH // 2, _REACH // 2 + 1)
    begins = _beginning(_usual(power[0], places + shift, span))
    return (places + shift + begins) * _STEP


def _steepest(band: Floats, places: Columns) -> Columns:
    """Return where the power rises most within 5 ms of each place."""
    around = np.clip(places[:, None] + np.arange(-_REACH, _REACH + 10), 20, band.size - 20)
    logs = np.log(band)
    rise = logs[around + 5] - logs[around - 5]
    level = logs[around + 8]
    best = np.argmax(rise + 0.3 * level, axis=1)
    return np.asarray(around[np.arange(places.size), best])


def _windows(band: Floats, places: Columns, span: Columns) -> Floats:
    return np.asarray(band[np.clip(places[..., None] + span, 0, band.size - 1)])


def _usual(band: Floats, places: Columns, span: Columns) -> Floats:
    """Return the usual rise: the median of the excess over what was there before, peak 1."""
    windows = _windows(band, places, span)
    before = np.median(windows[:, : _BEFORE // 2], axis=1, keepdims=True)
    excess = np.maximum(windows - before, 0)
    peak = np.max(excess[:, _BEFORE - 10 :], axis=1, keepdims=True) + 1e-14
    return np.asarray(np.median(excess / peak, axis=0))


def _likelihood(
    band: Floats, places: Columns, reach: Columns, span: Columns, usual: Floats
) -> Floats:
    """Return how likely each shift is, shape (strokes, shifts)."""
    windows = _windows(band, places[:, None] + reach, span)
    before = np.median(_windows(band, places, np.arange(-_BEFORE, -_BEFORE // 2)), axis=1)
    peak = np.max(_windows(band, places, np.arange(-20, _AFTER)), axis=1)
    gain = np.maximum(peak - before, 0.1 * before)
    model = before[:, None] + gain[:, None] * usual
    off = np.log(windows / model[:, None, :])
    return np.asarray(-np.log1p(off * off / 0.8).sum(axis=-1))


def _beginning(usual: Floats) -> int:
    """Return the step at which a usual rise begins, relative to its zero."""
    rest = np.median(usual[: _BEFORE // 2])
    peak = _BEFORE - 20 + int(np.argmax(usual[_BEFORE - 20 :]))
    below = np.flatnonzero(usual[:peak] < rest + _RISEN**2 * (usual[peak] - rest))
    return (int(below[-1]) if below.size else 0) - _BEFORE
