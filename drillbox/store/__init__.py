"""The box file: decks, wishes, settings and the take log in one SQLite file; backups, exports.

The one truth is the take log, which only grows; everything that is computed from it can be thrown
away and computed again. SQLite and sqlite-utils are known in this room only. docs/box-file.md
describes the file for other programs. What a usual start does not need (backups, the log as text,
the meeting of two boxes) loads when it is asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base import loading_late
from drillbox.store.archive import Archive
from drillbox.store.checks import EXPECTED_BPM, EXPECTED_SD, LEVEL, LEVEL_AFTER, MEASURED
from drillbox.store.rows import (
    MEASURING,
    BeliefCache,
    BeliefRow,
    CardRow,
    DeckRow,
    LogEntry,
    Retraction,
    Setting,
    Standing,
    TakeRow,
    Wish,
)

if TYPE_CHECKING:
    from drillbox.store.backups import Backup, list_backups, newest_good
    from drillbox.store.exchange import is_box, replace_log
    from drillbox.store.jsonl import read_log, write_log
    from drillbox.store.restoring import lacking, restore
    from drillbox.store.union import Decision, Holdings, Joined

__all__ = [
    "EXPECTED_BPM",
    "EXPECTED_SD",
    "LEVEL",
    "LEVEL_AFTER",
    "MEASURED",
    "MEASURING",
    "Archive",
    "Backup",
    "BeliefCache",
    "BeliefRow",
    "CardRow",
    "Decision",
    "DeckRow",
    "Holdings",
    "Joined",
    "LogEntry",
    "Retraction",
    "Setting",
    "Standing",
    "TakeRow",
    "Wish",
    "is_box",
    "lacking",
    "list_backups",
    "newest_good",
    "read_log",
    "replace_log",
    "restore",
    "write_log",
]

_LATE = {
    "backups": ("Backup", "list_backups", "newest_good"),
    "union": ("Decision", "Holdings", "Joined"),
    "exchange": ("is_box", "replace_log"),
    "restoring": ("lacking", "restore"),
    "jsonl": ("read_log", "write_log"),
}
__getattr__ = loading_late(__name__, _LATE)
