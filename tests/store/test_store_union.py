"""Two machines: by whatever road their holdings meet, every machine ends at the same state."""

from __future__ import annotations

from itertools import permutations
from typing import TYPE_CHECKING

import pytest
from examples import examples
from hypothesis import given
from store_kit import CARD, NOW, OTHER, open_box, take
from strategies import holdings

from drillbox.errors import LogError
from drillbox.store import Archive, Holdings, Setting, Wish
from drillbox.store.rows import FACT

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from drillbox.store import LogEntry

FEW = examples(40)


def box_of(*machines: Holdings) -> Archive:
    """Return a new box into which the holdings came in turn."""
    box = open_box()
    for machine in machines:
        box.join(machine)
    return box


def state(box: Archive) -> tuple[object, ...]:
    """Return all that a union concerns.

    Settings with their types, for 10 and 10.0 are equal in Python.
    """
    kept = sorted((s.key, type(s.value).__name__, s.value, s.at) for s in box.settings().values())
    return list(box.log()), box.takes(), box.wishes(), kept


@FEW
@given(holdings(), holdings(), holdings())
def test_the_union_is_commutative_and_associative(a: Holdings, b: Holdings, c: Holdings) -> None:
    """In every order, and by way of a third machine, the state is the same."""
    expected = state(box_of(a, b, c))

    for order in permutations([a, b, c]):
        assert expected == state(box_of(*order))
    assert expected == state(box_of(a, box_of(b, c).holdings()))
    assert expected == state(box_of(box_of(a, b).holdings(), c))


@FEW
@given(holdings(), holdings())
def test_the_union_is_idempotent(a: Holdings, b: Holdings) -> None:
    """Any number of times is once: the second time nothing is new, and the log does not grow."""
    box = box_of(a, b)
    expected, mark = state(box), box.mark()

    for again in (a, b, box.holdings()):
        joined = box.join(again)
        assert (0, 0) == (joined.entries, joined.choices)
    assert (expected, mark) == (state(box), box.mark())


@FEW
@given(holdings(), holdings())
def test_two_machines_decide_alike(a: Holdings, b: Holdings) -> None:
    """What one machine keeps, the other keeps.

    And each says truly whether it came from the other.
    """
    here, there = box_of(a).join(b), box_of(b).join(a)
    kept = {(d.kept.card_id, d.from_other) for d in here.wishes}

    assert kept == {(d.kept.card_id, not d.from_other) for d in there.wishes}
    assert {(d.kept.key, d.from_other) for d in here.settings} == {
        (d.kept.key, not d.from_other) for d in there.settings
    }


def test_the_newest_wish_stands_and_the_difference_is_told() -> None:
    """The laptop's later goal replaces the desktop's.

    Where nobody disagrees there is nothing to tell.
    """
    old = Wish(CARD, 90.0, None, resting=False, at=NOW)
    new = Wish(CARD, 100.0, None, resting=False, at=NOW.replace(hour=19))
    alone = Wish(OTHER, 80.0, None, resting=False, at=NOW)
    joined = box_of(Holdings(wishes=(old,))).join(Holdings(wishes=(new, alone)))

    assert [(new, old, True)] == [(d.kept, d.dropped, d.from_other) for d in joined.wishes]
    assert (0, 2) == (joined.entries, joined.choices)


def test_of_two_facts_the_earlier_stands() -> None:
    """Whose place a rhythm took is true from the first moment on, whichever machine told it."""
    key = f"{FACT}{CARD}"
    early, late = Setting(key, OTHER, NOW), Setting(key, "b" * 16, NOW.replace(hour=19))
    for first, then in ((early, late), (late, early)):
        box = box_of(Holdings(settings=(first,)))
        joined = box.join(Holdings(settings=(then,)))
        assert early == box.settings()[key]
        assert [(early, late, then is early)] == [
            (d.kept, d.dropped, d.from_other) for d in joined.settings
        ]


def test_an_edited_log_brings_nothing_in_at_all() -> None:
    """The settings beside a take that was edited stay out too: all or nothing."""
    box = box_of(Holdings(log=(take(1),)))
    with pytest.raises(LogError, match="another entry of this id"):
        box.join(Holdings(log=(take(1, bpm=50.0),), settings=(Setting("minutes", 20, NOW),)))

    assert {} == box.settings()


def test_entries_pass_the_counter_in_order() -> None:
    """A front end that counts sees every entry once, sorted, and may not lose one."""
    seen: list[LogEntry] = []

    def counted(log: Sequence[LogEntry]) -> Iterator[LogEntry]:
        for entry in log:
            seen.append(entry)
            yield entry

    box = open_box()
    box.join(Holdings(log=(take(2), take(1))), through=counted)

    assert [take(1), take(2)] == seen == box.takes()
