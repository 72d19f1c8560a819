"""Readers of one log agree: part by part, in columns, by card, by time, the newest, the unfit."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from examples import examples
from hostile_rows import WRONG_IN_A_TAKE, lay_open, put_take
from hypothesis import given
from hypothesis import strategies as st
from store_kit import CARD, NOW, OTHER, USUAL, open_box, take
from strategies import take_logs, take_rows

from drillbox.errors import UsageError
from drillbox.store import LEVEL, LEVEL_AFTER, Retraction, takelog, unusable_entries
from drillbox.store.checks import LAST_MOMENT

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.store import Archive, LogEntry, TakeRow

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
levels = st.none() | st.floats(-4.0, 4.0)


@st.composite
def levelled(draw: st.DrawFn) -> TakeRow:
    """Return a take with the player's level before and after it, or without."""
    row = draw(take_rows())
    measures = {**(row.measures or {}), LEVEL: draw(levels), LEVEL_AFTER: draw(levels)}
    return replace(row, measures={k: v for k, v in measures.items() if v is not None} or None)


@examples(20)
@given(st.lists(levelled(), max_size=8, unique_by=lambda row: row.id), st.data())
def test_columns_say_what_the_rows_say(rows: list[TakeRow], data: st.DataObject) -> None:
    """Field by field and in the same order, up to a moment, without what was taken back."""
    box = open_box()
    box.merge(rows)
    for row in rows:
        if data.draw(st.integers(0, 3)) == 0:
            box.retract(row.id, NOW)
    moments = st.sampled_from([row.at for row in rows]) if rows else st.just(LAST_MOMENT)
    until = data.draw(moments | st.just(LAST_MOMENT))
    takes, columns = box.takes(until=until), box.columns(until=until)

    assert [row.card_id for row in takes] == [columns.cards[place] for place in columns.card]
    assert list(dict.fromkeys(row.card_id for row in takes)) == list(columns.cards)
    assert [row.zone for row in takes] == [columns.zones[place] for place in columns.zone]
    assert [row.at for row in takes] == [
        EPOCH + timedelta(microseconds=int(us)) for us in columns.at
    ]
    assert [(row.bpm, row.grade, row.seconds) for row in takes] == list(
        zip(columns.bpm, columns.grade, columns.seconds, strict=True)
    )
    assert [row.source in {"audio", "midi"} for row in takes] == list(columns.measured)
    for name, column in ((LEVEL, columns.level), (LEVEL_AFTER, columns.level_after)):
        told = [(row.measures or {}).get(name, np.nan) for row in takes]
        assert np.array_equal(np.array(told, float), column, equal_nan=True)
    first: dict[int, Any] = {}
    for row, place in zip(takes, columns.card, strict=True):
        first.setdefault(int(place), row.measures)
    assert {place: told for place, told in first.items() if told} == columns.first_measures


@examples(30)
@given(take_logs())
def test_a_log_read_in_parts_is_the_whole_log(log: list[LogEntry]) -> None:
    """Parts of two: entries of one moment go by their ids, none is lost or doubled."""
    at = next((entry.at for entry in log), NOW)
    log = [replace(entry, at=at) if n % 3 else entry for n, entry in enumerate(log)]
    box = open_box()
    box.merge(log)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(takelog, "PART", 2)
        assert sorted(log, key=lambda entry: (entry.at, entry.id)) == list(box.log())


def test_a_log_is_read_as_it_stood_when_the_reading_began(tmp_path: Path) -> None:
    """What comes in while the reader is at work is not in it, be it dated before or after."""
    with open_box(tmp_path / "box") as box, open_box(tmp_path / "box", start=10**7) as window:
        box.merge([take(1), take(3)])
        reading = box.log()
        window.merge([take(0), take(2), take(9)])
        answer = window.retract(take(1).id, NOW)
        assert [take(1), take(3)] == list(reading)
        assert answer in list(box.log())


