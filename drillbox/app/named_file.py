"""A file that the player has named by typing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base.files import at_home
from drillbox.errors import UsageError

if TYPE_CHECKING:
    from pathlib import Path


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
    return at_home(name)
