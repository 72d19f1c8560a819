"""Of every expected stroke: heard, missed, or not to be told from this recording.

Where sticks come down together their voices are taken apart: each must explain something that the
others do not. A stroke that was not found was missed only if, played as it usually is, it would
have been found; a ghost under the ring of a backbeat would not. The third answer keeps the ear
honest: guessing would find more ghosts, and hear strokes that were never played.

Conventions: seconds of the recording; arrays by the index of the expected stroke.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from math import erf, sqrt
from typing import TYPE_CHECKING

import numpy as np

from drillbox.ear.looks import COLUMNS, better, evidence, shared_gains

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drillbox.ear.energies import Energies
    from drillbox.ear.expected import Expected
    from drillbox.ear.hearing import Hearing
    from drillbox.ear.looks import Columns, Floats, View
    from drillbox.ear.slots import Slots

HEARD, MISSED, UNHEARD = 1, 0, -1
_USUALLY_PLAYED = 0.95
"""Share of the strokes of a take that are played, before anything is known of the player."""
_LEAST_SPREAD_DB = 3.0
_APART_COLUMNS = 8
"""How many columns the strokes of one slot may lie apart."""
_FEW = 5
_COVERED_DB = 4.0
"""A stroke under another must be clearer by this before its absence is believed (judgement)."""
_MOSTLY = 0.6
"""Under another, a stroke that is seldom heard is hard to hear: it is not called missed."""
_GAINS_DB = np.arange(-14.0, 12.1, 2.0)
_GRACE_NEAR, _GRACE_FAR = 0.012, 0.050
_GRACE_EVIDENCE = 9.0


@dataclass(slots=True)
class Findings:
    """What became of each expected stroke.

    Attributes
    ----------
    state
        `HEARD`, `MISSED` or `UNHEARD`.
    at
        When it came; nan unless heard.
    column, gain
        Where and how loud (over the template of its kind).
    covered
        Whether something at least as loud was struck together with it.
    """

    state: NDArray[np.int64]
    at: Floats
    column: Columns
    gain: Floats
    covered: NDArray[np.bool_]


def decide(seen: View, slots: Slots, hearing: Hearing, count: int) -> Findings:
    """Return what became of each stroke.

    Parameters
    ----------
    seen, slots, hearing
        As `drillbox.ear.hearing.hear` gives them.
    count
        How many strokes the whole take has.
    """
    findings = Findings(
        np.full(count, UNHEARD),
        np.full(count, np.nan),
        np.zeros(count, int),
        np.ones(count),
        np.zeros(count, bool),
    )
    chance = np.full(count, np.nan)
    _mark_covered(slots, findings)
    _alone(slots, hearing, findings)
    for kinds in sorted({kinds for kinds in slots.of_slot if len(kinds) > 1}):
        _together(seen, slots, hearing, findings, kinds)
    _graces(seen, slots, hearing, findings)
    _chances(seen, slots, hearing, findings, chance)
    _judge(findings, chance)
    return findings


def _mark_covered(slots: Slots, findings: Findings) -> None:
    for group in slots.members:
        for one, other in combinations(group, 2):
            weaker = one if _strength(one) < _strength(other) else other
            findings.covered[weaker.index] = True


def _strength(stroke: Expected) -> float:
    return stroke.level.loudness - 0.5 * stroke.voice.is_cymbal - 0.1 * stroke.voice.rank / 10


def _alone(slots: Slots, hearing: Hearing, findings: Findings) -> None:
    for slot, group in enumerate(slots.members):
        if len(group) == 1 and np.isfinite(hearing.at[slot]):
            index = group[0].index
            findings.state[index] = HEARD
            findings.at[index] = hearing.at[slot]
            findings.column[index] = hearing.column[slot]
            findings.gain[index] = hearing.gain[slot]


def _together(
    seen: View, slots: Slots, hearing: Hearing, findings: Findings, kinds: tuple[int, ...]
) -> None:
    """Take apart the strokes of all slots at which the same kinds fall together."""
    some = np.array([i for i, each in enumerate(slots.of_slot) if each == kinds], int)
    some = some[np.isfinite(hearing.at[some])]
    if not some.size:
        return
    templates = np.stack([hearing.templates[kind] for kind in kinds])
    energy, anyway = seen.windows(hearing.column[some])
    shift, gain, proof = taken_apart(energy, anyway, templates)
    for member, kind in enumerate(kinds):
        rest = tuple(k for k in kinds if k != kind)
        needed = _needed(seen, slots, hearing, kind, rest)
        for row, slot in enumerate(some):
            stroke = slots.members[slot][member]
            if proof[row, member] < needed:
                continue
            findings.state[stroke.index] = HEARD
            findings.column[stroke.index] = hearing.column[slot] + shift[row, member]
            findings.at[stroke.index] = hearing.at[slot] + shift[row, member] * seen.hop
            findings.gain[stroke.index] = gain[row, member]


def _needed(seen: View, slots: Slots, hearing: Hearing, kind: int, rest: tuple[int, ...]) -> float:
    """Return the evidence a covered stroke must show: more than where its cover stands alone."""
    bare = np.array([i for i, each in enumerate(slots.of_slot) if each == rest], int)
    bare = bare[np.isfinite(hearing.at[bare])]
    if bare.size < _FEW:
        return 4.0
    energy, anyway = seen.windows(hearing.column[bare])
    templates = np.stack([hearing.templates[each] for each in (*rest, kind)])
    proof = taken_apart(energy, anyway, templates)[2][:, -1]
    middle = float(np.median(proof))
    scale = float(np.mean(np.maximum(proof - middle, 0))) * 2
    return float(np.clip(middle + scale * np.log(0.5 / 0.03), 2.0, 12.0))


def taken_apart(
    energy: Energies, anyway: Energies, templates: Energies
) -> tuple[Columns, Floats, Floats]:
    """Return shift, gain and evidence of each of the strokes that fall together.

    Parameters
    ----------
    energy, anyway
        Windows, shape (slots, bands, COLUMNS).
    templates
        Shape (members, bands, COLUMNS).

    Returns
    -------
    tuple of arrays of shape (slots, members)
        Columns by which each stroke lies off the window's; gain over its template; the log
        likelihood ratio of the account with it over the best one without.
    """
    slots, members = energy.shape[0], templates.shape[0]
    shifts = np.arange(-_APART_COLUMNS, _APART_COLUMNS + 1)
    moved = np.stack([_moved(templates, int(shift)) for shift in shifts])
    chosen = np.full((slots, members), _APART_COLUMNS)
    order = np.argsort(-templates.sum(axis=(1, 2)))
    for member in (*order, *order) if members > 1 else order:
        best = np.full(slots, -np.inf)
        pick = chosen[:, member].copy()
        for place in range(0, shifts.size, 2):
            trial = chosen.copy()
            trial[:, member] = place
            score, _ = _explained(energy, anyway, moved, trial)
            score = score - 0.5 * (shifts[place] / 6) ** 2
            pick = np.where(score > best, place, pick)
            best = np.maximum(best, score)
        chosen[:, member] = pick
    _, gain = _explained(energy, anyway, moved, chosen)
    together = moved[chosen, np.arange(members)]
    model = anyway + (gain[..., None, None] * together).sum(axis=1)
    proof = np.zeros((slots, members))
    for member in range(members):
        others = [m for m in range(members) if m != member]
        left = together[:, others]
        rest = shared_gains(energy, anyway, left)
        without = anyway + (rest[..., None, None] * left).sum(axis=1)
        proof[:, member] = better(energy, without.astype(np.float32), model.astype(np.float32))
    return shifts[chosen], gain, proof


def _explained(
    energy: Energies, anyway: Energies, moved: Energies, chosen: Columns
) -> tuple[Floats, Floats]:
    together = moved[chosen, np.arange(chosen.shape[1])]
    gain = shared_gains(energy, anyway, together)
    model = anyway + (gain[..., None, None] * together).sum(axis=1)
    return better(energy, anyway, model.astype(np.float32)), gain


def _moved(templates: Energies, shift: int) -> Energies:
    out = np.full_like(templates, 0)
    if shift >= 0:
        out[..., shift:] = templates[..., : COLUMNS - shift]
    else:
        out[..., :shift] = templates[..., -shift:]
        out[..., shift:] = templates[..., -1:]
    return out


def _graces(seen: View, slots: Slots, hearing: Hearing, findings: Findings) -> None:
    """Look for grace notes just before their strokes, where these were heard."""
    grace = slots.graces()
    for slot in np.flatnonzero(grace)[::-1]:
        following = np.flatnonzero(~grace[slot:])
        if not following.size or not np.isfinite(hearing.at[slot + following[0]]):
            continue
        main = hearing.at[slot + following[0]]
        taken = [
            findings.at[s.index] for g in slots.members[slot + 1 : slot + following[0]] for s in g
        ]
        latest = min([main, *[t for t in taken if np.isfinite(t)]]) - _GRACE_NEAR
        stroke = slots.members[slot][0]
        place = main - (slots.nominal[slot + following[0]] - slots.nominal[slot])
        columns = seen.column(np.arange(place - _GRACE_FAR / 2, latest, seen.hop))
        if not columns.size:
            continue
        energy, anyway = seen.windows(columns)
        # Only what comes before the stroke itself may speak for its grace.
        end = np.clip(seen.column(np.array(main)) - 2 - columns, 4, COLUMNS)
        masked = np.arange(COLUMNS) < end[:, None, None]
        energy = np.where(masked, energy, anyway)
        template = np.where(masked, hearing.templates[slots.of_slot[slot][0]], 1e-12)
        found, gain = evidence(energy, anyway, template.astype(np.float32))
        found = found - 0.5 * ((columns * seen.hop - place) / 0.012) ** 2
        best = int(np.argmax(found))
        if found[best] > _GRACE_EVIDENCE:
            findings.state[stroke.index] = HEARD
            findings.at[stroke.index] = columns[best] * seen.hop
            findings.column[stroke.index] = columns[best]
            findings.gain[stroke.index] = gain[best]


def _chances(
    seen: View, slots: Slots, hearing: Hearing, findings: Findings, chance: Floats
) -> None:
    """Of each stroke not heard, how surely it would have been, played as it usually is."""
    for slot, group in enumerate(slots.members):
        for member, stroke in enumerate(group):
            if findings.state[stroke.index] == HEARD:
                continue
            kind = slots.of_slot[slot][member]
            like = [
                s.index
                for i in slots.having(kind)
                for s in slots.members[i]
                if slots.kinds[kind][:2] == (s.voice, s.level)
                and findings.state[s.index] == HEARD
                and not findings.covered[s.index]
            ]
            gains = 10 * np.log10(findings.gain[like]) if like else np.zeros(1)
            usual = float(np.median(gains))
            spread = max(1.48 * float(np.median(np.abs(gains - usual))), _LEAST_SPREAD_DB)
            column = (
                hearing.column[slot]
                if np.isfinite(hearing.at[slot])
                else int(seen.column(np.array(hearing.centre[slot])))
            )
            others = _beside(slots, hearing, findings, slot=slot, column=column, kind=kind)
            if others and _share_heard(slots, findings, slot, member) < _MOSTLY:
                continue
            least = _least_gain(seen, column, hearing.templates[kind], others)
            if others:
                least += _COVERED_DB
            chance[stroke.index] = 0.5 * (1 + erf((usual - least) / spread / sqrt(2)))


def _share_heard(slots: Slots, findings: Findings, slot: int, member: int) -> float:
    """Return how often a stroke is heard where the same strokes come together."""
    same = [
        bool(findings.state[group[member].index] == HEARD)
        for group, kinds in zip(slots.members, slots.of_slot, strict=True)
        if kinds == slots.of_slot[slot]
    ]
    return sum(same) / len(same)


def _beside(
    slots: Slots, hearing: Hearing, findings: Findings, *, slot: int, column: int, kind: int
) -> list[Energies]:
    """Return what else was struck at a slot, as loud as it was."""
    out = []
    for stroke, each in zip(slots.members[slot], slots.of_slot[slot], strict=True):
        if each != kind and findings.state[stroke.index] == HEARD:
            shift = int(np.clip(findings.column[stroke.index] - column, -13, 13))
            out.append(_moved(hearing.templates[each], shift) * findings.gain[stroke.index])
    return out


def _least_gain(seen: View, column: int, template: Energies, others: list[Energies]) -> float:
    """Return the gain in dB above which a stroke here would speak clearly for itself."""
    _, anyway = seen.windows(np.array([column]))
    there = (anyway[0] + sum(others)).astype(np.float32)
    levels = 10 ** (_GAINS_DB / 10)
    model = (there + levels[:, None, None] * template).astype(np.float32)
    found = better(model, there[None], model)
    clear = np.flatnonzero(found > 12.0)
    return float(_GAINS_DB[clear[0]]) if clear.size else 20.0


def _judge(findings: Findings, chance: Floats) -> None:
    """Call missed what would almost surely have been heard."""
    audible = np.isfinite(chance) & (chance > 0.9)
    heard = int((findings.state == HEARD).sum())
    played = (heard + 20 * _USUALLY_PLAYED) / (heard + int(audible.sum()) + 20)
    hidden = played * (1 - chance)
    missed = np.isfinite(chance) & (hidden < 1 - played)
    findings.state[missed & (findings.state != HEARD)] = MISSED
