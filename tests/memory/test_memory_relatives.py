from __future__ import annotations

from dataclasses import replace
from math import log2

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import multivariate_normal

from drillbox.memory import Belief, Parameters
from drillbox.memory.relatives import (
    LEVEL_SD,
    OWN_SD,
    SHAPE_LENGTH,
    SHAPE_SD,
    first_tempo,
    guess_first_tempi,
    most_telling,
)

PLAIN = Parameters()


def played(bpm: float, sd: float = 0.05, takes: int = 0) -> Belief:
    """Return a card believed at a tempo."""
    return Belief(log2(bpm), 0.0, sd**2, 0.0, 0.5, 20000.0, 739163, 1, takes)


def joint(features: np.ndarray) -> np.ndarray:
    """Return the prior covariance of first tempi, card's own part included, written down apart."""
    n = len(features)
    cov = np.empty((n, n))
    for i in range(n):
        for j in range(n):
            far = float(np.sum((features[i] - features[j]) ** 2))
            cov[i, j] = LEVEL_SD**2 + SHAPE_SD**2 * np.exp(-far / (2 * SHAPE_LENGTH**2))
    return cov + np.eye(n) * OWN_SD**2


def test_a_guess_is_the_conditional_gaussian() -> None:
    """Mean and spread are those of the joint normal given what was played.

    Rasmussen & Williams (2006), equations 2.23 and 2.24; here the ratio of SciPy's joint and
    marginal densities is a normal density with that mean and spread.
    """
    rng = np.random.default_rng(4)
    features = rng.normal(size=(5, 3))
    beliefs = [played(bpm) for bpm in (60.0, 75.0, 90.0, 66.0)]
    (guess,) = guess_first_tempi(beliefs, features[:4], features[4:], PLAIN)
    cov = joint(features) + np.diag([0.05**2] * 4 + [0.0])
    base = log2(PLAIN.first_bpm)
    seen = np.array([b.mu - base for b in beliefs])
    logs = [
        multivariate_normal.logpdf([*seen, y - base], np.zeros(5), cov)
        - multivariate_normal.logpdf(seen, np.zeros(4), cov[:4, :4])
        for y in (log2(guess.bpm), log2(guess.bpm) + guess.sd, log2(guess.bpm) - guess.sd)
    ]
    assert logs[0] - logs[1] == pytest.approx(0.5, abs=1e-9)
    assert logs[0] - logs[2] == pytest.approx(0.5, abs=1e-9)


def test_nothing_played_leaves_the_first_guess() -> None:
    """Before the first take every card is expected at the first tempo, and widely unsure."""
    (guess,) = guess_first_tempi([], np.zeros((0, 2)), np.zeros((1, 2)), PLAIN)
    assert guess.bpm == pytest.approx(PLAIN.first_bpm)
    assert guess.sd == pytest.approx((LEVEL_SD**2 + SHAPE_SD**2 + OWN_SD**2) ** 0.5)


@examples(30)
@given(st.floats(-3.0, 3.0), st.floats(40.0, 160.0))
def test_a_relative_tells_more_than_a_stranger(x: float, bpm: float) -> None:
    """One card played pulls a twin more than a card far away, and leaves the twin surer."""
    here = np.array([[x, 0.0]])
    twin, stranger = guess_first_tempi(
        [played(bpm)], here, np.array([[x, 0.0], [x + 20.0, 0.0]]), PLAIN
    )
    pulls = [abs(log2(g.bpm / PLAIN.first_bpm)) for g in (twin, stranger)]
    assert pulls[0] >= pulls[1]
    assert OWN_SD <= twin.sd < stranger.sd


def test_practice_does_not_pass_for_talent() -> None:
    """A card raised by many takes says less about its relatives than one that began so fast."""
    raised, natural = played(100.0, takes=40), played(100.0, takes=0)
    assert first_tempo(raised, PLAIN) < first_tempo(natural, PLAIN) == natural.mu


def error_after(chosen: list[int], features: np.ndarray, tempi: np.ndarray) -> float:
    """Return the mean error in octaves of the first tempi of the other cards."""
    rest = [i for i in range(len(features)) if i not in chosen]
    beliefs = [played(float(2.0 ** tempi[i]), 0.08) for i in chosen]
    guesses = guess_first_tempi(beliefs, features[chosen], features[rest], PLAIN)
    return float(np.mean([abs(log2(g.bpm) - tempi[i]) for g, i in zip(guesses, rest, strict=True)]))


def test_a_tempo_check_of_twelve_beats_none_and_beats_chance() -> None:
    """Where tempo falls with density and embellishment, twelve telling cards halve the error.

    The players are made here from another law than the Gaussian process: linear, with a threshold.
    """
    rng = np.random.default_rng(8)
    errors = []
    for _ in range(12):
        features = np.column_stack(
            [rng.integers(0, 4, 150), rng.integers(0, 3, 150), rng.uniform(0.0, 4.0, 150)]
        ).astype(np.float64)
        hard = 0.1 * features[:, 0] + 0.15 * (features[:, 1] > 1) + 0.05 * features[:, 2]
        tempi = log2(85.0) + rng.normal(0.0, 0.3) - hard + rng.normal(0.0, 0.08, 150)
        telling = most_telling(features, 12)
        chance = rng.choice(150, 12, replace=False).tolist()
        errors.append([error_after(c, features, tempi) for c in ([], chance, telling)])
    none, chance_error, telling_error = np.mean(errors, axis=0)
    assert telling_error < chance_error < none
    assert telling_error < 0.5 * none


def test_a_tempo_check_chooses_each_card_once() -> None:
    """More asked for than there are: every card, once; the same features, the same choice."""
    features = np.random.default_rng(2).normal(size=(7, 2))
    assert sorted(most_telling(features, 12)) == list(range(7))
    assert most_telling(features, 4) == most_telling(features, 4)


def test_unsure_cards_teach_less() -> None:
    """A card whose tempo is hardly known moves its relatives less."""
    here = np.zeros((1, 1))
    sure, unsure = (
        guess_first_tempi([replace(played(120.0), var_mu=v)], here, here, PLAIN)[0]
        for v in (0.02**2, 0.5**2)
    )
    assert sure.bpm > unsure.bpm > PLAIN.first_bpm
