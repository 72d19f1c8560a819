"""Files that carry a player from machine to machine: other boxes, and exported logs.

A box is known by its first bytes (https://sqlite.org/fileformat.html, section 1.3), never by its
name.
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from drillbox.base.files import DATABASE_BEGINS, opened, written_whole
from drillbox.base.jsonlines import head_of
from drillbox.errors import LogError
from drillbox.store import jsonl

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from drillbox.store.rows import LogEntry


def is_box(path: Path) -> bool:
    """Return whether a file is a database, by its first bytes."""
    with opened(path, error=LogError) as file:
        return file.read(len(DATABASE_BEGINS)) == DATABASE_BEGINS


def is_log(path: Path) -> bool:
    """Return whether a file is an exported log, by its first line; False if it is unreadable."""
    with suppress(LogError), opened(path, error=LogError) as file:
        return head_of(file, str(path), error=LogError).get("format") == jsonl.FORMAT
    return False


def replace_log(path: Path, entries: Iterable[LogEntry | bytes]) -> int:
    """Write a log, in the place of an exported one if there is one; return how many entries it has.

    The whole of it, or, if the disk refuses, nothing. A file of another kind is not written over.
    """
    with written_whole(path, over=is_log(path)) as out:
        return jsonl.write_log(entries, out)
