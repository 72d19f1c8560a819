"""What another program may have done to the tables of a box: counted, named, made again."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from hostile_rows import alter
from store_kit import CARD, NOW, box_with, card, deck, open_box, standing, take

from drillbox.errors import (
    BoxDamagedError,
    BoxError,
    BoxForeignError,
    NotSavedError,
)
from drillbox.store import (
    BeliefRow,
    Wish,
    list_backups,
)
from drillbox.store.backups import may_hold_more
from drillbox.store.boxfile import BoxFile, damage
from drillbox.store.inspection import entries_of, look_over
from drillbox.store.opening import open_box as opened

if TYPE_CHECKING:
    from pathlib import Path


def test_what_sqlite_keeps_for_itself_is_no_alteration(tmp_path: Path) -> None:
    """Statistics (https://sqlite.org/fileformat2.html#stat1tab) are; an index of others is not."""
    path = box_with(tmp_path / "box", 1)
    alter(path, "ANALYZE")
    assert () == look_over(path, now=NOW).altered
    alter(path, "CREATE INDEX theirs ON take (grade)", "DROP TRIGGER take_no_update",
          "CREATE TABLE sqlitex (a)", "CREATE TABLE x_y (a)")  # fmt: skip
    assert ("sqlitex", "take_no_update", "theirs", "x_y") == look_over(path, now=NOW).altered


def test_numbers_of_the_log_that_are_missing_or_given_twice_are_counted(tmp_path: Path) -> None:
    """Over takes and retractions together: one count, without gaps."""
    path = box_with(tmp_path / "box", 1, 2, 3, 4)
    with open_box(path) as box:
        box.retract(take(1).id, NOW)
    found = look_over(path, now=NOW)
    assert (5, 0, False) == (found.entries, found.gaps, found.used_up)
    alter(path, "DROP TRIGGER take_no_delete", "DELETE FROM take WHERE seq IN (2, 3)")
    assert (3, 2) == (look_over(path, now=NOW).entries, look_over(path, now=NOW).gaps)
    alter(path, "INSERT INTO retraction SELECT 4, '00000000000000000000000000000009', take_id, at"
                " FROM retraction")  # fmt: skip
    assert (4, 3) == (look_over(path, now=NOW).entries, look_over(path, now=NOW).gaps)
    alter(
        path,
        "INSERT INTO take SELECT (1 << 62) - 1, '00000000000000000000000000000077', card_id, bpm,"
        " grade, at, zone, seconds, source, NULL, 1 FROM take WHERE seq = 1",
    )
    assert not look_over(path, now=NOW).used_up
    with open_box(path) as box:
        box.add_take(take(20))
        with pytest.raises(NotSavedError, match="used up the numbers of the log"):
            box.add_take(take(21))
    assert look_over(path, now=NOW).used_up


def test_cards_without_their_deck_are_damage(tmp_path: Path) -> None:
    """SQLite's check of foreign keys finds them; each is named."""
    path = tmp_path / "box"
    with open_box(path) as box:
        box.put_deck(deck(), [card(1)])
    assert () == look_over(path, now=NOW).damage
    alter(path, "PRAGMA foreign_keys = OFF", "DELETE FROM deck")
    assert ("a card of card without its deck",) == look_over(path, now=NOW).damage


def test_what_backups_hold_that_the_box_lacks_is_found_once(tmp_path: Path) -> None:
    """In whichever backup; takes and retractions, by time; what the box has is not told."""
    path = box_with(tmp_path / "box", 2, 3)
    with open_box(path) as box:
        box.back_up(NOW)
        answer = box.retract(take(2).id, NOW + timedelta(hours=1))
        box.back_up(NOW + timedelta(seconds=1))
        box.merge([take(1)])
        box.back_up(NOW + timedelta(seconds=2))
        box.back_up(NOW + timedelta(seconds=3))
    good = list_backups(path)

    assert 4 == len(good) == len(look_over(path, now=NOW).good)
    assert [take(1), take(3), answer] == entries_of(good, without={take(2).id}, now=NOW)
    assert [] == entries_of(good, without={take(n).id for n in (1, 2, 3)} | {answer.id}, now=NOW)
    assert 0 == look_over(path, now=NOW).only_in_backups
    assert not any(may_hold_more(backup.path, path) for backup in good)
    path.write_bytes(good[-1].path.read_bytes())
    assert 2 == look_over(path, now=NOW).only_in_backups
    assert [True, True, True, False] == [may_hold_more(backup.path, path) for backup in good]


def test_what_is_done_beside_the_checks_fails_only_where_the_box_is_whole(tmp_path: Path) -> None:
    """Of a damaged box nothing can be expected; its backups are judged all the same."""
    path = box_with(tmp_path / "box", 1)
    with open_box(path) as box:
        box.back_up(NOW)

    def fail() -> None:
        raise RecursionError("beside")

    with pytest.raises(RecursionError, match="beside"):
        look_over(path, now=NOW, meanwhile=fail)
    path.write_bytes(path.read_bytes()[:9000])
    found = look_over(path, now=NOW, meanwhile=fail)
    assert found.damage
    assert list_backups(path) == found.good
    with pytest.raises(BoxError, match="no such box"):
        look_over(tmp_path / "none", now=NOW, meanwhile=fail)


def test_the_text_of_a_table_may_be_no_text(tmp_path: Path) -> None:
    """A trigger SQLite can follow is altered, a cache is made again; what it cannot is damaged."""
    path = box_with(tmp_path / "box", 1)
    with open_box(path) as box:
        backup = box.back_up(NOW).path
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b"is append-only'); END", b"is append-onl\x90'); END"))
    found = look_over(path, now=NOW)
    assert () == found.damage
    assert "take_no_update" in found.altered
    column = b"  %s TEXT NOT NULL,\n  body"
    path.write_bytes(whole.replace(column % b"version", column % b"versio\x90"))
    found = look_over(path, now=NOW)
    assert ((), ()) == (found.damage, found.altered)
    named, begins = b"tablefeaturefeature", b"CREATE TABLE feature"
    no_sql = whole.replace(begins, begins.replace(b"TABLE", b"T\x90BLE"))
    path.write_bytes(no_sql.replace(named, named.replace(b"f", b"\x90")))
    found = look_over(path, now=NOW)
    assert ("the box is damaged",) == found.damage
    assert [backup] == [one.path for one in found.good]
    assert may_hold_more(backup, path)
    with closing(BoxFile(backup)) as file, pytest.raises(BoxDamagedError), file.explained():
        b"\x90".decode()  # as sqlite3 does with what SQLite says


