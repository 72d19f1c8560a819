"""The tables of a box file, as SQL.

The SQL that makes them is the contract: docs/box-file.md explains it and a test compares it with
what SQLite stores. Text columns hold what `drillbox.store.checks` lets through; the CHECKs repeat
the coarse part for other programs. The log's two tables refuse UPDATE, DELETE and, by the guard
before INSERT, the silent delete inside INSERT OR REPLACE.

`seq` is one count over both tables of the log, in order of arrival in this box, without gaps. So
the greatest `seq` changes with every entry, and "what came after n" has an answer.
"""

from __future__ import annotations

from drillbox.store.checks import MEASURED

APPLICATION_ID = 0x64724278  # "drBx"
SCHEMA_VERSION = 4
OLDEST_SQLITE = (3, 38, 0)  # STRICT tables and built-in JSON

_INSTANT = "length({0}) = 27 AND {0} GLOB '????-??-??T??:??:??.??????Z'"
_ENTRY_ID = "length({0}) = 32 AND {0} NOT GLOB '*[^0-9a-f]*'"
_CARD_ID = "length({0}) = 16 AND {0} NOT GLOB '*[^0-9a-f]*'"

TAKE = f"""CREATE TABLE take (
  seq INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE CHECK ({_ENTRY_ID.format("id")}),
  card_id TEXT NOT NULL CHECK ({_CARD_ID.format("card_id")}),
  bpm REAL NOT NULL CHECK (bpm BETWEEN 1 AND 1000),
  grade INTEGER NOT NULL CHECK (grade BETWEEN -2 AND 2),
  at TEXT NOT NULL CHECK ({_INSTANT.format("at")}),
  zone TEXT NOT NULL CHECK (length(zone) BETWEEN 1 AND 64),
  seconds REAL NOT NULL CHECK (seconds BETWEEN 0 AND 86400),
  source TEXT NOT NULL CHECK (length(source) BETWEEN 1 AND 40),
  measures TEXT CHECK (measures IS NULL OR json_valid(measures)),
  here INTEGER NOT NULL CHECK (here IN (0, 1))
) STRICT"""

RETRACTION = f"""CREATE TABLE retraction (
  seq INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE CHECK ({_ENTRY_ID.format("id")}),
  take_id TEXT NOT NULL CHECK ({_ENTRY_ID.format("take_id")}),
  at TEXT NOT NULL CHECK ({_INSTANT.format("at")})
) STRICT"""

INDEXES = (
    "CREATE INDEX take_by_card ON take (card_id, at)",
    "CREATE INDEX take_by_time ON take (at)",
    "CREATE INDEX retraction_by_take ON retraction (take_id)",
)

DECK = f"""CREATE TABLE deck (
  id TEXT NOT NULL PRIMARY KEY,
  title TEXT NOT NULL,
  edition INTEGER NOT NULL CHECK (edition >= 1),
  author TEXT NOT NULL,
  licence TEXT NOT NULL,
  about TEXT NOT NULL,
  text TEXT NOT NULL,
  added_at TEXT NOT NULL CHECK ({_INSTANT.format("added_at")}),
  archived INTEGER NOT NULL CHECK (archived IN (0, 1))
) STRICT"""

CARD = f"""CREATE TABLE card (
  deck_id TEXT NOT NULL REFERENCES deck (id) ON DELETE CASCADE,
  slug TEXT NOT NULL,
  card_id TEXT NOT NULL CHECK ({_CARD_ID.format("card_id")}),
  title TEXT NOT NULL,
  pattern TEXT NOT NULL,
  seconds60 REAL NOT NULL CHECK (seconds60 > 0),
  bars INTEGER NOT NULL CHECK (bars >= 1),
  goal_bpm REAL NOT NULL CHECK (goal_bpm BETWEEN 1 AND 1000),
  importance REAL NOT NULL CHECK (importance BETWEEN 0 AND 1000),
  after_ids TEXT NOT NULL,
  family TEXT NOT NULL,
  position INTEGER NOT NULL CHECK (position >= 0),
  note TEXT NOT NULL,
  PRIMARY KEY (deck_id, slug)
) STRICT"""

