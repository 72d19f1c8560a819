"""The file as other programs see it, and as docs/box-file.md describes it."""

from __future__ import annotations

import io
import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from store_kit import CARD, NOW, OTHER, card, deck, open_box, standing, take

from drillbox.store import BeliefRow, Retraction, Wish, read_log, write_log

if TYPE_CHECKING:
    from collections.abc import Iterator

PAGE = (Path(__file__).parents[2] / "docs" / "box-file.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    """Return the code blocks of that language."""
    return re.findall(rf"```{language}\n(.*?)```", PAGE, flags=re.DOTALL)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return a box with something in every table."""
    with open_box(tmp_path / "box") as box:
        box.put_deck(deck(), [card(1), card(2)])
        box.put_wish(Wish(CARD, 120.0, None, resting=False, at=NOW))
        box.put_setting("minutes", 15, NOW)
        box.put_beliefs([], since=None, now=standing(0, "model"))
        box.record(
            take(1, measures={"jitter_ms": 2.5}),
            [BeliefRow(CARD, (1.5,))],
            since=standing(0, "model"),
            now=standing(1, "model"),
        )
        box.add_take(take(2, card_id=OTHER))
        box.retract(take(2).id, NOW)
    return tmp_path / "box"


@pytest.fixture
def plain(path: Path) -> Iterator[sqlite3.Connection]:
    """Return a plain connection, as another program would make one."""
    with closing(sqlite3.connect(path)) as connection:
        yield connection


def test_the_tables_are_those_of_the_docs(plain: sqlite3.Connection) -> None:
    """What SQLite stores is, to the letter, what the page shows.

    Sqlite-utils' record is the only other table.
    """
    rows = plain.execute(
        "SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL AND tbl_name <> '_sqlite_migrations'"
    )
    assert blocks("sql")[0] == "\n\n".join(f"{sql};" for (sql,) in rows) + "\n"
    others = plain.execute(
        "SELECT name FROM sqlite_schema WHERE type = 'table' AND sql NOT LIKE '%STRICT'"
    )
    assert [("_sqlite_migrations",)] == others.fetchall()


def test_plain_sqlite_finds_the_file_sound(plain: sqlite3.Connection) -> None:
    """Integrity, foreign keys, signature and version, by SQLite's own means."""
    assert [("ok",)] == plain.execute("PRAGMA integrity_check").fetchall()
    assert [] == plain.execute("PRAGMA foreign_key_check").fetchall()
    assert (0x64724278,) == plain.execute("PRAGMA application_id").fetchone()
    assert (4,) == plain.execute("PRAGMA user_version").fetchone()
    assert ("delete",) == plain.execute("PRAGMA journal_mode").fetchone()
    strict = plain.execute(
        "SELECT name FROM pragma_table_list WHERE schema = 'main' AND \"strict\" = 1"
    )
    assert 11 == len(strict.fetchall())


def test_a_commit_reaches_the_disk_before_it_is_acknowledged(path: Path) -> None:
    """The settings that durability rests on (https://sqlite.org/pragma.html: 3 is EXTRA)."""
    expected = {
        "synchronous": 3,
        "fullfsync": 1,
        "journal_mode": "delete",
        "foreign_keys": 1,
        "recursive_triggers": 1,
    }
    with open_box(path) as box:
        found = {
            name: box._box.connection.execute(f"PRAGMA {name}").fetchone()[0] for name in expected
        }
    assert expected == found


def test_the_signature_is_in_the_header(path: Path) -> None:
    """Bytes 60 and 68 of the file (https://sqlite.org/fileformat.html, section 1.3)."""
    header = path.read_bytes()[:100]
    assert b"SQLite format 3\0" == header[:16]
    assert 4 == int.from_bytes(header[60:64], "big")
    assert b"drBx" == header[68:72]


def test_the_query_of_the_docs_gives_the_takes_that_count(plain: sqlite3.Connection) -> None:
    """Plain SQL and the program agree."""
    assert [("2026-03-12T17:31:00.000000Z", CARD, 92.0, 1)] == plain.execute(
        blocks("sql")[1]
    ).fetchall()


@pytest.mark.parametrize("table", ["take", "retraction"])
@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE {} SET at = '2020-01-01T00:00:00.000000Z'",
        "DELETE FROM {}",
        "INSERT OR REPLACE INTO {0} SELECT * FROM {0}",
        "REPLACE INTO {0} SELECT * FROM {0} LIMIT 1",
    ],
)
def test_the_log_is_append_only_for_everyone(
    plain: sqlite3.Connection, table: str, statement: str
) -> None:
    """No program can change or remove an entry without first removing the guard."""
    before = list(plain.iterdump())
    with pytest.raises(sqlite3.IntegrityError, match="the take log is append-only"):
        plain.execute(statement.format(table))
    plain.rollback()
    assert before == list(plain.iterdump())


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("id", "'short'"),
        ("card_id", "'XYZ'"),
        ("bpm", "0"),
        ("bpm", "9e999"),
        ("bpm", "'fast'"),
        ("bpm", "NULL"),
        ("grade", "3"),
        ("grade", "0.5"),
        ("at", "'yesterday'"),
        ("at", "'2026-03-12T17:31:00Z'"),
        ("zone", "''"),
        ("seconds", "-1"),
        ("source", "''"),
        ("measures", "'{'"),
        ("here", "2"),
    ],
)
def test_the_tables_refuse_what_no_row_may_be(
    plain: sqlite3.Connection, column: str, value: str
) -> None:
    """The coarse part of the checks holds for other programs too."""
    columns = [row[1] for row in plain.execute("PRAGMA table_info(take)")]
    changed = {"seq": "99", "id": f"'{99:032x}'"} | {column: value}
    values = ", ".join(changed.get(name, name) for name in columns)
    with pytest.raises(sqlite3.IntegrityError, match=r"CHECK|NOT NULL|cannot store"):
        plain.execute(f"INSERT INTO take SELECT {values} FROM take WHERE seq = 1")  # noqa: S608 - names above


