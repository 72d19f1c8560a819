"""The bands of the proposed grade and their way to a player's own, beside worked references."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise, product
from math import exp, log
from statistics import NormalDist

import numpy as np
import pytest
from examples import examples
from hypothesis import example, given
from hypothesis import strategies as st
from scipy import optimize

from drillbox.ear.bands import COLUMNS, USUAL_CUTS, Measures, propose, severity, worst
from drillbox.ear.calibrating import (
    LEAST_TAKES,
    Verdicts,
    agreement,
    limits_at,
    player_cuts,
)

PERFECT = Measures(0.0, 0.0, 40.0, 0.0, 200.0, 0.0)
FIELDS = ("spread_ms", "wrong_percent", "contrast_db", "ghosts_ms")
TABLE = {
    "spread": (9, 15, 23, 38),
    "missed and extra": (2, 5, 12, 25),
    "accent over ghost": (16, 12, 8, -99),
    "ghosts against accents": (6, 10, 20, 35),
}
"""The table of docs/ear.md."""
HAIR = 1e-6


def test_the_limits_are_the_documented_table() -> None:
    """Four columns; those in milliseconds widen, loudness alone wants more."""
    assert TABLE == {column.name: column.limits for column in COLUMNS}
    assert ["ms", "%", "dB", "ms"] == [column.unit for column in COLUMNS]
    assert [True, False, False, True] == [column.widens for column in COLUMNS]
    assert [False, False, True, False] == [column.at_least for column in COLUMNS]


@pytest.mark.parametrize(("number", "step"), list(product(range(4), range(4))))
def test_a_limit_itself_is_still_good_and_a_hair_past_it_is_not(number: int, step: int) -> None:
    """On each limit of each column the better grade is proposed, a hair past it the worse."""
    column, field = COLUMNS[number], FIELDS[number]
    limit = column.limits[step]
    past = limit - HAIR if column.at_least else limit + HAIR
    on = propose(replace(PERFECT, **{field: limit}))
    over = propose(replace(PERFECT, **{field: past}))
    bottomless = column.at_least and step == 3

    assert (-1 if bottomless else 2 - step) == on.grade
    assert (-1 if bottomless else 1 - step) == over.grade
    assert column.name == over.because


@pytest.mark.parametrize("number", [0, 3])
@pytest.mark.parametrize(
    ("spacing", "factor"), [(60, 1), (240, 1), (241, 241 / 240), (480, 2), (600, 2.5)]
)
def test_limits_in_milliseconds_widen_in_proportion_above_240_ms(
    number: int, spacing: float, factor: float
) -> None:
    """As what listeners notice does (Friberg & Sundberg 1995); the other columns stay."""
    limit = COLUMNS[number].limits[0] * factor
    wide = replace(PERFECT, spacing_ms=spacing)

    assert 2 == propose(replace(wide, **{FIELDS[number]: limit})).grade
    assert 1 == propose(replace(wide, **{FIELDS[number]: limit + HAIR})).grade
    assert 1 == propose(replace(wide, wrong_percent=2 + HAIR)).grade
    assert 1 == propose(replace(wide, contrast_db=16 - HAIR)).grade


def test_severity_counts_limits_and_goes_on_past_the_last() -> None:
    """Nothing is perfect at 0, a limit is its number, between them in proportion, then onward."""
    spread, _, contrast, _ = COLUMNS

    assert [0, 0.5, 1, 1.5, 3.5, 4, 6] == pytest.approx(
        [severity(spread, ms, 200) for ms in (0, 4.5, 9, 12, 30.5, 38, 68)]
    )
    assert [0, 0, 0.5, 1, 1.5, 3, 3.5, 4] == pytest.approx(
        [severity(contrast, db, 200) for db in (99, 24, 20, 16, 14, 8, -1, -10)]
    )


def test_early_ghosts_are_as_bad_as_late_ones_and_what_is_not_known_is_not_judged() -> None:
    """The sign of the ghosts' delay does not count; None does not either."""
    unknown = Measures(None, 0.0, None, None, 200.0, 0.0)

    assert worst(replace(PERFECT, ghosts_ms=-12.0)) == worst(replace(PERFECT, ghosts_ms=12.0))
    assert (2, "missed and extra") == (propose(unknown).grade, propose(unknown).because)
    assert (0.0, "missed and extra") == worst(unknown)


@examples(40)
@example(9.0, 2.0, 16.0, 6.0, 0.0)
@given(
    st.floats(0, 60), st.floats(0, 40), st.floats(-5, 30), st.floats(-50, 50), st.floats(0, 0.15)
)
def test_how_sure_is_the_chance_that_a_perfect_ear_says_the_same(
    spread: float, wrong: float, contrast: float, ghosts: float, unheard: float
) -> None:
    """Beside the standard library's normal distribution, errors as documented in the code.

    Every column is normal about what was measured: 0.3 ms and 3 % for the spread, 0.3 % and half of
    what cannot be told, 0.8 dB, 0.4 ms and 3 %; at least a twentieth of a step each.
    """
    measures = Measures(spread, wrong, contrast, ghosts, 200.0, unheard)
    found = propose(measures)
    errors = (0.3 + 0.03 * spread, 0.3 + 50 * unheard, 0.8, 0.4 + 0.03 * spread)
    values = (spread, wrong, contrast, abs(ghosts))

    def at_most(cut: float) -> float:
        chance = 1.0
        for column, value, error in zip(COLUMNS, values, errors, strict=True):
            here = severity(column, value, 200)
            width = max(abs(severity(column, value + error, 200) - here), 0.05)
            chance *= NormalDist(here, width).cdf(cut)
        return chance

    chances = [0.0, *map(at_most, USUAL_CUTS), 1.0]
    place = 2 - (found.grade or 0)
    assert chances[place + 1] - chances[place] == pytest.approx(found.sure, abs=1e-9)


