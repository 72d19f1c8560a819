"""The box file: decks, wishes, settings and the take log in one SQLite file, its backups and its export.

The one truth is the take log, which only grows; everything that is computed from it can be thrown away and
computed again. SQLite and sqlite-utils are known in this room only. docs/box-file.md describes the file for
other programs.
"""

from __future__ import annotations

from drillbox.store.archive import Archive
from drillbox.store.backups import Backup, list_backups, newest_good, restore
from drillbox.store.jsonl import read_log, write_log
from drillbox.store.rows import (
    BeliefCache,
    BeliefRow,
    CardRow,
    DeckRow,
    LogEntry,
    Retraction,
    Setting,
    TakeRow,
    Wish,
)

__all__ = [
    "Archive",
    "Backup",
    "BeliefCache",
    "BeliefRow",
    "CardRow",
    "DeckRow",
    "LogEntry",
    "Retraction",
    "Setting",
    "TakeRow",
    "Wish",
    "list_backups",
    "newest_good",
    "read_log",
    "restore",
    "write_log",
]
