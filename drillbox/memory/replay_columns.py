"""A take log and the beliefs about many cards as columns, for replaying all of it at once."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from drillbox.memory.belief import MOST_LIFT, Belief, Evidence
from drillbox.memory.grade import Grade
from drillbox.memory.mixture import Moments

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Takes:
    """A take log as columns, in the order in which it is to be believed.

    Parameters
    ----------
    card
        Index of the card in the list of beliefs.
    at, day, bpm, grade, level, level_after, measured
        As in `drillbox.memory.Evidence`; nan where no level was written down.
    """

    card: Ints
    at: Floats
    day: Ints
    bpm: Floats
    grade: Ints
    level: Floats
    level_after: Floats
    measured: NDArray[np.bool_]

    @classmethod
    def of(  # noqa: PLR0917 - the columns of a take, in the order of `Evidence`
        cls,
        card: ArrayLike,
        at: ArrayLike,
        day: ArrayLike,
        bpm: ArrayLike,
        grade: ArrayLike,
        level: ArrayLike | None = None,
        level_after: ArrayLike | None = None,
        measured: ArrayLike | None = None,
    ) -> Takes:
        """Build the columns from anything numpy reads."""
        whole, real = np.int64, np.float64
        unknown = np.full(np.shape(card), np.nan)
        return cls(
            np.asarray(card, whole),
            np.asarray(at, real),
            np.asarray(day, whole),
            np.asarray(bpm, real),
            np.asarray(grade, whole),
            unknown if level is None else np.asarray(level, real),
            unknown if level_after is None else np.asarray(level_after, real),
            np.isfinite(unknown) if measured is None else np.asarray(measured, np.bool_),
        )

    def rows(self, which: Ints) -> Takes:
        """Return some of the takes."""
        return Takes(*(getattr(self, field.name)[which] for field in fields(self)))

    def evidence(self, k: int) -> Evidence:
        """Return one take."""
        grade, level, after = self.grade[k], float(self.level[k]), float(self.level_after[k])
        return Evidence(
            float(self.at[k]),
            int(self.day[k]),
            float(self.bpm[k]),
            Grade(int(grade)),
            None if np.isnan(level) else level,
            None if np.isnan(after) else after,
            bool(self.measured[k]),
        )


@dataclass(slots=True)
class BeliefColumns:
    """The beliefs about all cards, as columns.

    The fields are those of `Belief` in its order, `today` its takes of that day; nan and -1 stand
    for the moment and the day of a card never played.
    """

    mu: Floats
    ln_s: Floats
    var_mu: Floats
    cov: Floats
    var_ln_s: Floats
    at: Floats
    day: Ints
    today: Ints
    takes: Ints
    apart: Floats
    recent: Floats
    level: Floats
    streak: Ints

    @classmethod
    def of(cls, beliefs: Sequence[Belief]) -> BeliefColumns:
        """Return some beliefs as columns."""
        rows = [(b.mu, b.ln_s, b.var_mu, b.cov, b.var_ln_s) for b in beliefs]
        real = np.array(rows, np.float64).reshape(-1, 5).T.copy()
        return cls(
            real[0],
            real[1],
            real[2],
            real[3],
            real[4],
            np.array([np.nan if b.at is None else b.at for b in beliefs], np.float64),
            np.array([-1 if b.day is None else b.day for b in beliefs], np.int64),
            np.array([b.takes_that_day for b in beliefs], np.int64),
            np.array([b.takes for b in beliefs], np.int64),
            np.array([b.apart for b in beliefs], np.float64),
            np.array([b.recent for b in beliefs], np.float64),
            np.array([b.level for b in beliefs], np.float64),
            np.array([b.streak for b in beliefs], np.int64),
        )

    @classmethod
    def room(cls, cards: int) -> BeliefColumns:
        """Return columns to be written to."""
        real, whole = np.empty((9, cards)), np.empty((4, cards), np.int64)
        columns: list[Any] = [*real[:6], *whole[:3], *real[6:], whole[3]]
        return cls(*columns)

    def rows(self, cards: Ints) -> BeliefColumns:
        """Return the beliefs about some of the cards."""
        return BeliefColumns(*(getattr(self, field.name)[cards] for field in fields(self)))

    def write(self, cards: Ints, new: BeliefColumns) -> None:
        """Put new beliefs in the place of those about some of the cards."""
        for field in fields(self):
            getattr(self, field.name)[cards] = getattr(new, field.name)

    @property
    def moments(self) -> Moments[Floats]:
        """The means, variances and covariances."""
        return Moments(self.mu, self.ln_s, self.var_mu, self.cov, self.var_ln_s)

    def gap(self, at: Floats) -> Floats:
        """Return the days since each card's last take; none for a card never played."""
        return np.where(self.takes > 0, np.maximum(0.0, at - np.nan_to_num(self.at)), 0.0)

    def first_of_day(self, day: Ints) -> NDArray[np.bool_]:
        """Return whether a take on a practice day is the card's first of it."""
        first: NDArray[np.bool_] = (self.takes == 0) | (day > self.day)
        return first

    def risen(self, level: Floats) -> Floats:
        """Return where the player's level stands for each card, where it is told."""
        return np.where(np.isnan(level) | (self.takes == 0), self.level, level)

    def rise(self, level: Floats) -> Floats:
        """Return by how much the player's level moves what is believed, in octaves."""
        return np.clip(self.risen(level) - self.level, -MOST_LIFT, MOST_LIFT)

    def lifted(self, level: Floats) -> BeliefColumns:
        """Return the beliefs with the player's level elsewhere, where it is known."""
        return replace(self, mu=self.mu + self.rise(level), level=self.risen(level))

    def beliefs(self) -> list[Belief]:
        """Return the beliefs about all the cards."""
        return [self.belief(i) for i in range(len(self.mu))]

    def belief(self, i: int) -> Belief:
        """Return the belief about one card."""
        new = self.takes[i] == 0
        return Belief(
            float(self.mu[i]),
            float(self.ln_s[i]),
            float(self.var_mu[i]),
            float(self.cov[i]),
            float(self.var_ln_s[i]),
            None if new else float(self.at[i]),
            None if new else int(self.day[i]),
            int(self.today[i]),
            int(self.takes[i]),
            float(self.apart[i]),
            float(self.recent[i]),
            float(self.level[i]),
            int(self.streak[i]),
        )
