"""Files that carry a player from machine to machine: other boxes, and exported logs.

A box is known by its first bytes (https://sqlite.org/fileformat.html, section 1.3), never by its
name.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from drillbox.errors import LogError, NotSavedError
from drillbox.store import jsonl

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from drillbox.store.rows import LogEntry

_SQLITE = b"SQLite format 3\0"


def is_box(path: Path) -> bool:
    """Return whether a file is a database, by its first bytes."""
    try:
        with path.open("rb") as file:
            return file.read(len(_SQLITE)) == _SQLITE
    except OSError as error:
        raise LogError(
            f"the file cannot be read: {error.strerror}", where=str(path), fix="check the path"
        ) from None


def replace_log(path: Path, entries: Iterable[LogEntry]) -> None:
    """Write a log in the place of an exported one.

    The whole of it, or, if the disk refuses, nothing.
    """
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with part.open("wb") as out:
            jsonl.write_log(entries, out)
            out.flush()
            os.fsync(out.fileno())
        part.replace(path)
    except OSError as error:
        raise NotSavedError(
            f"the log was not written: {error.strerror}",
            where=str(path),
            fix="make room, or make its folder writable",
        ) from None
    finally:
        part.unlink(missing_ok=True)
