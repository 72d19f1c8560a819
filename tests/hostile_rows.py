"""Rows that another program may have written into a box, past every check: for tests of the guard.

Each is a usual take with one thing wrong. They go in by plain SQL with the checks switched off, and
where the tables are strict by a change of the schema's text, as a careless or hostile program
could.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

HUGE = 10**18
DEEP = "[" * 100_000 + "]" * 100_000
WRONG_IN_A_TAKE: dict[str, dict[str, Any]] = {
    "a zone of ninety-nine hours": {"zone": "+99:99"},
    "a zone with a surrogate": {"zone": b"Europe/\xed\xa0\x80"},
    "a zone out of the folder": {"zone": "../../etc/passwd"},
    "the year one": {"at": "0001-01-01T00:00:00.000000Z", "zone": "-12:00"},
    "the year 9999": {"at": "9999-12-31T23:59:59.999999Z", "zone": "+14:00"},
    "a month of no calendar": {"at": "2026-13-41T25:61:61.000000Z"},
    "a moment in words": {"at": "last Wednesday"},
    "an absurd expected tempo": {"measures": '{"expected_bpm": 1e308, "expected_sd": 0.1}'},
    "an infinite expected tempo": {"measures": '{"expected_bpm": Infinity, "expected_sd": 0.1}'},
    "an expected tempo that is none": {"measures": '{"expected_bpm": NaN, "expected_sd": NaN}'},
    "an expected tempo in words": {"measures": '{"expected_bpm": "fast", "expected_sd": 0.1}'},
    "measures without an end": {"measures": DEEP},
    "measures that are no object": {"measures": "[1, 2]"},
    "measures that are no JSON": {"measures": "{"},
    "measures with half a character": {"measures": '{"note": "\\ud800"}'},
    "measures of bytes": {"measures": b"\xff\xfe\x00"},
    "a grade out of range": {"grade": 7},
    "a huge grade": {"grade": HUGE},
    "a grade in words": {"grade": "clean"},
    "a tempo of nothing": {"bpm": 0.0},
    "an infinite tempo": {"bpm": float("inf")},
    "a tempo in words": {"bpm": "ninety"},
    "a tempo of bytes": {"bpm": b"\x00\x01"},
    "no tempo": {"bpm": None},
    "a length below nothing": {"seconds": -5.0},
    "a length of years": {"seconds": 1e300},
    "a source with a line break": {"source": "self\n\x1b[2J"},
    "a source of bytes": {"source": b"\xff"},
    "a card of no rhythm": {"card_id": "not a card"},
    "an id of no entry": {"id": "not an id"},
}


def lay_open(path: Path) -> sqlite3.Connection:
    """Return a connection to a box whose tables take any value, with the log's guards gone."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA writable_schema = ON")
        db.execute(
            "UPDATE sqlite_schema SET sql = replace(replace(replace(replace(sql, ') STRICT', ')'),"
            " ' REAL', ''), ' INTEGER NOT', ' NOT'), ' NOT NULL', '')"
            " WHERE type = 'table' AND name NOT LIKE '\\_%' ESCAPE '\\'"
        )
        (version,) = db.execute("PRAGMA schema_version").fetchone()
        db.execute(f"PRAGMA schema_version = {version + 1}")
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA ignore_check_constraints = ON")
    return db


def alter(path: Path, *statements: str) -> None:
    """Do to a box file what another program might do, past the checks of its values."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        for statement in statements:
            db.execute(statement)


def put_take(db: sqlite3.Connection, number: int, usual: dict[str, Any], **changes: Any) -> None:
    """Put a take into a box that was laid open: a usual one with some values changed."""
    values = {"id": f"{number:032x}", **usual, "measures": None, **changes}
    (seq,) = db.execute(
        "SELECT 1 + max(coalesce((SELECT max(seq) FROM take), 0),"
        " coalesce((SELECT max(seq) FROM retraction), 0))"
    ).fetchone()
    columns = ("id", "card_id", "bpm", "grade", "at", "zone", "seconds", "source", "measures")
    row = [values[name] for name in columns]
    # Bytes that are to be text go in as such, whatever they spell.
    marks = ["CAST(? AS TEXT)" if type(v) is bytes and v[:1] != b"\x00" else "?" for v in row]
    db.execute(f"INSERT INTO take VALUES (?, {', '.join(marks)}, 1)", (seq, *row))  # noqa: S608
