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
from drillbox.rhythm import Level, Part

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from drillbox.ear.energies import Energies, Spectrum
    from drillbox.ear.slots import Slots

PASSES = 3
REACH = 0.060
"""Seconds around its centre in which a slot is looked for, at most."""
_APART = 0.018
"""Two strokes lie at least this far apart."""
_MOST_CANDIDATES = 6
_PATHS = 10
WIDE, WIDE_APART, WIDE_EVIDENCE = 0.09, 0.04, 25.0
"""A stroke farther off than most is believed if nothing else stands near, and it speaks clearly."""
_AT_ONCE = 4000
FIRST_THRESHOLD = 6.0
LEAST_EVIDENCE, MOST_EVIDENCE = 3.5, 6.5
FALSE_ALARMS = 0.02
_LEAST_CHANCES = 12
_GAIN_SPREAD_DB = 6.0


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
    threshold
        The evidence that each slot must show.
    doubtful
        Kinds that show no more at their places than chance does elsewhere: they are not there.
    """

    at: Floats
    evidence: Floats
    gain: Floats
    column: Columns
    map: TempoMap
    centre: Floats
    sigma: float
    templates: tuple[Energies, ...]
    threshold: Floats
    doubtful: frozenset[int] = frozenset()


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
    laid = coarse_map(
        flux,
        loud,
        spectrum.hop,
        nominal=slots.nominal,
        weight=loudness,
        start=start,
        length=length,
    )
    centre = laid(slots.nominal)
    columns = np.round(centre / spectrum.hop).astype(np.int64)
    after = np.append(columns[1:], columns[-1] + 700)
    top = loudness >= loudness.max()
    seen = view(spectrum, bands_fall(spectrum, columns[top], after[top]))
    templates = _first_templates(seen, slots, columns, flux)
    none = np.zeros(centre.size)
    hearing = Hearing(
        none * np.nan, none, none + 1, columns, laid, centre, 0.02, tuple(templates), none
    )
    usual = np.full(centre.size, FIRST_THRESHOLD)
    for _ in range(PASSES):
        hearing = _mapped(slots, _searched(seen, slots, hearing, usual))
        hearing = replace(hearing, templates=_learned(seen, slots, hearing))
    needed, doubtful = thresholds(seen, slots, hearing)
    hearing = replace(hearing, threshold=needed, doubtful=doubtful)
    hearing = _mapped(slots, _searched(seen, slots, hearing, hearing.threshold))
    return _looked_wider(seen, slots, hearing), seen


def _looked_wider(seen: View, slots: Slots, hearing: Hearing) -> Hearing:
    """Look farther from their places for slots not found: some strokes stray by more than most."""
    lost = np.flatnonzero(~np.isfinite(hearing.at) & ~slots.graces())
    if not lost.size:
        return hearing
    struck = np.where(np.isfinite(hearing.at), hearing.at, hearing.centre)
    wide = int(WIDE / seen.hop)
    columns = seen.column(hearing.centre[lost])[:, None] + np.arange(-wide, wide + 1)
    times = columns * seen.hop
    early = struck[np.maximum(lost - 1, 0)] + np.where(lost > 0, WIDE_APART, -WIDE)
    late = struck[np.minimum(lost + 1, struck.size - 1)] - WIDE_APART
    late = np.where(lost < struck.size - 1, late, np.inf)
    inside = (times > early[:, None]) & (times < late[:, None])
    found, gain = weighed(seen, slots, hearing.templates, columns, inside=inside, some=lost)
    at, proof = hearing.at.copy(), hearing.evidence.copy()
    gains, places = hearing.gain.copy(), hearing.column.copy()
    for row, slot in enumerate(lost):
        best = int(np.argmax(found[row]))
        if found[row, best] > WIDE_EVIDENCE:
            at[slot], proof[slot] = times[row, best], found[row, best]
            gains[slot], places[slot] = gain[row, best], columns[row, best]
    return replace(hearing, at=at, evidence=proof, gain=gains, column=places)


def thresholds(seen: View, slots: Slots, hearing: Hearing) -> tuple[Floats, frozenset[int]]:
    """Return the evidence that each slot must show, from what chance shows in this recording.

    Between the strokes, where nothing is expected, the same search is made; the largest evidence
    found there has an exponential tail, and a slot must show what chance would in one of a hundred
    windows as wide as its own. The kinds are returned as well that do not, most of the time.
    """
    alone = np.flatnonzero([len(kinds) == 1 for kinds in slots.of_slot])
    needed = np.full(hearing.centre.size, FIRST_THRESHOLD)
    doubtful = set()
    for number in {slots.of_slot[i][0] for i in alone}:
        own = slots.only(number)
        chance, width = _chances(seen, hearing, number)
        if chance.size < _LEAST_CHANCES:
            continue
        middle = float(np.median(chance))
        above = chance[chance > middle] - middle
        scale = float(above.mean()) if above.size else 0.0
        wide = 2 * min(max(3.5 * hearing.sigma, 0.02), REACH)
        tail = np.log(0.5 / FALSE_ALARMS) + np.log(max(wide / width, 1))
        needed[own] = np.clip(middle + scale * tail, LEAST_EVIDENCE, MOST_EVIDENCE)
        if np.median(hearing.evidence[own]) < max(np.percentile(chance, 90), LEAST_EVIDENCE):
            doubtful.add(number)
    return needed, frozenset(doubtful)


def _chances(seen: View, hearing: Hearing, number: int) -> tuple[Floats, float]:
    """Return the best evidence for a kind in each gap between strokes, and a window's width."""
    struck = np.sort(np.where(np.isfinite(hearing.at), hearing.at, hearing.centre))
    gap = np.diff(struck)
    wide = int(0.015 / seen.hop)
    room = gap > 0.085
    middle = seen.column(struck[:-1] + np.minimum(gap / 2, 0.1))[room]
    if not middle.size:
        return np.zeros(0), 0.04
    columns = middle[:, None] + np.arange(-wide, wide + 1)
    energy, anyway = seen.windows(columns)
    found, _ = evidence(energy, anyway, hearing.templates[number])
    return found.max(axis=1), 2 * wide * seen.hop


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
    return _with_graces(slots, templates)


