"""Files of every released version open for good, with the same takes in them."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from store_kit import open_box

from drillbox.errors import NotSavedError
from drillbox.store import list_backups, migrations, read_log, schema

sys.path.insert(0, str(Path(__file__).parent / "released"))
import make_released as made

if TYPE_CHECKING:
    from sqlite_utils import Database

BOXES = sorted(made.HERE.glob("version-*.box"))
LOGS = sorted(made.HERE.glob("version-*.jsonl"))
ENTRIES = {*made.TAKES, made.RETRACTION}
COUNTED = [take for take in made.TAKES if take != made.TAKEN_BACK]


def version_of(path: Path) -> int:
    """Return the version that a kept file's name gives."""
    return int(path.stem.removeprefix("version-"))


def test_every_version_before_this_one_is_kept() -> None:
    """Raising the version is only complete with the last one's files here.

    Make_released.py writes them.
    """
    earlier = set(range(1, schema.SCHEMA_VERSION)) | {1}

    assert earlier <= set(map(version_of, BOXES))
    assert earlier <= set(map(version_of, LOGS))


@pytest.mark.parametrize("kept", BOXES, ids=lambda path: path.name)
def test_a_kept_box_opens_with_everything_in_it(kept: Path, tmp_path: Path) -> None:
    """Brought to this version, it has the same takes, decks, wishes and settings.

    Its old self is a backup.
    """
    path = tmp_path / "player.box"
    shutil.copy(kept, path)
    with open_box(path) as box:
        assert ENTRIES == set(box.log())
        assert COUNTED == box.takes()
        assert [made.DECK] == box.decks()
        assert list(made.CARDS) == box.cards()
        assert {made.CARD: made.WISH} == box.wishes()
        assert made.SETTING[1] == box.setting(made.SETTING[0])
        assert len(ENTRIES) == box.mark()
    older = version_of(kept) < schema.SCHEMA_VERSION
    assert older == any(backup.before_upgrade for backup in list_backups(path))


@pytest.mark.parametrize("kept", BOXES, ids=lambda path: path.name)
def test_a_kept_box_is_read_without_being_touched(kept: Path, tmp_path: Path) -> None:
    """What may only be read is brought to this version in memory.

    The same takes, and not a byte changed.
    """
    path = tmp_path / "player.box"
    shutil.copy(kept, path)
    with open_box(path, read_only=True) as box:
        assert COUNTED == box.takes()
    assert kept.read_bytes() == path.read_bytes()
    assert [path] == list(tmp_path.iterdir())


@pytest.mark.parametrize("kept", LOGS, ids=lambda path: path.name)
def test_a_kept_log_is_read_and_merges(kept: Path) -> None:
    """The log as text says the same as the box, of every version."""
    with kept.open("rb") as file, open_box() as box:
        assert len(ENTRIES) == box.merge(read_log(file, kept.name))
        assert ENTRIES == set(box.log())


def test_an_older_box_is_read_through_an_upgraded_copy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a version 5 in the program.

    Version 1 is read without being changed, and refuses every write.
    """
    from sqlite_utils import Migrations

    steps = Migrations("drillbox")
    for released in (
        migrations.version_1,
        migrations.version_2,
        migrations.version_3,
        migrations.version_4,
    ):
        steps()(released)

    @steps()
    def version_5(db: Database) -> None:
        db.execute("ALTER TABLE deck ADD COLUMN colour TEXT")
        db.execute("PRAGMA user_version = 5")

    monkeypatch.setattr(migrations, "MIGRATIONS", steps)
    monkeypatch.setattr(schema, "SCHEMA_VERSION", 5)
    path = tmp_path / "player.box"
    shutil.copy(made.HERE / "version-1.box", path)
    with open_box(path, read_only=True) as box:
        assert COUNTED == box.takes()
        columns = [row[1] for row in box._box.connection.execute("PRAGMA table_info(deck)")]
        assert "colour" in columns
        with pytest.raises(NotSavedError, match="may only be read"):
            box.put_setting("minutes", 5, made.BEGAN)
    assert (made.HERE / "version-1.box").read_bytes() == path.read_bytes()
