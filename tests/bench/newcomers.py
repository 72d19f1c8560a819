"""Two more simulated students, for what the first three leave out.

`Meeting` is the fourth kind. A new rhythm has to come together first, all at once and after a
number of takes that chance decides (all-or-none learning: Bower, Psychometrika 26:255-280, 1961);
then its tempo rises by the exponential law of practice (Heathcote, Brown & Mewhort 2000) at a rate
of the card's own, and a share of the gain fades by a power of time (Wickelgren, Memory & Cognition
2:775-780, 1974) that slows with every day of practice (Savion-Lemieux & Penhune 2005: spreading
over days matters, the amount hardly). Near relatives help a little. The player has better and
worse days, within which everything goes up or down (Nesselroade & Salthouse 2004: between days a
quarter to a half of what lies between people), grades with a bias and coarsely, misses days, and
practises five to twenty minutes.

`Disuse` is the fifth kind, left out of all tuning. Storage strength only grows, retrieval strength
fades the slower the greater the storage is, and what is learned is the more the less retrievable it
was (Bjork & Bjork, "A new theory of disuse", 1992; the equations are ours). The hands stand still
on plateaus and leap off them (Gray & Lindstedt, Cognitive Science 41:1838-1870, 2017). Look-alikes
played on one day disturb each other.

Rates that no paper gives are assumptions.
"""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING

import numpy as np
from students import Floats, Nature, Student

if TYPE_CHECKING:
    from numpy.typing import NDArray

APART = 0.6
"""Octaves under its first tempo at which a rhythm that has not come together can be crawled
through."""


class Meeting(Student):
    """All-or-none first meetings, cards that differ, relatives that help, days that differ."""

    def __init__(
        self, goals: Floats, families: NDArray[np.int64], nature: Nature, seed: int
    ) -> None:
        super().__init__(goals, families, nature, seed)
        n = len(goals)
        rng = self.rng
        self.rate = 0.09 * nature.learning * rng.lognormal(0.0, 0.5, n)
        self.ceiling = self.goal + rng.uniform(0.1, 0.6, n)
        self.days0 = 4.0 * rng.lognormal(0.0, 0.6, n) / nature.forgetting
        self.to_go = rng.integers(2, 9, n).astype(np.float64) / nature.learning**0.5
        self.level = self.start.copy()
        self.origin = self.start.copy()
        self.last = np.zeros(n)
        self.days = np.zeros(n)
        self.bias = float(rng.normal(0.0, 0.03))
        self.form, self.form_day = 0.0, -1.0
        self.to_go[self.known] = 0.0
        lift = self.goal + rng.uniform(0.0, 0.2, n)
        self.level[self.known] = lift[self.known]
        self.days[self.known] = 15.0

    def _at(self, cards: NDArray[np.int64] | slice, day: float) -> Floats:
        gap = np.maximum(0.0, day - self.last[cards])
        reach = self.days0[cards] * (1.0 + self.days[cards]) ** 1.2
        kept = (1.0 + gap / reach) ** -0.25
        tempo = self.origin[cards] + (self.level[cards] - self.origin[cards]) * kept
        result: Floats = np.where(self.to_go[cards] > 0.0, self.origin[cards] - APART, tempo)
        return result

    def cold(self, day: float) -> Floats:
        """Return every card's true cold tempo, on a day like any other."""
        return self._at(slice(None), day)

    def _todays_form(self, day: float) -> float:
        if day != self.form_day:
            gap = min(day - self.form_day, 30.0)
            kept = 0.5**gap
            self.form = self.form * kept + 0.06 * (1 - kept**2) ** 0.5 * self.rng.standard_normal()
            self.form_day = day
        return self.form

    def right_tempo(self, card: int, day: float, second: float) -> float:
        """Return the right tempo now, by the player's own feeling."""
        warm = 0.03 * (1.0 - 0.5 ** int(self.takes_today[card]))
        now = float(self._at(np.array([card]), day)[0])
        return now + warm + self._todays_form(day) + self.bias

    def take(self, card: int, day: float, second: float, bpm: float) -> int:
        """Play one take; graded coarsely: a quarter of all 'automatic' is told as 'clean'.

        What has not come together falls apart at any tempo, now and then it is only shaky.
        """
        apart = self.to_go[card] > 0.0
        grade = super().take(card, day, second, bpm)
        if apart:
            return -1 if self.rng.random() < 0.2 else -2
        return 1 if grade == 2 and self.rng.random() < 0.25 else grade

    def learn(self, card: int, day: float, second: float, bpm: float, grade: int) -> None:
        """Take in what was played."""
        one = np.array([card])
        if self.to_go[card] > 0.0:
            gap = day - self.last[card]
            if self.last[card] > 0.0 and gap > 3.0:
                self.to_go[card] += 1.0
            slow_enough = np.log2(bpm) < self.origin[card] + 0.25
            kin = (self.families == self.families[card]) & (self.to_go <= 0.0)
            self.to_go[card] -= (1.0 if slow_enough else 0.4) * (1.25 if kin.any() else 1.0)
        else:
            before = float(self.level[card])
            self.level[card] = self._stepped(one, day, bpm)[0]
            gained = max(0.0, float(self.level[card]) - before)
            kin = (self.families == self.families[card]) & (self.to_go <= 0.0)
            kin[card] = False
            room = np.clip((self.ceiling - self.level) / 0.3, 0.0, 1.0)
            self.level[kin] += 0.1 * gained * room[kin]
        if self.takes_today[card] == 0:
            self.days[card] += 1.0
        self.last[card] = day

    def _stepped(self, cards: NDArray[np.int64], day: float, bpm: float | None) -> Floats:
        now = self._at(cards, day)
        level = now + 0.75 * np.maximum(0.0, self.level[cards] - now)
        near = 1.0 if bpm is None else np.exp(-0.5 * ((np.log2(bpm) - now) / 0.3) ** 2)
        tired = 0.7 ** self.takes_today[cards]
        result: Floats = level + self.rate[cards] * near * tired * np.maximum(
            0.0, self.ceiling[cards] - level
        )
        return result

    def cold_without(self, cards: NDArray[np.int64], day: float, ahead: Floats) -> Floats:
        """Return cold tempi without a take."""
        return np.stack([self._at(cards, day + a) for a in ahead], axis=1)

    def cold_after(
        self, cards: NDArray[np.int64], day: float, second: float, ahead: Floats
    ) -> Floats:
        """Return cold tempi after a take.

        Of a card that takes so many takes yet to come together, that share of what it would be.
        """
        to_go = self.to_go[cards]
        level = np.where(to_go > 0.0, self.start[cards], self._stepped(cards, day, None))
        days = self.days[cards] + (self.takes_today[cards] == 0)
        reach = self.days0[cards] * (1.0 + days) ** 1.2
        kept = (1.0 + ahead[None, :] / reach[:, None]) ** -0.25
        origin = self.origin[cards, None]
        after = origin + (level[:, None] - origin) * kept
        apart = self.cold_without(cards, day, ahead)
        share = (1.0 / np.maximum(1.0, np.ceil(to_go)))[:, None]
        result: Floats = share * after + (1.0 - share) * apart
        return result


