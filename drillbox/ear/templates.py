"""The looks of each kind of stroke, learned within the take from what was found so far.

Conventions: energies of shape (bands, COLUMNS), the excess over what rings anyway.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from drillbox.rhythm import Level, Part

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.ear.energies import Energies
    from drillbox.ear.hearing import Hearing
    from drillbox.ear.looks import Columns, Floats, View
    from drillbox.ear.slots import Slots


def first_templates(seen: View, slots: Slots, columns: Columns, flux: Floats) -> list[Energies]:
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


def learned(seen: View, slots: Slots, hearing: Hearing) -> tuple[Energies, ...]:
    """Return the looks of each kind by its clearest strokes, in the order of the kinds."""
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
