"""Rows that make no sense are passed over by every reader, named, and can be answered."""

from __future__ import annotations

import sqlite3
import struct
from contextlib import closing
from typing import TYPE_CHECKING

import pytest
from hostile_rows import WRONG_IN_A_TAKE, lay_open, put_take
from hypothesis import given
from hypothesis import strategies as st
from store_kit import CARD, NOW, OTHER, USUAL, card, deck, ids, open_box, take

from drillbox.errors import NotSavedError, UsageError
from drillbox.store import Archive, Setting, TakeRow, Wish, checks, takelog
from drillbox.store.inspection import look_over

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path
    from typing import Any

    from drillbox.store.guard import Unusable


def sound_box(path: Path) -> None:
    """Make a box with two takes, a deck, a wish and a setting."""
    with open_box(path) as box:
        box.put_deck(deck(), [card(1), card(2)])
        box.put_wish(Wish(CARD, 120.0, None, resting=False, at=NOW))
        box.put_setting("minutes", 20, NOW)
        box.add_take(take(1))
        box.add_take(take(2))


def everything_wrong(box: Archive) -> list[Unusable]:
    """Return all that is passed over."""
    return [*box.unusable_entries(), *box.unusable_rows()]


@pytest.mark.parametrize("name", WRONG_IN_A_TAKE)
def test_a_take_that_makes_no_sense_is_passed_over_by_every_reader(
    tmp_path: Path, name: str
) -> None:
    """The two sound takes are all that any reader sees; the third is named, once."""
    sound_box(tmp_path / "box")
    with closing(lay_open(tmp_path / "box")) as db:
        put_take(db, 3, USUAL, **WRONG_IN_A_TAKE[name])
    with open_box(tmp_path / "box") as box:
        assert [take(1), take(2)] == box.takes() == list(box.log())
        assert [take(1), take(2)] == box.takes(card_id=CARD)
        assert [take(2)] == box.takes(card_id=CARD, newest=1)
        assert [take(1), take(2)] == box.takes(newest=2)
        assert take(2) == box.last_take() == box.last_takes()[CARD]
        assert [take(1), take(2)] == list(box.holdings().log)
        assert 2 == len(box.columns(until=checks.LAST_MOMENT).at)
        assert ["take"] == [row.table for row in everything_wrong(box)]
        assert all(row.why.isprintable() and row.key.isprintable() for row in everything_wrong(box))
        box.add_take(take(4))
        assert [take(1), take(2), take(4)] == box.takes()


@pytest.mark.parametrize("name", WRONG_IN_A_TAKE)
def test_what_makes_no_sense_can_be_answered_and_infects_no_other_box(
    tmp_path: Path, name: str
) -> None:
    """A retraction settles it; where its id is none, that it is set aside; no other box gets it."""
    sound_box(tmp_path / "box")
    with closing(lay_open(tmp_path / "box")) as db:
        put_take(db, 3, USUAL, **WRONG_IN_A_TAKE[name])
    with open_box(tmp_path / "box") as box, open_box(start=5 * 10**6) as other:
        assert 2 == other.join(box.holdings()).entries
        assert [] == everything_wrong(other)
        assert 1 == box.answer_unusable(NOW)
        assert [] == everything_wrong(box)
        assert 0 == box.answer_unusable(NOW)
        assert [take(1), take(2)] == box.takes()
        answers = 0 if name == "an id of no entry" else 1
        assert answers == other.join(box.holdings()).entries
        assert [] == everything_wrong(other)
        assert [take(1), take(2)] == other.takes()


@pytest.mark.parametrize("name", WRONG_IN_A_TAKE)
def test_the_door_refuses_what_the_guard_passes_over(name: str) -> None:
    """No `TakeRow` can be made of such values, so no import and no merge brings one in."""
    changes = dict(WRONG_IN_A_TAKE[name])
    if "at" in changes:
        with pytest.raises((ValueError, UsageError)):
            checks.played_at(checks.instant_of(changes["at"]))
        return
    if isinstance(changes.get("measures"), str):
        return  # JSON text is the readers' business: tests/store/test_store_jsonl.py
    with pytest.raises(UsageError):
        take(3, **changes)


