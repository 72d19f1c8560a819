"""How far long work has come.

A bar on standard error, if that is a terminal and the work is long enough to wait for.
"""

from __future__ import annotations

import sys
from contextlib import contextmanager
from typing import IO, TYPE_CHECKING, BinaryIO, TypeVar, cast

import click

from drillbox.base.files import opened
from drillbox.errors import LogError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from pathlib import Path

Thing = TypeVar("Thing")

LONG = 20_000
"""So many entries take about half a second; less is not worth a bar."""
LONG_FILE = 4 << 20


def watched(things: Sequence[Thing]) -> Iterable[Thing]:
    """Hand things on one by one, with a bar if there are many."""
    hidden = len(things) < LONG or not sys.stderr.isatty()
    with click.progressbar(
        things, label="taking in", file=sys.stderr, hidden=hidden, update_min_steps=LONG // 20
    ) as bar:
        yield from bar


@contextmanager
def watched_file(path: Path) -> Iterator[BinaryIO]:
    """Open a log for reading lines, with a bar over its bytes if it is long.

    Raises
    ------
    LogError
        It cannot be opened, or is no plain file.
    """
    with opened(path, error=LogError) as file:
        size = path.stat().st_size
        hidden = size < LONG_FILE or not sys.stderr.isatty()
        with click.progressbar(
            length=size,
            label="reading",
            file=sys.stderr,
            hidden=hidden,
            update_min_steps=LONG_FILE // 20,
        ) as bar:
            yield cast("BinaryIO", _Counted(file, bar.update))


class _Counted:
    """A file that says how much of it was read."""

    def __init__(self, file: IO[bytes], count: Callable[[int], None]) -> None:
        self._file = file
        self._count = count

    def readline(self, limit: int) -> bytes:
        """Read a line, and count it."""
        line = self._file.readline(limit)
        self._count(len(line))
        return line
