"""One practice day at the stand, without a screen.

What is played now, how long is left, what comes next.

The promise is the day's minutes, so time runs whenever the stand is open and not paused: reading a
new pattern costs what it costs, and each take is billed from the grade before it to its own. A
stand left alone pauses itself.

Phases: *ready* (the pattern is up), *playing* (count-in and click run), *grading* (the click has
ended and the grade is awaited), *paused*, *over*.

The box is asked between takes only, and may refuse: then what was planned before goes on from
memory, and takes wait in `Unsaved`. A card that has left the box slides off, after the take that is
running.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from drillbox.app.course import Course, Visit
from drillbox.base.tempi import ASKED
from drillbox.box.practice import CHECK_STEPS, checked_bpm
from drillbox.errors import BoxError, UnknownCardError
from drillbox.memory import Grade
from drillbox.plan import next_bpm, take_shape

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping
    from datetime import datetime

    from drillbox.app.unsaved import Unsaved
    from drillbox.base.clock import Clock
    from drillbox.box import Box
    from drillbox.box.views import CardView
    from drillbox.plan import Item, TakeShape

LEFT_ALONE_SECONDS = 120.0
"""A stand that is ready for so long without a key has been left: its time stops."""


LONGEST_TAKE = 86_400.0
"""The log refuses a longer one."""


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
        Begin with a tempo check: one take each of the most telling cards, then the day's plan.
    first
        The card to begin with, in the plan or not; empty for the plan's own first.

    Attributes
    ----------
    is_first
        Whether nothing at all was played before.
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
        self.minutes = minutes
        self.unsaved = unsaved
        self._checking = tempo_check
        self.phase = Phase.READY
        self.visit: Visit | None = None
        self.coming: tuple[Visit, ...] = ()
        self.bpm = 0
        self.take_number = 1
        self.passes_heard = 0
        self.left_the_box = ""
        self.in_place_of: Grade | None = None
        self._skipped: frozenset[str] = frozenset()
        self._put_off: list[Visit] = []
        self._takes_said: dict[str, int] = {}
        self._given: list[Given] = []
        self._taken_back: Grade | None = None
        self._mark: float | None = clock.seconds()
        self._banked = 0.0
        self._touched = clock.seconds()
        self.is_first = box.nothing_played
        day = box.day(clock.now())
        self._spent = day.seconds + unsaved.seconds
        played = [take.card_id for take in day.takes]
        self._course = Course(played + [take.card_id for take in unsaved.takes])
        self.coming = self._planned()
        self._promise()
        chosen = next((v for v in self.coming if v.card.card_id == first), None)
        if chosen is None and first:
            item = box.chosen(first, at=clock.now())
            chosen = self._visit(item, self._played_today(), item.takes)
        if chosen:
            self._put_up(chosen)
        else:
            self._put_up_next()

    @property
    def can_grade(self) -> bool:
        """Whether the take may be graded: it is over, or one whole pass has sounded."""
        begun = self.phase in {Phase.PLAYING, Phase.PAUSED} and self.passes_heard > 0
        return self.phase is Phase.GRADING or begun

    @property
    def seconds_left(self) -> float:
        """Seconds of the day's minutes that are left; never below zero."""
        return max(0.0, self.minutes * 60 - self._spent - self._unbilled())

    @property
    def card(self) -> CardView:
        """The card on the stand, as it was when it was put up."""
        if self.visit is None:
            raise LookupError("the sitting is over")
        return self.visit.card

    @property
    def takes(self) -> int:
        """How many takes the card on the stand has today.

        What was said first stands, unless more were played or are to come in this visit.
        """
        visit = self.visit
        if visit is None:
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
        if self._checking:
            return self._first_that_fits(self.coming)
        on_the_stand = {self.visit.card.card_id} if self.visit else set()
        return self._course.following(
            self.coming,
            without=self._skipped | on_the_stand,
            seconds_left=self.seconds_left,
        )

    def tempo_after(self, grade: Grade) -> int:
        """Return the tempo at which the card on the stand goes on after a grade."""
        ceiling = self.visit.item.ceiling_bpm if self.visit else ASKED.most
        if self._checking and grade in CHECK_STEPS:
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
            self._mark = self.clock.seconds()
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
        self._banked = self._unbilled()
        self._mark = None
        self.phase = Phase.PAUSED

    def touch(self) -> None:
        """Note a sign of life."""
        self._touched = self.clock.seconds()

    def rest_if_left_alone(self) -> bool:
        """Stop the time of a stand that nobody has touched for long; a grade is still awaited.

        The time nobody was there is not billed.
        """
        idle = self.clock.seconds() - self._touched
        waits = self.phase in {Phase.READY, Phase.GRADING} and self._mark is not None
        if not waits or idle < LEFT_ALONE_SECONDS:
            return False
        self._banked, self._mark = max(0.0, self._unbilled() - idle), None
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
        seconds = round(min(self._unbilled(), LONGEST_TAKE), 1)
        self._banked, self._mark = 0.0, self.clock.seconds()
        self._spent += seconds
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
        self._course.played(self.card.card_id)
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
        self._spent = max(0.0, self._spent - last.seconds)
        self._banked += last.seconds
        if self._mark is None:
            self._mark = self.clock.seconds()
        self._taken_back = Grade(last.grade)
        self._course.took_back()
        self._look_ahead()
        self._ask_again(last.card_id, round(last.bpm))
        return f"Took back {self._taken_back.label} at {last.bpm:.0f}."

    def _ask_again(self, card_id: str, bpm: int) -> None:
        given = self._given.pop() if self._given else None
        if given and (given.visit.card.card_id, given.bpm) == (card_id, bpm):
            again, number = given.visit, given.take_number
        else:
            try:
                item = self.box.item_for(card_id, bpm=bpm)
                again = self._visit(item, self._played_today(), item.takes)
            except (BoxError, UnknownCardError):
                self._put_up_next()
                return
            number = again.takes
        self._put_up(again)
        self.bpm, self.take_number = bpm, number
        self.phase = Phase.GRADING

    def _bring_back(self, visit: Visit) -> str:
        self._skipped -= {visit.card.card_id}
        self._look_ahead()
        self._put_up(visit)
        return f"“{visit.card.title}” is back on the stand."

    def skip(self) -> None:
        """Leave this card for today and go to the next."""
        if self.visit is not None and self.phase is not Phase.OVER:
            self.touch()
            self._skipped |= {self.card.card_id}
            self._put_off.append(self.visit)
            self._look_ahead()
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
        self._look_ahead()
        self._put_up_next()
        return True

    def _unbilled(self) -> float:
        running = 0.0 if self._mark is None else self.clock.seconds() - self._mark
        return self._banked + running

    def _after(self, grade: Grade) -> None:
        self.left_the_box = self.card.title if self._has_left() else ""
        self._look_ahead()
        visit = self.visit
        if self.left_the_box or visit is None or not self._visit_goes_on(visit):
            self._put_up_next()
            return
        self.bpm = self.tempo_after(grade)
        self.take_number += 1
        self.phase = Phase.READY
        owed = self._course.owed_seconds(self._skipped)
        if self.shape.seconds > self.seconds_left - owed:
            self._put_up_next()

    def _visit_goes_on(self, visit: Visit) -> bool:
        wanted = self.take_number < visit.played + visit.item.takes
        return wanted and (self._checking or not self._course.last_has_enough)

    def _has_left(self) -> bool:
        """Whether the card on the stand is in no deck any more; False if nobody can say."""
        if self.visit is None:
            return False
        try:
            return self.card.card_id not in self.box.entries()
        except BoxError:
            return False

    def _look_ahead(self) -> None:
        """Plan what is left; where the box refuses, what was planned before still stands."""
        try:
            self.coming = self._planned()
            self._promise()
            self._course.keep_only(self.box.entries())
        except (BoxError, UnknownCardError):
            self.coming = tuple(v for v in self.coming if v.card.card_id not in self._skipped)

    def _planned(self) -> tuple[Visit, ...]:
        played, items = self._played_today(), self._items(self.clock.now())
        wanted: Counter[str] = Counter()
        for item in items:
            wanted[item.card_id] += item.takes
        return tuple(self._visit(item, played, wanted[item.card_id]) for item in items)

    def _played_today(self) -> Counter[str]:
        return Counter(take.card_id for take in self.box.day(self.clock.now()).takes)

    def _visit(self, item: Item, played: Counter[str], wanted: int) -> Visit:
        card, before = self.box.card(item.card_id, at=self.clock.now()), played[item.card_id]
        return Visit(item, card, before, before + wanted)

    def _promise(self) -> None:
        """Hold the day to its first plan; a tempo check promises nothing."""
        if not self._checking:
            self._course.promise(self.coming)

    def _items(self, at: datetime, *, without: Collection[str] = ()) -> tuple[Item, ...]:
        elapsed = self._unbilled() + self.unsaved.seconds
        without = self._not_wanted().union(without)
        if self._checking:
            plan = self.box.tempo_check(at, self.minutes, elapsed=elapsed, without=without)
            self._checking = bool(plan.items)
            if plan.items:
                return plan.items
        return self.box.plan(at, self.minutes, elapsed=elapsed, without=without).items

    def _not_wanted(self) -> frozenset[str]:
        return self._skipped | {take.card_id for take in self.unsaved.takes}

    def _put_up_next(self) -> None:
        following = self.following
        while following is not None and following not in self.coming:
            if renewed := self._renewed(following):
                following = renewed
                break
            del self._course.promised[following.card.card_id]
            following = self.following
        self._put_up(following or self._goes_on_alone())

    def _renewed(self, promised: Visit) -> Visit | None:
        """Return a promised visit that later plans left out: a new card at the tempo of now.

        None where it is not to be played any more.
        """
        try:
            others = set(self.box.entries()) - {promised.card.card_id}
            items = self._items(self.clock.now(), without=others)
        except (BoxError, UnknownCardError):
            return promised
        if not items:
            return None
        return replace(promised, item=items[0]) if not promised.card.takes else promised

    def _goes_on_alone(self) -> Visit | None:
        """Return a further visit to the card of the last take, where the plan has no other.

        After many in a row whatever else may come instead, and else nothing.
        """
        if not self._course.last_has_enough:
            return self._first_that_fits(self.coming)
        try:
            others = self._items(self.clock.now(), without={self._course.last})
        except (BoxError, UnknownCardError):
            return None
        played = self._played_today()
        return self._first_that_fits(self._visit(item, played, item.takes) for item in others)

    def _first_that_fits(self, visits: Iterable[Visit]) -> Visit | None:
        return next((v for v in visits if v.item.seconds <= self.seconds_left), None)

    def _put_up(self, visit: Visit | None) -> None:
        self.visit = visit
        self.passes_heard = 0
        if visit is None:
            self.phase = Phase.OVER
            return
        played = self._course.takes_of(visit.card.card_id)
        self.take_number = max(played, visit.played) + 1
        self.bpm = visit.item.bpm
        mine = [one for one in self._given if one.visit.card.card_id == visit.card.card_id]
        if mine and played > visit.played:  # planned before these takes, and not since
            self.bpm = next_bpm(mine[-1].bpm, mine[-1].grade, visit.item.ceiling_bpm)
        self.coming = tuple(v for v in self.coming if v is not visit)
        if self.phase is not Phase.PAUSED:
            self.phase = Phase.READY
