"""One practice day at the stand, without a screen.

What is played now and at which tempo, what was graded, what was taken back. How long is left is in
`stand_time`, what comes next in `day_ahead`. The promise is the day's minutes, so a stand left
alone pauses itself.

Phases: *ready* (the pattern is up), *playing* (count-in and click run), *grading* (the click has
ended and the grade is awaited), *paused*, *over*.

The box is asked between takes only, and may refuse: then takes wait in `Unsaved`. A card that has
left the box slides off, after the take that is running.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from drillbox.app.day_ahead import DayAhead
from drillbox.app.stand_time import StandTime
from drillbox.base.tempi import ASKED
from drillbox.box.practice import CHECK_STEPS, checked_bpm
from drillbox.memory import Grade
from drillbox.plan import next_bpm, take_shape

if TYPE_CHECKING:
    from collections.abc import Mapping

    from drillbox.app.day_order import Visit
    from drillbox.app.unsaved import Unsaved
    from drillbox.base.clock import Clock
    from drillbox.box import Box
    from drillbox.box.views import CardView
    from drillbox.plan import TakeShape


@dataclass(frozen=True, slots=True)
class Given:
    """A grade given in this sitting, and where the stand was when it was given."""

    visit: Visit
    take_number: int
    bpm: int
    grade: Grade


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
        Takes on their way into the box; the sitting adds to them and takes from them.
    tempo_check
        Begin with a tempo check, the most telling cards and each on up while it is easy; then the
        day's plan.
    first
        The card to begin with, in the plan or not; empty for the plan's own first.

    Attributes
    ----------
    is_first
        Whether nothing at all was played before.
    bpm, asked_bpm
        The tempo of the take on the stand, and what it was before the player moved it.
    passes_heard
        Whole passes of the take on the stand that have sounded; the screen counts them.
    in_place_of
        The grade that the last one replaced, after an undo; None otherwise.
    left_the_box
        Title of the card that slid off last because it had left the box; empty after another grade.
    """

    def __init__(
        self,
        box: Box,
        clock: Clock,
        *,
        minutes: int,
        unsaved: Unsaved,
        tempo_check: bool = False,
        first: str = "",
    ) -> None:
        self.box = box
        self.clock = clock
        self.unsaved = unsaved
        self.phase = Phase.READY
        self.visit: Visit | None = None
        self.bpm = self.asked_bpm = 0
        self.take_number = 1
        self.passes_heard = 0
        self.left_the_box = ""
        self.in_place_of: Grade | None = None
        self._put_off: list[Visit] = []
        self._takes_said: dict[str, int] = {}
        self._given: list[Given] = []
        self._taken_back: Grade | None = None
        self.is_first = box.nothing_played
        day = box.day(clock.now())
        self._time = StandTime(clock, minutes=minutes, spent=day.seconds + unsaved.seconds)
        played = [take.card_id for take in day.takes]
        self._ahead = DayAhead(
            box,
            clock,
            minutes=minutes,
            time=self._time,
            unsaved=unsaved,
            played=played + [take.card_id for take in unsaved.takes],
            tempo_check=tempo_check,
        )
        self._put_up(self._ahead.first(first) or self._ahead.next(None))

    @property
    def can_grade(self) -> bool:
        """Whether the take may be graded: it is over, or one whole pass has sounded."""
        begun = self.phase in {Phase.PLAYING, Phase.PAUSED} and self.passes_heard > 0
        return self.phase is Phase.GRADING or begun

    @property
    def seconds_left(self) -> float:
        """Seconds of the day's minutes that are left; never below zero."""
        return self._time.left

    @property
    def card(self) -> CardView:
        """The card on the stand, as it was when it was put up."""
        if self.visit is None:
            raise LookupError("the sitting is over")
        return self.visit.card

    @property
    def takes(self) -> int:
        """How many takes the card on the stand has today; 0 where that hangs on their grades.

        What was said first stands, unless more were played or are to come in this visit. In a
        tempo check a card goes on up for as long as it is easy, so nobody knows.
        """
        visit = self.visit
        if visit is None or self._ahead.checking:
            return 0
        said = self._takes_said.setdefault(self.card.card_id, visit.takes)
        return max(said, visit.played + visit.item.takes, self.take_number)

    @property
    def last_grade(self) -> Grade | None:
        """The grade of the take before, where this one belongs to the same visit."""
        visit = self.visit
        if visit is None or self.take_number <= visit.played + 1 or not self._given:
            return None
        return self._given[-1].grade

    @property
    def bpm_before(self) -> int:
        """The tempo of the last take that was graded here; the one on the stand where none was."""
        return self._given[-1].bpm if self._given else self.bpm

    @property
    def following(self) -> Visit | None:
        """The visit to another card that would be next if the one on the stand were over now."""
        return self._ahead.following(self.visit)

    def tempo_after(self, grade: Grade) -> int:
        """Return the tempo at which the card on the stand goes on after a grade."""
        ceiling = self.visit.item.ceiling_bpm if self.visit else ASKED.most
        if self._ahead.checking and grade in CHECK_STEPS:
            return min(checked_bpm(self.bpm, grade), max(int(ceiling), self.bpm))
        return next_bpm(self.bpm, grade, ceiling)

    @property
    def shape(self) -> TakeShape:
        """Count-in and passes of the take on the stand."""
        pattern = self.card.pattern
        return take_shape(pattern.seconds(60.0), pattern.bars, self.bpm)

    def start(self) -> None:
        """Begin the take on the stand, or go on after a pause."""
        self.touch()
        if self.phase is Phase.PAUSED:
            self._time.go_on()
            self.phase = Phase.READY
        if self.phase is Phase.READY:
            self.passes_heard = 0
            self.phase = Phase.PLAYING

    def finished_playing(self) -> None:
        """Take note that the last pass is over."""
        if self.phase is Phase.PLAYING:
            self.touch()
            self.phase = Phase.GRADING

    def pause(self) -> None:
        """Stop the clock.

        A take that was running may still be graded once a whole pass has sounded; otherwise it
        starts again from its count-in.
        """
        if self.phase in {Phase.PAUSED, Phase.OVER}:
            return
        self._time.stop()
        self.phase = Phase.PAUSED

    def touch(self) -> None:
        """Note a sign of life."""
        self._time.touch()

    def rest_if_left_alone(self) -> bool:
        """Stop the time of a stand that nobody has touched for long; a grade is still awaited.

        The time nobody was there is not billed.
        """
        if self.phase not in {Phase.READY, Phase.GRADING} or not self._time.left_alone:
            return False
        self._time.stop_when_last_touched()
        if self.phase is Phase.READY:
            self.phase = Phase.PAUSED
        return True

    def grade(
        self, grade: Grade, *, source: str = "self", measured: Mapping[str, Any] | None = None
    ) -> bool:
        """Grade the take on the stand; returns whether it is on disk.

        Only a take that `can_grade` is graded; otherwise nothing happens and False comes back.
        `source` says what gave the grade, `measured` what was measured of the take.
        """
        if self.visit is None or not self.can_grade:
            return False
        self.touch()
        seconds = self._time.bill()
        saved = self.unsaved.save(
            self.card.card_id,
            bpm=self.bpm,
            grade=grade,
            at=self.clock.now(),
            seconds=seconds,
            source=source,
            measured=measured,
        )
        self._given.append(Given(self.visit, self.take_number, self.bpm, grade))
        self._ahead.order.played(self.card.card_id)
        self.in_place_of, self._taken_back, self._put_off = self._taken_back, None, []
        self.phase = Phase.READY
        self._after(grade)
        return saved

    def undo(self) -> str:
        """Take back what was done last, a grade or a card put off; return what was, in words.

        A grade is asked for again; where its card has left the box it is only taken back. Empty if
        there is nothing of today to take back.
        """
        self.touch()
        if self._put_off:
            return self._bring_back(self._put_off.pop())
        last = self.unsaved.take_back() or self.box.undo(at=self.clock.now())
        if last is None:
            return ""
        self._time.take_back(last.seconds)
        self._taken_back = Grade(last.grade)
        self._ahead.order.took_back()
        self._ahead.look()
        self._ask_again(last.card_id, round(last.bpm))
        return f"Took back {self._taken_back.label} at {last.bpm:.0f}."

    def _ask_again(self, card_id: str, bpm: int) -> None:
        given = self._given.pop() if self._given else None
        if given and (given.visit.card.card_id, given.bpm) == (card_id, bpm):
            again, number = given.visit, given.take_number
        elif visit := self._ahead.again(card_id, bpm):
            again, number = visit, visit.takes
        else:
            self._put_up_next()
            return
        self._put_up(again)
        self.bpm, self.asked_bpm, self.take_number = bpm, bpm, number
        self.phase = Phase.GRADING

    def _bring_back(self, visit: Visit) -> str:
        self._ahead.skipped -= {visit.card.card_id}
        self._ahead.look()
        self._put_up(visit)
        return f"“{visit.card.title}” is back on the stand."

    def skip(self) -> None:
        """Leave this card for today and go to the next."""
        if self.visit is not None and self.phase is not Phase.OVER:
            self.touch()
            self._ahead.skipped |= {self.card.card_id}
            self._put_off.append(self.visit)
            self._ahead.look()
            self._put_up_next()

    def nudge(self, step: int) -> None:
        """Move the tempo of a take that is not running yet."""
        if self.phase is Phase.READY:
            self.touch()
            self.bpm = round(ASKED.nearest(self.bpm + step))

    def look_around(self) -> bool:
        """Let a card slide off that has left the box meanwhile; returns whether another one is up.

        Never in the middle of a take: its grade is still wanted.
        """
        if self.phase not in {Phase.READY, Phase.PAUSED} or not self._has_left():
            return False
        self.left_the_box = self.card.title
        self._ahead.look()
        self._put_up_next()
        return True

    def _after(self, grade: Grade) -> None:
        self.left_the_box = self.card.title if self._has_left() else ""
        self._ahead.look()
        visit = self.visit
        if self.left_the_box or visit is None or not self._visit_goes_on(visit):
            self._put_up_next()
            return
        self.bpm = self.asked_bpm = self.tempo_after(grade)
        self.take_number += 1
        self.phase = Phase.READY
        owed = self._ahead.order.owed_seconds(self._ahead.skipped)
        if self.shape.seconds > self.seconds_left - owed:
            self._put_up_next()

    def _visit_goes_on(self, visit: Visit) -> bool:
        wanted = self.take_number < visit.played + visit.item.takes
        return wanted and (self._ahead.checking or not self._ahead.order.last_has_enough)

    def _has_left(self) -> bool:
        return self.visit is not None and self._ahead.has_left(self.visit.card.card_id)

    def _put_up_next(self) -> None:
        self._put_up(self._ahead.next(self.visit))

    def _put_up(self, visit: Visit | None) -> None:
        self.visit = visit
        self.passes_heard = 0
        if visit is None:
            self.phase = Phase.OVER
            return
        played = self._ahead.order.takes_of(visit.card.card_id)
        self.take_number = max(played, visit.played) + 1
        self.bpm = visit.item.bpm
        mine = [one for one in self._given if one.visit.card.card_id == visit.card.card_id]
        if mine and played > visit.played:  # planned before these takes, and not since
            self.bpm = next_bpm(mine[-1].bpm, mine[-1].grade, visit.item.ceiling_bpm)
        self.asked_bpm = self.bpm
        self._ahead.put_up(visit)
        if self.phase is not Phase.PAUSED:
            self.phase = Phase.READY
