"""The parts that the box delegates to, and how they hang together."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from drillbox.base.now import Now, require_moment
from drillbox.box.beliefs import Beliefs
from drillbox.box.catalogue import Catalogue
from drillbox.box.diary import Diary
from drillbox.box.doubts import Doubts
from drillbox.box.first_tempi import FirstTempi
from drillbox.box.practice import Practice
from drillbox.box.settings import day_ends_in

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from drillbox.box.days_played import Days
    from drillbox.box.goals import Goals
    from drillbox.box.shelf import Shelf
    from drillbox.store import Archive


class Parts:
    """What every part of the facade asks: the archive and those who read and write it."""

    def __init__(self, archive: Archive, *, now: datetime, new_id: Callable[[], str]) -> None:
        self.archive = archive
        self._new_id = new_id
        self._refused: dict[tuple[object, ...], str] = {}
        self._days_seen: tuple[int, Days] | None = None
        self._catalogue = Catalogue(archive)
        self._diary = Diary(archive)
        self._beliefs = Beliefs(archive, now=now)
        self._first_tempi = FirstTempi(archive, self._catalogue, self._beliefs)
        self._doubts = Doubts(archive, self._beliefs, self._first_tempi, self._catalogue)
        self._practice = Practice(
            archive, self._catalogue, self._beliefs, self._diary, self._first_tempi
        )

    @cached_property
    def _shelf(self) -> Shelf:
        from drillbox.box.shelf import Shelf  # noqa: PLC0415 - a plan shows no cards

        return Shelf(self.archive, self._catalogue, self._beliefs)

    @cached_property
    def goals(self) -> Goals:
        """The goals of many cards."""
        from drillbox.box.goals import Goals  # noqa: PLC0415 - a plan changes no goal

        return Goals(self.archive, self._catalogue, self._beliefs)

    def now(self, at: datetime) -> Now:
        """Return a moment with its practice day, as this player's days are counted."""
        self._beliefs.tell_time(require_moment(at))
        return Now.of(at, day_ends_in(self.archive.settings()))
