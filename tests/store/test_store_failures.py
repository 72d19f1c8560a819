"""What goes wrong in practice rooms, really done.

Kills, full disks, read-only places, two windows.
"""

from __future__ import annotations

import itertools
import os
import random
import shutil
import sqlite3
import subprocess
import sys
import time
from contextlib import ExitStack, closing, contextmanager
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from file_rights import with_mode
from store_kit import CARD, NOW, deck, open_box, python, standing, take

from drillbox.errors import BoxError, NotSavedError
from drillbox.store import BeliefRow, list_backups
from drillbox.store.inspection import look_over

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from drillbox.store import Archive

POSIX = pytest.mark.skipif(os.name != "posix", reason="signals and limits of POSIX")

RECORDER = """
import sys
from drillbox.store import BeliefRow, list_backups
from store_kit import *
path, first, many = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
with open_box(path, start=first) as box:
    print("open", flush=True)
    for number in range(first, first + many):
        mark = box.mark()
        rows = [BeliefRow(CARD, (float(number),))]
        box.record(take(number), rows, since=standing(mark), now=standing(mark + 1))
        print(number, flush=True)
"""


def sound(path: Path) -> bool:
    """Return whether plain SQLite finds nothing wrong."""
    with closing(sqlite3.connect(path)) as plain:
        return [("ok",)] == plain.execute("PRAGMA integrity_check").fetchall()


def numbers(path: Path) -> list[int]:
    """Return the numbers of the takes that count."""
    with open_box(path) as box:
        return [int(row.id, 16) for row in box.takes()]


@POSIX
def test_a_kill_in_the_middle_of_writing_loses_no_acknowledged_take(tmp_path: Path) -> None:
    """Six times.

    A child records as fast as it can and is killed with SIGKILL at a random moment.
    """
    path, chance = tmp_path / "box", random.Random(7)
    open_box(path).close()
    acknowledged: list[int] = []
    for life in range(1, 7):
        child = python(RECORDER, str(path), str(1_000_000 * life), "100000")
        assert child.stdout is not None
        said = [child.stdout.readline() for _ in range(1 + chance.randint(1, 20))]
        time.sleep(chance.uniform(0.0, 0.005))
        child.kill()
        # What is buffered of the pipe here, `communicate` would leave out: it reads below it.
        said += child.stdout.readlines()
        child.communicate()
        assert "open\n" == said[0]
        acknowledged += [int(line) for line in said[1:] if line.endswith("\n")]
        kept = numbers(path)
        assert set(acknowledged) <= set(kept)
        assert len(kept) <= len(acknowledged) + life
        assert sound(path)


CUT_OFF = """
import os, signal, sys
from store_kit import *
box = open_box(sys.argv[1])
db = box._box.connection
db.execute("PRAGMA cache_size = 1")
with box._box.writing():
    from drillbox.store import takelog
    takelog.merge(db, [take(number) for number in range(100, 3000)])
    os.kill(os.getpid(), signal.SIGKILL)
"""


@POSIX
def test_a_kill_with_half_of_a_write_on_disk_is_undone(tmp_path: Path) -> None:
    """The write is larger than the cache, so half of it is in the file when the kill comes.

    The journal undoes it.
    """
    path = tmp_path / "box"
    with open_box(path) as box:
        box.add_take(take(1))
    before = path.stat().st_size
    child = python(CUT_OFF, str(path))
    _, complaint = child.communicate()
    assert (-9, "") == (child.returncode, complaint)
    assert path.stat().st_size > before
    assert (tmp_path / "box-journal").stat().st_size > 0
    assert [1] == numbers(path)
    assert sound(path)
    assert not (tmp_path / "box-journal").exists()


@POSIX
def test_a_half_written_box_is_no_riddle_to_those_who_only_read(tmp_path: Path) -> None:
    """Another machine that may not undo it is told so.

    A look over the box lets it be undone and finds nothing.
    """
    path = tmp_path / "box"
    with open_box(path) as box:
        box.add_take(take(1))
    python(CUT_OFF, str(path)).communicate()
    with pytest.raises(BoxError, match="broken off and is not undone yet; open it once"):
        open_box(path, read_only=True)
    state = look_over(path, now=NOW)
    assert ((), 1, 0) == (state.damage, state.entries, state.gaps)
    assert [1] == numbers(path)


