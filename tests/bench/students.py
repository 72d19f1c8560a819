"""Three simulated students, none of which knows anything of the scheduler.

Each is a published idea of memory with the tempo of drum patterns on top, in octaves (log2 bpm).
The kinds disagree on purpose: one favours contracting gaps, one expanding ones, one forgets the
pattern quickly and the hands slowly.

(a) `Activation`: base-level activation with activation-dependent decay (Pavlik & Anderson,
Cognitive Science 29:559-586, 2005;
    parameter values from memory), speed by the latency equation: log2 tempo = base + latency *
    activation / ln 2.
(b) `Halving`: exponential forgetting with a half-life that multiplies on spaced success (the
algebra of Settles & Meeder, Proc. ACL
    54:1848-1858, 2016), exponential law of practice (Heathcote, Brown & Mewhort, PB&R 7:185-207,
    2000).
(c) `TwoProcess`: the pattern in a bank of leaky integrators of many time constants (the idea of
Mozer, Pashler, Cepeda, Lindsey & Vul, NIPS
    2009), the hands' tempo with a slow linear loss (half the gain in 13 months: Tatel & Ackerman
    2025), a warm-up decrement gone by the third take (Adams 1961), and interference between
    look-alikes new on one day (Duke & Davis 2006).

All rates not printed there are assumptions; the harness halves and doubles them. Time in days; a
day's practice takes place at its start, ``second`` seconds into it.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from math import exp, log

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
LN2 = log(2.0)


@dataclass(frozen=True)
class Nature:
    """What one student is like.

    Multipliers of the kind's own rates, all 1 for the plain student.
    """

    learning: float = 1.0
    forgetting: float = 1.0
    noise: float = 1.0
    known: float = 0.0
    """Share of the cards that are in hand before the first day."""


class Student(ABC):
    """A player with as many patterns as there are goals."""

    def __init__(
        self, goals: Floats, families: NDArray[np.int64], nature: Nature, seed: int
    ) -> None:
        self.rng = np.random.default_rng(seed)
        self.nature = nature
        self.families = families
        self.goal = np.log2(goals)
        self.noise = 0.08 * nature.noise
        n = len(goals)
        self.start = self.goal - self.rng.uniform(0.35, 0.85, n)
        self.known = self.rng.permutation(n) < round(nature.known * n)
        self.takes_today = np.zeros(n, dtype=np.int64)
        self.today = -1.0

    def take(self, card: int, day: float, second: float, bpm: float) -> int:
        """Play one take; return the grade, -2 to 2, and learn from it."""
        if day != self.today:
            self.today = day
            self.takes_today[:] = 0
        right = self.right_tempo(card, day, second) + self.noise * self.rng.standard_normal()
        off = 2.0**right - bpm
        grade = (
            -2 if off < -7.5 else -1 if off < -2.5 else 0 if off < 2.5 else 1 if off < 7.5 else 2
        )
        self.learn(card, day, second, bpm, grade)
        self.takes_today[card] += 1
        return grade

    @abstractmethod
    def cold(self, day: float) -> Floats:
        """Return every card's true cold tempo at the start of a day."""

    @abstractmethod
    def right_tempo(self, card: int, day: float, second: float) -> float:
        """Return the true right tempo of the next take of a card."""

    @abstractmethod
    def learn(self, card: int, day: float, second: float, bpm: float, grade: int) -> None:
        """Change the card as the take does."""

    @abstractmethod
    def cold_after(
        self, cards: NDArray[np.int64], day: float, second: float, ahead: Floats
    ) -> Floats:
        """Return cold tempi some days ahead if each card had one take now (for the oracle).

        (cards, ahead).
        """

    @abstractmethod
    def cold_without(self, cards: NDArray[np.int64], day: float, ahead: Floats) -> Floats:
        """Return cold tempi some days ahead with no further take: (cards, ahead)."""


