"""Find every expected stroke of a take, or that it is not there, and when it came.

Three passes: candidates for every slot are weighed by their looks and by how near they lie to
where the player's own offset, tempo and habits put that slot; the likeliest way through all of
them in order of time is taken; then map, habits and looks are learned again from what was found.

Conventions: seconds of the recording; a slot that was not found has nan.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from drillbox.ear.aligning import TempoMap, coarse_map, fitted_map, onset_strength
from drillbox.ear.looks import Columns, Floats, View, bands_fall, evidence, view

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.ear.energies import Energies, Spectrum
    from drillbox.ear.slots import Slots

PASSES = 3
REACH = 0.060
"""Seconds around its centre in which a slot is looked for, at most."""
_APART = 0.018
"""Two strokes lie at least this far apart."""
_MOST_CANDIDATES = 6
_PATHS = 10
_AT_ONCE = 4000
FIRST_THRESHOLD = 6.0


class Candidate(NamedTuple):
    """A column at which a slot's stroke may stand."""

    at: float
    score: float
    evidence: float
    gain: float
    column: int


@dataclass(frozen=True, slots=True)
class Hearing:
    """What is known of a take after some passes.

    Attributes
    ----------
    at, evidence, gain, column
        Of each slot: when it came (nan: not found), how strongly its best candidate speaks for
        it, its gain over the template, its column.
    map
        The take's offset and tempo.
    centre, sigma
        Where each slot is looked for, and how far the strokes stray from there.
    templates
        The looks of each kind, each of shape (bands, COLUMNS).
    """

    at: Floats
    evidence: Floats
    gain: Floats
    column: Columns
    map: TempoMap
    centre: Floats
    sigma: float
    templates: tuple[Energies, ...]


def hear(spectrum: Spectrum, slots: Slots, start: float, length: float) -> tuple[Hearing, View]:
    """Find the strokes of a take.

    Parameters
    ----------
    spectrum
        The recording, click taken out.
    slots
        What should come.
    start, length
        Where the first beat nominally falls, and how long the take nominally lasts, in seconds.
    """
    flux, loud = onset_strength(spectrum)
    loudness = slots.loudness()
    laid = coarse_map(flux, loud, spectrum.hop, slots.nominal, loudness, start, length)
    centre = laid(slots.nominal)
    columns = np.round(centre / spectrum.hop).astype(np.int64)
    after = np.append(columns[1:], columns[-1] + 700)
    top = loudness >= loudness.max()
    seen = view(spectrum, bands_fall(spectrum, columns[top], after[top]))
    templates = _first_templates(seen, slots, columns, flux)
    none = np.zeros(centre.size)
    hearing = Hearing(
        none * np.nan, none, none + 1, columns, laid, centre, 0.02, tuple(templates)
    )
    for turn in range(PASSES):
        hearing = _mapped(slots, _searched(seen, slots, hearing))
        if turn < PASSES - 1:
            hearing = replace(hearing, templates=_learned(seen, slots, hearing))
    return hearing, seen


