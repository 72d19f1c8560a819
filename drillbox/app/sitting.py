"""One practice day at the stand, without a screen.

What is played now, how long is left, what comes next.

The promise is the day's minutes, so time runs whenever the stand is open and not paused: reading a
new pattern costs what it costs, and each take is billed from the grade before it to its own. A
stand left alone pauses itself.

Phases: *ready* (the pattern is up), *playing* (count-in and click run), *grading* (the click has
ended and the grade is awaited), *paused*, *over*. A take that could not be saved is kept and tried
again.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from drillbox.app.unsaved import Unsaved, save_all
from drillbox.plan import next_bpm, take_shape

if TYPE_CHECKING:
    from drillbox.base.clock import Clock
    from drillbox.box import Box
    from drillbox.box.views import CardView
    from drillbox.memory import Grade
    from drillbox.plan import Item, TakeShape

LEFT_ALONE_SECONDS = 120.0
"""A stand that is ready for so long without a key has been left: its time stops."""


class Phase(StrEnum):
    """What the stand is doing."""

    READY = "ready"
    PLAYING = "playing"
    GRADING = "grading"
    PAUSED = "paused"
    OVER = "over"


class Sitting:
    """The day's course from the first take to the wrap-up.

    Parameters
    ----------
    box, clock
        What is played from, and the time.
    minutes
        Length of the day's practice.
    unsaved
        Takes the disk has refused so far; the sitting adds to them and takes from them.
    sounding
        Begin with a sounding: one take each of the most telling cards, then the day's plan.
    """

    def __init__(
        self,
        box: Box,
        clock: Clock,
        *,
        minutes: int,
        unsaved: list[Unsaved],
        sounding: bool = False,
    ) -> None:
        self.box = box
        self.clock = clock
        self.minutes = minutes
        self.unsaved = unsaved
        self._sounding = sounding
        self.phase = Phase.READY
        self.item: Item | None = None
        self.coming: tuple[Item, ...] = ()
        self.bpm = 0
        self.take_number = 1
        self._skipped: frozenset[str] = frozenset()
        self._mark: float | None = clock.seconds()
        self._banked = 0.0
        self._touched = clock.seconds()
        self._spent = box.day(clock.now()).seconds + sum(take.seconds for take in unsaved)
        self._move_on()

    @property
    def seconds_left(self) -> float:
        """Seconds of the day's minutes that are left; never below zero."""
        return max(0.0, self.minutes * 60 - self._spent - self._unbilled())

    @property
    def card(self) -> CardView:
        """The card on the stand."""
        if self.item is None:
            raise LookupError("the sitting is over")
        return self.box.card(self.item.card_id, at=self.clock.now())

    @property
    def shape(self) -> TakeShape:
        """Count-in and passes of the take on the stand."""
        pattern = self.card.pattern
        return take_shape(pattern.seconds(60.0), pattern.bars, self.bpm)

    def start(self) -> None:
        """Begin the take on the stand, or go on after a pause."""
        self.touch()
        if self.phase is Phase.PAUSED:
            self._mark = self.clock.seconds()
            self.phase = Phase.READY
        if self.phase is Phase.READY:
            self.phase = Phase.PLAYING

    def finished_playing(self) -> None:
        """Take note that the last pass is over."""
        if self.phase is Phase.PLAYING:
            self.phase = Phase.GRADING

    def pause(self) -> None:
        """Stop the clock.

        A take that was running is given up and starts again from its count-in.
        """
        if self.phase in {Phase.PAUSED, Phase.OVER}:
            return
        self._banked = self._unbilled()
        self._mark = None
        self.phase = Phase.PAUSED

    def touch(self) -> None:
        """Note a sign of life."""
        self._touched = self.clock.seconds()

    def rest_if_left_alone(self) -> bool:
        """Pause a stand that nobody has touched for long.

        The time nobody was there is not billed.
        """
        idle = self.clock.seconds() - self._touched
        if self.phase is not Phase.READY or idle < LEFT_ALONE_SECONDS:
            return False
        self.pause()
        self._banked = max(0.0, self._banked - idle)
        return True

    def grade(self, grade: Grade) -> bool:
        """Grade the take on the stand; returns whether it is on disk.

        Only a take that was begun can be graded; otherwise nothing happens and False comes back.
        """
        if self.item is None or self.phase not in {Phase.PLAYING, Phase.GRADING}:
            return False
        self.touch()
        take = Unsaved(
            self.item.card_id, self.bpm, grade, self.clock.now(), round(self._unbilled(), 1)
        )
        self._banked, self._mark = 0.0, self.clock.seconds()
        self._spent += take.seconds
        self.unsaved.append(take)
        saved = self.retry()
        self._after(take)
        return saved

    def retry(self) -> bool:
        """Try again to save what the disk refused; returns whether all of it is on disk now."""
        return save_all(self.box, self.unsaved)

    def undo(self) -> bool:
        """Take the last grade of the day back and ask for it again.

        Returns whether there was one.
        """
        self.touch()
        if self.unsaved:
            last = self.unsaved.pop()
            card_id, bpm, seconds = last.card_id, last.bpm, last.seconds
        else:
            taken = self.box.undo(at=self.clock.now())
            if taken is None:
                return False
            card_id, bpm, seconds = taken.card_id, taken.bpm, taken.seconds
        self._spent = max(0.0, self._spent - seconds)
        self._banked += seconds
        if self._mark is None:
            self._mark = self.clock.seconds()
        self._look_ahead()
        self._put_up(self.box.item_for(card_id, bpm=bpm))
        self.phase = Phase.GRADING
        return True

    def skip(self) -> None:
        """Leave this card for today and go to the next."""
        if self.item is not None and self.phase is not Phase.OVER:
            self.touch()
            self._skipped |= {self.item.card_id}
            self._move_on()

    def nudge(self, step: int) -> None:
        """Move the tempo of a take that is not running yet."""
        if self.phase is Phase.READY:
            self.touch()
            self.bpm = min(max(self.bpm + step, 20), 400)

    def _unbilled(self) -> float:
        running = 0.0 if self._mark is None else self.clock.seconds() - self._mark
        return self._banked + running

    def _after(self, take: Unsaved) -> None:
        item = self.item
        self._look_ahead()
        if item is None or self.take_number >= item.takes:
            self._put_up(self.coming[0] if self.coming else None)
            return
        bpm = next_bpm(round(take.bpm), take.grade, self.card.goal_bpm)
        self.bpm, self.take_number = bpm, self.take_number + 1
        self.phase = Phase.READY
        if self.shape.seconds > self.seconds_left:
            self._put_up(self.coming[0] if self.coming else None)

    def _move_on(self) -> None:
        self._look_ahead()
        self._put_up(self.coming[0] if self.coming else None)

    def _look_ahead(self) -> None:
        at, minutes = self.clock.now(), self.minutes
        elapsed = self._unbilled() + sum(take.seconds for take in self.unsaved)
        without = self._skipped | {take.card_id for take in self.unsaved}
        if self._sounding:
            self.coming = self.box.sounding(at, minutes, elapsed=elapsed, without=without).items
            self._sounding = bool(self.coming)
        if not self._sounding:
            self.coming = self.box.plan(at, minutes, elapsed=elapsed, without=without).items

    def _put_up(self, item: Item | None) -> None:
        self.item = item
        self.take_number = 1
        if item is None:
            self.phase = Phase.OVER
            return
        self.bpm = item.bpm
        self.coming = tuple(each for each in self.coming if each.card_id != item.card_id)
        if self.phase is not Phase.PAUSED:
            self.phase = Phase.READY
