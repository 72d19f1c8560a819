"""A box and its backups that may not be read: nothing is judged, and nothing is replaced."""

from __future__ import annotations

import os
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from file_rights import with_mode
from store_kit import NOW, box_with, open_box, take

from drillbox.errors import BoxDamagedError, BoxError
from drillbox.store import lacking, list_backups, newest_good, restore
from drillbox.store.backups import unread
from drillbox.store.boxfile import backup_folder
from drillbox.store.inspection import look_over
from drillbox.store.repair import rebuild

if TYPE_CHECKING:
    from pathlib import Path

HIDDEN = 0


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return a box with two backups of two days."""
    place = box_with(tmp_path / "box", 1)
    for days in (1, 2):
        with open_box(place, now=NOW + timedelta(days=days)) as box:
            box.back_up(NOW + timedelta(days=days))
            box.add_take(take(1 + days))
    return place


def test_of_two_backups_the_one_that_may_be_read_is_taken(path: Path) -> None:
    """The other counts neither as good nor as bad, and is named."""
    newer, older = list_backups(path)
    assert () == unread([newer, older])
    with with_mode(newer.path, HIDDEN):
        assert older == newest_good(path, today=NOW.date())
        assert (newer,) == unread(list_backups(path))
        state = look_over(path, now=NOW)
        assert ((older,), (), (newer.path,)) == (state.good, state.bad, state.unread)
    state = look_over(path, now=NOW)

    assert ((newer, older), (), ()) == (state.good, state.bad, state.unread)


def test_a_folder_of_backups_that_may_not_be_searched_is_not_an_empty_one(path: Path) -> None:
    """A box without any folder has no backups, and so has one with a file in its place."""
    home = backup_folder(path)
    with with_mode(home, HIDDEN):
        for ask in (list_backups, lambda box: newest_good(box, today=NOW.date())):
            with pytest.raises(BoxError, match="the backups cannot be read: Permission denied"):
                ask(path)
        state = look_over(path, now=NOW)
        assert ((), (), (home,), 3) == (state.good, state.bad, state.unread, state.entries)
    home.rename(home.with_name("elsewhere"))
    assert () == list_backups(path)
    home.write_bytes(b"")
    assert () == list_backups(path)
    assert () == list_backups(path.with_name("no" * 20))


def test_a_box_that_may_not_be_read_is_not_replaced(path: Path) -> None:
    """Nobody knows which takes that would cost."""
    held, (backup, _) = path.read_bytes(), list_backups(path)
    with with_mode(path, HIDDEN):
        for ask in (lacking, lambda one, box: restore(box, one, now=NOW)):
            with pytest.raises(BoxError, match="the box that is there may not be read; make it"):
                ask(backup.path, path)
        with pytest.raises(BoxError, match="cannot be opened; make the file readable"):
            look_over(path, now=NOW)

    assert held == path.read_bytes()
    assert {path, backup_folder(path)} == set(path.parent.iterdir())
    assert 0 < len(lacking(backup.path, path) or ())


def test_what_helps_a_damaged_box_is_what_may_be_read(path: Path) -> None:
    """Backups that are hidden are to be shown first; one that may be read is offered."""
    newer, older = list_backups(path)
    middle = len(path.read_bytes()) // 2
    path.write_bytes(path.read_bytes()[:middle] + b"\xa5" * middle)

    def told() -> str:
        with pytest.raises(BoxDamagedError) as caught:
            open_box(path, now=NOW + timedelta(days=3))
        return str(caught.value)

    assert f"restores the last good backup, {newer.path}" in told()
    with with_mode(newer.path, HIDDEN):
        assert f"restores the last good backup, {older.path}" in told()
        with with_mode(older.path, HIDDEN):
            assert f"make its backups readable first, the newest of them {newer.path}" in told()
    with with_mode(backup_folder(path), HIDDEN):
        assert "the backups cannot be read: Permission denied" in told()
    for backup in (newer, older):
        backup.path.unlink()
    assert "no good backup lies beside it" in told()


def test_a_damaged_box_is_not_built_again_without_the_backups_that_are_hidden(path: Path) -> None:
    """What came out would stand in the place of what they hold; one that may be read is enough."""
    newer, older = list_backups(path)
    middle = len(path.read_bytes()) // 2
    path.write_bytes(path.read_bytes()[:middle] + b"\xa5" * middle)
    held = path.read_bytes()
    with with_mode(newer.path, HIDDEN):
        with (
            with_mode(older.path, HIDDEN),
            pytest.raises(BoxDamagedError, match="make its backups readable first, or move"),
        ):
            rebuild(path, now=NOW)
        assert held == path.read_bytes()
        assert older == rebuild(path, now=NOW).backup


@pytest.mark.parametrize("damaged_from", [0.02, 0.5])
def test_of_a_damaged_box_nothing_is_counted(path: Path, damaged_from: float) -> None:
    """What is broken is said; no number of it would mean anything. Its backups are judged."""
    content = path.read_bytes()
    kept = int(len(content) * damaged_from)
    path.write_bytes(content[:kept] + b"\xa5" * (len(content) - kept))
    state = look_over(path, now=NOW)

    assert state.damage
    assert (0, 0, 0, False) == (state.entries, state.gaps, state.only_in_backups, state.used_up)
    assert (list_backups(path), ()) == (state.good, state.bad)


@pytest.mark.parametrize("name", ["-journal", "-wal", "-shm"])
@pytest.mark.parametrize("strange", ["pipe", "folder"])
def test_what_is_no_plain_file_beside_a_box_is_named(path: Path, name: str, strange: str) -> None:
    """SQLite would wait for a pipe for ever, and calls a folder a broken disk."""
    beside = path.with_name(f"{path.name}{name}")
    (os.mkfifo if strange == "pipe" else os.mkdir)(beside)
    (backup, _) = list_backups(path)
    asks = (
        lambda: open_box(path),
        lambda: look_over(path, now=NOW),
        lambda: restore(path, backup.path, now=NOW),
        lambda: lacking(backup.path, path),
    )
    for ask in asks:
        with pytest.raises(BoxError, match=f"{name}: this lies beside the box"):
            ask()


def test_a_pipe_among_the_backups_keeps_nobody_waiting(path: Path) -> None:
    """Neither as a backup, nor beside one, nor in the place of the note of the day's check."""
    home, (newer, older) = backup_folder(path), list_backups(path)
    newer.path.unlink()
    os.mkfifo(newer.path)
    (home / "checked.txt").unlink()
    os.mkfifo(home / "checked.txt")
    assert older == newest_good(path, today=NOW.date())
    assert (newer,) == look_over(path, now=NOW).bad
    with open_box(path, now=NOW + timedelta(days=3)) as box:
        box.add_take(take(9))
    os.mkfifo(older.path.with_name(f"{older.path.name}-journal"))
    assert older not in look_over(path, now=NOW).good
    with pytest.raises(BoxError, match="lies beside the box"):
        restore(path, older.path, now=NOW)
