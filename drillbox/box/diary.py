"""Takes as a player looks back on them: by card and by practice day."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from drillbox.base.now import in_zone, practice_day
from drillbox.box.history import Premises, line_of
from drillbox.box.take_views import DayView, TakeView
from drillbox.memory import Grade
from drillbox.store import MEASURED

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

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
        premises = Premises.found_in(self._archive.settings())
        line = line_of(card_id, premises, lambda one: self._archive.takes(card_id=one))
        return _views(line, premises.day_ends_at, line=lambda _: card_id)

    def of_day(self, now: Now) -> DayView:
        """Return the practice day that a moment belongs to.

        A take is counted on the day it was played on by the player's clock then, so a flight or a
        change to summer time makes no second day of it.
        """
        takes = self._archive.takes(since=now.at - LONGEST_DAY)
        played = tuple(
            take
            for take in _views(takes, now.day_ends_at, line=lambda take: take.card_id)
            if take.day == now.day
        )
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
        measured=(take.measures or {}).get(MEASURED),
    )


def with_measures(
    expected: Mapping[str, Any] | None, measured: Mapping[str, Any] | None
) -> Mapping[str, Any] | None:
    """Return what a take's row keeps: what was expected of it, and what the ear measured."""
    return expected if measured is None else {**(expected or {}), MEASURED: measured}


def _views(
    takes: Iterable[TakeRow], day_ends_at: int, *, line: Callable[[TakeRow], str]
) -> tuple[TakeView, ...]:
    """Return takes as views; cold is a line's first take of a later day than any before."""
    views = []
    latest: dict[str, int] = {}
    for take in takes:
        view, last = take_view(take, day_ends_at, cold=True), latest.get(line(take), 0)
        views.append(view if view.day > last else replace(view, cold=False))
        latest[line(take)] = max(view.day, last)
    return tuple(views)