class Disuse(Student):
    """Storage and retrieval strength, hands on plateaus, look-alikes that disturb each other."""

    def __init__(
        self, goals: Floats, families: NDArray[np.int64], nature: Nature, seed: int
    ) -> None:
        super().__init__(goals, families, nature, seed)
        n, rng = len(goals), self.rng
        self.gain = 0.12 * nature.learning * rng.lognormal(0.0, 0.3, n)
        self.storage = rng.uniform(0.0, 0.2, n)
        self.retrieval = rng.uniform(0.3, 0.6, n)
        self.depth = 0.3
        self.hands = self.start + self.depth * (1.0 - self.retrieval)
        self.last = np.zeros(n)
        self.plateau = rng.integers(3, 12, n).astype(np.float64)
        lift = self.goal + rng.uniform(0.05, 0.2, n)
        self.hands[self.known] = lift[self.known]
        self.storage[self.known] = rng.uniform(2.0, 4.0, int(self.known.sum()))
        self.retrieval[self.known] = 0.9
        self.roof = self.goal + rng.uniform(0.15, 0.8, n)

    def _retrieval(self, cards: NDArray[np.int64] | slice, day: float) -> Floats:
        gap = np.maximum(0.0, day - self.last[cards]) * self.nature.forgetting
        slow = 4.0 * np.exp(1.1 * self.storage[cards])
        result: Floats = self.retrieval[cards] * np.exp(-gap / slow)
        return result

    def _tempo(self, cards: NDArray[np.int64] | slice, day: float) -> Floats:
        result: Floats = self.hands[cards] - self.depth * (1.0 - self._retrieval(cards, day))
        return result

    def cold(self, day: float) -> Floats:
        """Return every card's true cold tempo."""
        return self._tempo(slice(None), day)

    def right_tempo(self, card: int, day: float, second: float) -> float:
        """Return the true right tempo now, less what a look-alike played today disturbs."""
        alike = (self.families == self.families[card]) & (self.takes_today > 0)
        alike[card] = False
        disturbed = 0.03 if alike.any() else 0.0
        return float(self._tempo(np.array([card]), day)[0]) - disturbed

    def learn(self, card: int, day: float, second: float, bpm: float, grade: int) -> None:
        """Take in what was played."""
        one = np.array([card])
        now = float(self._tempo(one, day)[0])
        storage, retrieval = self._stepped(one, day, success=grade >= 0)
        near = exp(-0.5 * ((float(np.log2(bpm)) - now) / 0.3) ** 2)
        self.plateau[card] -= near * 0.8 ** int(self.takes_today[card])
        if self.plateau[card] <= 0.0:
            room = float(np.clip((self.roof[card] - self.hands[card]) / 0.25, 0.0, 1.0))
            self.hands[card] += self.gain[card] * room
            self.plateau[card] = self.rng.integers(1, 5)
        self.storage[card], self.retrieval[card] = storage[0], retrieval[0]
        self.last[card] = day

    def _stepped(
        self, cards: NDArray[np.int64], day: float, *, success: bool
    ) -> tuple[Floats, Floats]:
        r = self._retrieval(cards, day)
        share = 1.0 if success else 0.5
        storage = self.storage[cards] + 0.5 * share * (1.0 - r) / (1.0 + 0.2 * self.storage[cards])
        return storage, r + 0.6 * share * (1.0 - r)

    def cold_without(self, cards: NDArray[np.int64], day: float, ahead: Floats) -> Floats:
        """Return cold tempi without a take."""
        return np.stack([self._tempo(cards, day + a) for a in ahead], axis=1)

    def cold_after(
        self, cards: NDArray[np.int64], day: float, second: float, ahead: Floats
    ) -> Floats:
        """Return cold tempi after a take; a leap is foreseen by its share."""
        storage, retrieval = self._stepped(cards, day, success=True)
        share = 1.0 / np.maximum(1.0, np.ceil(self.plateau[cards]))
        room = np.clip((self.roof[cards] - self.hands[cards]) / 0.25, 0.0, 1.0)
        hands = self.hands[cards] + share * self.gain[cards] * room
        slow = 4.0 * np.exp(1.1 * storage) / self.nature.forgetting
        kept = retrieval[:, None] * np.exp(-ahead[None, :] / slow[:, None])
        result: Floats = hands[:, None] - self.depth * (1.0 - kept)
        return result