def test_two_windows_lose_no_take(tmp_path: Path) -> None:
    """Two processes record sixty takes each into one box as fast as they can."""
    path = tmp_path / "box"
    open_box(path).close()
    children = [python(RECORDER, str(path), str(first), "60") for first in (1000, 2000)]
    for child in children:
        _, complaint = child.communicate()
        assert (0, "") == (child.returncode, complaint)
    assert [*range(1000, 1060), *range(2000, 2060)] == numbers(path)
    with open_box(path) as box:
        assert 120 == box.mark()
    assert sound(path)


def test_two_first_starts_at_once_make_one_box(tmp_path: Path) -> None:
    """Both find no file; one makes the tables, the other waits and finds them made."""
    path = tmp_path / "new" / "box"
    children = [python(RECORDER, str(path), str(first), "3") for first in (1000, 2000, 3000)]
    for child in children:
        _, complaint = child.communicate()
        assert (0, "") == (child.returncode, complaint)
    assert [1000, 1001, 1002, 2000, 2001, 2002, 3000, 3001, 3002] == numbers(path)


def test_a_window_that_holds_the_box_too_long_is_said(tmp_path: Path) -> None:
    """The other one gives up after the wait, keeps the take, and succeeds when it tries again."""
    with open_box(tmp_path / "box") as slow, open_box(tmp_path / "box") as quick:
        quick._box.connection.execute("PRAGMA busy_timeout = 50")
        with (
            slow._box.writing(),
            pytest.raises(NotSavedError, match="another program holds the box"),
        ):
            quick.add_take(take(1))
        quick.add_take(take(1))
        assert [take(1)] == slow.takes()


def mount(*arguments: str) -> bool:
    """Mount something where the system and the user allow it; say whether it worked."""
    tool = shutil.which("mount")
    if tool is None or sys.platform != "linux" or os.geteuid() != 0:
        return False
    return subprocess.run([tool, *arguments], capture_output=True, check=False).returncode == 0


def unmount(place: Path) -> None:
    """Undo a mount."""
    tool = shutil.which("umount")
    assert tool is not None
    subprocess.run([tool, str(place)], check=True)


@contextmanager
def small_disk(place: Path, *, kilobytes: int) -> Iterator[None]:
    """Give a file system of that size at `place`."""
    place.mkdir()
    if not mount("-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", str(place)):
        pytest.skip("a small file system can be mounted by root on Linux only")
    try:
        yield
    finally:
        unmount(place)


def record_for_ever(box: Archive, first: int) -> None:
    """Record takes one by one, as practising does."""
    for number in itertools.count(first):
        rows = [BeliefRow(CARD, (float(number),))]
        box.record(
            take(number),
            rows,
            since=standing(box.mark(), "model"),
            now=standing(box.mark() + 1, "model"),
        )


def test_a_full_disk_is_said_and_nothing_is_half_written(tmp_path: Path) -> None:
    """The refused take is in no table, those before are all there.

    And with room again the same take is saved.
    """
    place = tmp_path / "disk"
    with small_disk(place, kilobytes=512):
        path, ballast = place / "box", place / "ballast"
        ballast.write_bytes(b"x" * 100_000)
        with open_box(path) as box:
            with pytest.raises(NotSavedError, match="not saved: the disk is full"):
                record_for_ever(box, 0)
            refused = box.mark()
        assert refused > 10
        assert list(range(refused)) == numbers(path)
        assert sound(path)
        ballast.unlink()
        with open_box(path) as box:
            box.add_take(take(refused))
        assert list(range(refused + 1)) == numbers(path)


