"""Takes that are listened to without an ear: what is measured, and what comes back."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, cast

from drillbox.app.screens import listening_screen
from drillbox.memory import Grade

sys.path.insert(0, str(Path(__file__).parent))
from bare_stand import BareStand, bare_stand

if TYPE_CHECKING:
    import pytest
    from rehearsal import HitPads

    from drillbox.app.listening import Heard, Opinion
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box

MARKS = object()
"""Stands for the marks of a measured take."""


def told(grade: Grade | None, sentence: str = "The a comes late.") -> Opinion:
    """Return an opinion whose measurement writes down one number."""
    told = SimpleNamespace(
        sentence=sentence,
        numbers="12 of 12 heard",
        grade=grade,
        sure=0.8,
        measured=SimpleNamespace(),
        source="midi",
        log_values={"played": 12},
    )
    return cast("Opinion", told)


def clean_ear(monkeypatch: pytest.MonkeyPatch) -> list[Heard]:
    """Have every take heard as clean, with marks that are not drawn; return what was measured."""
    heard: list[Heard] = []

    def opinion_of(one: Heard, cuts: tuple[float, ...]) -> Opinion:
        assert 4 == len(cuts)
        heard.append(one)
        return told(Grade.CLEAN)

    monkeypatch.setattr(listening_screen, "opinion_of", opinion_of)
    monkeypatch.setattr(listening_screen, "heard_marks", lambda _: MARKS)
    return heard


def stand_at_pads(box: Box, clock: ManualClock, pads: HitPads) -> BareStand:
    """Return a stand that listens to pads."""
    box.change_settings(at=clock.now(), listening="pads")
    return bare_stand(box, clock, pads=lambda: pads)


def listen_back(stand: BareStand) -> None:
    """Have what is to be measured measured, and told to the stand."""
    while stand.work:
        stand.work.pop(0)()
    while stand.posted:
        stand.on_opined(stand.posted.pop(0))


def last_take(box: Box, clock: ManualClock) -> tuple[str, str, object]:
    """Return the last take's grade, where it came from and its numbers."""
    take = box.day(clock.now()).takes[-1]
    return Grade(take.grade).label, take.source, take.measured
