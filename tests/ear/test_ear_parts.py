"""Laws of the ear's parts: clicks, hum, alignment, bands, calibration."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_takes import RATE, noise

from drillbox.ear.aligning import TempoMap, fitted_map
from drillbox.ear.bands import (
    COLUMNS,
    NOTICED_MS,
    NOTICED_SHARE,
    SPACING_MS,
    USUAL_CUTS,
    Measures,
    propose,
    severity,
)
from drillbox.ear.calibrating import LEAST_TAKES, Verdicts, agreement, limits_at, player_cuts
from drillbox.ear.clicks import remove_click
from drillbox.ear.expected import expected_strokes
from drillbox.ear.likeliest_path import Candidate, likeliest
from drillbox.ear.mains import without_hum
from drillbox.rhythm import Part, parse, strikes

if TYPE_CHECKING:
    from drillbox.ear.aligning import Times


def test_a_click_is_taken_out_and_strokes_stay() -> None:
    """A click on every beat loses 12 dB or more; a burst on one beat loses nothing."""
    rest = noise(16, -70)
    t = np.arange(int(0.04 * RATE)) / RATE
    click = (0.1 * np.sin(2 * np.pi * 1200 * t) * np.exp(-t / 0.006)).astype(np.float32)
    samples = rest.copy()
    for beat in range(30):
        first = int((0.5 + 0.5 * beat) * RATE) + 700
        samples[first : first + click.size] += click
    burst = noise(0.05, -12, 1)
    samples[int(5.23 * RATE) : int(5.23 * RATE) + burst.size] += burst
    found = remove_click(samples, RATE, 0.5, 0.5)

    assert 25 < found.at.size
    assert 0.5 + 700 / RATE == pytest.approx(found.at[0] % 0.5 + 0.5, abs=0.006)
    place = slice(int(8.0 * RATE) + 700, int(8.0 * RATE) + 700 + click.size)
    left = np.mean(found.samples[place] ** 2) / np.mean(samples[place] ** 2)
    assert 10**-1.2 > left
    at = slice(int(5.23 * RATE), int(5.23 * RATE) + burst.size)
    assert 0.9 < np.mean(found.samples[at] ** 2) / np.mean(samples[at] ** 2)


def test_without_a_click_nothing_is_taken_out() -> None:
    """Noise has nothing in common from beat to beat."""
    samples = noise(12, -30)

    assert 0 == remove_click(samples, RATE, 0.5, 0.5).at.size


@pytest.mark.parametrize("mains", [50.0, 60.0])
def test_hum_is_taken_out_and_the_rest_stays(mains: float) -> None:
    """Mains with harmonics falls by 15 dB or more; noise without hum comes back as it was."""
    rest = noise(10, -40)
    t = np.arange(rest.size) / RATE
    hum = sum(0.02 / n * np.sin(2 * np.pi * mains * n * t + n) for n in range(1, 9))
    left = without_hum(rest + np.asarray(hum, np.float32), RATE) - rest

    assert 10**-1.5 > np.mean(left**2) / np.mean(np.square(hum))
    assert rest is without_hum(rest, RATE)


@given(
    st.floats(-0.15, 0.15),
    st.floats(0.97, 1.03),
    st.floats(-2e-4, 2e-4),
    st.integers(0, 10_000),
)
def test_offset_tempo_and_slide_are_found_again(
    offset: float, stretch: float, bend: float, seed: int
) -> None:
    """A take's course comes back from its strokes to a millisecond, outliers or not."""
    rng = np.random.default_rng(seed)
    nominal = np.arange(80, dtype=np.float64) * 0.25
    true = TempoMap(1.0 + offset, stretch, bend, 20.0)
    at: Times = true(nominal) + rng.normal(0, 0.002, nominal.size)
    at[rng.integers(0, 80, 4)] += 0.1
    found = fitted_map(nominal, at, np.ones(80), TempoMap(1.0, 1.0, 0.0, 20.0))

    assert found(nominal) == pytest.approx(true(nominal), abs=0.003)


@given(st.lists(st.lists(st.floats(0.0, 3.0), max_size=4), min_size=1, max_size=7))
def test_the_likeliest_way_is_the_best_of_all(rows: list[list[float]]) -> None:
    """Beside trying every way there is: the same score, in order of time and far enough apart."""
    candidates = [[Candidate(at, 5 + 7 * at % 3, 0, 1, 0) for at in sorted(row)] for row in rows]
    picks = likeliest(candidates, np.full(len(rows), 5.0), apart=0.2)
    times = [row[pick].at for row, pick in zip(candidates, picks, strict=True) if pick >= 0]
    score = sum(
        row[pick].score - 5.0 for row, pick in zip(candidates, picks, strict=True) if pick >= 0
    )

    assert all(later - earlier >= 0.2 for earlier, later in pairwise(times))
    assert _best(candidates, -np.inf) == pytest.approx(score)


