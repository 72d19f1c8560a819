"""What was measured of a take after it was graded, by the rules of an append-only log."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from drillbox.app.unsaved import Unsaved
from drillbox.base.clock import ManualClock
from drillbox.box import Box
from drillbox.memory import Grade
from drillbox.store import Retraction, TakeRow
from drillbox.store.checks import MEASURED

if TYPE_CHECKING:
    from drillbox.deckfile import Deck

MORNING = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
NUMBERS = {"version": 1, "spread_ms": 9.5}


@pytest.fixture
def own(small_deck: Deck) -> Box:
    """Return a box with the small deck, on which nothing was played."""
    made = Box.open(":memory:")
    made.put_deck(small_deck, at=MORNING)
    return made


def test_a_take_is_taken_back_and_stands_there_once_more(own: Box) -> None:
    """Two rows and an answer in the log, one take that counts, and the same belief as before."""
    card = own.find("a")
    bare = own.record(card, 80, Grade.CLEAN, MORNING, 40)
    before = own.outlook(card, at=MORNING)
    assert own.add_measures(bare.take_id, NUMBERS, at=MORNING + timedelta(seconds=2))
    (take,) = own.history(card)
    log = list(own.log())

    assert replace(bare, take_id=take.take_id, measured=NUMBERS) == take
    assert before == own.outlook(card, at=MORNING)
    assert frozenset() == own.wrong_beliefs()
    assert [bare.take_id] == [row.take_id for row in log if isinstance(row, Retraction)]
    rows = {row.id: row for row in log if isinstance(row, TakeRow)}
    assert {bare.take_id, take.take_id} == set(rows)
    told = dict(rows[take.take_id].measures or {})
    assert NUMBERS == told.pop(MEASURED)
    assert dict(rows[bare.take_id].measures or {}) == told


def test_it_merges_like_any_history(own: Box, small_deck: Deck) -> None:
    """Another machine that had the bare take has the measured one after they met."""
    card = own.find("a")
    bare = own.record(card, 80, Grade.CLEAN, MORNING, 40)
    other = Box.open(":memory:")
    other.put_deck(small_deck, at=MORNING)
    other.merge(own.log())
    own.add_measures(bare.take_id, NUMBERS, at=MORNING)
    other.merge(own.log())

    assert own.history(card) == other.history(card)


def test_undo_takes_the_measured_take_back(own: Box) -> None:
    """One undo is enough; the take that was measured is gone with its numbers."""
    card = own.find("a")
    bare = own.record(card, 80, Grade.CLEAN, MORNING, 40)
    own.add_measures(bare.take_id, NUMBERS, at=MORNING)
    undone = own.undo(at=MORNING)

    assert undone is not None
    assert NUMBERS == undone.measured
    assert () == own.history(card)


def test_only_the_last_take_can_be_told_more_of(own: Box) -> None:
    """Of one before it, of one that was taken back and of none at all nothing happens."""
    card = own.find("a")
    assert not own.add_measures("0" * 32, NUMBERS, at=MORNING)
    first = own.record(card, 80, Grade.CLEAN, MORNING, 40)
    second = own.record(card, 85, Grade.CLEAN, MORNING + timedelta(minutes=1), 40)
    log = list(own.log())
    assert not own.add_measures(first.take_id, NUMBERS, at=MORNING)
    assert log == list(own.log())
    own.retract(second.take_id, at=MORNING + timedelta(minutes=2))
    assert not own.add_measures(second.take_id, NUMBERS, at=MORNING)
    assert own.add_measures(first.take_id, NUMBERS, at=MORNING)


def test_a_take_that_waits_for_the_box_waits_with_its_numbers(
    own: Box, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not saved yet: no row is written twice; where the box refuses later, the grade stands."""
    clock = ManualClock(MORNING)
    unsaved = Unsaved(own, clock)
    card = own.find("a")
    with monkeypatch.context() as refusing:
        refusing.setattr(own, "keep", _refuse)
        refusing.setattr(own, "add_measures", _refuse)
        assert not unsaved.save(card, bpm=80, grade=Grade.CLEAN, at=MORNING, seconds=40)
        assert unsaved.add_measures(unsaved.last_id, NUMBERS)
        assert not unsaved.add_measures("0" * 32, NUMBERS)
    assert unsaved.retry()
    (take,) = own.history(card)

    assert NUMBERS == take.measured
    assert [unsaved.last_id] == [row.id for row in own.log()]


def _refuse(*_: object, **__: object) -> None:
    from drillbox.errors import NotSavedError

    raise NotSavedError("not saved: the disk is full")