class Activation(Student):
    """Base-level activation with activation-dependent decay, speed by the latency equation."""

    decay_floor = 0.177
    decay_scale = 0.217
    day_seconds = 86400.0 * 0.025

    def __init__(
        self, goals: Floats, families: NDArray[np.int64], nature: Nature, seed: int
    ) -> None:
        super().__init__(goals, families, nature, seed)
        n = len(goals)
        self.latency = 0.3 * nature.learning**0.5
        self.day_seconds = 86400.0 * 0.025 * nature.forgetting
        self.when: list[list[float]] = [[] for _ in range(n)]
        self.decay: list[list[float]] = [[] for _ in range(n)]
        for new in range(n):
            self._add(new, -self.day_seconds * self.rng.uniform(0.7, 1.5))
        self.base = self.start - self.latency / LN2 * self._all(0.0)
        for card in np.flatnonzero(self.known):
            clock = -self.day_seconds * self.rng.uniform(150.0, 300.0)
            while clock < -self.day_seconds:
                self._add(int(card), clock)
                clock += self.day_seconds * self.rng.uniform(4.0, 12.0)
            lift = self.goal[card] + self.rng.uniform(0.0, 0.2)
            self.base[card] = lift - self.latency / LN2 * self._one(int(card), 0.0)

    def _clock(self, day: float, second: float) -> float:
        return day * self.day_seconds + second

    def _one(self, card: int, clock: float) -> float:
        total = 0.0
        for when, decay in zip(self.when[card], self.decay[card], strict=True):
            if when < clock:
                total += max(clock - when, 10.0) ** -decay
        return log(total) if total > 0.0 else -5.0

    def _add(self, card: int, clock: float) -> None:
        before = self._one(card, clock) if self.when[card] else -30.0
        self.when[card].append(clock)
        self.decay[card].append(self.decay_scale * exp(before) + self.decay_floor)

    def _flat(self) -> tuple[NDArray[np.int64], Floats, Floats]:
        sizes = [len(w) for w in self.when]
        which = np.repeat(np.arange(len(sizes)), sizes)
        return which, np.concatenate(self.when), np.concatenate(self.decay)

    def _all(self, clock: float) -> Floats:
        which, when, decay = self._flat()
        parts = np.maximum(clock - when, 10.0) ** -decay
        return np.log(np.bincount(which, weights=parts, minlength=len(self.when)))

    def cold(self, day: float) -> Floats:
        """Return every card's true cold tempo."""
        result: Floats = self.base + self.latency / LN2 * self._all(self._clock(day, 0.0))
        return result

    def right_tempo(self, card: int, day: float, second: float) -> float:
        """Return the true right tempo now."""
        return float(
            self.base[card] + self.latency / LN2 * self._one(card, self._clock(day, second))
        )

    def learn(self, card: int, day: float, second: float, bpm: float, grade: int) -> None:
        """Take in what was played."""
        self._add(card, self._clock(day, second))

    def _strengths(self, cards: NDArray[np.int64], day: float, ahead: Floats) -> Floats:
        rows = []
        for card in cards:
            when, decay = np.array(self.when[card]), np.array(self.decay[card])
            clock = day * self.day_seconds + ahead[:, None] * self.day_seconds
            rows.append((np.maximum(clock - when, 10.0) ** -decay).sum(axis=1))
        return np.array(rows)

    def cold_without(self, cards: NDArray[np.int64], day: float, ahead: Floats) -> Floats:
        """Return cold tempi without a take."""
        m = np.log(self._strengths(cards, day, ahead))
        result: Floats = self.base[cards, None] + self.latency / LN2 * m
        return result

    def cold_after(
        self, cards: NDArray[np.int64], day: float, second: float, ahead: Floats
    ) -> Floats:
        """Return cold tempi after a take."""
        now = np.array([self._one(int(c), self._clock(day, second)) for c in cards])
        decay = self.decay_scale * np.exp(now) + self.decay_floor
        added = np.maximum(ahead * self.day_seconds - second, 10.0) ** -decay[:, None]
        m = np.log(self._strengths(cards, day, ahead) + added)
        result: Floats = self.base[cards, None] + self.latency / LN2 * m
        return result


