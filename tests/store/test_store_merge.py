"""The log is a set: the laws by which two machines come to the same state."""

from __future__ import annotations

from itertools import permutations
from typing import TYPE_CHECKING

from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from store_kit import open_box
from strategies import take_logs

if TYPE_CHECKING:
    from random import Random

    from drillbox.store import Archive, LogEntry

FEW = examples(30)


def box_of(*logs: list[LogEntry]) -> Archive:
    """Return a new box into which the logs were merged in turn."""
    box = open_box()
    for log in logs:
        box.merge(log)
    return box


def state(box: Archive) -> tuple[list[LogEntry], list[LogEntry]]:
    """Return all of a box that a merge concerns: the log, and what of it counts."""
    return list(box.log()), list(box.takes())


@FEW
@given(take_logs(), take_logs(), take_logs())
def test_merging_is_commutative_and_associative(
    a: list[LogEntry], b: list[LogEntry], c: list[LogEntry]
) -> None:
    """In every order, and by way of a third machine, the state is the same."""
    expected = state(box_of(a, b, c))
    for order in permutations([a, b, c]):
        assert expected == state(box_of(*order))
    by_way_of = list(box_of(b, c).log())
    assert expected == state(box_of(a, by_way_of))
    assert expected == state(box_of(list(box_of(a, b).log()), c))


@FEW
@given(take_logs(), take_logs())
def test_merging_is_idempotent(a: list[LogEntry], b: list[LogEntry]) -> None:
    """Any number of times is once, and the second time says that nothing was new."""
    box = box_of(a, b)
    expected, mark = state(box), box.mark()
    assert 0 == box.merge(a) == box.merge(b) == box.merge(box.log())
    assert (expected, mark) == (state(box), box.mark())


@FEW
@given(take_logs(), st.randoms(use_true_random=False))
def test_the_order_within_a_file_does_not_matter(log: list[LogEntry], random: Random) -> None:
    """A shuffled file is the same file."""
    shuffled = list(log)
    random.shuffle(shuffled)
    assert state(box_of(log)) == state(box_of(shuffled))


@FEW
@given(take_logs(), take_logs())
def test_a_merge_is_the_union(a: list[LogEntry], b: list[LogEntry]) -> None:
    """Nothing else comes in and nothing goes away; the mark counts it."""
    box = box_of(a, b)
    assert {*a, *b} == set(box.log())
    assert len({*a, *b}) == box.mark()
