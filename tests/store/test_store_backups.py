from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from store_kit import NOW, box_with, open_box, take

from drillbox.errors import (
    BoxDamagedError,
    BoxError,
    BoxForeignError,
    BoxMovedError,
    NotSavedError,
    UnknownCardError,
)
from drillbox.store import Backup, Retraction, lacking, list_backups, newest_good, restore
from drillbox.store.backups import sync, to_rotate
from drillbox.store.boxfile import backup_folder as folder

if TYPE_CHECKING:
    from collections.abc import Callable

TODAY = NOW.date()


def backup_of(day: date, *, before_upgrade: bool = False, number: int = 0) -> Backup:
    """Return a backup that only has a name."""
    return Backup(Path(f"{day}-{number:06}.box"), day, before_upgrade)


def numbers_in(path: Path) -> list[int]:
    """Return the numbers of the takes that count."""
    with open_box(path, read_only=True) as box:
        return [int(row.id, 16) for row in box.takes()]


def test_the_first_write_of_a_day_makes_a_backup_first(tmp_path: Path) -> None:
    """It holds the box as it was before that write, and the day's later writes make no other."""
    path = box_with(tmp_path / "box", 1)
    assert () == list_backups(path)
    tomorrow = NOW + timedelta(days=1)
    for number in (2, 3):
        with open_box(path, now=tomorrow) as box:
            box.add_take(take(number))
    (made,) = list_backups(path)
    assert Backup(folder(path) / "2026-03-13-183000.box", tomorrow.date()) == made
    assert [1] == numbers_in(made.path)


def test_reading_makes_no_backup(tmp_path: Path) -> None:
    """A day on which nothing was written has nothing new to keep."""
    path = box_with(tmp_path / "box", 1)
    with open_box(path, now=NOW + timedelta(days=1)) as box:
        assert [take(1)] == box.takes()
    assert () == list_backups(path)


def test_a_box_that_stays_open_gets_its_backup_every_day(tmp_path: Path) -> None:
    """The caller tells the time; the next write of a new day is preceded by a backup."""
    with open_box(tmp_path / "box") as box:
        for day in range(3):
            box.tell_time(NOW + timedelta(days=day))
            box.add_take(take(2 * day))
            box.tell_time(NOW + timedelta(days=day, hours=1))
            box.add_take(take(2 * day + 1))
        made = [backup.day for backup in list_backups(tmp_path / "box")]
    assert [TODAY + timedelta(days=2), TODAY + timedelta(days=1)] == made


def test_two_backups_of_one_second_get_two_names(tmp_path: Path) -> None:
    """Nothing is overwritten."""
    with open_box(tmp_path / "box") as box:
        names = [box.back_up(NOW).path.name for _ in range(3)]
    assert [
        "2026-03-12-183000.box",
        "2026-03-12-183000_02.box",
        "2026-03-12-183000_03.box",
    ] == names
    assert 3 == len(list_backups(tmp_path / "box"))


def test_a_backup_is_a_whole_box(tmp_path: Path) -> None:
    """Plain SQLite finds it sound, and no temporary file is left beside it."""
    path = box_with(tmp_path / "box", 1, 2)
    with open_box(path) as box:
        made = box.back_up(NOW)
    with closing(sqlite3.connect(made.path)) as plain:
        assert [("ok",)] == plain.execute("PRAGMA integrity_check").fetchall()
        assert (2,) == plain.execute("SELECT count(*) FROM take").fetchone()
    assert [made.path] == sorted(folder(path).glob("[!c]*"))
    assert [1, 2] == numbers_in(made.path)


def test_a_box_in_memory_has_no_backups() -> None:
    """There is no place beside it."""
    with pytest.raises(BoxError, match="in memory"):
        open_box().back_up(NOW)


def test_a_backup_that_cannot_be_made_does_not_keep_a_take_from_being_saved(tmp_path: Path) -> None:
    """The reason is kept for the screen."""
    path = box_with(tmp_path / "box", 1)
    shutil.rmtree(folder(path))
    folder(path).write_text("a file where the folder should be")
    with open_box(path, now=NOW + timedelta(days=1)) as box:
        box.add_take(take(2))
        assert "not saved: File exists" in str(box.backup_problem)
    assert [1, 2] == numbers_in(path)


