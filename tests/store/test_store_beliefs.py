from __future__ import annotations

import math
import struct
from typing import TYPE_CHECKING

from hypothesis import given
from hypothesis import strategies as st
from store_kit import CARD, NOW, OTHER, open_box, standing, take

from drillbox.store import BeliefCache, BeliefRow

if TYPE_CHECKING:
    from pathlib import Path

MODEL = "model 1"
OTHER_MODEL = "model 2"


def kept(cache: BeliefCache | None) -> BeliefCache:
    """Return a cache that is there."""
    assert cache is not None
    return cache


def belief(card_id: str, *body: float) -> BeliefRow:
    """Return a belief of these numbers."""
    return BeliefRow(card_id, body)


@given(st.lists(st.floats(), max_size=12))
def test_a_body_comes_back_bit_by_bit(body: list[float]) -> None:
    """Subnormals, infinities, signed zeros and NaN.

    A replay on the other machine must give the same bytes.
    """
    box = open_box()
    box.put_beliefs([belief(CARD, *body)], since=None, now=standing(0, MODEL))
    back = kept(box.beliefs(MODEL)).rows[CARD].body
    assert [struct.pack("<d", number) for number in body] == [
        struct.pack("<d", number) for number in back
    ]


def test_a_new_box_believes_nothing() -> None:
    """No rows, and a mark of 0: everything in the log is still to be replayed."""
    assert None is open_box().beliefs(MODEL)


def test_recording_keeps_the_cache_in_step() -> None:
    """Take and belief are one step, and the cache accounts for the whole log after it."""
    box = open_box()
    box.put_beliefs([belief(OTHER, 2.0)], since=None, now=standing(0, MODEL))
    assert 1 == box.record(
        take(1), [belief(CARD, 1.0)], since=standing(0, MODEL), now=standing(1, MODEL)
    )
    expected = BeliefCache(standing(1), {CARD: belief(CARD, 1.0), OTHER: belief(OTHER, 2.0)})
    assert expected == box.beliefs(MODEL)
    assert [take(1)] == box.takes()


def test_recording_beside_a_faster_window_keeps_the_take_and_not_the_belief() -> None:
    """What was computed without the other window's take may not pass for current."""
    box = open_box()
    box.put_beliefs([], since=None, now=standing(0, MODEL))
    box.add_take(take(1, card_id=OTHER))
    assert 2 == box.record(
        take(2), [belief(CARD, 1.0)], since=standing(0, MODEL), now=standing(1, MODEL)
    )
    assert BeliefCache(standing(0), {}) == box.beliefs(MODEL)
    assert frozenset({CARD, OTHER}) == box.changed_cards(after=0)
    assert 2 == len(box.takes())


def test_recording_the_same_take_again_leaves_the_cache_right() -> None:
    """After an unclear error the caller tries again; take and belief are there once."""
    box = open_box()
    box.put_beliefs([], since=None, now=standing(0, MODEL))
    for _ in range(2):
        assert 1 == box.record(
            take(1), [belief(CARD, 1.0)], since=standing(0, MODEL), now=standing(1, MODEL)
        )
    assert BeliefCache(standing(1), {CARD: belief(CARD, 1.0)}) == box.beliefs(MODEL)


def test_another_model_has_no_cache() -> None:
    """Its beliefs are dropped when the new model stores its own, and not earlier."""
    box = open_box()
    box.put_beliefs([belief(CARD, 1.0)], since=None, now=standing(0, MODEL))
    assert None is box.beliefs(OTHER_MODEL)
    assert belief(CARD, 1.0) == kept(box.beliefs(MODEL)).rows[CARD]
    box.put_beliefs([belief(OTHER, 2.0)], since=None, now=standing(0, OTHER_MODEL))
    assert {OTHER: belief(OTHER, 2.0)} == kept(box.beliefs(OTHER_MODEL)).rows
    assert None is box.beliefs(MODEL)


def test_recording_with_another_model_leaves_the_cache_alone() -> None:
    """Two versions of the program on one box: each sees only its own beliefs."""
    box = open_box()
    box.put_beliefs([belief(CARD, 1.0)], since=None, now=standing(0, MODEL))
    box.record(
        take(1), [belief(CARD, 2.0)], since=standing(0, OTHER_MODEL), now=standing(1, OTHER_MODEL)
    )
    assert BeliefCache(standing(0), {CARD: belief(CARD, 1.0)}) == box.beliefs(MODEL)


def test_a_late_replay_does_not_overwrite_a_newer_cache() -> None:
    """A slow window stores what it replayed up to mark 1 when the cache is at 2 already."""
    box = open_box()
    box.add_take(take(1))
    box.add_take(take(2))
    box.put_beliefs([belief(CARD, 2.0)], since=None, now=standing(2, MODEL))
    box.put_beliefs([belief(CARD, 1.0)], since=None, now=standing(1, MODEL))
    assert BeliefCache(standing(2), {CARD: belief(CARD, 2.0)}) == box.beliefs(MODEL)


def test_rows_that_do_not_complete_the_cache_are_not_stored() -> None:
    """A window whose earlier write was refused knows more than the cache.

    What it adds would leave a hole.
    """
    box = open_box()
    for number in (1, 2):
        box.add_take(take(number))
    box.put_beliefs([belief(CARD, 2.0)], since=standing(1, MODEL), now=standing(2, MODEL))
    assert None is box.beliefs(MODEL)


def test_the_first_take_of_a_box_is_cached_with_its_belief() -> None:
    """Nothing has to be stored before: an empty log is accounted for by no beliefs."""
    box = open_box()
    box.record(take(1), [belief(CARD, 1.0)], since=standing(0, MODEL), now=standing(1, MODEL))
    assert BeliefCache(standing(1), {CARD: belief(CARD, 1.0)}) == box.beliefs(MODEL)


def test_a_retraction_leaves_the_cache_behind_the_log() -> None:
    """The mark says so, and the card is named."""
    box = open_box()
    box.put_beliefs([], since=None, now=standing(0, MODEL))
    box.record(take(1), [belief(CARD, 1.0)], since=standing(0, MODEL), now=standing(1, MODEL))
    box.retract(take(1).id, NOW)
    assert 1 == kept(box.beliefs(MODEL)).standing.mark
    assert frozenset({CARD}) == box.changed_cards(after=1)


def test_dropped_beliefs_are_gone_and_the_log_is_not(tmp_path: Path) -> None:
    """The cache may be thrown away at any time."""
    with open_box(tmp_path / "box") as box:
        box.put_beliefs([], since=None, now=standing(0, MODEL))
        box.record(
            take(1), [belief(CARD, math.nan)], since=standing(0, MODEL), now=standing(1, MODEL)
        )
        box.drop_beliefs()
    with open_box(tmp_path / "box") as box:
        assert None is box.beliefs(MODEL)
        assert [take(1)] == box.takes()