class Halving(Student):
    """Exponential forgetting whose half-life multiplies after each spaced success."""

    def __init__(
        self, goals: Floats, families: NDArray[np.int64], nature: Nature, seed: int
    ) -> None:
        super().__init__(goals, families, nature, seed)
        n = len(goals)
        self.rate = 0.10 * nature.learning
        self.ceiling = self.goal + self.rng.uniform(0.15, 0.4, n)
        self.level = self.start.copy()
        self.half = self.rng.lognormal(log(5.0), 0.3, n) / nature.forgetting
        self.floor = self.start - 0.1
        self.last = np.zeros(n)
        lift = self.goal + self.rng.uniform(0.0, 0.2, n)
        self.level[self.known] = lift[self.known]
        self.half[self.known] *= 12.0

    def _at(self, cards: NDArray[np.int64] | slice, day: float) -> Floats:
        gap = np.maximum(0.0, day - self.last[cards])
        floor = self.floor[cards]
        result: Floats = floor + (self.level[cards] - floor) * 2.0 ** (-gap / self.half[cards])
        return result

    def cold(self, day: float) -> Floats:
        """Return every card's true cold tempo."""
        return self._at(slice(None), day)

    def right_tempo(self, card: int, day: float, second: float) -> float:
        """Return the true right tempo now."""
        warm = 0.02 * min(int(self.takes_today[card]), 2)
        return float(self._at(np.array([card]), day)[0]) + warm

    def learn(self, card: int, day: float, second: float, bpm: float, grade: int) -> None:
        """Take in what was played."""
        gap = max(0.0, day - self.last[card])
        ahead = self._stepped(np.array([card]), day, bpm, success=grade >= 0)
        self.level[card], self.half[card] = ahead[0][0], ahead[1][0]
        if gap > 0.0 or self.takes_today[card] == 0:
            self.last[card] = day

    def _stepped(
        self, cards: NDArray[np.int64], day: float, bpm: float | None, *, success: bool
    ) -> tuple[Floats, Floats]:
        gap = np.maximum(0.0, day - self.last[cards])
        now = self._at(cards, day)
        # Relearning: most of what was lost comes back with the first take.
        level = now + 0.8 * (self.level[cards] - now)
        near = 1.0 if bpm is None else np.exp(-0.5 * ((np.log2(bpm) - now) / 0.35) ** 2)
        tired = 0.75 ** self.takes_today[cards]
        level = level + self.rate * near * tired * np.maximum(0.0, self.ceiling[cards] - level)
        spaced = np.minimum(1.0, gap / self.half[cards])
        factor = 1.0 + 1.2 * spaced if success else 0.8 ** np.minimum(1.0, gap)
        return level, np.minimum(self.half[cards] * factor, 400.0)

    def cold_without(self, cards: NDArray[np.int64], day: float, ahead: Floats) -> Floats:
        """Return cold tempi without a take."""
        return np.stack([self._at(cards, day + a) for a in ahead], axis=1)

    def cold_after(
        self, cards: NDArray[np.int64], day: float, second: float, ahead: Floats
    ) -> Floats:
        """Return cold tempi after a take."""
        level, half = self._stepped(cards, day, None, success=True)
        floor = self.floor[cards, None]
        result: Floats = floor + (level[:, None] - floor) * 2.0 ** (-ahead[None, :] / half[:, None])
        return result