def test_no_take_is_half_automatic_on_the_limit() -> None:
    """On the first limit of one column a perfect ear says the same half the time."""
    assert 0.5 == pytest.approx(propose(replace(PERFECT, spread_ms=9.0)).sure, abs=1e-6)
    assert 1.0 == pytest.approx(propose(PERFECT).sure)
    assert 1.0 == pytest.approx(propose(replace(PERFECT, spread_ms=90.0)).sure)


def test_a_take_without_a_spread_is_as_sure_of_its_ghosts_as_of_even_ones() -> None:
    """The error of the ghosts' delay grows with the spread; of none, it is 0.4 ms."""
    one = replace(PERFECT, ghosts_ms=5.8)

    assert propose(one).sure == propose(replace(one, spread_ms=None)).sure < 0.7


def verdicts(seed: int, count: int = 40, strict: float = 1.0) -> Verdicts:
    """Return a player's verdicts on so many takes, one who is stricter than we by so much."""
    rng = np.random.default_rng(seed)
    spreads = rng.uniform(2, 45, count)
    reached = [worst(replace(PERFECT, spread_ms=float(s)))[0] for s in spreads]
    grades = [
        2 - int(np.searchsorted(USUAL_CUTS, r + strict + rng.normal(0, 0.3))) for r in reached
    ]
    return Verdicts(
        tuple(
            (replace(PERFECT, spread_ms=float(s)), g) for s, g in zip(spreads, grades, strict=True)
        )
    )


def loss(cuts: tuple[float, ...], given_grades: Verdicts, *, prior: bool = True) -> float:
    """Return minus the log posterior of cuts, written down from McCullagh 1980 once more.

    The chance of a verdict is a difference of two logistic curves, 0.35 steps wide; cuts are normal
    about ours, 0.7 steps wide.
    """
    total = 0.0
    for measures, grade in given_grades.takes:
        reached = worst(measures)[0]
        below = [1 / (1 + exp(-(cut - reached) / 0.35)) for cut in cuts]
        steps = [0.0, *below, 1.0]
        total -= log(max(steps[3 - grade] - steps[2 - grade], 1e-9))
    if prior:
        total += sum(
            (cut - ours) ** 2 / (2 * 0.49) for cut, ours in zip(cuts, USUAL_CUTS, strict=True)
        )
    return total


def best_cuts(graded: Verdicts) -> list[float]:
    """Return the least loss's cuts by scipy, in order, 0.15 apart and off the floor."""
    apart = [
        {"type": "ineq", "fun": lambda cuts, at=at: cuts[at + 1] - cuts[at] - 0.15}
        for at in range(3)
    ]
    off_the_floor = {"type": "ineq", "fun": lambda cuts: cuts[0] - 0.15}
    found = optimize.minimize(
        loss, USUAL_CUTS, args=(graded,), method="SLSQP", constraints=[*apart, off_the_floor]
    )
    return [float(cut) for cut in found.x]


ALL_SPREADS = [replace(PERFECT, spread_ms=float(s)) for s in np.linspace(1, 60, 60)]


@pytest.mark.parametrize(
    "graded",
    [
        verdicts(1, strict=0.8),
        verdicts(2, strict=-0.4),
        verdicts(3, strict=0.3),
        Verdicts(tuple((m, -2) for m in ALL_SPREADS)),
        Verdicts(tuple((m, 2) for m in ALL_SPREADS)),
    ],
    ids=["strict", "kind", "like us", "all fell apart", "all automatic"],
)
def test_the_cuts_are_those_of_an_ordered_regression(graded: Verdicts) -> None:
    """Beside scipy's minimum of the same posterior: the same cuts to half a hundredth of a step."""
    ours = player_cuts(graded)

    assert best_cuts(graded) == pytest.approx(list(ours), abs=0.005)
    assert all(after - before >= 0.15 - 1e-9 for before, after in pairwise(ours))


def test_seven_takes_move_nothing_and_eight_do() -> None:
    """Fewer than eight verdicts leave the bands where they are."""
    strict = tuple((replace(PERFECT, spread_ms=5.0), -2) for _ in range(8))

    assert 8 == LEAST_TAKES
    assert USUAL_CUTS == player_cuts(Verdicts(strict[:7]))
    assert player_cuts(Verdicts(strict))[0] < 1


def test_agreement_is_the_usual_chance_of_the_players_own_grade() -> None:
    """The geometric mean of the chances, without the prior; of no take at all it is whole."""
    graded = verdicts(5, 12)
    cuts = (0.5, 1.4, 2.6, 3.9)

    assert exp(-loss(cuts, graded, prior=False) / 12) == pytest.approx(agreement(graded, cuts))
    assert 1.0 == agreement(Verdicts(()), cuts)


def test_shown_limits_are_the_columns_read_at_the_players_cuts() -> None:
    """Half a step stricter everywhere lies half way between two limits; ours show the table."""
    shown = limits_at((0.5, 1.5, 2.5, 3.5))

    assert [tuple(map(float, row)) for row in limits_at(USUAL_CUTS)] == [
        (9, 15, 23, 38),
        (2, 5, 12, 25),
        (16, 12, 8, -10),
        (6, 10, 20, 35),
    ]
    assert [(4.5, 12, 19, 30.5), (1, 3.5, 8.5, 18.5), (20, 14, 10, -1), (3, 8, 15, 27.5)] == list(
        shown
    )
