"""A take that the disk refused, tried again: once in the log, whatever the disk really did."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from conftest import MORNING

from drillbox.errors import BoxDamagedError, BoxError, NotSavedError
from drillbox.memory import Grade

if TYPE_CHECKING:
    from drillbox.box import Box
    from drillbox.store import TakeRow


def record(box: Box, *, minutes: int = 0) -> str:
    """Record a take of the first card; return its id."""
    card = box.cards(at=MORNING)[0].card_id
    at = MORNING + timedelta(minutes=minutes)
    return box.record(card, bpm=80, grade=Grade.STEADY, at=at, seconds=30).take_id


def test_a_take_that_was_saved_after_all_is_not_saved_twice(
    box: Box, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk took the take and then failed: trying again finds it there, by its id."""
    append = box.archive.record

    def saved_but_failed(take: TakeRow, *more: object, **named: object) -> int:
        append(take, *more, **named)  # type: ignore[arg-type]
        raise NotSavedError("not saved: the disk cannot be written or read")

    with monkeypatch.context() as patch:
        patch.setattr(box.archive, "record", saved_but_failed)
        for _ in range(3):
            with pytest.raises(NotSavedError):
                record(box)
    record(box)

    assert 1 == len(list(box.log()))
    record(box, minutes=1)
    assert 2 == len(list(box.log()))


def test_a_disk_that_cannot_be_read_means_not_saved(
    box: Box, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Reading comes before writing, and may fail by itself: it may have to undo a killed write."""

    def unreadable() -> int:
        raise BoxError("the disk cannot be written or read", fix="check the disk and try again")

    card = box.cards(at=MORNING)[0].card_id
    with monkeypatch.context() as patch:
        patch.setattr(box.archive, "changes_elsewhere", unreadable)
        with pytest.raises(NotSavedError, match="not saved: the disk cannot be written or read"):
            box.record(card, bpm=80, grade=Grade.STEADY, at=MORNING, seconds=30)

    assert [] == list(box.log())


def test_damage_is_still_called_damage(box: Box, monkeypatch: pytest.MonkeyPatch) -> None:
    """Trying again would not help there."""

    def damaged() -> int:
        raise BoxDamagedError("the box is damaged")

    card = box.cards(at=MORNING)[0].card_id
    monkeypatch.setattr(box.archive, "mark", damaged)
    with pytest.raises(BoxDamagedError):
        box.record(card, bpm=80, grade=Grade.STEADY, at=MORNING, seconds=30)


def test_what_record_says_is_what_the_history_says(box: Box) -> None:
    """In order or out of order, warm or cold, the take returned is the take looked back on."""
    card = box.cards(at=MORNING)[0].card_id
    for hours in (0, 1, 30, 29, -20):
        at = MORNING + timedelta(hours=hours)
        said = box.record(card, bpm=80, grade=Grade.STEADY, at=at, seconds=30)
        assert said in box.history(card)