class TwoProcess(Student):
    """A pattern in leaky integrators, the hands' tempo decaying slowly, a warm-up decrement."""

    def __init__(
        self, goals: Floats, families: NDArray[np.int64], nature: Nature, seed: int
    ) -> None:
        super().__init__(goals, families, nature, seed)
        n = len(goals)
        self.rate = 0.10 * nature.learning
        self.grip = 0.35
        self.taus = 0.7 * 3.0 ** np.arange(7.0) / nature.forgetting
        self.weights = np.full(7, 1.0 / 7.0)
        self.x = np.zeros((n, 7))
        self.x[:, :3] = self.rng.uniform(0.1, 0.3, (n, 1))
        self.hands = self.start + self.grip * 0.9
        self.origin = self.hands.copy()
        self.ceiling = self.goal + self.rng.uniform(0.2, 0.45, n)
        self.last = np.zeros(n)
        self.first_day = np.full(n, -1.0)
        lift = self.goal + self.rng.uniform(0.02, 0.2, n)
        self.hands[self.known] = lift[self.known]
        self.x[self.known] = self.rng.uniform(0.6, 0.9, (int(self.known.sum()), 1))
        self.x[self.known, :3] *= 0.3
        self.first_day[self.known] = -100.0

    def _faded(self, cards: NDArray[np.int64] | slice, day: float) -> tuple[Floats, Floats]:
        gap = np.maximum(0.0, day - self.last[cards])
        x = self.x[cards] * np.exp(-gap[:, None] / self.taus)
        gained = self.hands[cards] - self.origin[cards]
        hands = self.origin[cards] + gained * np.maximum(
            0.0, 1.0 - gap * self.nature.forgetting / 790.0
        )
        return x, hands

    def _tempo(self, x: Floats, hands: Floats) -> Floats:
        result: Floats = hands - self.grip * (1.0 - x @ self.weights) ** 2
        return result

    def cold(self, day: float) -> Floats:
        """Return every card's true cold tempo."""
        return self._tempo(*self._faded(slice(None), day)) - 0.04

    def right_tempo(self, card: int, day: float, second: float) -> float:
        """Return the true right tempo now."""
        cold = float(self._tempo(*self._faded(np.array([card]), day))[0])
        return cold - (0.04, 0.02, 0.0)[min(int(self.takes_today[card]), 2)]

    def learn(self, card: int, day: float, second: float, bpm: float, grade: int) -> None:
        """Take in what was played."""
        one = np.array([card])
        if self.first_day[card] < 0.0 and self.first_day[card] != -100.0:
            self.first_day[card] = day
        x, hands = self._stepped(one, day, bpm, success=grade >= 0)
        self.x[card], self.hands[card] = x[0], hands[0]
        self.last[card] = day

    def _stepped(
        self, cards: NDArray[np.int64], day: float, bpm: float | None, *, success: bool
    ) -> tuple[Floats, Floats]:
        x, hands = self._faded(cards, day)
        now = self._tempo(x, hands)
        partial = np.cumsum(self.weights * x, axis=1) / np.cumsum(self.weights)
        step = (0.45 if success else 0.25) * np.exp(-0.15 * np.arange(7.0))
        x = x + step * np.maximum(0.0, 1.0 - partial)
        near = 1.0 if bpm is None else np.exp(-0.5 * ((np.log2(bpm) - now) / 0.35) ** 2)
        tired = 0.65 ** self.takes_today[cards]
        rate = self.rate * near * tired * np.array([self._clash(int(c), day) for c in cards])
        hands = hands + rate * np.maximum(0.0, self.ceiling[cards] - hands)
        return np.minimum(x, 1.0), hands

    def _clash(self, card: int, day: float) -> float:
        """Return the share of a gain that look-alikes new on the same day leave."""
        if self.first_day[card] != day:
            return 1.0
        same = (self.families == self.families[card]) & (self.first_day == day)
        return 1.0 if int(same.sum()) <= 1 else 0.6

    def cold_without(self, cards: NDArray[np.int64], day: float, ahead: Floats) -> Floats:
        """Return cold tempi without a take."""
        return np.stack([self._tempo(*self._faded(cards, day + a)) - 0.04 for a in ahead], axis=1)

    def cold_after(
        self, cards: NDArray[np.int64], day: float, second: float, ahead: Floats
    ) -> Floats:
        """Return cold tempi after a take."""
        x, hands = self._stepped(cards, day, None, success=True)
        kept = []
        for a in ahead:
            gained = hands - self.origin[cards]
            later = self.origin[cards] + gained * max(0.0, 1.0 - a * self.nature.forgetting / 790.0)
            kept.append(self._tempo(x * np.exp(-a / self.taus), later) - 0.04)
        return np.stack(kept, axis=1)


KINDS: dict[str, type[Student]] = {
    "activation": Activation,
    "halving": Halving,
    "two-process": TwoProcess,
}