def test_rows_of_every_other_table_are_passed_over_too(tmp_path: Path) -> None:
    """A deck, a card, a wish, a setting and a retraction of nonsense; the others are read."""
    sound_box(tmp_path / "box")
    with closing(lay_open(tmp_path / "box")) as db:
        db.execute("INSERT INTO wish VALUES ('x', 1e300, 'much', 7, 'never')")
        db.execute("INSERT INTO setting VALUES ('days', '[', 'never')")
        db.execute("INSERT INTO setting VALUES ('holidays', ?, 'never')", (b"\xff",))
        db.execute("INSERT INTO deck VALUES ('d', 7, 'first', '', '', '', '', 'never', 0)")
        db.execute("UPDATE card SET goal_bpm = 'fast' WHERE slug = 'card-2'")
        db.execute("INSERT INTO retraction VALUES (3, ?, ?, 'never')", (f"{9:032x}", f"{2:032x}"))
        db.execute("INSERT INTO belief VALUES ('x', 'y')")
        db.execute("INSERT INTO feature VALUES ('x', '1', 'y')")
        numbers = (b"bytes", b"12345678", OTHER, b"1234567", CARD, struct.pack("<d", 2.5))
        db.execute("INSERT INTO feature VALUES (?, '1', ?), (?, '1', ?), (?, '1', ?)", numbers)
        days = (OTHER, "text", b"bytes", b"12345678", CARD, b"12345678")
        db.execute("INSERT INTO course VALUES (?, ?), (?, ?), (?, ?)", days)
    with open_box(tmp_path / "box") as box:
        assert {CARD: Wish(CARD, 120.0, None, resting=False, at=NOW)} == box.wishes()
        assert {"minutes": Setting("minutes", 20, NOW)} == box.settings()
        assert [deck()] == box.decks()
        assert [card(1)] == box.cards()
        assert {CARD: (2.5,)} == box.features("1")
        assert {CARD: b"12345678"} == box.courses()
        assert box.beliefs("model 1") is None
        assert [take(1)] == box.takes()
        tables = ["retraction", "deck", "card", "wish", "setting", "setting"]
        assert tables == [row.table for row in everything_wrong(box)]
        assert 1 == box.answer_unusable(NOW)
        assert "retraction" not in {row.table for row in everything_wrong(box)}
        assert [take(1)] == box.takes()


def test_numbers_of_the_log_that_are_used_up_are_one_sentence(tmp_path: Path) -> None:
    """Another program took the last number there is: the next take is refused in a sentence."""
    sound_box(tmp_path / "box")
    with closing(lay_open(tmp_path / "box")) as db:
        db.execute("UPDATE take SET seq = ? WHERE seq = 2", (2**63 - 1,)) if _drop(db) else None
    with open_box(tmp_path / "box") as box, pytest.raises(Exception, match="used up the numbers"):
        box.add_take(take(3))


def test_the_last_number_of_the_log_is_used_and_none_after_it(tmp_path: Path) -> None:
    """SQLite could count on from there; a box says so before anything is lost."""
    path = tmp_path / "box"
    sound_box(path)
    values = {"seq": takelog.LAST_SEQ - 1, "id": f"{7:032x}", "here": 1, **USUAL}
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        marks = ", ".join("?" * len(values))
        names = ", ".join(values)
        db.execute(f"INSERT INTO take ({names}) VALUES ({marks})", [*values.values()])  # noqa: S608
    assert not look_over(path, now=NOW).used_up
    with open_box(path) as box:
        box.add_take(take(8))
        assert takelog.LAST_SEQ == box.mark()
        with pytest.raises(NotSavedError, match="used up the numbers"):
            box.add_take(take(9))
        with pytest.raises(NotSavedError, match="used up the numbers"):
            box.retract(f"{8:032x}", NOW)
        assert take(8) in box.takes()
    assert look_over(path, now=NOW).used_up


def _drop(db: Any) -> bool:
    db.execute("DROP TRIGGER take_no_update")
    return True


def test_an_id_of_a_row_that_is_passed_over_stays_taken(tmp_path: Path) -> None:
    """The log only grows: a sound take of that id from another box is not let in."""
    sound_box(tmp_path / "box")
    with closing(lay_open(tmp_path / "box")) as db:
        put_take(db, 3, USUAL, zone="+99:99")
    with Archive.open(tmp_path / "box", now=NOW, new_id=ids()) as box:
        log: list[TakeRow] = [take(3)]
        assert 0 == box.merge(log)
        assert [take(1), take(2)] == box.takes()


@given(
    st.dictionaries(
        st.sampled_from(["expected_bpm", "expected_sd", "jitter_ms", "Odd Name"]),
        st.floats(-1e9, 1e9) | st.integers(-(10**20), 10**20) | st.floats(0.01, 1.0),
    )
)
def test_measures_read_quickly_are_those_read_in_full(given_measures: dict[str, float]) -> None:
    """The short way for names and numbers lets the same through, and gives the same."""
    text = checks.json_text(given_measures, "measures")

    def read(way: Callable[..., object], value: object) -> object:
        try:
            return way(value, slowest=1.0, fastest=1000.0)
        except UsageError as refusal:
            return refusal.what

    assert read(checks.measures, given_measures) == read(checks.stored_measures, text)
