"""A box whose plans a test writes, and what the sitting makes of them.

Its cards have names of one letter, a to f; their ids are that letter sixteen times.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING, cast

from drillbox.app.sitting import Phase, Sitting
from drillbox.app.unsaved import Unsaved
from drillbox.errors import BoxError, UnknownCardError
from drillbox.plan import Item, Part
from drillbox.rhythm import parse

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import datetime

    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.box.views import CardView
    from drillbox.memory import Grade
    from drillbox.store import TakeRow

PATTERN = parse("snare: >2 >4 (e)")
SECONDS = 100.0
"""Of a planned visit, whatever its takes."""


class ScriptedBox:
    """A box that plans what a test says.

    Attributes
    ----------
    wanted
        The cards of the plan, in order, and how many takes each is to have today; a card that has
        had them is planned no more.
    checks
        The cards of a tempo check, in order.
    crowded
        Cards that a plan leaves out unless no other card may come.
    known
        Cards that were played on earlier days.
    gone
        Cards that have left the box.
    refuses
        Whether it refuses whatever it is asked.
    asked
        The seconds not yet in any take and the cards left out, of each plan that was asked for.
    """

    nothing_played = False

    def __init__(self, clock: ManualClock, wanted: dict[str, int]) -> None:
        self.clock, self.wanted = clock, wanted
        self.checks = self.crowded = self.known = ""
        self.gone: set[str] = set()
        self.refuses = False
        self.ceiling = 200.0
        self.bpm = 80
        self.seconds_of: dict[str, float] = {}
        self.log: list[TakeRow] = []
        self.asked: list[tuple[float, frozenset[str]]] = []

    def _answer(self) -> None:
        if self.refuses:
            raise BoxError("held")

    def day(self, now: datetime) -> SimpleNamespace:
        """Return what was played."""
        del now
        self._answer()
        return SimpleNamespace(takes=self.log, seconds=sum(take.seconds for take in self.log))

    def entries(self) -> set[str]:
        """Return the cards that are there."""
        self._answer()
        return {name * 16 for name in {*self.wanted, *self.checks, "f"} - self.gone}

    def card(self, card_id: str, *, at: datetime) -> CardView:
        """Return a card."""
        del at
        self._answer()
        if card_id[0] in self.gone:
            raise UnknownCardError(card_id)
        name = card_id[0]
        takes = self._played(name) + 5 * (name in self.known)
        view = SimpleNamespace(card_id=card_id, title=f"the {name}", pattern=PATTERN, takes=takes)
        return cast("CardView", view)

    def _played(self, name: str) -> int:
        return sum(take.card_id[0] == name for take in self.log)

    def plan(
        self, at: datetime, minutes: int, *, elapsed: float, without: Collection[str]
    ) -> SimpleNamespace:
        """Return the cards that have takes left."""
        del at, minutes
        self._answer()
        off = {card_id[0] for card_id in without}
        self.asked.append((elapsed, frozenset(off)))
        left = {card: takes - self._played(card) for card, takes in self.wanted.items()}
        kept = [one for one in left if left[one] > 0 and one not in off | self.gone]
        if len(kept) > 1:
            kept = [one for one in kept if one not in self.crowded]
        return SimpleNamespace(items=tuple(self._item(card, left[card]) for card in kept))

    def tempo_check(
        self, at: datetime, minutes: int, *, elapsed: float, without: Collection[str]
    ) -> SimpleNamespace:
        """Return the cards of the check that were not played."""
        del at, minutes, elapsed
        self._answer()
        off = {card_id[0] for card_id in without}
        kept = [one for one in self.checks if not self._played(one) and one not in off]
        return SimpleNamespace(items=tuple(self._item(card, 1) for card in kept))

    def chosen(self, card_id: str, *, at: datetime) -> Item:
        """Return a visit to a card that a player chose."""
        del at
        return self._item(card_id[0], 2)

    def item_for(self, card_id: str, *, bpm: float) -> Item:
        """Return a visit of one take."""
        self._answer()
        if card_id[0] in self.gone:
            raise UnknownCardError(card_id)
        return Item(card_id, round(bpm), 1, SECONDS, "again", Part.WORK)

    def _item(self, name: str, takes: int) -> Item:
        seconds = self.seconds_of.get(name, SECONDS)
        return Item(name * 16, self.bpm, takes, seconds, "because", Part.WORK, self.ceiling)

    def keep(self, take: TakeRow, *, at: datetime) -> None:
        """Keep a take."""
        del at
        self._answer()
        self.log.append(take)

    def undo(self, *, at: datetime) -> TakeRow | None:
        """Take the last take back."""
        del at
        self._answer()
        return self.log.pop() if self.log else None


def scripted(
    clock: ManualClock, *, minutes: int = 15, first: str = "", checks: str = "", **wanted: int
) -> tuple[Sitting, ScriptedBox]:
    """Return a sitting over a plan of some takes a card, and its box."""
    box = ScriptedBox(clock, wanted)
    box.checks = checks
    return sitting_over(box, minutes=minutes, first=first), box


def sitting_over(box: ScriptedBox, *, minutes: int = 15, first: str = "") -> Sitting:
    """Return a sitting over a box."""
    real = cast("Box", box)
    return Sitting(
        real,
        box.clock,
        minutes=minutes,
        unsaved=Unsaved(real, box.clock),
        tempo_check=bool(box.checks),
        first=first * 16,
    )


def play(sitting: Sitting, grade: Grade, *, seconds: float = 30.0) -> bool:
    """Play the take that is up to its end in some seconds, and grade it."""
    clock = cast("ManualClock", sitting.clock)
    sitting.start()
    clock.forward(seconds=seconds)
    sitting.finished_playing()
    return sitting.grade(grade)


def bring_to(sitting: Sitting, phase: Phase) -> None:
    """Bring a sitting whose take waits to another phase of that take, in no time."""
    if phase is not Phase.READY:
        sitting.start()
    if phase is Phase.PAUSED:
        sitting.pause()
    if phase is Phase.GRADING:
        sitting.finished_playing()


def up(sitting: Sitting) -> tuple[str, int, int]:
    """Return the card on the stand, which take of it waits, and its tempo."""
    return sitting.card.card_id[0], sitting.take_number, sitting.bpm


def phase_of(sitting: Sitting) -> Phase:
    """Return what the stand is doing now; a type checker would hold on to what it was."""
    return sitting.phase
