"""Takes that the box refuses: when it is asked again, in what order, and where they are kept."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import pytest

from drillbox.app.unsaved import LONGEST_WAIT, Unsaved
from drillbox.errors import BoxDamagedError, BoxError, BoxMovedError, LogError
from drillbox.memory import Grade
from drillbox.store import TakeRow
from drillbox.store.second_place import LeftBehind

if TYPE_CHECKING:
    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.store.second_place import SecondPlace

A, B, C = (letter * 32 for letter in "abc")
"""Ids of takes."""


class Refusing:
    """A box that refuses until it is told otherwise, and notes when it was asked."""

    def __init__(self, clock: ManualClock, trouble: Exception | None) -> None:
        self.clock, self.trouble = clock, trouble
        self.asked: list[float] = []
        self.kept: list[str] = []
        self.room = 1_000

    def keep(self, take: TakeRow, *, at: object) -> None:
        """Keep a take, or refuse."""
        self.asked.append(self.clock.seconds())
        if self.trouble is not None or self.room <= len(self.kept):
            raise self.trouble or BoxError("full")
        self.kept.append(take.id)


class Place:
    """A second place that notes which takes it was last given to hold."""

    def __init__(self) -> None:
        self.held: list[str] | None = None
        self.measures: list[object] = []

    def hold(self, takes: tuple[TakeRow, ...]) -> Path | None:
        """Note them."""
        self.held, self.measures = [take.id for take in takes], [take.measures for take in takes]
        return Path("second") if takes else None


def unsaved_at(box: Refusing, place: Place | None = None) -> Unsaved:
    """Return the way to a box, by a second place or without one; takes are lettered."""
    ids = iter([A, B, C])
    second = cast("SecondPlace | None", place)
    return Unsaved(cast("Box", box), box.clock, second_place=second, new_id=lambda: next(ids))


def save(unsaved: Unsaved, box: Refusing, seconds: float = 40.0) -> bool:
    """Save a take."""
    at = box.clock.now()
    return unsaved.save("0" * 16, bpm=80, grade=Grade.STEADY, at=at, seconds=seconds)


def test_a_box_that_refuses_is_asked_ever_more_seldom(clock: ManualClock) -> None:
    """Each wait is twice the one before, up to sixteen seconds; a take that goes in begins anew."""
    box = Refusing(clock, BoxError("held"))
    unsaved = unsaved_at(box)
    assert not save(unsaved, box)
    for _ in range(63):
        clock.forward(seconds=1.0)
        unsaved.retry_when_due()
    assert [0.0, 2.0, 6.0, 14.0, 30.0, 46.0, 62.0] == box.asked
    assert 16.0 == LONGEST_WAIT
    box.trouble = None
    clock.forward(seconds=15.0)
    unsaved.retry_when_due()
    assert ([A], (), None) == (box.kept, unsaved.takes, unsaved.trouble)
    box.asked.clear()
    clock.forward(seconds=50.0)
    unsaved.retry_when_due()

    assert [] == box.asked


def test_a_damaged_box_is_not_asked_again_by_itself(clock: ManualClock) -> None:
    """It stays damaged; only the player can ask again."""
    box = Refusing(clock, BoxDamagedError("damaged"))
    unsaved = unsaved_at(box)
    save(unsaved, box)
    clock.forward(seconds=100.0)
    unsaved.retry_when_due()
    assert [0.0] == box.asked
    unsaved.retry()

    assert [0.0, 100.0] == box.asked


def test_unsaved_takes_go_in_in_order_and_come_back_last_first(clock: ManualClock) -> None:
    """What did not go in stays, in its order, with its seconds; the last one is taken back."""
    box = Refusing(clock, BoxError("held"))
    unsaved = unsaved_at(box)
    for seconds in (10.0, 20.0, 40.0):
        save(unsaved, box, seconds)
    assert (70.0, C) == (unsaved.seconds, unsaved.last_id)
    box.trouble, box.room = None, 1
    assert not unsaved.retry()
    assert ([A], [B, C]) == (box.kept, [take.id for take in unsaved.takes])
    last = unsaved.take_back()

    assert last is not None
    assert C == last.id
    assert [B] == [take.id for take in unsaved.takes]
    box.room = 9
    assert unsaved.retry()
    assert ([A, B], None) == (box.kept, unsaved.take_back())


def test_the_second_place_holds_what_is_not_in_the_box(clock: ManualClock) -> None:
    """After every step: refused, given numbers, a fault of the program's own, let in, taken back.

    With nothing to save nothing is written.
    """
    box, place = Refusing(clock, BoxError("held")), Place()
    unsaved = unsaved_at(box, place)

    def holds(*ids: str) -> None:
        assert list(ids) == place.held == [take.id for take in unsaved.takes]
        assert place.measures == [take.measures for take in unsaved.takes]
        assert unsaved.kept_in == (Path("second") if ids else None)

    assert unsaved.retry()
    assert place.held is None
    save(unsaved, box)
    holds(A)
    save(unsaved, box)
    holds(A, B)
    unsaved.add_measures(B, {"played": 12})
    holds(A, B)
    box.trouble = ValueError("a fault")
    with pytest.raises(ValueError, match="a fault"):
        save(unsaved, box)
    holds(A, B, C)
    box.trouble, box.room = None, 1
    unsaved.retry()
    holds(B, C)
    unsaved.take_back()
    holds(B)
    box.room = 9
    unsaved.retry()
    holds()


def test_into_a_file_that_was_replaced_nothing_is_tried_again(clock: ManualClock) -> None:
    """What helps is said in the place of a key that cannot: the next start saves it."""
    box = Refusing(clock, BoxMovedError("not saved: the box was moved"))
    unsaved = unsaved_at(box)
    save(unsaved, box)
    assert not unsaved.may_retry
    box.room = 9
    clock.forward(seconds=60)
    unsaved.retry_when_due()
    assert 1 == len(unsaved.takes)
    assert "quit and start again" not in unsaved.sentence()
    unsaved.kept_in = Path("elsewhere")
    assert unsaved.sentence().endswith("second file: quit and start again, which saves it.")


def test_a_waiting_take_is_given_its_own_measures_and_no_others(clock: ManualClock) -> None:
    """The numbers go to the take they are of; the grade was not waiting for them."""
    box = Refusing(clock, BoxError("held"))
    unsaved = unsaved_at(box)
    save(unsaved, box)
    save(unsaved, box)
    before = unsaved.takes

    assert unsaved.add_measures(B, {"played": 12})
    assert before[0] == unsaved.takes[0]
    assert before[1].measures != unsaved.takes[1].measures
    assert before[1].id == unsaved.takes[1].id


def left_behind(folder: Path, name: str, ids: str, **how: Any) -> LeftBehind:
    """Return a file of an earlier program with some takes."""
    path = folder / name
    path.touch()
    at = datetime(2026, 3, 1, tzinfo=UTC)
    takes = tuple(TakeRow(one * 32, "0" * 16, 80.0, 0, at, "+00:00", 40.0, "self") for one in ids)
    return LeftBehind(path, takes, **how)


def test_what_earlier_programs_left_is_saved_and_told(clock: ManualClock, tmp_path: Path) -> None:
    """A whole file goes; one that breaks off is kept aside; one that is none of ours stays."""
    cut, foreign = (LogError(words) for words in ("it breaks off", "it is no log"))
    left = [
        left_behind(tmp_path, "one.jsonl", "ab"),
        left_behind(tmp_path, "two.jsonl", "c", problem=cut, is_cut=True),
        left_behind(tmp_path, "three.jsonl", "", problem=foreign),
    ]
    box, place = Refusing(clock, None), Place()
    place.left_behind = lambda: left  # type: ignore[attr-defined]
    told = unsaved_at(box, place).take_up()

    assert [A, B, C] == box.kept
    assert {"two.cut", "three.jsonl"} == {path.name for path in tmp_path.iterdir()}
    assert told == (
        "3 takes kept from last time: saved now. it breaks off. "
        f"Of it, 1 whole take came in; the file is kept as {tmp_path / 'two.cut'}. it is no log."
    )


def test_what_earlier_programs_left_stays_while_the_box_refuses(
    clock: ManualClock, tmp_path: Path
) -> None:
    """Why is said, with the file; with nothing left, or no second place, nothing is."""
    box, place = Refusing(clock, BoxError("held")), Place()
    left = [left_behind(tmp_path, "one.jsonl", "ab")]
    place.left_behind = lambda: left  # type: ignore[attr-defined]
    unsaved = unsaved_at(box, place)
    told = unsaved.take_up()
    left.clear()

    assert f"{tmp_path / 'one.jsonl'} still keeps 2 unsaved takes: held." == told
    assert ["one.jsonl"] == [path.name for path in tmp_path.iterdir()]
    assert "" == unsaved.take_up() == unsaved_at(box).take_up()
