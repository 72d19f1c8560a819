"""A file that the player has named by typing."""

from __future__ import annotations

from pathlib import Path

from drillbox.errors import UsageError


def named_file(text: str) -> Path:
    """Return the file that was typed, blanks around it left out, ``~`` read as a home folder.

    Raises
    ------
    UsageError
        Nothing was typed, or there is no such home folder.
    """
    name = text.strip()
    if not name:
        raise UsageError("no file is named", fix="type where it is")
    try:
        return Path(name).expanduser()
    except RuntimeError:
        raise UsageError("there is no such home folder", where=name, fix="check the path") from None
