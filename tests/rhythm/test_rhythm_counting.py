"""Counting: how many placements there are, and where exactly they fall.

Outside checks. The numbers of placements are binomial coefficients and powers of two (elementary
combinatorics; a set of n has 2^n - 1 non-empty subsets, C(n, k) of size k). The ticks are the
arithmetic of a Standard MIDI File's division of 480 parts per quarter.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from math import comb

import pytest

from drillbox.rhythm import (
    Level,
    Pattern,
    fingerprint,
    grid_names,
    overlay,
    parse,
    parse_meter,
    syllables,
)

GRIDS = {"8t": ("", "t", "l"), "16": ("", "e", "&", "a"), "16t": ("", "t", "l", "&", "&t", "&l")}
GROOVE = "hat: beat &\nsnare: >2 >4\nbass: 1 3"


def subsets(places: list[str]) -> list[tuple[str, ...]]:
    """Return every non-empty set of places."""
    return [chosen for k in range(1, len(places) + 1) for chosen in combinations(places, k)]


def over_groove(grid: str, tokens: tuple[str, ...]) -> Pattern:
    """Return ghosts laid over a rock groove."""
    ghosts = " ".join(f"({token or 'beat'})" for token in tokens)
    return overlay(parse(GROOVE), parse(f"grid: {grid}\nsnare: {ghosts}"))


def ghosts(pattern: Pattern) -> int:
    """Return how many ghosts are played."""
    return sum(stroke.level is Level.GHOST for stroke in pattern.strokes)


@pytest.mark.parametrize(("grid", "size"), [("8t", 7), ("16", 15), ("16t", 63)])
def test_sets_of_partials_on_every_beat(grid: str, size: int) -> None:
    """Every set of a grid's partials, on every beat round the backbeats, is a rhythm of its own.

    2^n - 1.
    """
    partials = list(GRIDS[grid])
    rhythms = {fingerprint(over_groove(grid, chosen)) for chosen in subsets(partials)}

    assert size == 2 ** len(partials) - 1 == len(rhythms)


def test_sets_with_the_beat_itself_meet_the_backbeats() -> None:
    """Of fifteen sets of sixteenths the eight with the beat lose two ghosts to the backbeats."""
    sets = subsets(list(GRIDS["16"]))
    fewer = [chosen for chosen in sets if ghosts(over_groove("16", chosen)) < 4 * len(chosen)]

    assert 8 == len(fewer)
    assert all("" in chosen for chosen in fewer)
    assert all(ghosts(over_groove("16", chosen)) == 4 * len(chosen) - 2 for chosen in fewer)


@pytest.mark.parametrize(
    ("grid", "beats", "expected"),
    [
        ("16", (1,), 15),
        ("16", (2,), 7),
        ("16", (1, 2), 127),
        ("8t", (1,), 7),
        ("8t", (2,), 3),
        ("8t", (1, 2), 31),
        ("8t", (1, 2, 3, 4), 1023),
        ("16t", (1,), 63),
        ("16t", (2,), 31),
    ],
)
def test_ghosts_between_the_backbeats(grid: str, beats: tuple[int, ...], expected: int) -> None:
    """With the backbeats taken, n free places give 2^n - 1 rhythms, C(n, k) with k ghosts."""
    free = [
        f"{beat}{name}"
        for beat in beats
        for name in GRIDS[grid]
        if not (name == "" and beat in (2, 4))
    ]
    found: dict[str, int] = {}
    for chosen in subsets(free):
        pattern = over_groove(grid, chosen)
        found[fingerprint(pattern)] = ghosts(pattern)

    assert expected == 2 ** len(free) - 1 == len(found)
    for size in range(1, len(free) + 1):
        assert comb(len(free), size) == sum(count == size for count in found.values())


@pytest.mark.parametrize(
    ("grid", "ticks"), [("8", 240), ("8t", 160), ("16", 120), ("16t", 80), ("32", 60)]
)
def test_partials_fall_on_whole_ticks(grid: str, ticks: int) -> None:
    """At 480 parts per quarter the partials of every grid are whole and evenly spaced."""
    slots = grid_names(parse_meter("4/4"))[grid]
    partials = [offset for name, offset in syllables(slots).items() if slots != 3 or name != "&"]

    assert [n * ticks for n in range(slots)] == [offset * 480 for offset in partials]


def test_every_place_is_a_24th() -> None:
    """24 units a beat hold every grid exactly (least common multiple of 2, 3, 4, 6, 8).

    And no fewer do.
    """
    places = {offset for slots in (2, 3, 4, 6, 8) for offset in syllables(slots).values()}

    whole = [units for units in range(1, 25) if all((p * units).denominator == 1 for p in places)]
    assert [24] == whole


def test_beats_of_later_bars_add_up_exactly() -> None:
    """The last triplet of the 64th bar is at 255 + 2/3, with nothing lost on the way."""
    pattern = parse("grid: 8t\nsnare: " + "| " * 63 + "4l")

    assert Fraction(767, 3) == pattern.strokes[0].at
