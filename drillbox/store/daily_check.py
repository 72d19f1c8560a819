"""The check of the whole file: once a day, and whenever the file is not as drillbox left it.

The check reads the whole file, half a second of a log of ten years. So it is no part of opening:
whoever is going to write asks for it first, whoever only looks asks for it once the answer is on
the screen.

A note among the backups says on which day the file was found whole, and its size and time of
change when drillbox last let it go. After a crash, a copy, or another program's write the note is
wrong and the file is checked again. Where the note cannot be written, so it is at every start.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from typing import TYPE_CHECKING

from drillbox.base.files import opened, without_waiting
from drillbox.errors import BoxError
from drillbox.store.boxfile import BUSY_SECONDS, backup_folder, damage

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

_NOTE = "checked.txt"
_LONGEST = 100


def is_due(box: Path, *, today: date) -> bool:
    """Return whether the box is to be checked: not found whole today, or changed since."""
    with (
        suppress(OSError, BoxError),
        opened(backup_folder(box) / _NOTE, error=BoxError) as file,
    ):
        return file.read(_LONGEST) != _said(box, today)
    return True


def note(box: Path, *, day: date, makes_folder: bool = False) -> None:
    """Note that the box was found whole on a day, and that it is left as it is now."""
    home = backup_folder(box)
    with suppress(OSError):
        if makes_folder:
            home.mkdir(exist_ok=True)
        with open(home / _NOTE, "wb", opener=without_waiting) as file:
            file.write(_said(box, day))


def is_whole(box: Path) -> bool:
    """Return whether a file passes SQLite's quick check; asked over a connection of its own.

    So it may be asked from another thread than the one that has the box open.
    """
    target = f"{box.absolute().as_uri()}?mode=ro"
    with closing(sqlite3.connect(target, uri=True, timeout=BUSY_SECONDS)) as connection:
        return not damage(connection, quick=True)


def _said(box: Path, day: date) -> bytes:
    left = box.stat()
    return f"{day} {left.st_size} {left.st_mtime_ns}".encode()
