"""The box file as the rest of drillbox sees it: rows in, rows out, nothing of SQL.

`Archive` is a list of one-line delegations; the work is in `takelog`, `decks_and_wishes`, `beliefs`
and `backups`. What returns without an error is on disk. Reading never writes to the file.
"""

from __future__ import annotations

from contextlib import contextmanager
from heapq import merge
from typing import TYPE_CHECKING, Any, Self

from drillbox.errors import BoxDamagedError, DrillboxError, NotSavedError
from drillbox.store import beliefs, checks, daily_check, decks_and_wishes, features, takelog
from drillbox.store.opening import Opened, check_whole, open_box
from drillbox.store.rows import (
    BeliefCache,
    BeliefRow,
    CardRow,
    DeckRow,
    LogEntry,
    Retraction,
    Setting,
    Standing,
    TakeRow,
    Wish,
)

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
    from datetime import datetime
    from pathlib import Path
    from types import TracebackType

    from drillbox.store.backups import Backup
    from drillbox.store.columns import TakeColumns
    from drillbox.store.guard import Unusable
    from drillbox.store.union import Holdings, Joined, Progressing


class Archive:
    """An open box file. Make one with `Archive.open`; one per thread.

    Attributes
    ----------
    path
        The file, or None for a box in memory.
    backup_problem
        Why the day's backup could not be made, or None; the takes are saved all the same.
    """

    def __init__(self, opened: Opened, *, now: datetime, new_id: Callable[[], str]) -> None:
        self._box = opened.box
        self._now = now
        self._new_id = new_id
        self._backup_due = opened.box.path is not None and not opened.new
        self._is_new, self._unchecked = opened.new, opened.unchecked
        self._opened_on, self._is_damaged = now.date(), False
        self.path = opened.box.path
        self.backup_problem: DrillboxError | None = None

    @classmethod
    def open(
        cls,
        path: str | Path,
        *,
        now: datetime,
        new_id: Callable[[], str],
        read_only: bool = False,
        checks_first: bool = True,
    ) -> Self:
        """Open a box, making it and its folders where there are none.

        Parameters
        ----------
        path
            The file; ``""`` and ``":memory:"`` give a box in memory.
        now
            An aware datetime in the player's zone: it dates the check and the backup of the day.
        new_id
            Gives a fresh `uuid4().hex` for every retraction.
        read_only
            Never write, and read whatever can be read of a damaged file.
        checks_first
            Check the whole file, where that is due, before anything else; where False, the caller
            asks for it later (`check`).

        Raises
        ------
        BoxForeignError
            The file is another program's, or of a newer drillbox.
        BoxDamagedError
            The file is damaged; the fix names the last good backup.
        BoxError
            The file cannot be opened for another reason.
        """
        checks.instant(now, "now")
        opened = open_box(path, now=now, read_only=read_only, checks_first=checks_first)
        return cls(opened, now=now, new_id=new_id)

    def close(self) -> None:
        """Let the file go, and note how it is left if it is known to be whole."""
        self._box.close()
        known = not (self._unchecked or self._is_damaged or self._box.read_only)
        if self.path is not None and known:
            daily_check.note(self.path, day=self._opened_on, makes_folder=self._is_new)

    def wait_for_others(self, seconds: float) -> None:
        """Say how long a question or a write waits while another program holds the file."""
        self._box.wait_for_others(seconds)

    def check(self) -> None:
        """Check the whole file if that is still to be done (`daily_check`).

        A damaged one is not written to from then on. May be called from a thread of its own.

        Raises
        ------
        BoxDamagedError
            The file is damaged; the fix names the last good backup.
        """
        if not self._unchecked:
            return
        try:
            check_whole(self._box)
        except BoxDamagedError:
            self._is_damaged = True
            raise
        self._unchecked = False

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    # The take log

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

    def columns(self, *, until: datetime) -> TakeColumns:
        """Return all takes that count, up to a moment, as columns."""
        from drillbox.store import columns  # noqa: PLC0415 - numpy, for a whole log only

        with self._box.reading() as db:
            return columns.read(db, until=until)

    def unusable_entries(self, *, after: int = 0) -> list[Unusable]:
        """Return the entries that came after a mark of the log and cannot be used."""
        from drillbox.store import fitness  # noqa: PLC0415 - for a whole log only

        with self._box.reading() as db:
            among = None if after else fitness.unfit(db)
            return takelog.unusable(db, after=after, among=among)

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
            beliefs.advance(db, rows, since=since, now=now)
            return takelog.mark(db)

    def retract(self, take_id: str, at: datetime) -> Retraction:
        """Take a take back; twice is once."""
        row = Retraction(self._new_id(), take_id, at)
        with self._writing() as db:
            return takelog.retract(db, row)

    def take(self, take_id: str) -> TakeRow | None:
        """Return one take, retracted or not, or None."""
        with self._box.reading() as db:
            return takelog.take(db, take_id)

    def takes_starting(self, start: str) -> list[TakeRow]:
        """Return the takes whose id starts so, retracted or not, a few at most."""
        with self._box.reading() as db:
            return takelog.takes_starting(
                db,
                checks.shaped(
                    start, "take", checks.ID_START, "give some of the 32 hex digits of a take's id"
                ),
            )

    def takes(
        self,
        *,
        card_id: str | None = None,
        since: datetime | None = None,
        until: datetime | None = None,
        newest: int | None = None,
        naming: str | None = None,
    ) -> list[TakeRow]:
        """Return the takes that count, by (at, id), from one moment to another, both included.

        Of those, so many of the newest; `naming` leaves out takes whose measures lack that name.
        """
        start = None if since is None else checks.instant(since, "since")
        end = None if until is None else checks.instant(until, "until")
        with self._box.reading() as db:
            return takelog.takes(
                db, card_id=card_id, since=start, until=end, newest=newest, naming=naming
            )

    def last_takes(self, *, until: datetime = checks.LAST_MOMENT) -> dict[str, TakeRow]:
        """Return each card's latest take that counts and is not dated later, by card id."""
        end = checks.instant(until, "until")
        with self._box.reading() as db:
            return takelog.last_takes(db, until=end)

    def last_moment(self, *, until: datetime) -> datetime | None:
        """Return when the latest take that counts was played, of those not dated later."""
        with self._box.reading() as db:
            return takelog.last_moment(db, until=checks.instant(until, "until"))

    def last_take(self) -> TakeRow | None:
        """Return the take that was recorded last, here if there is one, and that counts."""
        with self._box.reading() as db:
            return takelog.last_take(db)

    def log(self) -> Iterator[LogEntry]:
        """Give the whole log as it stands now, retracted takes and all, by (at, id).

        It is read part by part, so that a long log does not keep its reader waiting.
        """
        last = self.mark()
        with self._box.reading() as db:
            answers = takelog.retractions(db, last)
        return merge(self._takes_in_parts(last), answers, key=takelog.place)

    def _takes_in_parts(self, last: int) -> Iterator[TakeRow]:
        after: tuple[str, str] | None = ("", "")
        while after is not None:
            with self._box.reading() as db:
                part, after = takelog.next_part(db, after, last)
            yield from part

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

    def unusable_rows(self) -> list[Unusable]:
        """Return the rows of decks, cards, wishes and settings that cannot be used."""
        with self._box.reading() as db:
            return decks_and_wishes.unusable(db)

    def answer_unusable(self, at: datetime) -> int:
        """Take back the entries of the log that make no sense; return how many could be.

        An entry whose id is none of ours cannot be answered; it stays passed over.
        """
        wrong = self.unusable_entries()
        with self._writing() as db:
            ids = takelog.answerable(db, wrong)
            for take_id in ids:
                takelog.retract(db, Retraction(self._new_id(), take_id, at))
        return len(ids)

    def can_be_answered(self, wrong: Unusable) -> bool:
        """Return whether a retraction would let an entry rest that makes no sense."""
        with self._box.reading() as db:
            return bool(takelog.answerable(db, [wrong]))

    def changes_elsewhere(self) -> int:
        """Return a number that changes when another connection has written to the box."""
        with self._box.explained():
            (version,) = self._box.connection.execute("PRAGMA data_version").fetchone()
        return int(version)

    def rescue(self) -> list[LogEntry]:
        """Return every entry of the log that can be read, of a damaged file too, by (at, id)."""
        from drillbox.store import rescue  # noqa: PLC0415 - for damaged boxes only

        return rescue.readable_entries(self._box)

    # Decks, wishes, settings

    def put_deck(self, deck: DeckRow, cards: Sequence[CardRow]) -> None:
        """Put a deck and its cards in the place of the deck with this id."""
        decks_and_wishes.check_deck(deck, cards)
        with self._writing() as db:
            decks_and_wishes.put_deck(db, deck, cards)

    def remove_deck(self, deck_id: str) -> None:
        """Take a deck and its cards out; the takes stay."""
        with self._writing() as db:
            decks_and_wishes.remove_deck(db, deck_id)

    def archive_deck(self, deck_id: str, *, archived: bool) -> None:
        """Put a deck away, or take it out again; its cards and takes stay."""
        with self._writing() as db:
            decks_and_wishes.archive_deck(db, deck_id, archived=archived)

    def archived_decks(self) -> frozenset[str]:
        """Return the decks that are put away."""
        with self._box.reading() as db:
            return decks_and_wishes.archived_decks(db)

    def decks(self) -> list[DeckRow]:
        """Return the decks in the order they were added."""
        with self._box.reading() as db:
            return decks_and_wishes.decks(db)

    def cards(self) -> list[CardRow]:
        """Return the cards of all decks, in their decks' order."""
        with self._box.reading() as db:
            return decks_and_wishes.cards(db)

    def shelf(self) -> tuple[list[DeckRow], list[CardRow], list[Unusable]]:
        """Return all decks, all their cards, and which rows of either are passed over."""
        with self._box.reading() as db:
            return decks_and_wishes.shelf(db)

    def put_wish(self, wish: Wish) -> None:
        """Put a wish in the place of the card's earlier one, and date it after that one."""
        with self._writing() as db:
            decks_and_wishes.change_wish(db, wish)

    def wishes(self) -> dict[str, Wish]:
        """Return the player's wishes by card id."""
        with self._box.reading() as db:
            return decks_and_wishes.wishes(db)

    def put_setting(self, key: str, value: Any, at: datetime) -> None:
        """Store a setting, any JSON value, and date it after the one before."""
        setting = Setting(key, value, at)
        with self._writing() as db:
            decks_and_wishes.change_setting(db, setting)

    def setting(self, key: str) -> Any:
        """Return the value of a setting, or None."""
        found = self.settings().get(key)
        return None if found is None else found.value

    def settings(self) -> dict[str, Setting]:
        """Return the settings by key."""
        with self._box.reading() as db:
            return decks_and_wishes.settings(db)

    # The cache of what follows from the log

    def beliefs(self, version: str) -> BeliefCache | None:
        """Return what was stored by these premises; by others, None."""
        with self._box.reading() as db:
            return beliefs.read(db, version)

    def courses(self, card_id: str | None = None) -> dict[str, bytes]:
        """Return the stored days of all cards, or of one, by card id."""
        with self._box.reading() as db:
            return beliefs.courses(db, card_id)

    def put_beliefs(
        self, rows: Iterable[BeliefRow], *, since: Standing | None, now: Standing
    ) -> None:
        """Store what follows for the cards that changed after `since`; None for all there are.

        It is stored only where it completes the cache: if that stands at `since`, or of all cards.
        """
        with self._caching() as db:
            beliefs.put(db, rows, since=since, now=now)

    def drop_beliefs(self) -> None:
        """Throw the cache of beliefs away."""
        with self._caching() as db:
            beliefs.drop(db)

    # What is counted in each rhythm

    def features(self, version: str) -> dict[str, tuple[float, ...]]:
        """Return what was counted in each rhythm by these rules, by card id."""
        with self._box.reading() as db:
            return features.read(db, version)

    def put_features(self, found: Mapping[str, tuple[float, ...]], *, version: str) -> None:
        """Store what was counted in rhythms."""
        with self._caching() as db:
            features.put(db, found, version=version)

    # Backups

    def back_up(self, now: datetime) -> Backup:
        """Make a backup now."""
        from drillbox.store import backups  # noqa: PLC0415 - not for a usual start

        return backups.make_backup(self._box, now=now)

    def tell_time(self, now: datetime) -> None:
        """Say how late it is by now, so that a box that stays open gets its backup every day."""
        checks.instant(now, "now")
        self._backup_due = self._backup_due or (
            self.path is not None and now.date() != self._now.date()
        )
        self._now = now

    @contextmanager
    def _caching(self) -> Iterator[sqlite3.Connection]:
        """Write what can be computed again, for which no backup is made."""
        if self._is_damaged:
            raise NotSavedError("not saved: the box is damaged", where=self._box.name)
        with self._box.writing() as db:
            yield db

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        if self._is_damaged:
            raise self._box.damaged()
        self._back_up_once_a_day()
        with self._box.writing() as db:
            yield db

    def _back_up_once_a_day(self) -> None:
        """Make the day's backup before its first write.

        A full disk must not keep a take from being tried.
        """
        if not self._backup_due or self.path is None:
            return
        self._backup_due = False
        from drillbox.store import backups  # noqa: PLC0415 - once a day

        if any(made.day == self._now.date() for made in backups.list_backups(self.path)):
            return
        try:
            backups.make_backup(self._box, now=self._now)
        except NotSavedError as problem:
            self.backup_problem = problem