def _with_graces(slots: Slots, templates: Sequence[Energies]) -> list[Energies]:
    """Give grace notes the looks of the drum's ghosts, or of its other strokes 18 dB down.

    Their own cannot be told from those of the stroke that follows at once.
    """
    out = list(templates)
    for number, kind in enumerate(slots.kinds):
        if kind.part is not Part.GRACE:
            continue
        like = [
            (other.level.loudness, out[place])
            for place, other in enumerate(slots.kinds)
            if other.voice is kind.voice and other.part is Part.STROKE
        ]
        if like:
            loudness, template = min(like, key=lambda each: each[0])
            quieter = 1.0 if loudness == Level.GHOST.loudness else 10**-1.8
            out[number] = (template * quieter).astype(np.float32)
    return out


def _typical(energy: Energies, anyway: Energies, gain: Floats) -> Energies:
    """Return the usual excess of strokes over what rings, each brought to one gain."""
    excess = (energy - anyway) / gain[:, None, None]
    least = 1e-3 * anyway.mean(axis=0)
    return np.asarray(np.maximum(np.median(excess, axis=0), least), np.float32)


def _learned(seen: View, slots: Slots, hearing: Hearing) -> tuple[Energies, ...]:
    templates = list(hearing.templates)
    for number in range(len(slots.kinds)):
        some = slots.only(number)
        if not some.size:
            templates[number] = _left_over(seen, slots, hearing, number)
            continue
        some = some[np.isfinite(hearing.at[some])]
        if some.size < 4:
            continue
        some = some[np.argsort(-hearing.evidence[some])][: max(4, int(0.8 * some.size))]
        energy, anyway = seen.windows(hearing.column[some])
        templates[number] = _typical(energy, anyway, hearing.gain[some])
    return tuple(_with_graces(slots, templates))


