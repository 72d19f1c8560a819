"""Grids: how a beat is divided, what each partial is called, and how the call is written.

A grid is given by note value in text (``8 8t 16 16t 32``: eighths, eighth triplets, sixteenths,
sixteenth triplets, thirty-seconds) and by *slots*, partials per beat, in code. A beat that is an
eighth (6/8) has half as many slots as a quarter. The `&` halves any beat, so it may be written
under every grid: eighths on the hat under triplets.

Source: common practice of counting; there is no agreed set of syllables for sixteenth triplets, so
ours keep the `&` in the middle, where the eighths are.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from drillbox.rhythm.meter import Meter

__all__ = ["SLOT_COUNTS", "grid_name", "grid_names", "label", "syllable", "syllables"]

_SLOTS_OF_QUARTER = {"8": 2, "8t": 3, "16": 4, "16t": 6, "32": 8}
_SPOKEN = {
    1: ("",),
    2: ("", "&"),
    3: ("", "t", "l"),
    4: ("", "e", "&", "a"),
    6: ("", "t", "l", "&", "&t", "&l"),
    8: ("", ".", "e", "e.", "&", "&.", "a", "a."),
}
_HALF = Fraction(1, 2)


def _offsets(slots: int) -> dict[str, Fraction]:
    spoken = {name: Fraction(slot, slots) for slot, name in enumerate(_SPOKEN[slots])}
    return dict(sorted({**spoken, "&": _HALF}.items(), key=lambda item: item[1]))


SLOT_COUNTS = tuple(_SPOKEN)
_OFFSETS = {slots: _offsets(slots) for slots in SLOT_COUNTS}
_SYLLABLES = {
    slots: {offset: name for name, offset in table.items()} for slots, table in _OFFSETS.items()
}


def grid_names(meter: Meter) -> Mapping[str, int]:
    """Return the grids a beat of this meter can have: written name to slots per beat."""
    if meter.unit == 4:
        return _SLOTS_OF_QUARTER
    return {name: slots // 2 for name, slots in _SLOTS_OF_QUARTER.items() if slots % 2 == 0}


def grid_name(meter: Meter, slots: int) -> str:
    """Return the written name of a grid of `slots` partials per beat."""
    return next(name for name, count in grid_names(meter).items() if count == slots)


def syllables(slots: int) -> Mapping[str, Fraction]:
    """Return every syllable that may be written in a beat of `slots` partials, and its place.

    The empty syllable is the beat itself. In order of time.
    """
    return _OFFSETS[slots]


def syllable(offset: Fraction, slots: int) -> str:
    """Return the syllable of a place in a beat of `slots` partials.

    The empty one for the beat itself.
    """
    return _SYLLABLES[slots][offset]


def label(beat: int, offset: Fraction, slots: int) -> str:
    """Return what stands above a partial in a drawing.

    Parameters
    ----------
    beat
        The beat's number in its bar, from 1.
    offset
        The place in the beat, a fraction from 0 to below 1.
    slots
        Partials per beat there.
    """
    name = syllable(offset, slots)
    if not name:
        return str(beat)
    if slots == 3:
        return {"t": "trip", "l": "let"}.get(name, name)
    return "·" if name.endswith(".") else name[-1]
