"""A desk whose metronome is driven by the still clock, and takes that are played at it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drillbox.app.desk import Desk
from drillbox.sound import Metronome, SilentClock

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.memory import Grade


def still_desk(box: Box, clock: ManualClock, **others: Any) -> Desk:
    """Return a desk over a box; `others` are fields of it that are not as usual."""
    return Desk(box, clock, lambda: Metronome(SilentClock(clock.seconds)), **others)


def played(desk: Desk, slug: str, *grades: Grade, bpm: int = 70) -> str:
    """Play takes of a card; return it."""
    card = desk.box.find(slug)
    for grade in grades:
        at = desk.clock.now()
        desk.box.record(card, bpm=bpm, grade=grade, at=at, seconds=40)
    return card
