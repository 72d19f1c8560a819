"""How far a tempo check carries: the mean error of the first tempi of all the other cards.

Run from the top of the repository: ``python tests/bench/bench_tempo_check.py``. The players are
made from laws that are not the Gaussian process's: tempo falls linearly with density, by a step
with embellishment, by a curve with the tightest hand gap, and by something of the card's own.
Seeds are fixed.
"""

from __future__ import annotations

from math import log2

import numpy as np

from drillbox.memory import Belief, Parameters
from drillbox.memory.relatives import guess_first_tempi, most_telling

PLAIN = Parameters()
CARDS, PLAYERS, COUNT = 200, 200, 12


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


def error(
    features: np.ndarray, tempi: np.ndarray, chosen: list[int], rng: np.random.Generator
) -> tuple[float, float]:
    """Return the mean error in octaves, and the share of cards within one standard deviation."""
    rest = np.setdiff1d(np.arange(len(features)), chosen)
    seen = [
        Belief(t, 0.0, 0.08**2, 0.0, 0.5)
        for t in tempi[chosen] + rng.normal(0.0, 0.08, len(chosen))
    ]
    guesses = guess_first_tempi(seen, features[chosen], features[rest], PLAIN)
    off = np.array([abs(log2(g.bpm) - t) for g, t in zip(guesses, tempi[rest], strict=True)])
    return float(off.mean()), float((off < np.array([g.sd for g in guesses])).mean())


def main() -> None:
    """Print the errors."""
    rng = np.random.default_rng(20)
    rows: dict[str, list[tuple[float, float]]] = {"none": [], "random": [], "telling": []}
    for _ in range(PLAYERS):
        features = deck(rng)
        tempi = player(features, rng)
        rows["none"].append(error(features, tempi, [], rng))
        rows["random"].append(
            error(features, tempi, rng.choice(CARDS, COUNT, replace=False).tolist(), rng)
        )
        rows["telling"].append(error(features, tempi, most_telling(features, COUNT), rng))
    print("| tempo check | mean error, octaves | in per cent | within one sd |\n|---|---|---|---|")
    for name, values in rows.items():
        off, inside = np.mean(values, axis=0)
        print(f"| {name} | {off:.3f} | {100 * (2**off - 1):.1f} | {inside:.2f} |")


if __name__ == "__main__":
    main()
