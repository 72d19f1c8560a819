"""What an `Archive` says of the take log, and what it adds to it; the SQL is in `takelog`."""

from __future__ import annotations

from heapq import merge
from typing import TYPE_CHECKING

from drillbox.store import belief_cache, checks, guard, takelog
from drillbox.store.archive_file import ArchiveFile
from drillbox.store.rows import BeliefRow, LogEntry, Retraction, Standing, TakeRow

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from datetime import datetime

    from drillbox.store.guard import Unusable
    from drillbox.store.take_columns import TakeColumns, WholeLog
    from drillbox.store.union import Holdings, Joined, Progressing


class ArchiveLog(ArchiveFile):
    """The take log of an open box file."""

    def mark(self) -> int:
        """Return a number that grows with every entry of the log."""
        with self._box.reading() as db:
            return takelog.mark(db)

    def changed_cards(self, *, after: int) -> frozenset[str]:
        """Return the cards whose history changed after the log's mark was `after`."""
        with self._box.reading() as db:
            return takelog.changed_cards(db, after)

    def cards_between(self, first: datetime, last: datetime) -> frozenset[str]:
        """Return the cards that have a take dated after one moment and not after the other."""
        with self._box.reading() as db:
            return takelog.cards_between(db, first, last)

    def columns(self, *, until: datetime, newest: int | None = None) -> TakeColumns:
        """Return the takes that count, up to a moment, as columns: all, or so many of the newest.

        Of the newest those that cannot be used are passed over.
        """
        from drillbox.store import take_columns  # noqa: PLC0415 - numpy, for a whole log only

        with self._box.reading() as db:
            return take_columns.read(db, until=until, newest=newest)

    def whole_log(self, *, until: datetime) -> WholeLog:
        """Return all takes that count, up to a moment, as columns, and what cannot be used."""
        from drillbox.store import take_columns  # noqa: PLC0415 - numpy, for a whole log only

        with self._box.reading() as db:
            return take_columns.read_all(db, until=until)

    def unusable_entries(self, *, after: int = 0) -> list[Unusable]:
        """Return the entries that came after a mark of the log and cannot be used."""
        from drillbox.store import (  # noqa: PLC0415 - where any came in
            take_columns,
            unusable_entries,
        )

        with self._box.reading() as db:
            return unusable_entries.found(db, after=after) if after else take_columns.unusable(db)

    def add_take(self, row: TakeRow) -> None:
        """Append a take; the same row again, after an error, does no harm."""
        with self._writing() as db:
            takelog.add(db, row)

    def record(
        self, take: TakeRow, rows: Iterable[BeliefRow], *, since: Standing, now: Standing
    ) -> int:
        """Append a take and store what follows from it, in one transaction.

        Parameters
        ----------
        take
            The take.
        rows
            What follows from it.
        since, now
            What the cache accounted for without the take, and what it does with it.

        Returns
        -------
        int
            The log's mark now. If it is not that of `now`, another window was at the log too: the
            take is stored, `rows` are not, and `changed_cards` says what to replay.
        """
        with self._writing() as db:
            takelog.add(db, take)
            belief_cache.advance(db, rows, since=since, now=now)
            return takelog.mark(db)

    def retract(self, take_id: str, at: datetime) -> Retraction:
        """Take a take back; twice is once."""
        row = Retraction(self._new_id(), take_id, at)
        with self._writing() as db:
            return takelog.retract(db, row)

    def replace_take(self, take_id: str, row: TakeRow, at: datetime) -> None:
        """Take a take back and append the one that stands in its place: both or neither."""
        answer = Retraction(self._new_id(), take_id, at)
        with self._writing() as db:
            takelog.add(db, row)
            takelog.retract(db, answer)

    def take(self, take_id: str) -> TakeRow | None:
        """Return one take, retracted or not, or None."""
        with self._box.reading() as db:
            return takelog.take(db, take_id)

    def is_retracted(self, take_id: str) -> bool:
        """Return whether a take was taken back."""
        with self._box.reading() as db:
            return takelog.is_retracted(db, take_id)

    def takes_starting(self, start: str) -> list[TakeRow]:
        """Return the takes whose id starts so, retracted or not, a few at most."""
        fix = "give some of the 32 hex digits of a take's id"
        known = checks.shaped(start, "take", checks.ID_START, fix)
        with self._box.reading() as db:
            return takelog.takes_starting(db, known)

    def takes(
        self,
        *,
        card_id: str | None = None,
        since: datetime | None = None,
        until: datetime | None = None,
        newest: int | None = None,
        measured: bool = False,
    ) -> list[TakeRow]:
        """Return the takes that count, by (at, id), from one moment to another, both included.

        Of those, so many of the newest; `measured` leaves out what the ear did not measure.
        """
        start = None if since is None else checks.instant(since, "since")
        end = None if until is None else checks.instant(until, "until")
        with self._box.reading() as db:
            return takelog.takes(
                db, card_id=card_id, since=start, until=end, newest=newest, measured=measured
            )

    def last_takes(self, *, until: datetime = checks.LAST_MOMENT) -> dict[str, TakeRow]:
        """Return each card's latest take that counts and is not dated later, by card id."""
        end = checks.instant(until, "until")
        with self._box.reading() as db:
            return takelog.last_takes(db, until=end)

    def how_many(self, *, until: datetime, most: int) -> int:
        """Return how many takes count up to a moment; `most` where there are more."""
        with self._box.reading() as db:
            return takelog.how_many(db, until=until, most=most)

    def last_moment(self, *, until: datetime) -> datetime | None:
        """Return when the latest take that counts was played, of those not dated later."""
        end = checks.instant(until, "until")
        with self._box.reading() as db:
            return takelog.last_moment(db, until=end)

    def last_take(self) -> TakeRow | None:
        """Return the take that was recorded last, here if there is one, and that counts."""
        with self._box.reading() as db:
            return takelog.last_take(db)

    def last_of(self, *, since: datetime, meant: Callable[[TakeRow], bool]) -> TakeRow | None:
        """Return the take that was recorded last of those played since a moment that are meant."""
        with self._box.reading() as db:
            return takelog.last_of(db, since=since, meant=meant)

    def log(self) -> Iterator[LogEntry]:
        """Give the whole log as it stands now, retracted takes and all, by (at, id).

        It is read part by part, so that a long log does not keep its reader waiting.
        """
        last = self.mark()
        with self._box.reading() as db:
            answers = takelog.retractions(db, last)
        parts = takelog.parts(self._box.reading, last)
        takes = (take for rows in parts for take in guard.usable(rows, takelog.take_of))
        return merge(takes, answers, key=takelog.place)

    def log_lines(self) -> Iterator[bytes]:
        """Give the whole log as `log` does, as the lines it has in a file, many at once."""
        from drillbox.store import log_lines  # noqa: PLC0415 - numpy, for an export only

        return log_lines.log_lines(self._box.reading)

    def merge(self, entries: Iterable[LogEntry], *, through: Progressing = iter) -> int:
        """Take in the entries that are not here yet, all or none; return how many there were.

        The sorted entries pass `through` on their way, so that a front end may count them.

        Raises
        ------
        LogError
            An entry's id is here with another content.
        """
        log = takelog.in_order(entries)
        with self._writing() as db:
            return takelog.merge(db, through(log))

    def holdings(self) -> Holdings:
        """Return what is the player's own here: the log, the wishes, the settings."""
        from drillbox.store import union  # noqa: PLC0415 - where boxes meet only

        with self._box.reading() as db:
            return union.holdings(db)

    def join(self, other: Holdings, *, through: Progressing = iter) -> Joined:
        """Bring another box's holdings in, all or nothing.

        Of two wishes or settings, the newest stands.

        Raises
        ------
        LogError
            An entry's id is here with another content.
        """
        from drillbox.store import union  # noqa: PLC0415 - where boxes meet only

        with self._writing() as db:
            return union.join(db, other, through=through)

    def answer_unusable(self, at: datetime) -> int:
        """Let the entries of the log rest that make no sense; return how many there were.

        Each take is answered by a retraction; an entry that none can name is set aside.
        """
        from drillbox.store import unusable_entries  # noqa: PLC0415 - for a repair only

        wrong = self.unusable_entries()
        with self._writing() as db:
            for take_id in unusable_entries.answerable(db, wrong):
                takelog.retract(db, Retraction(self._new_id(), take_id, at))
            left = unusable_entries.found(db, among=[row.number for row in wrong])
            unusable_entries.set_aside(db, left, at)
            belief_cache.nothing_is_unusable(db)
        return len(wrong)

    def changes_elsewhere(self) -> int:
        """Return a number that changes when another connection has written to the box."""
        with self._box.explained():
            (version,) = self._box.connection.execute("PRAGMA data_version").fetchone()
        return int(version)

    def rescue(self) -> list[LogEntry]:
        """Return every entry of the log that can be read, of a damaged file too, by (at, id)."""
        from drillbox.store import rescue  # noqa: PLC0415 - for damaged boxes only

        return rescue.readable_entries(self._box)
