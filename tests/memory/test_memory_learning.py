from __future__ import annotations

from dataclasses import replace
from math import exp, log

import numpy as np
import pytest

from drillbox.memory import Belief, Evidence, Grade, Parameters, prior
from drillbox.memory.belief import update_with_chance
from drillbox.memory.learning import EARLIER, FEWEST_COLD_TAKES, learn, sentences
from drillbox.memory.parameters import LEARNED
from drillbox.memory.replay_columns import Takes

PLAIN = Parameters()


def log_of(player: Parameters, *, cards: int, days: int, seed: int) -> tuple[list[Belief], Takes]:
    """Return the priors and the log of a player who is just as the model says.

    With these numbers.
    """
    rng = np.random.default_rng(seed)
    start = [prior(PLAIN, bpm=70.0, sd=0.1)] * cards
    now, rows = list(start), []
    for day in range(days):
        for card in rng.permutation(cards)[: max(1, cards // 2)].tolist():
            for take in range(2):
                at = 20000.0 + day + take / 1000.0
                bpm = float(round(2.0 ** now[card].cold(at, player)[0]))
                point = rng.random()
                for grade in Grade:
                    evidence = Evidence(at, 739163 + day, bpm, grade)
                    after, chance = update_with_chance(now[card], evidence, player)
                    point -= chance
                    if point < 0.0:
                        break
                now[card] = after
                rows.append((card, at, evidence.day, bpm, int(evidence.grade)))
    return start, Takes.of(*zip(*rows, strict=True))


def test_the_chances_of_the_five_grades_sum_to_one() -> None:
    """Whatever is believed, one of the grades is given."""
    belief = prior(PLAIN, bpm=80.0)
    chances = [update_with_chance(belief, Evidence(1.0, 1, 75.0, g), PLAIN)[1] for g in Grade]
    assert sum(chances) == pytest.approx(1.0, abs=1e-12)


def cost(priors: list[Belief], takes: Takes, numbers: Parameters) -> float:
    """Return how badly numbers explain a log: what they are off the first, less its likelihood.

    A factor is as likely as a normal logarithm of standard deviation 0.3; of each card's takes the
    fifth is the first that counts.
    """
    beliefs, met, likely = list(priors), [0] * len(priors), 0.0
    for k, card in enumerate(takes.card.tolist()):
        beliefs[card], chance = update_with_chance(beliefs[card], takes.evidence(k), numbers)
        likely += log(chance) if met[card] >= 4 else 0.0
        met[card] += 1
    off = (log(getattr(numbers, name) / getattr(PLAIN, name)) for name in LEARNED)
    return sum(f * f for f in off) / (2 * 0.3**2) - likely


def test_no_number_a_tenth_off_explains_the_log_better() -> None:
    """The search ends where a step of a tenth, of any number, up or down, makes nothing likelier.

    Counted take by take, without the columns that the search is made of.
    """
    player = replace(PLAIN, gain=PLAIN.gain * 1.4, sigma=PLAIN.sigma * 1.3)
    start, takes = log_of(player, cards=24, days=50, seed=3)
    found = learn(start, takes, PLAIN).parameters
    assert PLAIN != found
    least = cost(start, takes, found)
    for name in LEARNED:
        for step in (0.1, -0.1):
            beside = replace(found, **{name: getattr(found, name) * exp(step)})
            assert least < cost(start, takes, beside)


@pytest.mark.parametrize(("name", "factor"), [("gain", 1.8), ("sigma", 1.6), ("boost", 2.0)])
def test_a_player_unlike_the_first_guess_is_learned(name: str, factor: float) -> None:
    """From the log of one who gains, warms up or varies more, that number moves most of the way."""
    player = replace(PLAIN, **{name: getattr(PLAIN, name) * factor})
    start, takes = log_of(player, cards=24, days=50, seed=3)
    learned = learn(start, takes, PLAIN)
    assert learned.adopted
    assert learned.improvement > 0.0
    moved = np.log(getattr(learned.parameters, name) / getattr(PLAIN, name)) / np.log(factor)
    assert 0.4 < moved < 1.6


def test_a_short_log_teaches_nothing() -> None:
    """Below a few hundred cold takes the starting numbers stay."""
    start, takes = log_of(PLAIN, cards=6, days=20, seed=1)
    learned = learn(start, takes, PLAIN)
    assert learned.cold_takes == 60 < FEWEST_COLD_TAKES
    assert (learned.parameters, learned.adopted) == (PLAIN, False)


def test_without_a_cold_take_to_foretell_nothing_is_learned() -> None:
    """The last third of the log is one long day: on what would be tried there is nothing to try."""
    start, takes = log_of(PLAIN, cards=24, days=50, seed=3)
    n = len(takes.card)
    long_day = np.where(np.arange(n) < int(EARLIER * n) - 200, takes.day, takes.day.max() + 1)
    learned = learn(start, replace(takes, day=long_day), PLAIN)
    assert learned.cold_takes > FEWEST_COLD_TAKES
    assert (PLAIN, False, 0.0) == (learned.parameters, learned.adopted, learned.improvement)
    nothing = learn([], takes.rows(np.arange(0)), PLAIN)
    assert (PLAIN, False, 0) == (nothing.parameters, nothing.adopted, nothing.cold_takes)


def test_learning_is_said_in_plain_words() -> None:
    """Each number that moved by a tenth is one sentence; what stayed is not mentioned."""
    new = replace(PLAIN, gain=PLAIN.gain * 1.42, sigma=PLAIN.sigma * 1.05)
    assert sentences(PLAIN, new) == (
        "A take adds about 1.4 times as much to your tempo as we first assumed.",
    )
