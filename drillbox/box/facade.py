"""The box: the one facade over decks, take log, memory and plan, for front ends and scripts.

The take log is the only truth. What is believed of a card is computed from it, cached beside it,
and replayed whenever the log has moved on. Another window may write to the same box at any time, so
every question first asks whether the log has grown.

What may be asked of a box stands in four files, by what it is about: `about_decks`, `about_cards`,
`about_practice`, `about_takes`. Here is the box as a whole: its file, its log, its meeting others.

Conventions: moments are aware datetimes, tempos bpm, lengths seconds.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Self
from uuid import uuid4

from drillbox.base.clock import SystemClock
from drillbox.box.about_cards import AboutCards
from drillbox.box.about_decks import AboutDecks
from drillbox.box.about_practice import AboutPractice
from drillbox.box.about_takes import AboutTakes
from drillbox.box.kept_for_a_day import ON_THE_STAND
from drillbox.store import Archive

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path
    from types import TracebackType

    from drillbox.base.clock import Clock
    from drillbox.store import Holdings, Joined, LogEntry
    from drillbox.store.take_columns import WholeLog
    from drillbox.store.union import Progressing

OF_THE_MACHINE = frozenset(
    {
        "output",
        "latency_ms",
        "listening",
        "microphone",
        "round_trip_ms",
        "pads",
        "pad_keys",
        "handed_in",
        ON_THE_STAND,
    }
)
"""Settings that speak of one machine, its sound, its folders and its stand, and stay on it."""


class Box(AboutDecks, AboutCards, AboutPractice, AboutTakes):
    """A player's whole store: decks, takes, settings.

    Made by `Box.open`; a context manager. Several processes on one file are fine, several threads
    are not.
    """

    @classmethod
    def open(
        cls,
        path: str | Path,
        *,
        clock: Clock | None = None,
        new_id: Callable[[], str] = lambda: uuid4().hex,
        read_only: bool = False,
        checks_first: bool = True,
    ) -> Self:
        """Open the box at `path`, or create it; ``":memory:"`` keeps it in memory.

        The whole file is checked once a day, before anything else unless `checks_first` is False;
        then `check` is the caller's to ask for.

        Raises
        ------
        BoxError
            If the file is damaged, foreign, or cannot be used; the sentence says what to do.
        """
        now = (clock or SystemClock()).now()
        archive = Archive.open(
            path, now=now, new_id=new_id, read_only=read_only, checks_first=checks_first
        )
        try:
            return cls(archive, now=now, new_id=new_id)
        except BaseException:
            archive.close()
            raise

    def check(self) -> None:
        """Check the whole file if that is still due today; may be called from another thread.

        Raises
        ------
        BoxDamagedError
            The file is damaged, and is not written to from then on; the fix says what to do.
        """
        self.archive.check()

    def close(self) -> None:
        """Let the file go."""
        self.archive.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def wait_for_others(self, seconds: float) -> None:
        """Say how long a question or a write waits while another program holds the file."""
        self.archive.wait_for_others(seconds)

    def log(self) -> Iterable[LogEntry]:
        """Return every entry of the take log."""
        return self.archive.log()

    def log_lines(self) -> Iterable[bytes]:
        """Return the take log as the lines it has in an exported file, many at once."""
        return self.archive.log_lines()

    def merge(self, entries: Iterable[LogEntry], *, through: Progressing = iter) -> int:
        """Take in another log's entries, which pass `through`; return how many were new."""
        return self.archive.merge(entries, through=through)

    def holdings(self) -> Holdings:
        """Return what is the player's own and travels: the log, the wishes, most settings."""
        own = self.archive.holdings()
        travels = tuple(one for one in own.settings if one.key not in OF_THE_MACHINE)
        return replace(own, settings=travels)

    def join(self, other: Holdings, *, through: Progressing = iter) -> Joined:
        """Bring in what another box holds.

        Of two wishes or settings that differ, the newest stands.

        Any number of boxes come to the same state, whatever the order and however often they meet.
        """
        from drillbox.box.let_in import let_in  # noqa: PLC0415 - boxes seldom meet

        travels = tuple(one for one in other.settings if one.key not in OF_THE_MACHINE)
        let_in(travels)
        joined = self.archive.join(replace(other, settings=travels), through=through)
        self._catalogue.forget()
        return joined

    def whole_log(self) -> WholeLog:
        """Return all takes that count by now, as columns, and the entries that make no sense."""
        return self._beliefs.whole_log()

    def wrong_beliefs(self, log: WholeLog | None = None) -> frozenset[str]:
        """Return the cards whose cached belief is not what a replay of their takes gives.

        The log is read anew, unless it is given as `whole_log` has just read it.
        """
        return self._beliefs.wrong(log or self.whole_log())

    def wrong_counts(self) -> tuple[str, ...]:
        """Return the places of rhythms of which the box keeps other numbers than they count to."""
        return self._first_tempi.wrong()

    def forget_counts(self) -> None:
        """Throw away what was counted in rhythms; it is counted again where it is needed."""
        self._first_tempi.forget()

    def forget_beliefs(self) -> None:
        """Throw away what was computed of the cards, and compute it again from the log."""
        self._beliefs.forget()
