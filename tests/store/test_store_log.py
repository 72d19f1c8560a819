from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from store_kit import CARD, NOW, OTHER, open_box, take

from drillbox.errors import BoxError, LogError, UnknownCardError, UsageError
from drillbox.store import MEASURED, Retraction

if TYPE_CHECKING:
    from pathlib import Path


def test_a_take_comes_back_as_it_went_in(tmp_path: Path) -> None:
    """Every field survives closing and opening, to the microsecond and the last bit."""
    row = take(
        1,
        bpm=92.3,
        at=NOW + timedelta(microseconds=7),
        seconds=0.1 + 0.2,
        measures={"jitter_ms": 3.25, "hits": [1, None, True], "who": "Å \U0001f941"},
    )
    with open_box(tmp_path / "box") as box:
        box.add_take(row)
    with open_box(tmp_path / "box") as box:
        assert [row] == box.takes()
        assert row == box.take(row.id)
        assert box.take(f"{99:032x}") is None


def test_the_same_take_twice_is_one_take() -> None:
    """Trying again after an error does no harm, whether or not the first try got through."""
    box = open_box()
    box.add_take(take(1))
    box.add_take(take(1))
    assert [take(1)] == box.takes()
    assert 1 == box.mark()


def test_another_take_of_the_same_id_is_refused() -> None:
    """An id names one take for ever."""
    box = open_box()
    box.add_take(take(1))
    with pytest.raises(UsageError, match="another take has this id"):
        box.add_take(take(1, grade=-2))
    assert [take(1)] == box.takes()


def test_a_retracted_take_does_not_count_but_stays_in_the_log() -> None:
    """Undo is an entry of its own; nothing is deleted."""
    box = open_box()
    box.add_take(take(1))
    box.add_take(take(2))
    answer = box.retract(take(2).id, NOW + timedelta(hours=1))
    assert [take(1)] == box.takes()
    assert [take(1), take(2), answer] == list(box.log())
    assert take(2) == box.take(take(2).id)


def test_taking_back_twice_is_once() -> None:
    """Two windows may both undo the last take."""
    box = open_box()
    box.add_take(take(1))
    first = box.retract(take(1).id, NOW)
    assert first == box.retract(take(1).id, NOW + timedelta(hours=1))
    assert 2 == box.mark()
    box.add_take(take(2))
    assert [True, False, False] == [box.is_retracted(take(n).id) for n in (1, 2, 3)]


def test_only_a_known_take_can_be_taken_back() -> None:
    """A wrong id is said, not silently kept."""
    with pytest.raises(UnknownCardError, match="no such take"):
        open_box().retract(take(1).id, NOW)


def test_takes_come_in_order_of_time_whatever_the_order_they_came_in() -> None:
    """Order is by moment, then id; a take from before is sorted in."""
    box = open_box()
    for number in (3, 1, 2):
        box.add_take(take(number))
    box.add_take(take(9, at=take(2).at))
    assert [take(1), take(2), take(9, at=take(2).at), take(3)] == box.takes()


def test_takes_of_a_card_and_since_a_moment() -> None:
    """Both filters hold together; `since` includes its moment, in any zone."""
    box = open_box()
    for number in range(1, 7):
        box.add_take(take(number, card_id=CARD if number % 2 else OTHER))
    assert [1, 3, 5] == [int(row.id, 16) for row in box.takes(card_id=CARD)]
    assert [4, 5, 6] == [int(row.id, 16) for row in box.takes(since=NOW + timedelta(minutes=4))]
    assert [5] == [int(row.id, 16) for row in box.takes(card_id=CARD, since=take(4).at)]
    with pytest.raises(UsageError, match="since"):
        box.takes(since=NOW.replace(tzinfo=None))


def test_each_cards_last_take() -> None:
    """The latest by time, retracted ones left out.

    A card whose only take was taken back is not there.
    """
    box = open_box()
    for number in (1, 3, 2):
        box.add_take(take(number))
    box.add_take(take(4, card_id=OTHER))
    assert {CARD: take(3), OTHER: take(4, card_id=OTHER)} == box.last_takes()
    box.retract(take(3).id, NOW)
    box.retract(take(4).id, NOW)
    assert {CARD: take(2)} == box.last_takes()
    twin = take(7, at=take(2).at)
    for row in (twin, take(6, at=take(2).at)):
        box.add_take(row)
    assert {CARD: twin} == box.last_takes()
    assert twin == box.takes()[-1]
    assert {} == open_box().last_takes()


def test_the_last_take_is_the_one_just_recorded_even_after_the_clock_was_set_back() -> None:
    """Undo means what the player just did, not what bears the latest time."""
    box = open_box()
    box.add_take(take(1))
    earlier = take(2, at=NOW - timedelta(days=3))
    box.add_take(earlier)
    assert earlier == box.last_take()
    box.retract(earlier.id, NOW)
    assert take(1) == box.last_take()


def test_a_merge_does_not_become_the_last_take() -> None:
    """What the other machine played is not undone here, unless this box has nothing of its own."""
    box = open_box()
    box.merge([take(5), take(6)])
    assert take(6) == box.last_take()
    box.add_take(take(1))
    box.merge([take(7)])
    assert take(1) == box.last_take()
    assert open_box().last_take() is None


def test_the_mark_counts_entries() -> None:
    """It grows by one with every take and retraction and with nothing else."""
    box = open_box()
    assert 0 == box.mark()
    box.add_take(take(1))
    box.put_setting("minutes", 15, NOW)
    assert 1 == box.mark()
    box.retract(take(1).id, NOW)
    assert 2 == box.mark()
    assert 2 == box.merge([take(2), take(3), take(1)])
    assert 4 == box.mark()