@pytest.mark.parametrize("table", ["feature", "course", "belief", "history_state"])
def test_a_lost_cache_is_made_again(tmp_path: Path, table: str) -> None:
    """Empty, with what is left of the cache thrown away; the log and the decks are as they were."""
    path = tmp_path / "box"
    with open_box(path) as box:
        box.put_deck(deck(), [card(1)])
        box.put_beliefs([BeliefRow(CARD, (1.0,))], since=None, now=standing(0))
    alter(path, f"DROP TABLE {table}")
    with closing(opened(path, now=NOW, read_only=True).box) as file, file.reading() as db:
        assert (0,) == db.execute(f"SELECT count(*) FROM {table}").fetchone()  # noqa: S608
    with open_box(path) as box:
        assert box.beliefs("model 1") is None
        assert [deck()] == box.decks()
    with closing(sqlite3.connect(path)) as db:
        assert (1,) == db.execute(
            "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = ?", (table,)
        ).fetchone()


def test_a_lost_table_of_the_players_is_damage(tmp_path: Path) -> None:
    """A reader sees it empty and is told which; a writer is refused."""
    path = box_with(tmp_path / "box", 1)
    alter(path, "DROP TABLE wish")
    found = opened(path, now=NOW, read_only=True)
    with closing(found.box) as file, file.reading() as db:
        assert ("wish",) == found.lost
        assert (0,) == db.execute("SELECT count(*) FROM wish").fetchone()
        assert (1,) == db.execute("SELECT count(*) FROM take").fetchone()
    with pytest.raises(BoxDamagedError, match="the box is damaged"):
        open_box(path)
    assert ("the table wish, or some of its columns, is gone",) == look_over(path, now=NOW).damage


def test_text_that_is_no_utf8_is_passed_over_by_one_query_only(tmp_path: Path) -> None:
    """The next query reads text as text again."""
    path = tmp_path / "box"
    with open_box(path) as box:
        box.put_setting("minutes", 20, NOW)
        box.put_setting("click", "x", NOW)
        box.put_wish(Wish(CARD, 90.0, None, resting=False, at=NOW))
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        db.execute("UPDATE setting SET value = CAST(? AS TEXT) WHERE key = 'click'", (b'"\xff"',))
    with open_box(path) as box:
        assert ["minutes"] == list(box.settings())
        assert [CARD] == list(box.wishes())
        assert [("setting", "click")] == [(row.table, row.key) for row in box.unusable_rows()]
        assert box._box.connection.text_factory is str


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_no_box(tmp_path: Path) -> None:
    """Refused at once: SQLite would wait for it."""
    os.mkfifo(tmp_path / "box")
    for read_only in (False, True):
        with pytest.raises(BoxForeignError, match="not a plain file"):
            open_box(tmp_path / "box", read_only=read_only)


def test_damage_is_told_line_by_line(tmp_path: Path) -> None:
    """By SQLite's full check or by the quick one, which does not compare indexes with tables."""
    path = box_with(tmp_path / "box", *range(9))
    with closing(BoxFile(path)) as file:
        assert [] == damage(file.connection) == damage(file.connection, quick=True)
    alter(path, "PRAGMA writable_schema = ON",
          "DELETE FROM sqlite_schema WHERE name = 'take_by_time'")  # fmt: skip
    with closing(BoxFile(path, read_only=True)) as file:
        assert damage(file.connection)
        assert not any("\n" in line or line == "ok" for line in damage(file.connection))


def test_a_table_that_goes_under_an_open_box_is_damage(tmp_path: Path) -> None:
    """Of our own tables; one that no box has is an error like any other."""
    path = box_with(tmp_path / "box", 1)
    with open_box(path) as box:
        alter(path, "DROP TABLE take")
        with pytest.raises(BoxDamagedError, match="the box is damaged"):
            box.takes()
        with (
            pytest.raises(BoxError, match="no such table: theirs") as refusal,
            box._box.explained(),
        ):
            box._box.connection.execute("SELECT * FROM theirs")
    assert not isinstance(refusal.value, BoxDamagedError)
