"""Those who practise by a plan: drillbox, and an oracle that sees the student's true state."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from drillbox.base.now import Now
from drillbox.memory import Belief, Evidence, Grade, Parameters, outlook, prior, update
from drillbox.memory.belief import lifted
from drillbox.memory.learning import learn
from drillbox.memory.level import with_level
from drillbox.memory.relatives import guess_first_tempi
from drillbox.memory.replay import replay
from drillbox.memory.replay_columns import Takes
from drillbox.plan import Candidate, Day, Done, make_plan, next_bpm

if TYPE_CHECKING:
    from students import Floats, Student
    from world import Cell, Session

EPOCH_DAY = 20000
FIRST_DAY = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(days=EPOCH_DAY)
ORDINAL = 739163
MOST_NEW = 8
RELEARNED_ON = frozenset({10, 20, 35, 55, 80})


class Drillbox:
    """The scheduler under test, through its public face only."""

    def __init__(self, cell: Cell, *, learns: bool = False) -> None:
        self.p = Parameters()
        self.learns = learns
        self.log: list[tuple[float, ...]] = []
        self.calls: list[tuple[float, bool]] = []
        self.goals = cell.goals()
        self.families = cell.families()
        self.minutes = cell.minutes
        self.days = cell.practice_days()
        self.priors = [prior(self.p, bpm=0.65 * g, sd=0.35) for g in self.goals]
        self.beliefs: list[Belief] = list(self.priors)
        self.level = 0.0
        self.names = [f"{i:04x}" for i in range(len(self.goals))]
        self.box = [self._candidate(i, b) for i, b in enumerate(self.beliefs)]

    def practise(self, session: Session) -> None:
        """Plan the day, play the plan, and plan again while there is time."""
        if self.learns and session.day in RELEARNED_ON:
            self._relearn()
        self._guess()
        coming = [d for d in self.days if d > session.day]
        wait = float(coming[0] - session.day) if coming else 1.0
        done: list[Done] = []
        while True:
            moment = FIRST_DAY + timedelta(days=session.day, seconds=session.second)
            now = Now.of(moment, day_ends_at=0)
            minutes = session.limit / 60.0
            day = Day(now, minutes, session.second, wait, tuple(done), MOST_NEW)
            plan = make_plan(self._candidates(), day, self.p)
            before = session.takes
            for item in plan.items[:3]:
                card = int(item.card_id, 16)
                self._visit(session, card, item.bpm, item.takes, done)
                if self.beliefs[card].takes_that_day == self.beliefs[card].takes:
                    break
            if session.takes == before:
                return

    def _visit(self, session: Session, card: int, bpm: int, takes: int, done: list[Done]) -> None:
        for _ in range(takes):
            seen = session.play(card, bpm)
            if seen is None:
                return
            grade = Grade(seen)
            at = EPOCH_DAY + session.day + session.second / 86400.0
            evidence = Evidence(at, ORDINAL + session.day, bpm, grade)
            if self.beliefs[card].takes and evidence.day != self.beliefs[card].day:
                expected = outlook(lifted(self.beliefs[card], self.level), at, self.p, hold_bpm=bpm)
                self.calls.append((expected.p_hold, grade >= Grade.STEADY))
            evidence = with_level(self.beliefs[card], evidence, self.level, self.p)
            told, self.level = self.level, evidence.level_after or 0.0
            self.log.append((card, at, evidence.day, float(bpm), int(grade), told, self.level))
            self.beliefs[card] = update(self.beliefs[card], evidence, self.p)
            done.append(Done(self.names[card], bpm, grade))
            bpm = next_bpm(bpm, grade, 400.0)

    def _guess(self) -> None:
        """Expect of the cards not played yet what those played let expect, as the box does.

        Here nothing is known of a pattern but its goal, so that only the common level is guessed.
        """
        played = [i for i, b in enumerate(self.beliefs) if b.takes]
        new = [i for i, b in enumerate(self.beliefs) if not b.takes]
        if not played or not new:
            return
        base = np.log2(self.p.first_bpm / (0.65 * self.goals))
        now = self._lifted()
        seen = [replace(now[i], mu=now[i].mu + base[i]) for i in played]
        none = np.zeros((1, 1))
        guess = guess_first_tempi(seen, np.zeros((len(seen), 1)), none, self.p)[0]
        for i in new:
            bpm = guess.bpm * 0.65 * self.goals[i] / self.p.first_bpm
            self.beliefs[i] = prior(self.p, bpm=bpm, sd=guess.sd)

    def _lifted(self) -> list[Belief]:
        return [lifted(b, self.level) for b in self.beliefs]

    def _relearn(self) -> None:
        takes = Takes.of(*zip(*self.log, strict=True))
        self.p = learn(self.priors, takes, Parameters()).parameters
        self.beliefs = replay(self.priors, takes, self.p)

    def _candidates(self) -> list[Candidate]:
        """Return the box as the plan sees it; what did not move since is not made again."""
        for i, b in enumerate(self._lifted()):
            if b is not self.box[i].belief:
                self.box[i] = self._candidate(i, b)
        return list(self.box)

    def _candidate(self, i: int, belief: Belief) -> Candidate:
        goal, family = float(self.goals[i]), f"f{self.families[i]}"
        return Candidate(self.names[i], "", belief, goal, 4.0, family=family, order=i)


class Oracle:
    """One step ahead with the truth in hand: always the take that adds most true worth a second.

    Worth is looked at on the days ahead, with the student's own laws: a steep step at the goal and
    a soft slope towards it.
    """

    def __init__(
        self,
        cell: Cell,
        student: Student,
        *,
        soft: float = 0.4,
        width: float = 0.3,
        reach: float = 12.0,
    ) -> None:
        self.goals = cell.goals()
        self.line = np.log2(self.goals - 2.5)
        self.student = student
        self.soft, self.width = soft, width
        edges = np.array([0.0, 1.0, 2.0, 4.0, 7.0, 11.0, 16.0, 22.0, 30.0])
        edges = edges[edges <= reach] if reach < 30 else edges
        self.ahead = 0.5 * (edges[1:] + edges[:-1]) + 0.5
        self.weights = np.diff(edges)

    def practise(self, session: Session) -> None:
        """Take by take."""
        everything = np.arange(len(self.goals))
        density = self._density(session, everything)
        while True:
            card = int(density.argmax())
            cold = self.student.right_tempo(card, float(session.day), session.second)
            bpm = float(min(self.goals[card], max(20.0, round(2.0 ** (cold - 0.03)))))
            if session.play(card, bpm) is None:
                return
            density[card] = self._density(session, np.array([card]))[0]

    def _density(
        self, session: Session, cards: np.ndarray[tuple[int], np.dtype[np.int64]]
    ) -> Floats:
        if session.day != self.student.today:
            self.student.today = float(session.day)
            self.student.takes_today[:] = 0
        after = self.student.cold_after(cards, float(session.day), session.second, self.ahead)
        without = self.student.cold_without(cards, float(session.day), self.ahead)
        gain = (self._worth(after, cards) - self._worth(without, cards)) @ self.weights
        cost = np.array([session.cost(int(c), 0.8 * self.goals[c]) for c in cards])
        result: Floats = gain / cost
        return result

    def _worth(self, cold: Floats, cards: np.ndarray[tuple[int], np.dtype[np.int64]]) -> Floats:
        off = cold - self.line[cards, None]
        steep = 1.0 / (1.0 + np.exp(np.clip(-1.7 * (off - 0.3 * self.width) / self.width, -50, 50)))
        soft = 1.0 / (1.0 + np.exp(np.clip(-1.7 * off / 0.45, -50, 50)))
        result: Floats = (1.0 - self.soft) * steep + self.soft * soft
        return result
