from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from sqlite_utils import Migrations
from store_kit import CARD, NOW, card, deck, open_box, python, take

from drillbox.errors import BoxDamagedError, BoxError, BoxForeignError, NotSavedError, UsageError
from drillbox.store import daily_check, list_backups, restore, schema
from drillbox.store.migrations import version_1, version_2, version_3, version_4

if TYPE_CHECKING:
    from pathlib import Path

    from sqlite_utils import Database

TOMORROW = NOW + timedelta(days=1)


def full_box(path: Path, takes: int = 3000) -> Path:
    """Make a box of some size, with a backup of yesterday that lacks the last take."""
    with open_box(path) as box:
        box.put_deck(deck(), [card(1)])
        box.merge(take(number) for number in range(takes - 1))
        box.back_up(NOW)
        box.merge([take(takes - 1)])
    return path


def test_a_box_is_made_with_its_folders(tmp_path: Path) -> None:
    """The first start needs no preparation."""
    path = tmp_path / "new" / "place with spaces?#%41" / "box"
    with open_box(path) as box:
        box.add_take(take(1))
        assert path == box.path
    with open_box(str(path)) as box:
        assert [take(1)] == box.takes()


@pytest.mark.parametrize("name", ["", ":memory:"])
def test_a_box_in_memory_leaves_nothing_behind(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No file, no folder of backups."""
    monkeypatch.chdir(tmp_path)
    with open_box(name) as box:
        box.add_take(take(1))
        assert [take(1)] == box.takes()
        assert box.path is None
    assert [] == list(tmp_path.iterdir())


def test_the_moment_of_opening_must_be_aware() -> None:
    """Days of backups are the player's days, and so is every later time that a box is told."""
    with pytest.raises(UsageError, match="time zone"):
        open_box(now=NOW.replace(tzinfo=None))
    with open_box() as box, pytest.raises(UsageError, match="time zone"):
        box.tell_time(NOW.replace(tzinfo=None))


def test_a_file_of_another_program_is_left_alone(tmp_path: Path) -> None:
    """Whether it signs its files or not; not a byte of it changes."""
    for number, sign in enumerate((0, 0x0F055112)):
        path = tmp_path / f"theirs{number}"
        with closing(sqlite3.connect(path)) as theirs:
            theirs.execute("CREATE TABLE take (x)")
            theirs.execute(f"PRAGMA application_id = {sign}")
        before = path.read_bytes()
        with pytest.raises(BoxForeignError, match="another program"):
            open_box(path)
        assert before == path.read_bytes()


def test_a_newer_box_is_left_alone(tmp_path: Path) -> None:
    """An old program must not guess what a new one means."""
    path = full_box(tmp_path / "box", 5)
    with closing(sqlite3.connect(path)) as plain:
        plain.execute("PRAGMA user_version = 7")
    before = path.read_bytes()
    for read_only in (False, True):
        with pytest.raises(BoxForeignError, match=r"version 7.*update drillbox"):
            open_box(path, read_only=read_only)
    assert before == path.read_bytes()


def test_a_folder_is_no_box(tmp_path: Path) -> None:
    """The sentence says what to name instead."""
    with pytest.raises(BoxError, match=r"this is a folder; name the box file in it"):
        open_box(tmp_path)


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    """A file stands where the folder should be."""
    (tmp_path / "file").write_text("")
    with pytest.raises(BoxError, match="folder cannot be made"):
        open_box(tmp_path / "file" / "deeper" / "box")


def test_an_empty_file_without_backups_is_a_new_box(tmp_path: Path) -> None:
    """A start that was killed before its first commit leaves one."""
    path = tmp_path / "box"
    path.touch()
    with open_box(path) as box:
        box.add_take(take(1))
        assert [take(1)] == box.takes()


@pytest.mark.parametrize("content", [b"Q", b"S", b"QQ", b"\0", b"no box\n" * 5000])
@pytest.mark.parametrize("read_only", [False, True])
def test_a_file_of_other_bytes_is_no_box_and_left_alone(
    tmp_path: Path, content: bytes, *, read_only: bool
) -> None:
    """SQLite takes a file of one byte for an empty one, and would write over it.

    A note of the player's is no damaged box either, of which a repair would save what is left.
    """
    path = tmp_path / "note"
    path.write_bytes(content)
    with pytest.raises(BoxForeignError, match=r"this is no box of drillbox; name a box, or"):
        open_box(path, read_only=read_only)
    assert content == path.read_bytes()
    assert [path] == list(tmp_path.iterdir())


@pytest.mark.parametrize("is_gone", [True, False])
def test_the_way_out_says_what_is_left_of_the_box(tmp_path: Path, *, is_gone: bool) -> None:
    """Of a damaged one, that what it still says is kept and the file set aside; of none, nothing.

    Both name the backup.
    """
    path = full_box(tmp_path / "box", 5)
    (backup,) = list_backups(path)
    if is_gone:
        path.unlink()
    else:
        path.write_bytes(b"")
    with pytest.raises(BoxDamagedError) as caught:
        open_box(path)
    way_out = f"'drillbox checkup --repair' restores the last good backup, {backup.path}"
    more = ", with all that the damaged file still says, and sets that aside"
    assert way_out + ("" if is_gone else more) == caught.value.fix


def test_a_database_without_tables_is_of_another_program(tmp_path: Path) -> None:
    """Somebody made it for something: no box is written into it."""
    path = tmp_path / "theirs.db"
    with closing(sqlite3.connect(path)) as theirs:
        theirs.execute("VACUUM")
    before = path.read_bytes()
    with pytest.raises(BoxForeignError, match="another program"):
        open_box(path)
    assert (True, before) == (len(before) > 0, path.read_bytes())


def test_an_emptied_file_with_backups_is_a_damaged_box(tmp_path: Path) -> None:
    """A box that lost all its bytes must not pass for a new one."""
    path = full_box(tmp_path / "box", 5)
    path.write_bytes(b"")
    with pytest.raises(BoxDamagedError, match="checkup --repair' restores the last good backup"):
        open_box(path)
    assert b"" == path.read_bytes()


@pytest.mark.parametrize(
    "content",
    [b"garbage" * 1000, b"\0" * 8192, b"SQLite format 3\0" + b"\xff" * 9000],
    ids=["text", "zeros", "header"],
)
def test_garbage_is_damage_and_the_backup_is_named(tmp_path: Path, content: bytes) -> None:
    """Said plainly, last good backup offered, file untouched; and the offered backup restores."""
    path = full_box(tmp_path / "box", 20)
    path.write_bytes(content)
    (good,) = list_backups(path)
    for read_only in (False, True):
        with pytest.raises(BoxDamagedError, match="the box is damaged") as caught:
            open_box(path, read_only=read_only)
        assert str(good.path) in caught.value.fix
    assert content == path.read_bytes()
    restore(path, good.path, now=NOW)
    with open_box(path) as box:
        assert 19 == len(box.takes())


@pytest.mark.parametrize("share", [0.999, 0.7, 0.4])
def test_a_truncated_box_opens_for_reading_only(tmp_path: Path, share: float) -> None:
    """Writing is refused with the backup named.

    What is left of the log can be read and merged into the backup.
    """
    path = full_box(tmp_path / "box")
    whole = path.read_bytes()
    cut = whole[: int(len(whole) * share)]
    path.write_bytes(cut)
    (good,) = list_backups(path)
    with pytest.raises(BoxDamagedError, match="damaged") as caught:
        open_box(path)
    assert str(good.path) in caught.value.fix
    with open_box(path, read_only=True) as box:
        rescued = box.rescue()
        assert [deck()] == box.decks()
        with pytest.raises((NotSavedError, BoxDamagedError)):
            box.add_take(take(9999))
    everything = [take(number) for number in range(3000)]
    assert set(rescued) <= set(everything)
    assert len(rescued) > (share - 0.35) * 3000
    assert cut == path.read_bytes()
    restore(path, good.path, now=NOW)
    with open_box(path) as box:
        box.merge(rescued)
        assert set(everything[:-1]) | set(rescued) == set(box.takes())


def test_a_page_of_noise_costs_its_own_takes_only(tmp_path: Path) -> None:
    """In the middle of the file: reading the log says damage, the rescue brings the rest."""
    path = full_box(tmp_path / "box")
    content = bytearray(path.read_bytes())
    with closing(sqlite3.connect(path)) as plain:
        (page,) = (
            plain.execute(
                "SELECT max(pageno) FROM dbstat WHERE name = 'take' AND pagetype = 'leaf'"
            ).fetchone()
            if _has_dbstat(plain)
            else (len(content) // 4096 // 2,)
        )
    content[(page - 1) * 4096 : page * 4096] = b"\xa5" * 4096
    path.write_bytes(content)
    with pytest.raises(BoxDamagedError, match="damaged"):
        open_box(path)
    with open_box(path, read_only=True) as box:
        with pytest.raises(
            BoxDamagedError, match="checkup --repair' restores the last good backup"
        ):
            box.takes()
        rescued = box.rescue()
    assert 2900 < len(rescued) < 3000


def _has_dbstat(db: sqlite3.Connection) -> bool:
    return ("ENABLE_DBSTAT_VTAB",) in db.execute("PRAGMA compile_options").fetchall()


def test_a_value_that_no_row_may_have_is_passed_over(tmp_path: Path) -> None:
    """Another program wrote past the checks: no traceback, and the rest is read and rescued."""
    path = full_box(tmp_path / "box", 3)
    with closing(sqlite3.connect(path)) as plain:
        plain.execute("PRAGMA ignore_check_constraints = ON")
        plain.execute("DROP TRIGGER take_no_update")
        plain.execute("UPDATE take SET zone = '../x' WHERE seq = 2")
        plain.commit()
    with open_box(path) as box:
        assert [take(0), take(2)] == box.takes() == box.rescue()


def test_a_box_is_checked_once_a_day(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As drillbox left it, a box is read through at the day's first start only."""
    path = full_box(tmp_path / "box")
    asked: list[Path] = []

    def is_whole(box: Path) -> bool:
        asked.append(box)
        return True

    monkeypatch.setattr(daily_check, "is_whole", is_whole)
    with open_box(path) as box:
        box.add_take(take(9999))
    open_box(path).close()
    assert [] == asked
    for _ in range(2):
        open_box(path, now=TOMORROW).close()
    assert [path] == asked


def test_a_box_that_something_else_changed_is_checked(tmp_path: Path) -> None:
    """A crash, a copy, a failing disk: what drillbox did not leave like this is not trusted."""
    path = full_box(tmp_path / "box")
    open_box(path).close()
    path.write_bytes(noise_in(path))
    with pytest.raises(BoxDamagedError, match="damaged"):
        open_box(path)


def test_a_look_is_checked_after_it_and_damage_stops_every_write(tmp_path: Path) -> None:
    """Whoever only looks is not kept waiting; once damage is found nothing is written any more."""
    path = full_box(tmp_path / "box")
    content = noise_in(path)
    path.write_bytes(content)
    with open_box(path, checks_first=False) as box:
        with pytest.raises(BoxDamagedError, match="damaged"):
            box.check()
        with pytest.raises(BoxDamagedError, match="damaged"):
            box.add_take(take(9999))
        with pytest.raises(NotSavedError, match="damaged"):
            box.drop_beliefs()
    assert content == path.read_bytes()
    with pytest.raises(BoxDamagedError, match="damaged"):
        open_box(path)


def test_a_damaged_box_gets_no_backup(tmp_path: Path) -> None:
    """Damage found while the day's backup is made refuses the write.

    And the good backup stays the newest.
    """
    path = full_box(tmp_path / "box")
    open_box(path, now=TOMORROW).close()
    path.write_bytes(noise_in(path))
    with (
        open_box(path, now=TOMORROW, checks_first=False) as box,
        pytest.raises(BoxDamagedError, match="checkup --repair' restores the last good backup"),
    ):
        box.add_take(take(9999))
    assert [NOW.date()] == [backup.day for backup in list_backups(path)]
    assert [] == list(tmp_path.glob("box.backups/.*"))


def noise_in(path: Path) -> bytes:
    """Return a file with a page of noise in its middle."""
    content = bytearray(path.read_bytes())
    middle = len(content) // 2 // 4096 * 4096
    content[middle : middle + 4096] = b"\xa5" * 4096
    return bytes(content)


def test_a_box_that_would_never_end_is_refused(tmp_path: Path) -> None:
    """A view in the table's place, whose rows never end, comes from somebody who wants to stop us.

    It is not read.
    """
    path = full_box(tmp_path / "box", 5)
    with closing(sqlite3.connect(path)) as db:
        db.execute("DROP TABLE setting")
        db.execute(
            "CREATE VIEW setting (key, value, at) AS"
            " WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n) SELECT x, x, x FROM n"
        )
        db.commit()
    for read_only in (True, False):
        with pytest.raises(BoxForeignError, match="views"):
            open_box(path, read_only=read_only)


def test_a_missing_box_cannot_be_read(tmp_path: Path) -> None:
    """Opening for reading makes nothing."""
    with pytest.raises(BoxError, match="no such box"):
        open_box(tmp_path / "box", read_only=True)
    (tmp_path / "empty").touch()
    with pytest.raises(BoxError, match="the box is empty"):
        open_box(tmp_path / "empty", read_only=True)
    assert ["empty"] == [file.name for file in tmp_path.iterdir()]


def test_an_upgrade_makes_a_backup_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A box of version 4 opened by a program of version 5: copied, then changed, then signed."""
    path = full_box(tmp_path / "box", 5)
    steps = _next_version(monkeypatch)

    @steps()
    def version_5(db: Database) -> None:
        db.execute("ALTER TABLE deck ADD COLUMN colour TEXT")
        db.execute("PRAGMA user_version = 5")

    with open_box(path) as box:
        assert 5 == len(box.takes())
        columns = [row[1] for row in box._box.connection.execute("PRAGMA table_info(deck)")]
    assert "colour" in columns
    made = next(backup for backup in list_backups(path) if backup.before_upgrade)
    assert "2026-03-12-183000-before-version-5.box" == made.path.name
    with closing(sqlite3.connect(made.path)) as old:
        assert (4,) == old.execute("PRAGMA user_version").fetchone()
    with open_box(path) as box:
        assert 5 == len(box.takes())
    assert 2 == len(list_backups(path))


def test_a_failing_upgrade_leaves_the_box_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All steps or none: the step before the failing one is undone too."""
    path = full_box(tmp_path / "box", 5)
    with monkeypatch.context() as patch:
        steps = _next_version(patch)

        @steps()
        def version_5(db: Database) -> None:
            db.execute("ALTER TABLE deck ADD COLUMN colour TEXT")
            db.execute("PRAGMA user_version = 5")
            db.execute("INSERT INTO nowhere VALUES (1)")

        with pytest.raises(NotSavedError, match="nowhere"):
            open_box(path)
    with open_box(path) as box:
        assert 5 == len(box.takes())
        assert [deck()] == box.decks()
        columns = [row[1] for row in box._box.connection.execute("PRAGMA table_info(deck)")]
    assert "colour" not in columns


def _next_version(patch: pytest.MonkeyPatch) -> Migrations:
    steps = Migrations("drillbox")
    for released in (version_1, version_2, version_3, version_4):
        steps()(released)
    patch.setattr("drillbox.store.migrations.MIGRATIONS", steps)
    patch.setattr(schema, "SCHEMA_VERSION", 5)
    return steps


def test_an_old_sqlite_is_named_not_mistaken_for_damage(monkeypatch: pytest.MonkeyPatch) -> None:
    """SQLite before 3.38 cannot read them (strict tables: 3.37, https://sqlite.org/stricttables.html)."""
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 34, 1))
    with pytest.raises(BoxError, match=r"use a Python with SQLite 3\.38\.0 or newer"):
        open_box()


def test_reading_loads_neither_sqlite_utils_nor_numpy(tmp_path: Path) -> None:
    """They take longer to load than the day's plan to compute.

    An existing box needs neither, to read or to write.
    """
    path = full_box(tmp_path / "box", 5)
    program = (
        "import sys; from store_kit import *; box = open_box(sys.argv[1]);"
        " box.takes(); box.add_take(take(99));"
        "print(sorted({'sqlite_utils', 'numpy', 'click', 'textual'} & set(sys.modules)))"
    )
    said, complaint = python(program, str(path)).communicate()
    assert ("[]\n", "") == (said, complaint)


def test_a_card_id_is_the_same_in_every_row(tmp_path: Path) -> None:
    """What the deck calls a card, the log and the cache call it too."""
    with open_box(full_box(tmp_path / "box", 3)) as box:
        assert (
            {CARD} == {row.card_id for row in box.cards()} == {row.card_id for row in box.takes()}
        )
