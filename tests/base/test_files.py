"""Files are read only where they are plain, and written whole or not at all."""

from __future__ import annotations

import os
import stat
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from file_rights import with_mode

from drillbox.base.files import (
    at_home,
    content_of,
    is_folder,
    may_be_read,
    missing,
    opened,
    there,
    write_anew,
    write_private,
    written_whole,
)
from drillbox.errors import NotSavedError, ProgressError, UsageError

if TYPE_CHECKING:
    from collections.abc import Callable

TOO_LONG = Path("n" * 300)
"""No file system of POSIX takes a name of more than 255 bytes (NAME_MAX, <limits.h>)."""


def write(path: Path, content: bytes, *, over: bool = False) -> None:
    """Write a file whole."""
    with written_whole(path, over=over) as out:
        out.write(content)


def write_half(path: Path, problem: BaseException) -> None:
    """Write over a file until something happens."""
    with written_whole(path, over=True) as out:
        out.write(b"half")
        raise problem


def names_in(folder: Path) -> list[str]:
    """Return what lies in a folder."""
    return [path.name for path in folder.iterdir()]


def test_a_link_to_nothing_is_there_and_not_missing(tmp_path: Path) -> None:
    """What would be written over counts as there, though nothing can be read from it."""
    link = tmp_path / "link"
    link.symlink_to(tmp_path / "nowhere")

    assert (True, False) == (there(link), missing(link))
    assert (True, False) == (there(tmp_path), missing(tmp_path))
    assert (False, True) == (there(tmp_path / "nowhere"), missing(tmp_path / "nowhere"))


def test_where_one_may_not_look_nothing_is_certain(tmp_path: Path) -> None:
    """A name that cannot be, or a file taken for a folder: never there, certain only by errno."""
    plain = tmp_path / "plain"
    plain.write_bytes(b"")

    assert (False, False) == (there(tmp_path / TOO_LONG), missing(tmp_path / TOO_LONG))
    assert (False, False) == (there(tmp_path / "a\0b"), missing(tmp_path / "a\0b"))
    assert (False, True) == (there(plain / "below"), missing(plain / "below"))


def test_folders_are_told_from_the_rest(tmp_path: Path) -> None:
    """Also where one may not look."""
    plain = tmp_path / "plain"
    plain.write_bytes(b"")

    assert [True, False, False, False] == [
        is_folder(path) for path in (tmp_path, plain, tmp_path / TOO_LONG, tmp_path / "a\0b")
    ]


def test_what_may_be_read_is_told_without_reading_it(tmp_path: Path) -> None:
    """A plain file, and a pipe; not what is gone, is barred or cannot be; no pipe is waited for."""
    plain, barred = tmp_path / "plain", tmp_path / "barred"
    plain.write_bytes(b"x")
    barred.write_bytes(b"x")
    os.mkfifo(tmp_path / "pipe")

    assert [True, True] == [may_be_read(path) for path in (plain, tmp_path / "pipe")]
    assert [False] * 3 == [
        may_be_read(path) for path in (tmp_path / "gone", tmp_path / TOO_LONG, tmp_path / "a\0b")
    ]
    with with_mode(barred, 0o000):
        assert not may_be_read(barred)


