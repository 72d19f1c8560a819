"""The box file: decks, wishes, settings and the take log in one SQLite file; backups, exports.

The one truth is the take log, which only grows; everything that is computed from it can be thrown
away and computed again. SQLite and sqlite-utils are known in this room only. docs/box-file.md
describes the file for other programs. What a usual start does not need (backups, the log as text,
the meeting of two boxes) loads when it is asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

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

_LATER = {
    "Backup": "backups",
    "Decision": "union",
    "Holdings": "union",
    "Joined": "union",
    "is_box": "exchange",
    "replace_log": "exchange",
    "list_backups": "backups",
    "newest_good": "backups",
    "lacking": "restoring",
    "restore": "restoring",
    "read_log": "jsonl",
    "write_log": "jsonl",
}


def __getattr__(name: str) -> Any:
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"drillbox.store.{_LATER[name]}"), name)