def _left_over(seen: View, slots: Slots, hearing: Hearing, number: int) -> Energies:
    """Return the looks of a kind that never stands alone: what the others beside it leave."""
    rows = []
    for slot in slots.having(number):
        if np.isfinite(hearing.at[slot]):
            energy, anyway = seen.windows(hearing.column[slot : slot + 1])
            others = [hearing.templates[k] for k in slots.of_slot[slot] if k != number]
            rows.append(energy[0] - anyway[0] - sum(others))
    if len(rows) < 4:
        return hearing.templates[number]
    rest = np.median(rows, axis=0)
    # What is left is never quite nothing: a band of its own may be hidden, not empty.
    return np.asarray(np.maximum(rest, 0.01 * hearing.templates[number]), np.float32)


def _searched(seen: View, slots: Slots, hearing: Hearing, needed: Floats) -> Hearing:
    """Weigh all candidates and take the likeliest way through them."""
    wide = int(REACH / seen.hop)
    columns = seen.column(hearing.centre)[:, None] + np.arange(-wide, wide + 1)
    times = columns * seen.hop
    left, right = _reaches(slots, hearing)
    inside = (times >= (hearing.centre - left)[:, None]) & (
        times <= (hearing.centre + right)[:, None]
    )
    found, gain = weighed(seen, slots, hearing.templates, columns, inside=inside)
    off_db = 10 * np.log10(gain)
    off = (times - hearing.centre[:, None]) / max(hearing.sigma, 0.006)
    score = found - 0.5 * off**2 - 0.5 * (off_db / _GAIN_SPREAD_DB) ** 2
    score[slots.graces()] = -np.inf
    candidates = [
        _peaks(times[i], score[i], found[i], gain[i], columns[i]) for i in range(len(times))
    ]
    chosen = likeliest(candidates, needed)
    best = [row[pick] if pick >= 0 else None for row, pick in zip(candidates, chosen, strict=True)]
    at = np.array([c.at if c else np.nan for c in best])
    most = [max((c.evidence for c in row), default=0.0) for row in candidates]
    return replace(
        hearing,
        at=at,
        evidence=np.array([c.evidence if c else m for c, m in zip(best, most, strict=True)]),
        gain=np.array([c.gain if c else 1.0 for c in best]),
        column=np.array([c.column if c else 0 for c in best], int),
    )


def _reaches(slots: Slots, hearing: Hearing) -> tuple[Floats, Floats]:
    """Return how far before and after its centre each slot is looked for; graces stand aside."""
    reach = min(max(3.5 * hearing.sigma, 0.02), REACH)
    left = np.full(hearing.centre.size, reach)
    right = left.copy()
    main = np.flatnonzero(~slots.graces())
    half = 0.55 * np.diff(hearing.centre[main])
    left[main[1:]] = np.minimum(reach, half)
    right[main[:-1]] = np.minimum(reach, half)
    return left, right


def weighed(
    seen: View,
    slots: Slots,
    templates: Sequence[Energies],
    columns: Columns,
    *,
    inside: NDArray[np.bool_],
    some: Columns | slice = slice(None),
) -> tuple[Floats, Floats]:
    """Return evidence and gain of (some) slots at their columns, shape (slots, columns)."""
    together = np.stack([sum(templates[k] for k in kinds) for kinds in slots.of_slot])[some]
    found = np.full(columns.shape, -np.inf)
    gain = np.ones(columns.shape)
    rows, places = np.nonzero(inside)
    earlier = np.round(slots.lead()[some] / seen.hop).astype(np.int64)
    for first in range(0, rows.size, _AT_ONCE):
        row, place = rows[first : first + _AT_ONCE], places[first : first + _AT_ONCE]
        energy, anyway = seen.windows(columns[row, place], earlier[row])
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


def likeliest(
    candidates: Sequence[Sequence[Candidate]], needed: Floats, *, apart: float = _APART
) -> list[int]:
    """Return which candidate each slot takes, -1 for none (Viterbi 1967).

    A candidate costs the evidence that its slot needs, and must come so many
    seconds after the one before or later.
    """
    paths = [_Path(0.0, -np.inf, None, -1)]
    for row, threshold in zip(candidates, needed, strict=True):
        longer = [_Path(path.score, path.last, path, -1) for path in paths]
        for pick, candidate in enumerate(row):
            before = [path for path in paths if candidate.at - path.last >= apart]
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