def test_a_file_that_may_not_grow_is_a_full_disk(tmp_path: Path) -> None:
    """The same, on every machine.

    SQLite's own limit of pages gives the same error as a full disk.
    """
    path = tmp_path / "box"
    with open_box(path) as box:
        box.add_take(take(0))
        pages = box._box.connection.execute("PRAGMA page_count").fetchone()[0]
        box._box.connection.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(NotSavedError, match="not saved: the disk is full; free some space"):
            box.merge(take(number) for number in range(1, 2000))
        assert [take(0)] == box.takes()
        box._box.connection.execute("PRAGMA max_page_count = 100000")
        assert 1999 == box.merge(take(number) for number in range(1, 2000))
    assert sound(path)


LIMITED = """
import resource, signal, sys
from drillbox.errors import NotSavedError
from store_kit import *
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
sys.dont_write_bytecode = True  # on a full disk it would be cut, and fail at the next start
box = open_box(sys.argv[1])
resource.setrlimit(resource.RLIMIT_FSIZE, (120_000, 120_000))
for number in range(10_000):
    try:
        box.add_take(take(number))
    except NotSavedError as error:
        print(number, error)
        break
"""


@POSIX
def test_a_disk_that_fails_a_write_is_said(tmp_path: Path) -> None:
    """A quota on the size of files makes write() fail in the middle of a commit."""
    path = tmp_path / "box"
    open_box(path).close()
    said, complaint = python(LIMITED, str(path)).communicate()
    assert "" == complaint
    refused, sentence = said.split(" ", 1)
    assert "not saved: the disk" in sentence
    assert list(range(int(refused))) == numbers(path)
    assert sound(path)


@contextmanager
def read_only(place: Path) -> Iterator[None]:
    """Make a folder, and all folders in it, read-only."""
    with ExitStack() as bound:
        for folder in [*(path for path in place.rglob("*") if path.is_dir()), place]:
            bound.enter_context(with_mode(folder, 0o555))
        yield


def test_a_read_only_folder_can_be_read_and_says_what_is_not_saved(tmp_path: Path) -> None:
    """Every write is refused with a sentence.

    And nothing is lost once the folder is writable again.
    """
    place = tmp_path / "shared"
    path = place / "box"
    with open_box(path) as box:
        box.add_take(take(1))
    with read_only(place):
        with open_box(path, now=NOW + timedelta(days=1)) as box:
            assert [take(1)] == box.takes()
            for write in (
                lambda: box.add_take(take(2)),
                lambda: box.record(
                    take(2), [], since=standing(1, "model"), now=standing(2, "model")
                ),
                lambda: box.retract(take(1).id, NOW),
                lambda: box.merge([take(2)]),
                lambda: box.put_deck(deck(), []),
                lambda: box.put_setting("minutes", 15, NOW),
                box.drop_beliefs,
                lambda: box.back_up(NOW),
            ):
                with pytest.raises(NotSavedError, match="not saved"):
                    write()
        with pytest.raises(BoxError, match="cannot be opened; make the file readable"):
            open_box(place / "other")
    with open_box(path) as box:
        box.add_take(take(2))
    assert [1, 2] == numbers(path)


def test_a_read_only_file_can_be_read(tmp_path: Path) -> None:
    """A box on a stick with the lock switched.

    By SQLite's own read-only mode, which root cannot pass either.
    """
    path = tmp_path / "box"
    with open_box(path) as box:
        box.add_take(take(1))
    with open_box(path, read_only=True) as box:
        assert [take(1)] == box.takes()
        with pytest.raises(
            NotSavedError, match="may only be read; make the file and its folder writable"
        ):
            box.add_take(take(2))
    assert [1] == numbers(path)


def test_a_clock_set_back_makes_no_gap_and_loses_no_backup(tmp_path: Path) -> None:
    """Two days on, then three days back.

    Takes are kept as they were dated, and each day's backup is made once.
    """
    path = tmp_path / "box"
    for number, day in enumerate((0, 2, -1, 2, 3)):
        with open_box(path, now=NOW + timedelta(days=day)) as box:
            box.add_take(take(number, at=NOW + timedelta(days=day, minutes=number)))
            assert f"{number:032x}" == getattr(box.last_take(), "id", None)
            assert number + 1 == box.mark()
            made = [backup.day - NOW.date() for backup in list_backups(path)]
    assert [3, 2, -1] == [gap.days for gap in made]
    assert [2, 0, 1, 3, 4] == numbers(path)
