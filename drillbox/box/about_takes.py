"""What a box does with takes: recording, taking back, looking back."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from drillbox.base.now import zone_of
from drillbox.box.days_played import Days
from drillbox.box.diary import LONGEST_DAY, take_view, with_measures
from drillbox.box.parts import Parts
from drillbox.errors import BoxDamagedError, BoxError, NotSavedError
from drillbox.store import MEASURED, TakeRow

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from drillbox.box.doubts import Uncounted
    from drillbox.box.take_views import DayView, TakeView
    from drillbox.memory import Grade


class AboutTakes(Parts):
    """Recording takes, taking them back, and listing them by card and by day."""

    def record(
        self,
        card_id: str,
        bpm: float,
        grade: Grade,
        at: datetime,
        seconds: float,
        *,
        source: str = "self",
        measured: Mapping[str, Any] | None = None,
        entered: datetime | None = None,
    ) -> TakeView:
        """Append one take; when this returns, the take is on disk.

        `source` says what gave the grade, `measured` what was measured (`drillbox.ear.log_values`);
        `entered` is now, where the take was played earlier, at `at`.

        The same take again, after an error, has the same id: it is in the log once, whatever the
        disk did.

        Raises
        ------
        NotSavedError
            If the disk refused: nothing was changed, try again.
        UnknownCardError, UsageError
            If the card is not in the box, or a number cannot be meant.
        """
        now = self.now(entered or at)
        asked = (card_id, bpm, grade, at, seconds, source)
        take = TakeRow(
            id=self._refused.pop(asked, "") or self._new_id(),
            card_id=card_id,
            bpm=float(bpm),
            grade=int(grade),
            at=at,
            zone=zone_of(at),
            seconds=seconds,
            source=source,
            measures=with_measures(self._first_tempi.expected(card_id), measured),
        )
        self.archive.tell_time(now.at)
        try:
            self._catalogue.entry(card_id)
            step = self._beliefs.record(take)
        except BoxError as refusal:
            self._refused[asked] = take.id
            if isinstance(refusal, NotSavedError | BoxDamagedError):
                raise
            what = f"not saved: {refusal.what}"
            raise NotSavedError(what, where=refusal.where, fix=refusal.fix) from refusal
        return take_view(take, now.day_ends_at, cold=step is None or step.cold)

    def keep(self, take: TakeRow, *, at: datetime) -> None:
        """Append a take under the id it has: once, however often and by whomever it is asked for.

        Its card may have left the box since it was put up: what was played was played.

        Parameters
        ----------
        take
            The take.
        at
            Now; the take may be older.

        Raises
        ------
        BoxError
            If the box could not be read or written: nothing was changed, try again.
        """
        if self.archive.take(take.id) is not None:
            return
        known = take.card_id in self._catalogue.entries()
        expected = self._first_tempi.expected(take.card_id) if known else None
        self.archive.tell_time(at)
        self._beliefs.tell_time(at)
        measured = (take.measures or {}).get(MEASURED)
        self._beliefs.record(replace(take, measures=with_measures(expected, measured)))

    def add_measures(self, take_id: str, measured: Mapping[str, Any], *, at: datetime) -> bool:
        """Give the take recorded last what was measured of it after it was graded.

        No row of the log is ever changed: the take is taken back and stands there once more, of the
        same moment, with what was measured. So only the last one is: of an earlier take nothing
        happens, nor of one that was taken back.

        Returns
        -------
        bool
            Whether it has its measures now.

        Raises
        ------
        BoxError
            If the box could not be read or written: nothing was changed.
        """
        last = self.archive.last_take()
        if last is None or last.id != take_id:
            return False
        told = replace(last, id=self._new_id(), measures=with_measures(last.measures, measured))
        self.archive.tell_time(at)
        self.archive.replace_take(take_id, told, at)
        return True

    def undo(self, *, at: datetime) -> TakeView | None:
        """Take back the take of today's practice day that was recorded last.

        Takes of other days are passed over, also those entered since.

        Returns
        -------
        TakeView or None
            What was taken back; None if no take of today is left.
        """
        now = self.now(at)
        last = self.archive.last_of(
            since=now.at - LONGEST_DAY,
            meant=lambda take: take_view(take, now.day_ends_at, cold=False).day == now.day,
        )
        if last is None:
            return None
        self.archive.retract(last.id, at)
        return take_view(last, now.day_ends_at, cold=False)

    def retract(self, take_id: str, *, at: datetime) -> TakeView:
        """Take back any take, by its id or its start; taken back twice is once.

        Raises
        ------
        UnknownCardError
            If no take, or more than one, is meant.
        """
        taken = self._doubts.find(take_id, self.now(at))
        self.archive.retract(taken.take_id, at)
        return taken

    def is_taken_back(self, take_id: str, *, at: datetime) -> bool:
        """Return whether a take, by its id or its start, was taken back already.

        Raises
        ------
        UnknownCardError
            If no take, or more than one, is meant.
        """
        return self.archive.is_retracted(self._doubts.find(take_id, self.now(at)).take_id)

    def implausible(
        self,
        card_id: str,
        bpm: float,
        at: datetime,
        *,
        entered: datetime | None = None,
        seconds: float | None = None,
    ) -> str | None:
        """Return why a take to be saved may be a mistake, in a sentence, or None.

        Its tempo is far from what is expected of the card, it lasted too few `seconds` for a pass,
        the clock may be wrong, or it is said to have been played long before it was `entered`.
        """
        now, at_now = None if entered is None else self.now(entered), self.now(at)
        return self._doubts.implausible(card_id, bpm, at_now, entered=now, seconds=seconds)

    def odd_clock(self, *, at: datetime) -> str:
        """Return why the clock may be wrong, in a sentence; empty where it may be right."""
        return self._doubts.odd_moment(self.now(at)) or ""

    def left_out(self, *, at: datetime) -> Uncounted:
        """Return what of the log counts nowhere: entries that make no sense, takes that wait."""
        return self._doubts.left_out(self.now(at))

    @property
    def nothing_played(self) -> bool:
        """Whether the log is still empty."""
        return self.archive.mark() == 0

    def day(self, at: datetime) -> DayView:
        """Return the practice day that a moment belongs to."""
        return self._diary.of_day(self.now(at))

    def history(self, card_id: str) -> tuple[TakeView, ...]:
        """Return a card's takes, oldest first."""
        return self._diary.of_card(card_id)

    def course(self, card_id: str) -> tuple[tuple[TakeView, float | None], ...]:
        """Return a card's takes, oldest first, each with the cold tempo expected right after it.

        None after those before the card came together.
        """
        course, ends = self._beliefs.course(card_id), self._beliefs.day_ends_at
        return tuple(
            (
                take_view(step.take, ends, cold=step.cold),
                None if step.after.apart else 2.0**step.after.mu,
            )
            for step in course
        )

    def days(self) -> Days:
        """Return every card's history by practice days, as columns."""
        self._beliefs.refresh()
        if self._days_seen is None or self._days_seen[0] != self._beliefs.changes:
            days = Days.of(self._beliefs.days())
            self._days_seen = (self._beliefs.changes, days)
        return self._days_seen[1]