def test_another_program_may_add_a_take(plain: sqlite3.Connection, path: Path) -> None:
    """The guard refuses changes, not additions, and ours reads them."""
    row = take(5)
    plain.execute(
        "INSERT INTO take VALUES (4, ?, ?, 92.0, 1, '2026-03-12T17:35:00.000000Z',"
        " 'Europe/Berlin', 45.0, 'self', NULL, 1)",
        (row.id, row.card_id),
    )
    plain.commit()
    with open_box(path) as box:
        assert row == box.takes()[-1]
        assert 4 == box.mark()


def test_the_steps_to_this_version_are_on_record(plain: sqlite3.Connection) -> None:
    """One set, a step for each version."""
    assert [("drillbox", f"version_{n}") for n in (1, 2, 3, 4)] == plain.execute(
        "SELECT migration_set, name FROM _sqlite_migrations"
    ).fetchall()


def test_the_log_of_the_docs_is_read_and_written_back_byte_for_byte() -> None:
    """The example is a real file: three entries, of which one take counts."""
    (example,) = blocks("jsonl")
    entries = list(read_log(io.BytesIO(example.encode()), "example.jsonl"))
    out = io.BytesIO()
    write_log(entries, out)
    assert example == out.getvalue().decode()
    box = open_box()
    assert 3 == box.merge(entries)
    assert ["7b1c9a52f0e84d6bb0c5f7d1a2e3f405"] == [row.id for row in box.takes()]
    assert entries == list(box.log())


def test_the_docs_name_every_field() -> None:
    """The table of an entry's fields has exactly those of the example and no others."""
    fields = PAGE.partition("Of a measured take, ")[0]
    (example,) = blocks("jsonl")
    used = {key for line in example.splitlines()[1:] for key in json.loads(line)}
    assert used == set(re.findall(r"^\| `(\w+)` \|", fields, flags=re.MULTILINE))
    assert {Retraction, type(take(1))} == {
        type(entry) for entry in read_log(io.BytesIO(example.encode()), "x")
    }
