"""Takes as a player looks back on them: by card and by practice day."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from drillbox.base.now import in_zone, practice_day
from drillbox.box.lineage import heirs_in, inherited_takes
from drillbox.box.views import DayView, TakeView, day_ends_in
from drillbox.memory import Grade

if TYPE_CHECKING:
    from collections.abc import Iterable

    from drillbox.base.now import Now
    from drillbox.store import Archive, TakeRow

LONGEST_DAY = timedelta(days=2)
"""No practice day began longer ago, in any zone a player may have flown in from."""


class Diary:
    """The takes that count, as views."""

    def __init__(self, archive: Archive) -> None:
        self._archive = archive

    def of_card(self, card_id: str) -> tuple[TakeView, ...]:
        """Return a card's takes, oldest first, with those of the rhythms whose place it took."""
        own, settings = self._takes(card_id), self._archive.settings()
        before = inherited_takes(card_id, own, heirs_in(settings), self._takes)
        ends = day_ends_in(settings)
        return tuple(view for takes in (*before, own) for view in _views(takes, ends))

    def _takes(self, card_id: str) -> list[TakeRow]:
        return self._archive.takes(card_id=card_id)

    def is_cold(self, take: TakeRow, now: Now) -> bool:
        """Whether a take, to be recorded now, is its card's first of the practice day."""
        near = self._archive.takes(card_id=take.card_id, since=now.at - LONGEST_DAY)
        others = [view for view in _views(near, now.day_ends_at) if view.take_id != take.id]
        return not any(view.day == now.day and view.at <= now.at for view in others)

    def of_day(self, now: Now) -> DayView:
        """Return the practice day that a moment belongs to.

        A take is counted on the day it was played on by the player's clock then, so a flight or a
        change to summer time makes no second day of it.
        """
        takes = self._archive.takes(since=now.at - LONGEST_DAY)
        played = tuple(take for take in _views(takes, now.day_ends_at) if take.day == now.day)
        return DayView(now.day, played, sum(take.seconds for take in played))


def take_view(take: TakeRow, day_ends_at: int, *, cold: bool) -> TakeView:
    """Return a take on the wall clock it was played by."""
    at = in_zone(take.at, take.zone)
    return TakeView(
        take_id=take.id,
        card_id=take.card_id,
        bpm=take.bpm,
        grade=Grade(take.grade),
        at=at,
        day=practice_day(at, day_ends_at),
        seconds=take.seconds,
        cold=cold,
        source=take.source,
    )


def _views(takes: Iterable[TakeRow], day_ends_at: int) -> tuple[TakeView, ...]:
    views = []
    seen: set[tuple[str, int]] = set()
    for take in takes:
        view = take_view(take, day_ends_at, cold=True)
        day = (view.card_id, view.day)
        views.append(replace(view, cold=False) if day in seen else view)
        seen.add(day)
    return tuple(views)
