"""The open file behind an `Archive`: opening, the check, the transactions, the day's backup."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Self

from drillbox.errors import BoxDamagedError, BoxError, DrillboxError, NotSavedError
from drillbox.store import checks, daily_check
from drillbox.store.opening import Opened, check_whole, open_box

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Iterator
    from datetime import datetime
    from pathlib import Path
    from types import TracebackType

    from drillbox.store.backups import Backup


class ArchiveFile:
    """An open box file.

    Attributes
    ----------
    path
        The file, or None for a box in memory.
    lost
        The tables of the player's that are gone from the file; they are read as empty ones.
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
        self.path, self.lost = opened.box.path, opened.lost
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
        known = not (self._unchecked or self._box.read_only)  # a damaged one stays unchecked
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

        try:
            if any(made.day == self._now.date() for made in backups.list_backups(self.path)):
                return
            backups.make_backup(self._box, now=self._now)
        except BoxDamagedError:
            raise
        except BoxError as problem:
            self.backup_problem = problem
