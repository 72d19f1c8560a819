"""The simple habits that a scheduler has to beat at equal minutes.

All use the usual ladder: up five when clean, stay when steady, down five when not; from three
fifths of the goal, up to the goal.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from students import Floats
    from world import Practice, Session


class Ladder:
    """The metronome setting of every card."""

    def __init__(self, goals: Floats, *, open_ended: bool = False) -> None:
        self.top = np.full(len(goals), 400.0) if open_ended else goals
        self.goals = goals
        self.bpm = np.round(0.6 * goals)

    def visit(self, session: Session, card: int, takes: int) -> int | None:
        """Play some takes; return the last grade, None if there was no time for one."""
        last = None
        for _ in range(takes):
            grade = session.play(card, float(self.bpm[card]))
            if grade is None:
                break
            step = 5.0 * np.sign(grade)
            self.bpm[card] = min(self.top[card], max(20.0, self.bpm[card] + step))
            last = grade
        return last


class Rotate:
    """Through the sheet in order, round and round."""

    def __init__(self, goals: Floats, takes: int, *, open_ended: bool = False) -> None:
        self.ladder = Ladder(goals, open_ended=open_ended)
        self.takes, self.next = takes, 0

    def practise(self, session: Session) -> None:
        """Go on where yesterday stopped."""
        while self.ladder.visit(session, self.next, self.takes) is not None:
            self.next = (self.next + 1) % len(self.ladder.goals)


class Pick:
    """One take of a card chosen anew each time."""

    def __init__(self, goals: Floats, seed: int, *, weakest: bool) -> None:
        self.ladder, self.weakest = Ladder(goals), weakest
        self.rng = np.random.default_rng(seed)

    def practise(self, session: Session) -> None:
        """Choose at random, or what is furthest below its goal (not twice running)."""
        last = -1
        while True:
            if self.weakest:
                share = self.ladder.bpm / self.ladder.goals + self.rng.uniform(
                    0, 1e-6, len(self.ladder.bpm)
                )
                if last >= 0 and len(share) > 1:
                    share[last] = 9.0
                card = int(share.argmin())
            else:
                card = int(self.rng.integers(len(self.ladder.goals)))
            if self.ladder.visit(session, card, 1) is None:
                return
            last = card


class Intervals:
    """Fixed intervals that widen after a success: doubling without end, or boxes up to 32 days.

    What is due comes first, the longest overdue first; then new cards in order; then what is due
    soonest.
    """

    def __init__(self, goals: Floats, takes: int, *, longest: float, back: float) -> None:
        self.ladder, self.takes, self.longest, self.back = Ladder(goals), takes, longest, back
        self.wait = np.zeros(len(goals))
        self.due = np.full(len(goals), np.inf)
        self.begun = 0

    def practise(self, session: Session) -> None:
        """Work through what is due, then begin new cards."""
        played: set[int] = set()
        while True:
            card = self._choose(session.day, played)
            if card is None:
                return
            grade = self.ladder.visit(session, card, self.takes)
            if grade is None:
                return
            if card == self.begun:
                self.begun += 1
            played.add(card)
            longer = min(self.longest, 2.0 * self.wait[card]) if self.wait[card] else 1.0
            self.wait[card] = longer if grade >= 0 else self.back
            self.due[card] = session.day + self.wait[card]

    def _choose(self, day: int, played: set[int]) -> int | None:
        if self.due.min() <= day:
            return int(self.due.argmin())
        if self.begun < len(self.due):
            return self.begun
        later = [c for c in np.argsort(self.due, kind="stable") if int(c) not in played]
        return int(later[0]) if later else None


OPEN = "rotate open"
"""Rotation with one take each, on a ladder that goes on past the goal."""
HABITS: dict[str, Callable[[Floats, int], Practice]] = {
    "rotate 1": lambda goals, _: Rotate(goals, 1),
    "rotate 2": lambda goals, _: Rotate(goals, 2),
    "rotate 3": lambda goals, _: Rotate(goals, 3),
    OPEN: lambda goals, _: Rotate(goals, 1, open_ended=True),
    "doubling 1": lambda goals, _: Intervals(goals, 1, longest=1e9, back=1.0),
    "doubling 2": lambda goals, _: Intervals(goals, 2, longest=1e9, back=1.0),
    "doubling 3": lambda goals, _: Intervals(goals, 3, longest=1e9, back=1.0),
    "boxes 1": lambda goals, _: Intervals(goals, 1, longest=32.0, back=1.0),
    "boxes 2": lambda goals, _: Intervals(goals, 2, longest=32.0, back=1.0),
    "boxes 3": lambda goals, _: Intervals(goals, 3, longest=32.0, back=1.0),
    "random": lambda goals, seed: Pick(goals, seed, weakest=False),
    "weakest": lambda goals, seed: Pick(goals, seed, weakest=True),
}