def test_strange_files_among_the_backups_are_left_alone(tmp_path: Path) -> None:
    """Only our own names count, and only they can be rotated away."""
    path = box_with(tmp_path / "box", 1)
    folder(path).mkdir(exist_ok=True)
    strangers = [
        folder(path) / name for name in ("notes.txt", "2026-99-99-000000.box", "2026-03-12.box")
    ]
    for stranger in strangers:
        stranger.write_text("mine")
    with open_box(path) as box:
        made = box.back_up(NOW)
    assert (made,) == list_backups(path)
    assert all(stranger.exists() for stranger in strangers)


def test_the_newest_good_backup_is_found_behind_a_bad_one(tmp_path: Path) -> None:
    """Garbage, an empty file and another program's database are passed over."""
    path = box_with(tmp_path / "box", 1)
    with open_box(path) as box:
        good = box.back_up(NOW)
    for second, content in ((1, b"garbage" * 1000), (2, b"")):
        (folder(path) / f"2026-03-12-18310{second}.box").write_bytes(content)
    with closing(sqlite3.connect(folder(path) / "2026-03-12-183103.box")) as other:
        other.execute("CREATE TABLE theirs (x)")
    assert 4 == len(list_backups(path))
    assert good == newest_good(path, today=TODAY)


def test_a_backup_from_the_future_is_the_last_choice(tmp_path: Path) -> None:
    """The clock once stood in 2031 and was set back: that backup is old, whatever its name says."""
    path = box_with(tmp_path / "box", 1)
    with open_box(path) as box:
        future = box.back_up(NOW.replace(year=2031))
        box.add_take(take(2))
        today = box.back_up(NOW)
    assert today == newest_good(path, today=TODAY)
    for backup in list_backups(path):
        if backup != future:
            backup.path.unlink()
    assert future == newest_good(path, today=TODAY)


def test_restore_puts_the_box_aside_and_the_backup_in_its_place(tmp_path: Path) -> None:
    """The damaged file is still there, byte for byte, under a dated name."""
    path = box_with(tmp_path / "box", 1)
    with open_box(path) as box:
        made = box.back_up(NOW)
        box.add_take(take(2))
    damage = path.read_bytes()[:5000]
    path.write_bytes(damage)
    aside = restore(path, made.path, now=NOW)
    assert tmp_path / "box.aside-2026-03-12-183000" == aside
    assert aside is not None
    assert damage == aside.read_bytes()
    assert [1] == numbers_in(path)
    assert made.path.exists()