def test_a_home_folder_is_somebodys(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One's own; nobody's is refused."""
    monkeypatch.setenv("HOME", str(tmp_path))

    assert tmp_path / "x.box" == at_home("~/x.box")
    assert Path("x/~/y") == at_home("x/~/y")
    with pytest.raises(UsageError, match="there is no such home folder; check the path"):
        at_home("~nobody-of-that-name/x")


def test_a_file_is_read_up_to_its_limit_and_not_beyond(tmp_path: Path) -> None:
    """The limit itself is allowed."""
    path = tmp_path / "ten"
    path.write_bytes(b"0123456789")

    assert b"0123456789" == content_of(path, most=10, error=ProgressError)
    with pytest.raises(ProgressError, match="the notes is larger than 9 bytes"):
        content_of(path, most=9, error=ProgressError, what="the notes")


def pipe(path: Path) -> None:
    """Put a pipe at a path, which nobody writes to."""
    os.mkfifo(path)


@pytest.mark.parametrize(
    ("put", "told"),
    [
        (pipe, "not a plain file"),
        (Path.mkdir, "the notes cannot be read: Is a directory"),
        (lambda _: None, "the notes cannot be read: No such file or directory"),
    ],
    ids=["pipe", "folder", "nothing"],
)
def test_what_is_no_plain_file_is_refused_at_once(
    tmp_path: Path, put: Callable[[Path], None], told: str
) -> None:
    """A pipe without a writer would keep a reader for ever: opening must not wait."""
    path = tmp_path / "strange"
    put(path)

    with (
        pytest.raises(ProgressError, match=told) as caught,
        opened(path, error=ProgressError, what="the notes"),
    ):
        pass
    assert str(path) in str(caught.value)


def test_a_new_file_holds_all_of_it_and_nothing_lies_beside(tmp_path: Path) -> None:
    """No part is left over."""
    write(tmp_path / "a", b"one")

    assert b"one" == (tmp_path / "a").read_bytes()
    assert ["a"] == names_in(tmp_path)


def test_what_is_there_is_written_over_only_where_asked_and_keeps_its_mode(tmp_path: Path) -> None:
    """A file that only its owner reads stays one."""
    path = tmp_path / "a"
    path.write_bytes(b"old")
    path.chmod(0o640)

    with pytest.raises(NotSavedError, match="exists already"):
        write(path, b"new")
    assert b"old" == path.read_bytes()
    write(path, b"new", over=True)
    assert (b"new", 0o640) == (path.read_bytes(), stat.S_IMODE(path.stat().st_mode))


def test_a_link_is_followed_and_stays_a_link(tmp_path: Path) -> None:
    """A notebook that a player keeps elsewhere and links to is written where it is."""
    (tmp_path / "far").mkdir()
    far, link = tmp_path / "far" / "a", tmp_path / "link"
    far.write_bytes(b"old")
    link.symlink_to(far)
    write(link, b"new", over=True)

    assert link.is_symlink()
    assert b"new" == far.read_bytes()


@pytest.mark.parametrize("over", [False, True])
@pytest.mark.parametrize(
    ("put", "told"), [(Path.mkdir, "this is a folder"), (pipe, "not a plain file")]
)
def test_a_folder_or_a_pipe_is_never_written_over(
    tmp_path: Path, put: Callable[[Path], None], told: str, *, over: bool
) -> None:
    """Asked for or not."""
    put(tmp_path / "strange")

    with pytest.raises(NotSavedError, match=told):
        write(tmp_path / "strange", b"new", over=over)
    assert ["strange"] == names_in(tmp_path)


def test_a_write_that_fails_leaves_the_old_file_and_no_part(tmp_path: Path) -> None:
    """What the disk refuses is said as an error of ours; any other passes through as it is."""
    path = tmp_path / "a"
    path.write_bytes(b"old")

    with pytest.raises(NotSavedError, match="not written: No space left on device"):
        write_half(path, OSError(28, "No space left on device"))
    with pytest.raises(KeyboardInterrupt):
        write_half(path, KeyboardInterrupt())
    assert b"old" == path.read_bytes()
    assert ["a"] == names_in(tmp_path)


def test_a_part_that_a_kill_left_is_in_nobodys_way(tmp_path: Path) -> None:
    """A process of the same number may have died here."""
    (tmp_path / f".drillbox-{os.getpid()}.part").write_bytes(b"left over, and longer")
    write(tmp_path / "a", b"new")

    assert b"new" == (tmp_path / "a").read_bytes()
    assert ["a"] == names_in(tmp_path)


def test_a_file_is_on_the_disk_before_it_takes_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All of it, by fsync (POSIX.1-2017); a kill then leaves the old file or the new one whole."""
    path, brought = tmp_path / "a", []
    path.write_bytes(b"old")

    def bring(handle: int) -> None:
        brought.append((os.fstat(handle).st_size, path.read_bytes()))

    monkeypatch.setattr(os, "fsync", bring)
    write(path, b"new one", over=True)

    assert [(7, b"old")] == brought
    assert b"new one" == path.read_bytes()


def test_nothing_is_written_over_unless_somebody_says_so(tmp_path: Path) -> None:
    """A caller who forgets to say loses no file of the player's."""
    (tmp_path / "a").write_bytes(b"old")

    with pytest.raises(NotSavedError, match="exists already"), written_whole(tmp_path / "a"):
        pass
    assert b"old" == (tmp_path / "a").read_bytes()


@pytest.mark.parametrize(
    ("there", "mark", "gone"),
    [
        (b"notes", b"", True),
        (b"<p class=mine>", b"class=mine", True),
        (b"x" * 2038 + b"class=mine", b"class=mine", True),
        (b"x" * 2039 + b"class=mine", b"class=mine", False),
        (b"<p class=yours>", b"class=mine", False),
        (b"", b"class=mine", False),
        (b"SQLite format 3\0 and so on", b"", False),
        (b"SQLite format 3\0 class=mine", b"class=mine", False),
    ],
)
def test_only_a_file_of_the_same_kind_is_written_over(
    tmp_path: Path, there: bytes, mark: bytes, *, gone: bool
) -> None:
    """Its mark stands near its beginning; and a box is never written over."""
    place = tmp_path / "a"
    place.write_bytes(there)
    with (
        nullcontext() if gone else pytest.raises(NotSavedError, match="exists already"),
        written_whole(place, over=True, mark=mark) as out,
    ):
        out.write(b"new")

    assert (b"new" if gone else there) == place.read_bytes()


def test_what_is_made_anew_takes_the_place_of_the_last_one_alone(tmp_path: Path) -> None:
    """Known by the mark that both have; what has another is another's."""
    page, other = tmp_path / "page.html", tmp_path / "other.html"
    other.write_bytes(b"<p class=yours>")
    for text in ("<p class=mine>Ä", "<p class=mine>Ö"):
        write_anew(page, text, mark="class=mine")
        assert text.encode() == page.read_bytes()
    with pytest.raises(NotSavedError, match="exists already"):
        write_anew(other, "<p class=mine>", mark="class=mine")
    assert b"<p class=yours>" == other.read_bytes()


def test_a_private_file_is_its_owners_alone_and_never_takes_a_place(tmp_path: Path) -> None:
    """Whatever the mask says; a link that somebody laid there is not followed."""
    before = os.umask(0)
    try:
        write_private(tmp_path / "a", b"secret")
    finally:
        os.umask(before)
    (tmp_path / "trap").symlink_to(tmp_path / "target")

    assert (b"secret", 0o600) == (
        (tmp_path / "a").read_bytes(),
        stat.S_IMODE((tmp_path / "a").stat().st_mode),
    )
    for name in ("a", "trap"):
        with pytest.raises(FileExistsError):
            write_private(tmp_path / name, b"again")
    assert not (tmp_path / "target").exists()


def test_a_link_to_a_pipe_is_no_file_to_write() -> None:
    """A pipe is named by a link that leads to no file, as /dev/stdout is; it is told as a pipe."""
    reading, writing = os.pipe()
    try:
        with (
            pytest.raises(NotSavedError, match="not a plain file; name a file on a disk"),
            written_whole(Path(f"/dev/fd/{writing}")) as out,
        ):
            out.write(b"x")
    finally:
        os.close(reading)
        os.close(writing)
