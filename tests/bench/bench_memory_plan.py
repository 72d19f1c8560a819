"""Speed of the memory and the plan against their budgets.

Run from the top of the repository: ``python tests/bench/bench_memory_plan.py``. Budgets: a plan of
10,000 cards with beliefs at hand in 50 ms; a replay of 1,000,000 takes over 10,000 cards in 3 s and
under 1 GB.
"""

from __future__ import annotations

import resource
import sys
import time
from datetime import UTC, datetime
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from drillbox.base.now import Now
from drillbox.memory import Belief, Evidence, Grade, Parameters, prior, update
from drillbox.memory.relatives import guess_first_tempi, most_telling
from drillbox.memory.replay import replay
from drillbox.memory.replay_columns import Takes
from drillbox.plan import Candidate, Day, make_plan
from drillbox.plan.prices import price_table

if TYPE_CHECKING:
    from collections.abc import Callable

PLAIN = Parameters()


def timed(name: str, work: Callable[[], object], *, times: int = 1) -> None:
    """Print the least time of some runs."""
    least = min(_seconds(work) for _ in range(times))
    print(f"{name:<52} {1e3 * least:9.2f} ms")


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def box(cards: int, rng: np.random.Generator) -> list[Candidate]:
    """Return cards of which two thirds were played."""
    result = []
    for i in range(cards):
        belief: Belief = prior(PLAIN)
        for day in range(int(rng.integers(1, 6)) if i % 3 else 0):
            belief = update(belief, Evidence(20000.0 + day, 739163 + day, 72.0, Grade.CLEAN), PLAIN)
        result.append(Candidate(f"{i:016x}", "", belief, 90.0, 4.0, family=f"f{i % 9}", order=i))
    return result


def main() -> None:
    """Print the times."""
    rng = np.random.default_rng(1)
    day = Day(Now.of(datetime(2024, 10, 24, tzinfo=UTC), day_ends_at=0))
    belief = box(3, rng)[1].belief
    take = Evidence(20020.0, 739183, 75.0, Grade.STEADY)
    timed(
        "one update, a thousand times", lambda: [update(belief, take, PLAIN) for _ in range(1000)]
    )
    timed("prices solved for one player", lambda: price_table.__wrapped__(PLAIN), times=5)
    for cards in (300, 10_000):
        candidates = box(cards, rng)
        make_plan(candidates, day, PLAIN)
        timed(f"plan of {cards} cards", partial(make_plan, candidates, day, PLAIN), times=5)
    count, cards = 1_000_000, 10_000
    at = 20000.0 + np.sort(rng.uniform(0.0, 1500.0, count))
    card, bpm = rng.integers(0, cards, count), rng.uniform(60.0, 120.0, count)
    takes = Takes.of(card, at, np.floor(at) + 719163, bpm, rng.integers(-2, 3, count))
    timed(
        "replay of 1,000,000 takes over 10,000 cards",
        lambda: replay([prior(PLAIN)] * cards, takes, PLAIN),
    )
    features = rng.normal(size=(400, 5))
    timed("tempo check of 12 among 400 cards", lambda: most_telling(features, 12))
    played = [belief] * 100
    timed(
        "first tempi of 300 cards from 100 relatives",
        lambda: guess_first_tempi(played, features[:100], features[100:], PLAIN),
    )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (
        2**30 if sys.platform == "darwin" else 2**20
    )
    print(f"{'most memory':<52} {peak:9.2f} GB")


if __name__ == "__main__":
    main()