@examples(40)
@given(st.lists(take_rows(), max_size=8, unique_by=lambda row: row.id), st.data())
def test_every_way_to_ask_for_takes_is_a_filter(rows: list[TakeRow], data: st.DataObject) -> None:
    """By card, from and to a moment, both included, the newest so many of what is left."""
    box = open_box()
    rows = [replace(row, measures={"ear": 1} if row.grade else row.measures) for row in rows]
    box.merge(rows)
    back = {row.id for row in rows if row.seconds > 60_000}
    for key in back:
        box.retract(key, NOW)
    moments = st.none() | (st.sampled_from([row.at for row in rows]) if rows else st.just(NOW))
    card = data.draw(st.none() | st.sampled_from([row.card_id for row in rows] or [CARD]))
    since, until = data.draw(moments), data.draw(moments)
    newest = data.draw(st.none() | st.integers(0, 4))
    measured = data.draw(st.booleans())
    kept = sorted((row for row in rows if row.id not in back), key=lambda row: (row.at, row.id))
    kept = [
        row
        for row in kept
        if (card is None or row.card_id == card)
        and (since is None or row.at >= since)
        and (until is None or row.at <= until)
        and (not measured or "ear" in (row.measures or {}))
    ]
    expected = kept if newest is None else kept[max(len(kept) - newest, 0) :]

    assert expected == box.takes(
        card_id=card, since=since, until=until, newest=newest, measured=measured
    )
    last = until or LAST_MOMENT
    counting = sorted(
        (row for row in rows if row.id not in back and row.at <= last),
        key=lambda row: (row.at, row.id),
    )
    assert {row.card_id: row for row in counting} == box.last_takes(until=last)
    assert (counting[-1].at if counting else None) == box.last_moment(until=last)


@given(st.lists(take_rows(), max_size=6, unique_by=lambda row: row.id), st.data())
@examples(30)
def test_cards_between_two_moments_are_after_the_first_and_up_to_the_last(
    rows: list[TakeRow], data: st.DataObject
) -> None:
    """Retracted takes too: what is believed was computed with or without them."""
    box = open_box()
    box.merge(rows)
    moments = st.sampled_from([row.at for row in rows]) if rows else st.just(NOW)
    first, last = sorted((data.draw(moments), data.draw(moments)))

    assert {row.card_id for row in rows if first < row.at <= last} == box.cards_between(first, last)


def test_a_take_is_found_by_the_start_of_its_id() -> None:
    """By its first digits, all of them or the whole of it; a few at most, in order of their ids.

    What cannot be asked is the asker's mistake, and no damage of the box.
    """
    keys = ["a" * 32, "ab" + "0" * 30, "abf" + "f" * 29, "ac" + "0" * 30, "0" * 32]
    box = open_box()
    box.merge(replace(take(n), id=key) for n, key in enumerate(keys))

    def found(start: str) -> list[str]:
        return [row.id for row in box.takes_starting(start)]

    assert sorted(keys[:4]) == found("a")
    assert keys[1:3] == found("ab")
    assert [keys[2]] == found("abf") == found(keys[2])
    assert [] == found("abff0") == found("b")
    box.retract(keys[4], NOW)
    assert [keys[4]] == found("0")
    for wrong in ("", "A", "g", "%", "a" * 33):
        with pytest.raises(UsageError, match="take is"):
            box.takes_starting(wrong)
    for moment in (box.last_moment, box.last_takes, lambda until: box.takes(until=until)):
        with pytest.raises(UsageError, match="until is"):
            moment(until=NOW.replace(tzinfo=None))
    box.merge(replace(take(n), id=f"{n:x}".rjust(32, "9")) for n in range(20))
    assert 9 == len(found("9"))


@pytest.mark.parametrize("name", WRONG_IN_A_TAKE)
def test_the_quick_way_to_what_is_unfit_finds_what_the_slow_one_does(
    tmp_path: Path, name: str
) -> None:
    """All of a log at once, or one by one after a mark: the same rows, and no others."""
    with open_box(tmp_path / "box") as box:
        box.merge([take(1), take(2, measures={"level": 0.5, "said": "so"})])
    with closing(lay_open(tmp_path / "box")) as db:
        put_take(db, 3, USUAL, **WRONG_IN_A_TAKE[name])
        put_take(db, 4, USUAL)
    with open_box(tmp_path / "box") as box:
        with box._box.reading() as db:
            slow = unusable_entries.found(db)
        assert slow == box.unusable_entries() == box.unusable_entries(after=2)
        assert 1 == len(slow)
        assert [] == box.unusable_entries(after=3)
        assert 1 == box.answer_unusable(NOW)
        answers = [entry for entry in box.log() if isinstance(entry, Retraction)]
        assert (name != "an id of no entry") == len(answers)
        assert [] == box.unusable_entries() == box.unusable_entries(after=2)


