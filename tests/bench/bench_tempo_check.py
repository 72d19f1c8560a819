"""How far a tempo check carries: the mean error of the first tempi of all the other cards.

Run from the top of the repository: ``python tests/bench/bench_tempo_check.py``. The players are
made from laws that are not the Gaussian process's: tempo falls linearly with density, by a step
with embellishment, by a curve with the tightest hand gap, and by something of the card's own.
Nobody is warm or learns on the way. The check is played as the box plays it: a card that came off
easily goes on up before the next one, so twenty takes, a day's worth, reach fewer cards than twenty
single ones. Seeds are fixed.
"""

from __future__ import annotations

from math import log2

import numpy as np

from drillbox.box.practice import CHECK_TAKES, checked_bpm
from drillbox.memory import Belief, Evidence, Grade, Parameters, prior, update
from drillbox.memory.relatives import guess_first_tempi, most_telling
from drillbox.plan.takes import nearest_mark

PLAIN = Parameters()
CARDS, PLAYERS, COUNT = 200, 200, 12
A_DAYS_TAKES, NOISE, CUTS = 20, 0.08, (-7.5, -2.5, 2.5, 7.5)


def deck(rng: np.random.Generator) -> np.ndarray:
    """Return features.

    Partials used, grid, embellishment, tightest gap, meter; one unit is a clear difference.
    """
    columns = [
        rng.integers(1, 5, CARDS),
        rng.integers(0, 3, CARDS),
        rng.integers(0, 3, CARDS),
        rng.uniform(0.0, 3.0, CARDS),
        (rng.random(CARDS) < 0.15) * 2,
    ]
    return np.column_stack(columns).astype(np.float64)


def player(features: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Return the log2 tempo of every card for one player."""
    taste = rng.lognormal(0.0, 0.4, 5)
    hard = (
        0.07 * taste[0] * features[:, 0]
        + 0.08 * taste[1] * features[:, 1]
        + 0.15 * taste[2] * (features[:, 2] > 0)
        + 0.05 * taste[3] * features[:, 3] ** 1.5
        + 0.10 * taste[4] * (features[:, 4] > 0)
    )
    own = rng.normal(0.0, 0.1, len(features))
    return np.asarray(log2(95.0) + rng.normal(0.0, 0.3) - hard + own, dtype=np.float64)


def checked(
    features: np.ndarray,
    tempi: np.ndarray,
    order: list[int],
    rng: np.random.Generator,
    *,
    climbs: bool,
    takes: int,
) -> dict[int, Belief]:
    """Return what is believed of the cards that a check of so many takes reaches.

    Each card begins where those before it let expect.
    """
    found: dict[int, Belief] = {}
    for card in order:
        at, seen = features[list(found)], list(found.values())
        guess = guess_first_tempi(seen, at, features[[card]], PLAIN)[0]
        belief, bpm = prior(PLAIN, bpm=guess.bpm, sd=guess.sd), float(nearest_mark(guess.bpm))
        for _ in range(CHECK_TAKES if climbs else 1):
            if takes == 0:
                break
            right = 2.0 ** (tempi[card] + NOISE * rng.standard_normal())
            grade = Grade(int(np.digitize(right - bpm, CUTS)) - 2)
            belief = update(belief, Evidence(20000.0, 739163, bpm, grade), PLAIN)
            takes -= 1
            if grade < Grade.CLEAN:
                break
            bpm = float(checked_bpm(bpm, grade))
        if belief.takes:
            found[card] = belief
    return found


def error(features: np.ndarray, tempi: np.ndarray, known: dict[int, Belief]) -> tuple[float, float]:
    """Return the mean error in octaves, and the share of cards within one standard deviation."""
    chosen, seen = list(known), list(known.values())
    rest = np.setdiff1d(np.arange(len(features)), chosen)
    guesses = guess_first_tempi(seen, features[chosen], features[rest], PLAIN)
    off = np.array([abs(log2(g.bpm) - t) for g, t in zip(guesses, tempi[rest], strict=True)])
    return float(off.mean()), float((off < np.array([g.sd for g in guesses])).mean())


def main() -> None:
    """Print the errors."""
    rng = np.random.default_rng(20)
    rows: dict[str, list[tuple[float, float]]] = {}
    for _ in range(PLAYERS):
        features = deck(rng)
        tempi = player(features, rng)
        telling, chance = most_telling(features, COUNT), rng.permutation(CARDS)[:COUNT].tolist()
        more = most_telling(features, A_DAYS_TAKES)
        for name, order, climbs, takes in (
            ("none", [], False, 0),
            ("twelve cards by chance, one take each", chance, False, COUNT),
            ("twelve telling cards, one take each", telling, False, COUNT),
            ("twenty telling cards, one take each", more, False, A_DAYS_TAKES),
            ("telling cards, climbing, twenty takes", more, True, A_DAYS_TAKES),
            ("twelve telling cards, climbing", telling, True, COUNT * CHECK_TAKES),
        ):
            known = checked(features, tempi, order, rng, climbs=climbs, takes=takes)
            rows.setdefault(name, []).append(error(features, tempi, known))
    print("| tempo check | mean error, octaves | in per cent | within one sd |\n|---|---|---|---|")
    for name, values in rows.items():
        off, inside = np.mean(values, axis=0)
        print(f"| {name} | {off:.3f} | {100 * (2**off - 1):.1f} | {inside:.2f} |")


if __name__ == "__main__":
    main()
