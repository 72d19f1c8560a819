"""What rings on after loud strokes, and which voices are there: known answers."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from drillbox.ear.absent_voices import _no_better_than_chance
from drillbox.ear.decays import LONGEST, even_decays, learned_decays
from drillbox.ear.deciding import HEARD, MISSED, Findings
from drillbox.ear.expected import expected_strokes
from drillbox.ear.hearing import _played
from drillbox.ear.slots import slots_of
from drillbox.rhythm import Level, parse

FALL = np.full(3, 0.02)
FLOOR = np.full(3, 1e-9, np.float32)
BEGINS = np.arange(100, 2100, 250)
SWELL = np.exp(-0.5 * ((np.arange(LONGEST) - 60) / 5.0) ** 2)


def ringing(*, swell: float = 0.0) -> np.ndarray:
    """Return energies of strokes that fall evenly, but for a swell of so many nepers."""
    energy = np.full((2200, 3), 1e-9)
    shape = np.exp(-0.02 * np.arange(LONGEST) + swell * SWELL)
    for begin in BEGINS:
        energy[begin : begin + LONGEST] += shape[: 2200 - begin, None]
    return energy.astype(np.float32)


def test_a_swell_that_follows_every_loud_stroke_is_expected_after_the_next() -> None:
    """Eight strokes with a swell of 2 nepers 60 columns on: the curve rises by most of it."""
    energy = ringing(swell=2.0)
    found = learned_decays(energy, FLOOR, FALL, begins=BEGINS, groups=[(0,)] * 8)
    curve = found.curves[1]

    assert (2, LONGEST, 3) == found.curves.shape
    assert 1.0 < float(curve[60, 0] - curve[40, 0]) < 2.0
    assert (1, 60) == (found.group[BEGINS[2] + 60], found.since[BEGINS[2] + 60])


def test_an_even_fall_is_learned_as_an_even_fall() -> None:
    """Without a swell the learned curve falls as the strokes do."""
    found = learned_decays(ringing(), FLOOR, FALL, begins=BEGINS, groups=[(0,)] * 8)
    steps = np.diff(found.curves[1][40:180, 0])

    assert np.full(139, -0.02) == pytest.approx(steps, abs=2e-3)


def test_nothing_is_learned_of_three_strokes_nor_where_the_next_follows_at_once() -> None:
    """Too few to trust, or no room to see a ring: the even fall stays."""
    energy, few = ringing(swell=2.0), [(0,), (0,), (0,), *[None] * 5]
    crowded = np.sort(np.concatenate([BEGINS, BEGINS + 45]))
    groups = [(0,) if begin in BEGINS else None for begin in crowded]
    even = even_decays(FALL, 2200)

    for begins, each in ((BEGINS, few), (crowded, groups)):
        found = learned_decays(energy, FLOOR, FALL, begins=begins, groups=each)
        assert np.array_equal(even.curves, found.curves)
        assert 0 == found.group.max()


def test_a_stroke_set_past_the_end_of_the_recording_rings_nowhere() -> None:
    """The one before it rings to the end, and no further."""
    begins = np.append(BEGINS, [2100, 2250])
    found = learned_decays(ringing(), FLOOR, FALL, begins=begins, groups=[(0,)] * 10)

    assert (1, 2199 - 2100) == (found.group[-1], found.since[-1])


def _chances(heard: set[Level]) -> set[str]:
    """Return the absent voices of a groove whose ghosts alone show no more than chance."""
    strokes = expected_strokes(parse("hat: beat &\nsnare: >2 >4 (1e) (3a)\n"), 90, 4)
    slots = slots_of(strokes)
    state = np.array([HEARD if s.level in heard else MISSED for s in strokes])
    ghosts = frozenset(k for k, kind in enumerate(slots.kinds) if kind.level is Level.GHOST)
    bare: dict[str, list[int]] = {}
    for stroke in strokes:
        bare.setdefault(stroke.voice, []).append(stroke.index)
    hearing = cast("Any", SimpleNamespace(doubtful=ghosts))
    return _no_better_than_chance(
        bare, slots, hearing, cast("Findings", SimpleNamespace(state=state))
    )


def test_a_snare_whose_backbeats_are_heard_is_there_though_its_ghosts_are_not() -> None:
    """Its ghosts drown in the room, its backbeats under the hat do not; without both it is gone."""
    assert set() == _chances({Level.ACCENT, Level.PLAIN})
    assert {"snare"} == _chances({Level.PLAIN})


def test_a_place_always_left_out_is_not_taken_for_played_by_its_kind() -> None:
    """Of four places three are clear in every pass: the fourth stays far below them."""
    partial = np.tile(np.arange(4), 10)
    played = _played(partial < 3, partial)

    assert 0.7 < played[0]
    assert 0.2 > played[3]
