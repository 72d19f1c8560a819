"""Graded takes on their way into the box.

Usually a take is on disk at once. Where the box refuses (full disk, another program at the file, a
damaged file), its takes stand here, in order, and at the same time in a second place on disk; they
are tried again by themselves, ever more seldom, until the box has them.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from drillbox.base.now import zone_of
from drillbox.base.wording import counted
from drillbox.box.diary import with_measures
from drillbox.errors import BoxDamagedError, BoxMovedError, DrillboxError
from drillbox.store import TakeRow

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime
    from pathlib import Path

    from drillbox.base.clock import Clock
    from drillbox.box import Box
    from drillbox.memory import Grade
    from drillbox.store.second_place import SecondPlace

FIRST_WAIT, LONGEST_WAIT = 1.0, 16.0
"""Seconds to the next try: doubled each time, since a try against a held file stops the screen."""


class Unsaved:
    """The takes that are not in the box, and every way to get them there.

    Parameters
    ----------
    box, clock
        Where they belong, and the time.
    second_place
        Where they are kept meanwhile; None keeps them in memory alone.
    new_id
        Gives each take the id it keeps.

    Attributes
    ----------
    takes
        What is not in the box, in the order it was played.
    trouble
        Why the last try failed; None after one that did not.
    kept_in
        The file of the second place that holds `takes`; None where there is none.
    last_id
        The id of the take that was graded last; empty before the first.
    """

    def __init__(
        self,
        box: Box,
        clock: Clock,
        *,
        second_place: SecondPlace | None = None,
        new_id: Callable[[], str] = lambda: uuid4().hex,
    ) -> None:
        self._box = box
        self._clock = clock
        self._second_place = second_place
        self._new_id = new_id
        self._wait, self._next_try = FIRST_WAIT, 0.0
        self.takes: tuple[TakeRow, ...] = ()
        self.trouble: DrillboxError | None = None
        self.kept_in: Path | None = None
        self.last_id = ""

    @property
    def may_retry(self) -> bool:
        """Whether trying again here can save what is left: not into a file that was replaced."""
        return bool(self.takes) and not isinstance(self.trouble, BoxMovedError)

    @property
    def seconds(self) -> float:
        """How long the takes lasted together."""
        return sum(take.seconds for take in self.takes)

    def save(
        self,
        card_id: str,
        *,
        bpm: float,
        grade: Grade,
        at: datetime,
        seconds: float,
        source: str = "self",
        measured: Mapping[str, Any] | None = None,
    ) -> bool:
        """Save a take that was just graded; return whether it and all before it are in the box.

        `source` says what gave the grade, `measured` what was measured of the take.
        """
        take = TakeRow(
            id=self._new_id(),
            card_id=card_id,
            bpm=float(bpm),
            grade=int(grade),
            at=at,
            zone=zone_of(at),
            seconds=seconds,
            source=source,
            measures=with_measures(None, measured),
        )
        self.takes = (*self.takes, take)
        self.last_id = take.id
        return self.retry()

    def add_measures(self, take_id: str, measured: Mapping[str, Any]) -> bool:
        """Give a take what was measured of it after its grade; return whether it has it now.

        Of the takes in the box only the last can have it. A grade is never put at risk for its
        numbers: where the box refuses, it stays without them.
        """
        waiting = [take for take in self.takes if take.id == take_id]
        if not waiting:
            with suppress(DrillboxError):
                return self._box.add_measures(take_id, measured, at=self._clock.now())
            return False
        told = replace(waiting[0], measures=with_measures(waiting[0].measures, measured))
        self.takes = tuple(told if take.id == take_id else take for take in self.takes)
        self._hold()
        return True

    def retry(self) -> bool:
        """Try to save what is left, in order; return whether all of it is in the box now."""
        before = self.takes
        self.trouble = None
        while self.takes:
            try:
                self._box.keep(self.takes[0], at=self._clock.now())
            except DrillboxError as trouble:
                self.trouble = trouble
                break
            except Exception:
                # A fault of our own ends the app: what was just graded must not end with it.
                self._hold()
                raise
            self.takes = self.takes[1:]
        if before != self.takes or self.takes:
            self._hold()
        self._wait = FIRST_WAIT if before != self.takes else min(self._wait * 2, LONGEST_WAIT)
        self._next_try = self._clock.seconds() + self._wait
        return not self.takes

    def retry_when_due(self) -> None:
        """Try again if it is time to; a damaged or replaced file is not asked again."""
        damaged = isinstance(self.trouble, BoxDamagedError)
        if self.may_retry and not damaged and self._clock.seconds() >= self._next_try:
            self.retry()

    def take_back(self) -> TakeRow | None:
        """Take the last unsaved take away and return it; None where all are in the box."""
        if not self.takes:
            return None
        last = self.takes[-1]
        self.takes = self.takes[:-1]
        self._hold()
        return last

    def take_up(self) -> str:
        """Save what earlier programs left in the second place; return what came of it, in words."""
        if self._second_place is None:
            return ""
        found = self._second_place.left_behind()
        sentences = []
        saved = 0
        for left in found:
            try:
                for take in left.takes:
                    self._box.keep(take, at=self._clock.now())
            except DrillboxError as trouble:
                kept = counted(len(left.takes), "unsaved take")
                sentences.append(f"{left.path} still keeps {kept}: {trouble.sentence()}")
                continue
            saved += len(left.takes)
            if left.problem is None:
                with suppress(OSError):
                    left.path.unlink()
                continue
            sentences.append(left.problem.sentence())
            aside = left.set_aside() if left.is_cut else None
            if aside is not None:
                whole = counted(len(left.takes), "whole take")
                sentences.append(f"Of it, {whole} came in; the file is kept as {aside}.")
        if saved:
            sentences.insert(0, f"{counted(saved, 'take')} kept from last time: saved now.")
        return " ".join(sentences)

    def sentence(self) -> str:
        """Return what a player must know: how many takes are not saved, why, and where they are."""
        if not self.takes:
            return ""
        kept = counted(len(self.takes), "take")
        why = self.trouble.what.removeprefix("not saved: ") if self.trouble else "the box refused"
        place = "Kept safe in a second file" if self.kept_in else "Kept here only: leave this open"
        if self.kept_in and not self.may_retry:
            place += ": quit and start again, which saves it"
        return f"NOT SAVED yet, {kept}: {why}. {place}."

    def _hold(self) -> None:
        if self._second_place is not None:
            self.kept_in = self._second_place.hold(self.takes)