@pytest.mark.parametrize(
    ("changes", "is_fit"),
    [
        ({"bpm": 1.0}, True), ({"bpm": 1000.0}, True), ({"bpm": 0.99}, False),
        ({"bpm": 1000.1}, False), ({"grade": -2}, True), ({"grade": 2}, True),
        ({"grade": -3}, False), ({"grade": 3}, False), ({"seconds": 0.0}, True),
        ({"seconds": 86_400.0}, True), ({"seconds": 86_400.5}, False),
        ({"at": "1970-01-01T00:00:00.000000Z"}, True),
        ({"at": "1969-12-31T23:59:59.999999Z"}, False),
        ({"at": "2199-12-31T23:59:59.999999Z"}, True),
        ({"at": "2200-01-01T00:00:00.000000Z"}, False),
        ({"source": "s" * 40}, True), ({"source": "s" * 41}, False),
        ({"measures": '{"level":4.0}'}, True), ({"measures": '{"level":-4.1}'}, False),
        ({"measures": '{"level_after":4.1}'}, False), ({"measures": '{"expected_sd":1.0}'}, True),
        ({"measures": '{"expected_sd":1.1}'}, False), ({"measures": '{"expected_sd":0}'}, False),
        ({"measures": '{"expected_bpm":1}'}, True), ({"measures": '{"expected_bpm":0.9}'}, False),
        ({"measures": '{"expected_bpm":1000}'}, True),
        ({"measures": '{"expected_bpm":1000.5}'}, False),
    ],
)  # fmt: skip
def test_limits_are_the_same_for_a_row_and_for_a_whole_log(
    changes: dict[str, Any], *, is_fit: bool, tmp_path: Path
) -> None:
    """Each limit is in, what lies beyond is out, whoever asks; docs/box-file.md has them."""
    with open_box(tmp_path / "box") as box:
        box.add_take(take(1))
    with closing(lay_open(tmp_path / "box")) as db:
        put_take(db, 2, USUAL, card_id=OTHER, **changes)
    with open_box(tmp_path / "box") as box:
        assert 1 + is_fit == len(box.takes()) == len(box.columns(until=LAST_MOMENT).at)
        assert 1 - is_fit == len(box.unusable_entries()) == len(box.unusable_entries(after=1))


def test_the_last_moment_is_found_behind_takes_that_make_no_sense(tmp_path: Path) -> None:
    """A few of them are looked past."""
    with open_box(tmp_path / "box") as box:
        box.merge([take(1), take(2)])
    with closing(lay_open(tmp_path / "box")) as db:
        for number in range(10, 18):
            put_take(db, number, USUAL, bpm=0.0)
    with open_box(tmp_path / "box") as box:
        assert take(2).at == box.last_moment(until=LAST_MOMENT)
        assert [take(2)] == box.takes(newest=1)
        assert {CARD: take(2)} == box.last_takes()


def test_a_number_tells_of_what_another_connection_wrote(tmp_path: Path) -> None:
    """It changes with the other's writes and not with one's own."""
    with open_box(tmp_path / "box") as box, open_box(tmp_path / "box", start=10**7) as window:
        before = box.changes_elsewhere()
        box.add_take(take(1))
        assert before == box.changes_elsewhere()
        window.add_take(take(2))
        assert before != box.changes_elsewhere()


def test_a_wrong_answer_beside_a_right_one_is_no_matter(tmp_path: Path) -> None:
    """The take is taken back once, by the one that makes sense; the other is not told any more."""
    with open_box(tmp_path / "box") as box:
        box.merge([take(1), take(2)])
    with closing(lay_open(tmp_path / "box")) as db:
        db.execute("INSERT INTO retraction VALUES (3, ?, ?, 'never')", (f"{8:032x}", take(1).id))
    with open_box(tmp_path / "box") as box:
        assert ["retraction"] == [row.table for row in box.unusable_entries()]
        box.retract(take(1).id, NOW)
        assert [] == box.unusable_entries()
        assert [take(2)] == box.takes()


def test_an_answer_that_makes_no_sense_lets_the_take_it_names_rest(tmp_path: Path) -> None:
    """A retraction with a wrong moment is passed over, and answered by a right one, once.

    One that names no take is set aside.
    """

    def wrong(box: Archive) -> list[str]:
        return [row.table for row in box.unusable_entries()]

    with open_box(tmp_path / "box") as box:
        box.merge([take(1), take(2)])
    with closing(lay_open(tmp_path / "box")) as db:
        for seq, key, of in ((3, 8, 1), (4, 9, 77)):
            db.execute(
                "INSERT INTO retraction VALUES (?, ?, ?, 'never')",
                (seq, f"{key:032x}", f"{of:032x}"),
            )
    with open_box(tmp_path / "box") as box:
        assert ["retraction", "retraction"] == wrong(box)
        assert 2 == box.answer_unusable(NOW)
        assert [] == wrong(box)
        assert [take(2)] == box.takes()
        (answer,) = (entry for entry in box.log() if isinstance(entry, Retraction))
        assert take(1).id == answer.take_id