def test_changed_cards_says_whose_history_moved() -> None:
    """After a mark: cards with new takes, and cards whose takes were taken back."""
    box = open_box()
    box.add_take(take(1))
    box.add_take(take(2, card_id=OTHER))
    assert frozenset({CARD, OTHER}) == box.changed_cards(after=0)
    assert frozenset({OTHER}) == box.changed_cards(after=1)
    box.retract(take(1).id, NOW)
    assert frozenset({CARD}) == box.changed_cards(after=2)
    assert frozenset() == box.changed_cards(after=3)


def test_changed_cards_sees_a_take_that_came_after_its_retraction() -> None:
    """A merge may bring the answer before what it answers.

    The card is seen when it has a take to be seen by.
    """
    box = open_box()
    box.merge([Retraction(f"{1:032x}", take(1).id, NOW)])
    assert frozenset() == box.changed_cards(after=0)
    box.merge([take(1)])
    assert [] == box.takes()
    assert frozenset({CARD}) == box.changed_cards(after=1)


def test_a_merge_with_a_forged_entry_takes_in_nothing() -> None:
    """Two contents under one id mean that one log was edited; the whole merge is refused."""
    box = open_box()
    box.add_take(take(1))
    with pytest.raises(LogError, match="another entry of this id"):
        box.merge([take(2), take(1, bpm=200.0)])
    assert [take(1)] == box.takes()
    assert 1 == box.mark()


def test_a_write_of_another_window_is_noticed(tmp_path: Path) -> None:
    """`changes_elsewhere` moves when the other connection writes, and not when this one does."""
    with open_box(tmp_path / "box") as here, open_box(tmp_path / "box") as there:
        before = here.changes_elsewhere()
        here.add_take(take(1))
        assert before == here.changes_elsewhere()
        there.add_take(take(2))
        assert before != here.changes_elsewhere()
        assert [take(1), take(2)] == here.takes()


def test_two_kinds_of_entry_may_share_an_id_and_a_moment() -> None:
    """Ids are given by kind; the order of the log does not depend on which came first."""
    twin = Retraction(take(1).id, take(1).id, take(1).at)
    one, other = open_box(), open_box()
    one.merge([take(1)])
    one.merge([twin])
    other.merge([twin])
    other.merge([take(1)])
    assert [take(1), twin] == list(one.log()) == list(other.log())


def test_measured_takes_are_found_without_reading_the_others() -> None:
    """Those under whose measures the ear wrote, in order of time; SQLite finds them in its index.

    A log of years is not gone through to learn that nobody ever plugged a microphone in.
    """
    box = open_box()
    told = {MEASURED: {"spread_ms": 7.5}}
    rows = [take(n, measures=told if n in {2, 5, 7} else {"level": 0.5}) for n in range(1, 9)]
    box.merge(rows)
    box.retract(rows[4].id, NOW + timedelta(hours=1))
    asked: list[str] = []
    box._box.connection.set_trace_callback(asked.append)

    assert [rows[1], rows[6]] == box.takes(measured=True)
    assert [rows[6]] == box.takes(measured=True, newest=1)
    box._box.connection.set_trace_callback(None)
    selects = [one for one in asked if "FROM take" in one]
    assert 2 == len(selects)
    for select in selects:
        plan = box._box.connection.execute(f"EXPLAIN QUERY PLAN {select}").fetchall()
        assert any("take_measured" in step[3] for step in plan), plan


def test_a_take_told_again_stands_in_the_place_of_the_first() -> None:
    """Both are in the log, one counts; of a take that nobody has, nothing takes the place."""
    with open_box() as box:
        box.add_take(take(1))
        box.replace_take(take(1).id, take(2), NOW)
        assert [take(2)] == box.takes()
        (answer,) = (entry for entry in box.log() if isinstance(entry, Retraction))
        assert (take(1).id, 3) == (answer.take_id, box.mark())
        with pytest.raises(UnknownCardError, match="no such take"):
            box.replace_take(f"{9:032x}", take(3), NOW)
        assert [take(2)] == box.takes()
        assert 3 == box.mark()


@given(
    here=st.lists(st.integers(1, 30), unique=True, max_size=6),
    merged=st.lists(st.integers(31, 60), unique=True, max_size=4),
    back=st.sets(st.integers(1, 60)),
    since=st.integers(0, 61),
    least=st.integers(0, 61),
)
@examples(40)
def test_the_last_take_meant_is_the_last_that_came(
    here: list[int], merged: list[int], back: set[int], since: int, least: int
) -> None:
    """Of those that count, were played since a moment and are meant; one recorded here first."""
    with open_box() as box:
        for number in here:
            box.add_take(take(number))
        box.merge([take(number) for number in merged])
        for number in back & {*here, *merged}:
            box.retract(take(number).id, NOW)
        fit = [n for n in (*sorted(merged), *here) if n not in back and n >= max(since, least)]
        found = box.last_of(
            since=take(since).at if since else NOW, meant=lambda one: int(one.id, 16) >= least
        )
        assert (take(fit[-1]) if fit else None) == found


def test_a_box_that_was_let_go_answers_nothing() -> None:
    """Its file is closed: another program may have it."""
    box = open_box()
    box.add_take(take(1))
    box.close()

    with pytest.raises(BoxError, match="closed"):
        box.takes()
