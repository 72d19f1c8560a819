"""Which voices of a pattern are not in a recording: a card of the whole kit, played on a pad.

Nothing is missed of a voice that nobody played. What would be heard of it is noise, the ring of
other drums, or what is left of the click, and each of these gives itself away: it is found at
hardly any of its places, or no better than elsewhere, or no louder than the room, or always equally
loud at some of its places and never at the others.

Conventions: dB of full scale.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from drillbox.ear.deciding import HEARD
from drillbox.ear.loudness import noise_level, stroke_levels

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from drillbox.ear.deciding import Findings
    from drillbox.ear.expected import Expected
    from drillbox.ear.hearing import Hearing
    from drillbox.ear.looks import Floats
    from drillbox.ear.slots import Slots

LEAST_SHARE = 0.25
"""A voice heard in fewer of its places than this is not in the recording."""
MOST_BY_CHANCE = 0.4
"""A voice heard at this share of its places or more is there, whatever chance shows."""
_OVER_NOISE_DB = 13.0
"""Peaks of noise reach 6 to 8 dB over its mean; the faintest real hats of the benchmark 19."""
_ALWAYS, _NEVER, _ALIKE_DB = 0.8, 0.3, 0.6
"""What is left of a click is alike to half a decibel, on some beats and not on others."""


def absent_voices(
    high: Floats,
    rate: int,
    *,
    expected: Sequence[Expected],
    slots: Slots,
    hearing: Hearing,
    findings: Findings,
) -> set[str]:
    """Return the voices that are not there; never all of them.

    Parameters
    ----------
    high, rate
        The recording as `drillbox.ear.loudness.above_rumble` gives it, its click taken out.
    expected
        What should have come.
    slots, hearing, findings
        As `drillbox.ear.hearing` and `drillbox.ear.deciding` give them.
    """
    every: dict[str, list[int]] = {}
    for stroke in expected:
        every.setdefault(stroke.voice, []).append(stroke.index)
    bare = {
        # A voice that never stands alone is known by all of its places.
        voice: [index for index in own if not findings.covered[index]] or own
        for voice, own in every.items()
    }
    levels = stroke_levels(high, rate, np.nan_to_num(findings.at))
    noise = noise_level(high, rate)
    gone = set()
    for voice, own in bare.items():
        loud = levels[[index for index in own if findings.state[index] == HEARD]]
        seldom = len(loud) < LEAST_SHARE * len(own)
        if seldom or float(np.median(loud)) < noise + _OVER_NOISE_DB:
            gone.add(voice)
    gone |= _clicks_only(expected, findings, levels)
    gone |= _no_better_than_chance(bare, slots, hearing, findings)
    return gone if len(gone) < len(bare) else set()


def _clicks_only(expected: Sequence[Expected], findings: Findings, levels: Floats) -> set[str]:
    """Return voices that are there at some of their places and not at others, as clicks are."""
    by_place: dict[str, dict[Fraction, list[int]]] = {}
    for stroke in expected:
        if not findings.covered[stroke.index]:
            places = by_place.setdefault(stroke.voice, {})
            places.setdefault(stroke.place, []).append(stroke.index)
    gone = set()
    for voice, places in by_place.items():
        heard = {at: findings.state[own] == HEARD for at, own in places.items()}
        always = [at for at, there in heard.items() if there.mean() >= _ALWAYS and there.size > 2]
        never = [at for at, there in heard.items() if there.mean() <= _NEVER]
        alike = [levels[places[at]][heard[at]].std() < _ALIKE_DB for at in always]
        on_beats = all(at.denominator == 1 for at in always)
        if always and never and on_beats and all(alike) and len(always + never) == len(heard):
            gone.add(voice)
    return gone


def _no_better_than_chance(
    bare: dict[str, list[int]], slots: Slots, hearing: Hearing, findings: Findings
) -> set[str]:
    """Return voices whose strokes show no more than chance where they stand alone.

    A voice that is heard often all the same is there: backbeats under a hat, when only the ghosts
    are too soft for the room.
    """
    gone = set()
    for voice, own in bare.items():
        kinds = {k for k, kind in enumerate(slots.kinds) if kind.voice == voice}
        told = {k for k in kinds if slots.only(k).size > 0}
        heard = float((findings.state[own] == HEARD).mean())
        if told and hearing.doubtful.issuperset(told) and heard < MOST_BY_CHANCE:
            gone.add(voice)
    return gone
