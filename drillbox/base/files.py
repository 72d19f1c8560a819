"""Files of a player: read only where they are plain files, written whole or not at all.

A file is written beside its place under a name of its own, brought to the disk, and only then takes
the place: a kill, a full disk or a closed lid leaves the old file or the new one, never a part. A
pipe, a device or a folder is refused before it is opened for long: a pipe nobody writes to would
keep a reader waiting for ever.
"""

from __future__ import annotations

import os
import stat
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from drillbox.errors import NotSavedError, UsageError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from drillbox.errors import DrillboxError

_NO_WAIT = getattr(os, "O_NONBLOCK", 0)
_NO_LINKS = getattr(os, "O_NOFOLLOW", 0)
_AS_BYTES = getattr(os, "O_BINARY", 0)
DATABASE_BEGINS = b"SQLite format 3\0"
"""The first bytes of every database of SQLite, so of every box (Database File Format, 1.3)."""
_NEAR = 2048
"""Bytes of a file in which the mark of who wrote it has to stand."""


def at_home(name: str | Path) -> Path:
    """Return a path with the home folder in the place of its ``~`` or ``~somebody``.

    Raises
    ------
    UsageError
        Nobody of that name has one.
    """
    try:
        return Path(name).expanduser()
    except RuntimeError:
        raise UsageError(
            "there is no such home folder", where=str(name), fix="check the path"
        ) from None


def there(path: Path) -> bool:
    """Return whether anything is at a path.

    False also where one may not look, or where there can be no such name.
    """
    try:
        path.lstat()
    except (OSError, ValueError):
        return False
    return True


def missing(path: Path) -> bool:
    """Return whether certainly nothing is at a path; False also where one may not look."""
    try:
        path.lstat()
    except (FileNotFoundError, NotADirectoryError):
        return True
    except (OSError, ValueError):
        return False
    return False


def is_folder(path: Path) -> bool:
    """Return whether a path is a folder; False also where one may not look."""
    try:
        return stat.S_ISDIR(path.stat().st_mode)
    except (OSError, ValueError):
        return False


def is_strange(path: Path) -> bool:
    """Return whether what is at a path is no plain file, but a pipe, a device or a folder."""
    try:
        return not stat.S_ISREG(path.stat().st_mode)
    except (OSError, ValueError):
        return False


def may_be_read(path: Path) -> bool:
    """Return whether a file can be opened for reading."""
    try:
        os.close(without_waiting(str(path), os.O_RDONLY))
    except (OSError, ValueError):
        return False
    return True


def may_be_written(path: Path) -> bool:
    """Return whether a file that is there can be opened for writing; nothing is written."""
    try:
        os.close(without_waiting(str(path), os.O_WRONLY))
    except (OSError, ValueError):
        return False
    return True


def reason(error: OSError | ValueError) -> str:
    """Return in a few words why the system said no."""
    return (error.strerror if isinstance(error, OSError) else None) or str(error)


@contextmanager
def opened(path: Path, *, error: type[DrillboxError], what: str = "the file") -> Iterator[BinaryIO]:
    """Open a plain file for reading bytes.

    Parameters
    ----------
    path
        The file.
    error
        What is raised where it cannot be opened, is no plain file, or fails while it is read.
    what
        What the file is called in the error.
    """
    try:
        with open(path, "rb", opener=without_waiting) as file:
            if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
                raise error("not a plain file", where=str(path), fix="name a file on a disk")
            yield file
    except (OSError, ValueError) as problem:
        told = f"{what} cannot be read: {reason(problem)}"
        raise error(told, where=str(path), fix="check the path") from None


def without_waiting(path: str, flags: int) -> int:
    """Open a file as `open` does, but fail where a pipe would keep it waiting: an opener."""
    return os.open(path, flags | _NO_WAIT)


def content_of(
    path: Path, *, most: int, error: type[DrillboxError], what: str = "the file"
) -> bytes:
    """Return the bytes of a plain file, and refuse one of more than `most`."""
    with opened(path, error=error, what=what) as file:
        content = file.read(most + 1)
    if len(content) > most:
        raise error(f"{what} is larger than {most:,} bytes", where=str(path))
    return content


@contextmanager
def written_whole(path: Path, *, over: bool = False, mark: bytes = b"") -> Iterator[BinaryIO]:
    """Give a file to write that takes its place once all of it is on the disk.

    Parameters
    ----------
    path
        The place; a link is followed.
    over
        Whether it may take the place of a file that is there.
    mark
        What such a file must have near its beginning, so that no file of another kind is lost;
        where it is empty every file may be replaced, but for a box.

    Raises
    ------
    NotSavedError
        Something stands in the way, or the disk refuses; what was there is untouched.
    """
    place = Path(os.path.realpath(at_home(path)))
    part = place.with_name(f".drillbox-{os.getpid()}.part")
    try:
        before = _standing(at_home(path), over=over, mark=mark)
        part.unlink(missing_ok=True)
        with part.open("xb") as out:
            yield out
            out.flush()
            os.fsync(out.fileno())
        if before is not None:
            with suppress(OSError):
                import shutil  # noqa: PLC0415 - brings compression along

                shutil.copymode(place, part)
        part.replace(place)
    except (OSError, ValueError) as problem:
        raise NotSavedError(
            f"not written: {reason(problem)}", where=str(path), fix="choose another place"
        ) from None
    finally:
        with suppress(OSError, ValueError):
            part.unlink(missing_ok=True)


def write_anew(path: Path, text: str, *, mark: str) -> None:
    """Write a text that is made anew each time, over an earlier one: that has the same mark."""
    with written_whole(path, over=True, mark=mark.encode()) as out:
        out.write(text.encode())


def _standing(place: Path, *, over: bool, mark: bytes) -> os.stat_result | None:
    """Return what stands at a place, or None; refuse what may not be written over.

    A link is followed by the system: one to a pipe leads to no name that could be looked at.
    """
    try:
        found = place.stat()
    except FileNotFoundError:
        return None
    if stat.S_ISDIR(found.st_mode):
        raise NotSavedError("this is a folder", where=str(place), fix="name a file in it")
    if not stat.S_ISREG(found.st_mode):
        raise NotSavedError("not a plain file", where=str(place), fix="name a file on a disk")
    begins = _beginning(place) if over else b""
    if not over or mark not in begins or begins.startswith(DATABASE_BEGINS):
        raise NotSavedError(
            "the file exists already", where=str(place), fix="name another file or move it away"
        )
    return found


def _beginning(place: Path) -> bytes:
    with place.open("rb") as file:
        return file.read(_NEAR)


def write_private(path: Path, content: bytes) -> None:
    """Write a new file that its owner alone may read.

    A file or link that is there already is not followed and not written over: `FileExistsError`.
    """
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | _NO_LINKS | _AS_BYTES
    with os.fdopen(os.open(path, flags, 0o600), "wb") as out:
        out.write(content)
