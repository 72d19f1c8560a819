"""Takes that the box could not store, kept in a file somewhere else until it can.

A full disk, a locked or a damaged box must not cost a graded take, not even when the terminal is
closed before the trouble is over. Each running program keeps one file of its own: a take log as
text (`drillbox.store.jsonl`), so that 'drillbox import' reads it as well. A take keeps its id from
the first try on, so taking a file up twice, or while another window still holds the same takes,
stores each of them once.
"""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING

from drillbox.base.files import opened
from drillbox.errors import LogError, NotSavedError
from drillbox.store.exchange import replace_log
from drillbox.store.jsonl import read_log
from drillbox.store.rows import TakeRow

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from drillbox.store.rows import LogEntry

_KEY_LETTERS = 16


@dataclass(frozen=True, slots=True)
class LeftBehind:
    """A file that an earlier program left.

    Parameters
    ----------
    path
        The file.
    takes
        The takes that can be read, up to the first line that cannot.
    problem
        Why the rest cannot be read, or None.
    is_cut
        Whether the file begins as it should and breaks off later.
    """

    path: Path
    takes: tuple[TakeRow, ...]
    problem: LogError | None = None
    is_cut: bool = False

    def set_aside(self) -> Path | None:
        """Rename the file, so that no later start reads it; return its new name, if any."""
        aside = self.path.with_suffix(".cut")
        try:
            return self.path.replace(aside)
        except OSError:
            return None


class SecondPlace:
    """Where one program keeps the takes that one box refused.

    Parameters
    ----------
    folders
        Folders to try, best first; they should lie on other disks than the box where there are any.
    box
        The box that the takes belong to.
    owner
        A name that no other running program has: letters and digits.
    """

    def __init__(self, folders: Sequence[Path], box: Path, *, owner: str) -> None:
        self._folders = tuple(folders)
        key = sha256(os.fsencode(box.absolute())).hexdigest()[:_KEY_LETTERS]
        self._of_box = f"unsaved-{key}-"
        self._name = f"{self._of_box}{owner}.jsonl"

    def hold(self, takes: Sequence[TakeRow]) -> Path | None:
        """Keep exactly these takes; return the file they are in, or None if no folder takes them.

        An earlier state of the file never outlives this call: a take that was taken back must not
        come up again.
        """
        kept = None
        for folder in self._folders:
            path = folder / self._name
            with suppress(OSError, NotSavedError):
                if takes and kept is None:
                    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
                    replace_log(path, takes)
                    kept = path
                    continue
            with suppress(OSError):
                path.unlink(missing_ok=True)
        return kept

    def left_behind(self) -> list[LeftBehind]:
        """Return the files of this box that other programs left, those still running included."""
        found = []
        for folder in self._folders:
            with suppress(OSError):
                names = sorted(folder.glob(f"{self._of_box}*.jsonl"))
                found += [_read(path) for path in names if path.name != self._name]
        return found


def _read(path: Path) -> LeftBehind:
    entries: list[LogEntry] = []
    opens = False
    try:
        with opened(path, error=LogError) as source:
            opens = True
            # One by one: what was read before a line that is cut is whole.
            for entry in read_log(source, str(path)):
                entries.append(entry)  # noqa: PERF402 - what came before an error must not be lost
    except LogError as problem:
        # Where the first line is wrong, the file may be a newer drillbox's.
        is_cut = opens and problem.where != f"{path}:1"
        return LeftBehind(path, _takes(entries), problem, is_cut=is_cut)
    return LeftBehind(path, _takes(entries))


def _takes(entries: Iterable[LogEntry]) -> tuple[TakeRow, ...]:
    return tuple(entry for entry in entries if isinstance(entry, TakeRow))