def test_where_files_have_one_name_the_old_box_is_copied(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A stick formatted for cameras knows no second names: the old box is kept all the same."""
    path = box_with(tmp_path / "box", 1)
    with open_box(path) as box:
        made = box.back_up(NOW)
        box.add_take(take(2))
    before = path.read_bytes()

    def refuse(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr("os.link", refuse)
    aside = restore(path, made.path, now=NOW)
    assert aside is not None
    assert before == aside.read_bytes()
    assert [1] == numbers_in(path)


def test_a_folder_is_no_backup(tmp_path: Path) -> None:
    """The folder of the backups is easily named in the place of one of them."""
    path = box_with(tmp_path / "box", 1)
    with pytest.raises(BoxDamagedError, match="this is a folder; name a backup in it"):
        restore(path, tmp_path, now=NOW)
    assert [1] == numbers_in(path)


def test_a_restore_counts_and_keeps_what_the_backup_lacks(tmp_path: Path) -> None:
    """What came since the backup, of a damaged box too, is in the new one if wanted."""
    path = box_with(tmp_path / "box", 1)
    with open_box(path) as box:
        made = box.back_up(NOW)
        box.merge([take(2), take(3)])
        box.retract(take(1).id, NOW)
    path.write_bytes(path.read_bytes() + b"tail")
    newer = lacking(made.path, path)
    assert newer is not None
    assert [take(2).id, take(3).id] == [e.id for e in newer if not isinstance(e, Retraction)]
    assert 3 == len(newer)
    restore(path, made.path, now=NOW, keeping=newer)
    assert [2, 3] == numbers_in(path)
    assert [] == lacking(made.path, made.path)
    path.write_bytes(b"nothing of a database")
    assert lacking(made.path, path) is None


def test_there_is_a_box_at_every_moment_of_a_restore(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Around each call that renames, links or removes, the name leads to one of the two files."""
    path = box_with(tmp_path / "box", 1)
    with open_box(path) as box:
        made = box.back_up(NOW)
        box.add_take(take(2))
    files: list[int] = [path.stat().st_ino]

    def watched(name: str, real: Callable[..., None]) -> None:
        def call(*places: object) -> None:
            real(*places)
            files.append(path.stat().st_ino)

        monkeypatch.setattr(os, name, call)

    for name in ("link", "rename", "replace", "unlink"):
        watched(name, getattr(os, name))
    aside = restore(path, made.path, now=NOW)
    monkeypatch.undo()
    assert aside is not None
    assert [aside.stat().st_ino, path.stat().st_ino] == list(dict.fromkeys(files))
    assert [1, 2] == numbers_in(aside)
    assert [1] == numbers_in(path)


def test_a_write_ahead_log_does_not_get_into_a_restored_box(tmp_path: Path) -> None:
    """Another program switched the box to one, and holds takes that are not yet in the file."""
    path = box_with(tmp_path / "box", 1)
    with closing(sqlite3.connect(path)) as plain:
        plain.execute("PRAGMA journal_mode = WAL")
    with open_box(path) as box:
        made = box.back_up(NOW)
    with closing(sqlite3.connect(path)) as plain:
        plain.execute("SELECT count(*) FROM take").fetchone()
        with open_box(path) as box:
            box.add_take(take(2))
        assert Path(f"{path}-wal").stat().st_size
        newer = lacking(made.path, path)
        aside = restore(path, made.path, now=NOW)
    assert newer == [take(2)]
    assert aside is not None
    assert [1, 2] == numbers_in(aside)
    assert [1] == numbers_in(path)
    restore(path, made.path, now=NOW, keeping=newer)
    assert [1, 2] == numbers_in(path)
    assert not list(tmp_path.glob("box-*"))


def test_restoring_twice_in_a_second_overwrites_nothing(tmp_path: Path) -> None:
    """Each file that was put aside keeps a name of its own."""
    path = box_with(tmp_path / "box", 1)
    with open_box(path) as box:
        made = box.back_up(NOW)
    first = restore(path, made.path, now=NOW)
    second = restore(path, made.path, now=NOW)
    assert None not in {first, second}
    assert first != second
    assert [1] == numbers_in(path)


def test_restore_where_there_is_no_box(tmp_path: Path) -> None:
    """A lost file is brought back, its folder too."""
    path = box_with(tmp_path / "box", 1)
    with open_box(path) as box:
        made = box.back_up(NOW)
    elsewhere = tmp_path / "new" / "box"
    assert restore(elsewhere, made.path, now=NOW) is None
    assert [1] == numbers_in(elsewhere)


def test_a_stray_journal_does_not_get_into_a_restored_box(tmp_path: Path) -> None:
    """The journal of a cut-off write, left behind by its box, would be played back into the backup.

    It is a real one: taken while a write larger than the cache was under way.
    """
    path = tmp_path / "box"
    with open_box(path) as box:
        box.merge(take(number) for number in range(300))
    journal, copy = Path(f"{path}-journal"), tmp_path / "copy"
    with closing(sqlite3.connect(path, isolation_level=None)) as plain:
        plain.execute("PRAGMA cache_size = 1")
        plain.execute("BEGIN IMMEDIATE")
        plain.execute("CREATE TABLE more AS SELECT * FROM take, (SELECT 1 FROM take LIMIT 20)")
        shutil.copyfile(journal, copy)
    with open_box(path) as box:
        box.merge(take(number) for number in range(300, 600))
    with open_box(path) as box:
        made = box.back_up(NOW)
    path.unlink()
    copy.rename(journal)
    assert restore(path, made.path, now=NOW) is None
    assert not journal.exists()
    assert list(range(600)) == numbers_in(path)
    assert 1 == len(list(tmp_path.glob("box.aside-*-journal")))


@pytest.mark.parametrize("content", [b"garbage" * 100, b"SQLite format 3\0" + b"\xff" * 5000])
def test_a_bad_backup_is_not_restored(tmp_path: Path, content: bytes) -> None:
    """The box stays where it is."""
    path = box_with(tmp_path / "box", 1)
    bad = tmp_path / "bad.box"
    bad.write_bytes(content)
    with pytest.raises(BoxDamagedError, match="choose another one"):
        restore(path, bad, now=NOW)
    with pytest.raises(BoxDamagedError, match="cannot be read"):
        restore(path, tmp_path / "nowhere.box", now=NOW)
    assert [1] == numbers_in(path)
    assert ["bad.box", "box"] == sorted(file.name for file in tmp_path.iterdir() if file.is_file())


def test_a_backup_that_only_the_full_check_finds_bad_is_not_restored(tmp_path: Path) -> None:
    """Its index lacks a take: SQLite reads every page of it without an error."""
    path = box_with(tmp_path / "box", 1, 2)
    with open_box(path) as box:
        bad, good = box.back_up(NOW + timedelta(seconds=1)), box.back_up(NOW)
    with closing(sqlite3.connect(bad.path)) as plain:
        plain.execute("PRAGMA writable_schema = ON")
        plain.execute("DELETE FROM sqlite_schema WHERE name = 'take_by_time'")
        plain.commit()
    with pytest.raises(BoxDamagedError, match="the backup is damaged; choose another one"):
        restore(path, bad.path, now=NOW)
    assert good == newest_good(path, today=TODAY)
    assert [1, 2] == numbers_in(path)


def test_another_programs_file_is_not_restored(tmp_path: Path) -> None:
    """Nor is a box of a newer drillbox, which this one could not open."""
    path = box_with(tmp_path / "box", 1)
    newer = box_with(tmp_path / "newer", 2)
    with closing(sqlite3.connect(newer)) as plain:
        plain.execute("PRAGMA user_version = 99")
    foreign = tmp_path / "foreign"
    with closing(sqlite3.connect(foreign)) as plain:
        plain.execute("CREATE TABLE theirs (x)")
    for file in (newer, foreign):
        with pytest.raises(BoxForeignError, match="no box that this drillbox knows"):
            restore(path, file, now=NOW)
    assert [1] == numbers_in(path)


def test_a_window_left_open_over_a_restore_loses_nothing_silently(tmp_path: Path) -> None:
    """Its next take is not saved into the file that was put aside.

    It is told, and keeps the take.
    """
    path = box_with(tmp_path / "box", 1)
    with open_box(path) as window:
        made = window.back_up(NOW)
        restore(path, made.path, now=NOW)
        with pytest.raises(BoxMovedError, match="moved or replaced"):
            window.add_take(take(2))
    box_with(path, 2)
    assert [1, 2] == numbers_in(path)


def test_restore_waits_for_nobody_in_mid_write(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While another window writes, the box does not change places; that is said."""
    monkeypatch.setattr("drillbox.store.restoring.BUSY_SECONDS", 0.05)
    path = box_with(tmp_path / "box", 1)
    with open_box(path) as window:
        made = window.back_up(NOW)
        with window._box.writing() as db:
            db.execute("DELETE FROM setting")
            with pytest.raises(NotSavedError, match="another program is writing"):
                restore(path, made.path, now=NOW)
    assert [1] == numbers_in(path)
    assert [] == list(tmp_path.glob("*damaged*"))


def test_rotation_keeps_seven_days_four_weeks_twelve_months() -> None:
    """One backup a day for two years of days leaves the numbers of the docs.

    2026-03-12 is a Thursday; ISO weeks 11 to 8 end with it and the Sundays 8, 1 March and 22
    February; the newest of each month are its last days (counted by hand on a calendar).
    """
    made = [backup_of(TODAY - timedelta(days=back)) for back in range(730)]
    gone = set(to_rotate(made, today=TODAY))
    kept = [backup.day for backup in made if backup not in gone]
    week = [date(2026, 3, day) for day in (12, 11, 10, 9, 8, 7, 6)]
    sundays = [date(2026, 3, 1), date(2026, 2, 22)]
    ends = [date(2026, 2, 28), date(2026, 1, 31)]
    ends += [
        date(2025, month, day) for month, day in ((12, 31), (11, 30), (10, 31), (9, 30), (8, 31))
    ]
    ends += [date(2025, month, day) for month, day in ((7, 31), (6, 30), (5, 31), (4, 30))]
    assert sorted([*week, *sundays, *ends]) == sorted(kept)


@given(st.lists(st.tuples(st.integers(-40, 400), st.booleans(), st.integers(0, 2)), max_size=60))
def test_rotation_is_gentle(days: list[tuple[int, bool, int]]) -> None:
    """Never the newest of today and before, never one from the future or from before an upgrade.

    And once is enough.
    """
    made = {
        backup_of(TODAY - timedelta(days=back), before_upgrade=upgrade, number=number)
        for back, upgrade, number in days
    }
    gone = set(to_rotate(made, today=TODAY))
    assert all(old.day <= TODAY and not old.before_upgrade for old in gone)
    past = sorted(old.path.name for old in made if old.day <= TODAY and not old.before_upgrade)
    assert past[-1:] == [name for name in past[-1:] if name not in {old.path.name for old in gone}]
    assert [] == to_rotate(made - gone, today=TODAY)


def test_old_backups_really_go(tmp_path: Path) -> None:
    """After a month of daily practice there are the last seven and older weeks and months."""
    path = tmp_path / "box"
    start = datetime(2026, 1, 1, 12, tzinfo=NOW.tzinfo)
    with open_box(path, now=start) as box:
        for day in range(60):
            box.back_up(start + timedelta(days=day))
    days = [backup.day for backup in list_backups(path)]
    assert date(2026, 3, 1) == days[0]
    assert 7 + 3 + 1 == len(days)
    assert date(2026, 1, 31) == days[-1]


def test_a_backup_keeps_no_retraction_back(tmp_path: Path) -> None:
    """A restored box believes what the backup's log said, retractions and all."""
    path = box_with(tmp_path / "box", 1, 2)
    with open_box(path) as box:
        box.retract(take(1).id, NOW)
        made = box.back_up(NOW)
    restore(path, made.path, now=NOW)
    assert [2] == numbers_in(path)
    with open_box(path) as box, pytest.raises(UnknownCardError, match="no such take"):
        box.retract(take(3).id, NOW)


def test_what_a_killed_backup_left_is_swept_away_later(tmp_path: Path) -> None:
    """An unfinished copy of an hour ago goes with the next backup.

    One of a program that may still run stays.
    """
    path = tmp_path / "box"
    with open_box(path) as box:
        box.add_take(take(1))
        box.back_up(NOW)
        old, young = (tmp_path / "box.backups" / f".{pid}.part" for pid in (1, 2))
        for part in (old, young):
            part.write_bytes(b"half a box")
        hour_ago = young.stat().st_mtime - 2 * 3600
        os.utime(old, (hour_ago, hour_ago))
        box.back_up(NOW + timedelta(days=1))

    assert [young] == list(tmp_path.glob("box.backups/.*"))


def test_nothing_stays_open_of_what_was_brought_to_the_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of a file and of a folder; a backup a day for years opens two of them each time."""
    path = box_with(tmp_path / "box", 1)
    opened: list[int] = []
    closed: list[int] = []
    really_open, really_close = os.open, os.close

    def noted_open(*given: Any, **named: Any) -> int:
        opened.append(really_open(*given, **named))
        return opened[-1]

    def noted_close(handle: int) -> None:
        closed.append(handle)
        really_close(handle)

    monkeypatch.setattr("os.open", noted_open)
    monkeypatch.setattr("os.close", noted_close)
    for place in (path, tmp_path):
        sync(place)
    assert 2 == len(opened)
    assert opened == closed