WISH = f"""CREATE TABLE wish (
  card_id TEXT NOT NULL PRIMARY KEY CHECK ({_CARD_ID.format("card_id")}),
  goal_bpm REAL CHECK (goal_bpm BETWEEN 1 AND 1000),
  importance REAL CHECK (importance BETWEEN 0 AND 1000),
  resting INTEGER NOT NULL CHECK (resting IN (0, 1)),
  at TEXT NOT NULL CHECK ({_INSTANT.format("at")})
) STRICT"""

SETTING = f"""CREATE TABLE setting (
  key TEXT NOT NULL PRIMARY KEY,
  value TEXT NOT NULL CHECK (json_valid(value)),
  at TEXT NOT NULL CHECK ({_INSTANT.format("at")})
) STRICT"""

BELIEF = f"""CREATE TABLE belief (
  card_id TEXT NOT NULL PRIMARY KEY CHECK ({_CARD_ID.format("card_id")}),
  body BLOB NOT NULL CHECK (length(body) % 8 = 0)
) STRICT"""

BELIEF_STATE = """CREATE TABLE belief_state (
  only INTEGER PRIMARY KEY CHECK (only = 1),
  version TEXT NOT NULL,
  mark INTEGER NOT NULL CHECK (mark >= 0)
) STRICT"""

COURSE = f"""CREATE TABLE course (
  card_id TEXT NOT NULL PRIMARY KEY CHECK ({_CARD_ID.format("card_id")}),
  body BLOB NOT NULL CHECK (length(body) % 8 = 0)
) STRICT"""

HISTORY_STATE = f"""CREATE TABLE history_state (
  only INTEGER PRIMARY KEY CHECK (only = 1),
  version TEXT NOT NULL,
  mark INTEGER NOT NULL CHECK (mark >= 0),
  until TEXT NOT NULL CHECK ({_INSTANT.format("until")}),
  unusable INTEGER NOT NULL CHECK (unusable >= 0)
) STRICT"""

SET_ASIDE = f"""CREATE TABLE set_aside (
  seq INTEGER PRIMARY KEY,
  at TEXT NOT NULL CHECK ({_INSTANT.format("at")})
) STRICT"""

IS_MEASURED = f"instr(measures, '\"{MEASURED}\"') > 0"
TAKE_MEASURED = f"CREATE INDEX take_measured ON take (at) WHERE {IS_MEASURED}"

FEATURE = f"""CREATE TABLE feature (
  card_id TEXT NOT NULL PRIMARY KEY CHECK ({_CARD_ID.format("card_id")}),
  version TEXT NOT NULL,
  body BLOB NOT NULL CHECK (length(body) % 8 = 0)
) STRICT"""


def _kept(table: str) -> tuple[str, ...]:
    """Return the triggers that make a table append-only."""
    refuse = "BEGIN SELECT RAISE(ABORT, 'the take log is append-only'); END"
    twin = f"SELECT 1 FROM {table} WHERE id = new.id OR seq = new.seq"  # noqa: S608 - our own names
    return (
        f"CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table}\n{refuse}",
        f"CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table}\n{refuse}",
        (
            f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table}\n"
            f"WHEN EXISTS ({twin})\n{refuse}"
        ),
    )


VERSION_1 = (
    TAKE,
    RETRACTION,
    *INDEXES,
    *_kept("take"),
    *_kept("retraction"),
    DECK,
    CARD,
    WISH,
    SETTING,
    BELIEF,
    BELIEF_STATE,
)
VERSION_2 = (FEATURE,)
VERSION_3 = ("DELETE FROM belief", "DROP TABLE belief_state", COURSE, HISTORY_STATE)
VERSION_4 = (SET_ASIDE, TAKE_MEASURED)
STEPS = (VERSION_1, VERSION_2, VERSION_3, VERSION_4)
"""What makes a box of today's version, step by step."""

CACHES = {
    "belief": BELIEF,
    "course": COURSE,
    "history_state": HISTORY_STATE,
    "feature": FEATURE,
    "set_aside": SET_ASIDE,
}
"""Tables of which nothing is lost: what they hold can be computed, or said, again."""
KEPT = {
    "take": TAKE,
    "retraction": RETRACTION,
    "deck": DECK,
    "card": CARD,
    "wish": WISH,
    "setting": SETTING,
}
"""Tables that nothing brings back but a backup."""