def _first_templates(seen: View, slots: Slots, columns: Columns, flux: Floats) -> list[Energies]:
    """Return looks from the strongest rise near each place of a kind, the better two thirds."""
    reach = int(0.05 / seen.hop)
    templates = []
    for number in range(len(slots.kinds)):
        alone = slots.only(number)
        some = columns[alone if alone.size else slots.having(number)]
        around = np.clip(some[:, None] + np.arange(-reach, reach), 0, flux.size - 1)
        best = around[np.arange(some.size), np.argmax(flux[around], axis=1)]
        order = np.argsort(-flux[best])[: max(2 * some.size // 3, 3)]
        energy, anyway = seen.windows(best[order] - 1)
        templates.append(_typical(energy, anyway, np.ones(order.size)))
    return templates


def _typical(energy: Energies, anyway: Energies, gain: Floats) -> Energies:
    """Return the usual excess of strokes over what rings, each brought to one gain."""
    excess = (energy - anyway) / gain[:, None, None]
    least = 1e-3 * anyway.mean(axis=0)
    return np.maximum(np.median(excess, axis=0), least).astype(np.float32)


def _learned(seen: View, slots: Slots, hearing: Hearing) -> tuple[Energies, ...]:
    templates = list(hearing.templates)
    for number in range(len(slots.kinds)):
        some = slots.only(number)
        some = some[np.isfinite(hearing.at[some])]
        if some.size < 4:
            continue
        some = some[np.argsort(-hearing.evidence[some])][: max(4, int(0.8 * some.size))]
        energy, anyway = seen.windows(hearing.column[some])
        templates[number] = _typical(energy, anyway, hearing.gain[some])
    return tuple(templates)


def _searched(seen: View, slots: Slots, hearing: Hearing) -> Hearing:
    """Weigh all candidates and take the likeliest way through them."""
    wide = int(REACH / seen.hop)
    columns = seen.column(hearing.centre)[:, None] + np.arange(-wide, wide + 1)
    times = columns * seen.hop
    left, right = _reaches(hearing)
    inside = (times >= (hearing.centre - left)[:, None]) & (
        times <= (hearing.centre + right)[:, None]
    )
    found, gain = weighed(seen, slots, hearing.templates, columns, inside)
    off = (times - hearing.centre[:, None]) / max(hearing.sigma, 0.006)
    score = found - 0.5 * off**2
    candidates = [
        _peaks(times[i], score[i], found[i], gain[i], columns[i]) for i in range(len(times))
    ]
    chosen = likeliest(candidates, FIRST_THRESHOLD)
    best = [
        row[pick] if pick >= 0 else None for row, pick in zip(candidates, chosen, strict=True)
    ]
    at = np.array([c.at if c else np.nan for c in best])
    most = [max((c.evidence for c in row), default=0.0) for row in candidates]
    return replace(
        hearing,
        at=at,
        evidence=np.array([c.evidence if c else m for c, m in zip(best, most, strict=True)]),
        gain=np.array([c.gain if c else 1.0 for c in best]),
        column=np.array([c.column if c else 0 for c in best], int),
    )


def _reaches(hearing: Hearing) -> tuple[Floats, Floats]:
    gap = np.diff(hearing.centre)
    reach = min(max(3.5 * hearing.sigma, 0.02), REACH)
    left = np.minimum(reach, 0.55 * np.append(1.0, gap))
    right = np.minimum(reach, 0.55 * np.append(gap, 1.0))
    return left, right


def weighed(
    seen: View, slots: Slots, templates: Sequence[Energies], columns: Columns, inside: Floats
) -> tuple[Floats, Floats]:
    """Return evidence and gain of each slot at its columns, shape (slots, columns)."""
    together = np.stack([sum(templates[k] for k in kinds) for kinds in slots.of_slot])
    found = np.full(columns.shape, -np.inf)
    gain = np.ones(columns.shape)
    rows, places = np.nonzero(inside)
    for first in range(0, rows.size, _AT_ONCE):
        row, place = rows[first : first + _AT_ONCE], places[first : first + _AT_ONCE]
        energy, anyway = seen.windows(columns[row, place])
        found[row, place], gain[row, place] = evidence(energy, anyway, together[row])
    return found, gain


def _peaks(
    times: Floats, score: Floats, found: Floats, gain: Floats, columns: Columns
) -> list[Candidate]:
    """Return a slot's best candidates in order of time."""
    peak = (score >= np.roll(score, 1)) & (score > np.roll(score, -1)) & np.isfinite(score)
    places = np.flatnonzero(peak)
    places = places[np.argsort(-score[places])][:_MOST_CANDIDATES]
    return [
        Candidate(
            float(times[i]), float(score[i]), float(found[i]), float(gain[i]), int(columns[i])
        )
        for i in sorted(places)
    ]


class _Path(NamedTuple):
    score: float
    last: float
    before: _Path | None
    pick: int


def likeliest(candidates: Sequence[Sequence[Candidate]], threshold: float) -> list[int]:
    """Return which candidate each slot takes, -1 for none (Viterbi 1967).

    A candidate costs `threshold`, and must come 18 ms after the one before or later.
    """
    paths = [_Path(0.0, -np.inf, None, -1)]
    for row in candidates:
        longer = [_Path(path.score, path.last, path, -1) for path in paths]
        for pick, candidate in enumerate(row):
            before = [path for path in paths if candidate.at - path.last >= _APART]
            if before:
                best = max(before, key=lambda path: path.score)
                score = best.score + candidate.score - threshold
                longer.append(_Path(score, candidate.at, best, pick))
        paths = _undominated(longer)
    path: _Path | None = max(paths, key=lambda each: each.score)
    picks = []
    while path is not None and path.before is not None:
        picks.append(path.pick)
        path = path.before
    return picks[::-1]


def _undominated(paths: list[_Path]) -> list[_Path]:
    """Drop paths that neither score better nor end earlier than another."""
    kept: list[_Path] = []
    for path in sorted(paths, key=lambda each: -each.score):
        if not kept or path.last < kept[-1].last:
            kept.append(path)
    return kept[:_PATHS]


def _mapped(slots: Slots, hearing: Hearing) -> Hearing:
    """Learn offset, tempo, the habit of each partial and the slow wander from what was found."""
    found = np.isfinite(hearing.at)
    weight = np.clip(hearing.evidence, 0, 30)[found]
    laid = fitted_map(slots.nominal[found], hearing.at[found], weight, hearing.map)
    base = laid(slots.nominal)
    off = hearing.at - base
    habit = np.zeros(base.size)
    for number in range(int(slots.partial.max()) + 1):
        here = slots.partial == number
        own = off[found & here]
        if own.size:
            habit[here] = np.median(own) * own.size / (own.size + 2)
    centre = base + habit + _wander(slots.nominal, off - habit, found)
    stray = np.abs(hearing.at - centre)[found]
    sigma = 1.9 * float(np.median(stray)) if stray.size else 0.02
    return replace(hearing, map=laid, centre=centre, sigma=float(np.clip(sigma, 0.005, 0.03)))


def _wander(nominal: Floats, off: Floats, found: Floats) -> Floats:
    """Return how far the strokes within two seconds of each lie off, itself left out."""
    wander = np.zeros(nominal.size)
    for i in range(nominal.size):
        near = found & (np.abs(nominal - nominal[i]) < 2.0)
        near[i] = False
        count = int(near.sum())
        if count >= 3:
            wander[i] = np.median(off[near]) * count / (count + 2)
    return wander
