"""Find every expected stroke of a take, or that it is not there, and when it came.

Three passes: candidates for every slot are weighed by their looks and by how near they lie to
where the player's own offset, tempo and habits put that slot; the likeliest way through all of
them in order of time is taken; then map, habits, looks and how the loudest strokes ring on are
learned again from what was found.

Conventions: seconds of the recording; a slot that was not found has nan.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from drillbox.ear.aligning import TempoMap, coarse_map, fitted_map, onset_strength
from drillbox.ear.decays import learned_decays
from drillbox.ear.likeliest_path import likeliest, peaks
from drillbox.ear.looks import View, bands_fall, evidence, view
from drillbox.ear.templates import first_templates, learned

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from drillbox.ear.energies import Energies, Spectrum
    from drillbox.ear.looks import Columns, Floats
    from drillbox.ear.slots import Slots

PASSES = 3
REACH = 0.060
"""Seconds around its centre in which a slot is looked for, at most."""
WIDE, WIDE_APART, WIDE_EVIDENCE = 0.09, 0.04, 25.0
"""A stroke farther off than most is believed if nothing else stands near, and it speaks clearly."""
_AT_ONCE = 4000
FIRST_THRESHOLD = 6.0
LEAST_EVIDENCE, MOST_EVIDENCE = 0.5, 6.5
ENOUGH_EVIDENCE = 1.0
"""Where a stroke is played at most of its places, so much must speak for one more."""
_SELDOM, _USUALLY = 0.3, 0.7
_PLACE_WEIGHT = 4.0
"""A place is judged by its own strokes and by so many of its kind's."""
FALSE_ALARMS = 0.02
_LEAST_CHANCES = 12
_GAIN_SPREAD_DB = 6.0


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

    @property
    def struck(self) -> Floats:
        """When each slot came; where it should have, of one that was not found."""
        return np.where(np.isfinite(self.at), self.at, self.centre)


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
    laid = coarse_map(
        flux,
        loud,
        spectrum.hop,
        nominal=slots.nominal,
        weight=slots.loudness(),
        start=start,
        length=length,
    )
    centre = laid(slots.nominal)
    columns = np.round(centre / spectrum.hop).astype(np.int64)
    after = np.append(columns[1:], columns[-1] + 700)
    top = slots.loudest()
    fall = bands_fall(spectrum, columns[top], after[top])
    seen = view(spectrum, fall)
    templates = first_templates(seen, slots, columns, flux)
    none = np.zeros(centre.size)
    hearing = Hearing(
        none * np.nan, none, none + 1, columns, laid, centre, 0.02, tuple(templates), none
    )
    usual = np.full(centre.size, FIRST_THRESHOLD)
    for _ in range(PASSES):
        hearing = _mapped(slots, _searched(seen, slots, hearing, usual))
        seen = _followed(seen, spectrum.floor, slots, hearing, fall)
        hearing = replace(hearing, templates=learned(seen, slots, hearing))
    needed, doubtful = thresholds(seen, slots, hearing)
    hearing = replace(hearing, threshold=needed, doubtful=doubtful)
    hearing = _mapped(slots, _searched(seen, slots, hearing, hearing.threshold))
    return _looked_wider(seen, slots, hearing), seen


def _followed(seen: View, floor: Energies, slots: Slots, hearing: Hearing, fall: Floats) -> View:
    """Learn how the loudest strokes ring on from where they were found."""
    loud = slots.loudest() & np.isfinite(hearing.at)
    groups = [
        kinds if is_loud else None for kinds, is_loud in zip(slots.of_slot, loud, strict=True)
    ]
    begins = seen.column(hearing.struck)
    decays = learned_decays(seen.energy, floor, fall, begins=begins, groups=groups)
    return replace(seen, decays=decays)


def _looked_wider(seen: View, slots: Slots, hearing: Hearing) -> Hearing:
    """Look farther from their places for slots not found: some strokes stray by more than most."""
    lost = np.flatnonzero(~np.isfinite(hearing.at) & ~slots.graces())
    if not lost.size:
        return hearing
    struck = hearing.struck
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
    found there has an exponential tail, and a slot must show what chance would in one of fifty
    windows as wide as its own; less where the same place of the pattern is played most of the time.
    The kinds are returned as well that show no more than chance, most of the time.
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
        high = max(float(np.percentile(chance, 90)), LEAST_EVIDENCE)
        clear = hearing.evidence[own] > high
        trust = np.clip((_played(clear, slots.partial[own]) - _SELDOM) / (_USUALLY - _SELDOM), 0, 1)
        most = MOST_EVIDENCE - trust * (MOST_EVIDENCE - ENOUGH_EVIDENCE)
        needed[own] = np.clip(middle + scale * tail, LEAST_EVIDENCE, most)
        if np.median(hearing.evidence[own]) < high:
            doubtful.add(number)
    return needed, frozenset(doubtful)


def _played(clear: NDArray[np.bool_], partial: Columns) -> Floats:
    """Return how often a kind is played at each of its slots' places, as far as chance shows.

    A tenth of the places would be clear by chance.
    """
    usual = float(clear.mean())
    share = np.empty(clear.size)
    for place in set(partial):
        here = partial == place
        share[here] = (clear[here].sum() + _PLACE_WEIGHT * usual) / (here.sum() + _PLACE_WEIGHT)
    return np.asarray((share - 0.1) / 0.9)


def _chances(seen: View, hearing: Hearing, number: int) -> tuple[Floats, float]:
    """Return the best evidence for a kind in each gap between strokes, and a window's width."""
    struck = np.sort(hearing.struck)
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
        peaks(times[i], score[i], found[i], gain[i], columns[i]) for i in range(len(times))
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