def _best(rows: list[list[Candidate]], last: float) -> float:
    if not rows:
        return 0.0
    ways = [_best(rows[1:], last)]
    ways += [c.score - 5.0 + _best(rows[1:], c.at) for c in rows[0] if c.at - last >= 0.2]
    return max(ways)


def test_expected_strokes_are_what_is_struck_pass_after_pass() -> None:
    """Two passes of doubles, flams and a buzz are the strikes twice, in time."""
    pattern = parse("snare: >f2 >4 (/1e) (z3a)\n")
    once = strikes(pattern)
    found = expected_strokes(pattern, 90, 2)

    assert [s.part for s in once] * 2 == [e.part for e in found]
    assert list(range(len(found))) == [e.index for e in found]
    assert pattern.seconds(90) == pytest.approx(found[len(once)].seconds - found[0].seconds)
    grace = next(e for e in found if e.part is Part.GRACE)
    assert 0.028 == pytest.approx(found[grace.index + 1].seconds - grace.seconds)


def measures(
    spread: float = 5,
    wrong: float = 0,
    contrast: float = 20,
    ghosts: float = 0,
    spacing: float = 200,
) -> Measures:
    """Return measures, perfect where nothing is said."""
    return Measures(spread, wrong, contrast, ghosts, spacing, 0.0)


@pytest.mark.parametrize(
    ("asked", "grade"),
    [
        ({}, 2),
        ({"spread": 9}, 2),
        ({"spread": 9.1}, 1),
        ({"spread": 15.1}, 0),
        ({"spread": 23.1}, -1),
        ({"spread": 80}, -2),
        ({"wrong": 3}, 1),
        ({"wrong": 12.5}, -1),
        ({"contrast": 13}, 1),
        ({"contrast": 9}, 0),
        ({"contrast": 1}, -1),
        ({"ghosts": -11}, 0),
        ({"spread": 17, "spacing": 480}, 2),
    ],
)
def test_the_worst_column_decides(asked: dict[str, float], grade: int) -> None:
    """The bands of docs/ear.md, one column at a time; wide spacing widens those in ms."""
    assert grade == propose(measures(**asked)).grade


def test_bands_stand_on_what_listeners_notice() -> None:
    """Friberg & Sundberg 1995 (J. Acoust. Soc. Am. 98:2524-2531, abstract).

    One displaced tone is noticed at 6 ms up to 240 ms spacing, at 2.5 % above: both say the same at
    240 ms, and `automatic` asks ghosts to lie no farther from accents than that.
    """
    assert NOTICED_MS == pytest.approx(NOTICED_SHARE * SPACING_MS)
    ghosts = next(column for column in COLUMNS if column.name == "ghosts against accents")
    assert NOTICED_MS == ghosts.limits[0]


@given(st.floats(0, 100), st.floats(0, 100), st.floats(50, 900))
def test_worse_is_never_better(one: float, other: float, spacing: float) -> None:
    """Severity rises with every measure, or falls with the one that wants more."""
    low, high = sorted((one, other))
    for column in COLUMNS:
        least, most = severity(column, low, spacing), severity(column, high, spacing)
        assert least >= most - 1e-9 if column.at_least else least <= most + 1e-9


@given(st.floats(0, 60), st.floats(0, 40), st.floats(0, 30), st.floats(-50, 50))
def test_how_sure_adds_up_to_one_over_the_grades(
    spread: float, wrong: float, contrast: float, ghosts: float
) -> None:
    """A chance lies between none and certain, and near a limit it is no certainty."""
    found = propose(measures(spread, wrong, contrast, ghosts))

    assert 0 <= found.sure <= 1
    assert 0.7 > propose(measures(spread=9.0)).sure


def test_a_strict_player_moves_the_bands_and_a_few_takes_do_not() -> None:
    """Forty verdicts of a player who calls steady what we call clean move the cuts there."""
    rng = np.random.default_rng(3)
    spreads = rng.uniform(3, 40, 40)
    graded = [
        (measures(spread=float(s)), max((propose(measures(spread=float(s))).grade or 0) - 1, -2))
        for s in spreads
    ]
    few, many = Verdicts(tuple(graded[: LEAST_TAKES - 1])), Verdicts(tuple(graded))
    cuts = player_cuts(many)

    assert USUAL_CUTS == player_cuts(few)
    assert all(own < usual for own, usual in zip(cuts, USUAL_CUTS, strict=True))
    assert agreement(many, cuts) > agreement(many, USUAL_CUTS)
    right = sum(propose(m, cuts).grade == grade for m, grade in graded)
    assert 0.8 * len(graded) < right
    assert limits_at(cuts)[0][0] < limits_at(USUAL_CUTS)[0][0] == COLUMNS[0].limits[0]
