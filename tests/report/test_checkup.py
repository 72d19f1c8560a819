"""The checkup.

What it finds in boxes that were really hurt, and that its repairs lose nothing that can be read.
"""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
from contextlib import closing
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from conftest import MORNING, SMALL_DECK

from drillbox.base.clock import ManualClock
from drillbox.box import Box
from drillbox.cli.main import run
from drillbox.deckfile import parse_deck
from drillbox.errors import BoxDamagedError, BoxError, BoxForeignError
from drillbox.report.checkup import Repair, look, mend
from drillbox.store import TakeRow, list_backups

if TYPE_CHECKING:
    from pathlib import Path

PAGE = 4096
EVENING = ManualClock(MORNING + timedelta(days=2, hours=9))


@pytest.fixture(scope="module")
def practised(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a box that was practised on three days, 120 takes a day.

    A backup came before each.
    """
    path = tmp_path_factory.mktemp("practised") / "player.box"
    deck = parse_deck(SMALL_DECK, name="first.toml")
    for days in range(3):
        clock = ManualClock(MORNING + timedelta(days=days))
        with Box.open(path, clock=clock) as box:
            if not days:
                box.put_deck(deck, at=clock.now())
                box.set_goal(deck.cards[0].card_id, bpm=111, at=clock.now())
            box.merge(
                TakeRow(
                    id=f"{days * 1000 + number:032x}",
                    card_id=deck.cards[number % 4].card_id,
                    bpm=60 + number / 4,
                    grade=1,
                    at=clock.now() + timedelta(seconds=40 * number),
                    zone="Europe/Zurich",
                    seconds=30,
                    source="self",
                )
                for number in range(120)
            )
            box.cards(at=clock.now())
    return path.parent


@pytest.fixture
def place(practised: Path, tmp_path: Path) -> Path:
    """Return a private copy of that box."""
    shutil.copytree(practised, tmp_path, dirs_exist_ok=True)
    return tmp_path / "player.box"


def entries(path: Path) -> list[object]:
    """Return the log of a box."""
    with Box.open(path, clock=EVENING, read_only=True) as box:
        return list(box.log())


def hurt(path: Path, *pages: int) -> None:
    """Overwrite pages of a file, as a failing disk does."""
    content = bytearray(path.read_bytes())
    for page in pages:
        content[page * PAGE : (page + 1) * PAGE] = b"\xa5" * PAGE
    path.write_bytes(content)


def pages_of(path: Path, table: str) -> list[int]:
    """Return the pages, from 0, on which a table's rows are."""
    with closing(sqlite3.connect(path)) as db:
        rows = db.execute(
            "SELECT pageno FROM dbstat WHERE name = ? AND pagetype = 'leaf'", (table,)
        )
        return [page - 1 for (page,) in rows]


def repairs(path: Path) -> list[Repair | None]:
    """Return what a look at a box would have done about it."""
    return [finding.repair for finding in look(path, clock=EVENING).findings]


def mended(path: Path) -> list[str]:
    """Mend a box and return what was said to be done."""
    return list(mend(path, look(path, clock=EVENING), clock=EVENING))


def test_a_box_that_is_well_is_left_alone(place: Path) -> None:
    """Looking finds nothing, says what it looked at, and changes no byte of any file."""
    files = {file: file.read_bytes() for file in place.parent.rglob("*") if file.is_file()}
    report = look(place, clock=EVENING)

    assert () == report.findings
    assert "the log can be read, entries: 360" in report.well
    assert "good backups: 2, the newest of 2026-03-04" in report.well
    assert files == {file: file.read_bytes() for file in place.parent.rglob("*") if file.is_file()}


def test_a_damaged_log_is_rebuilt_from_the_backup_and_from_what_can_be_read(place: Path) -> None:
    """One page of takes is lost to the disk.

    Those the backup has come from it, the newer ones from the file.
    """
    before = entries(place)
    leaves = pages_of(place, "take")
    hurt(place, leaves[0], leaves[-2])
    broken = place.read_bytes()
    assert Repair.BOX in repairs(place)
    (said,) = mended(place)
    after = entries(place)
    (aside,) = place.parent.glob("player.box.aside-*")

    assert re.search(
        r"from the backup 2026-03-04-\S+\. Entries: \d+;"
        r" of them only the damaged file still had: \d+",
        said,
    )
    assert set(after) <= set(before)
    assert 360 - PAGE // 100 < len(after) <= 360
    assert before[:240] == after[:240]
    assert broken == aside.read_bytes()
    assert [] == [repair for repair in repairs(place) if repair is not None]


def test_a_box_cut_short_keeps_what_lies_before_the_cut(place: Path) -> None:
    """A file cut in the middle: the goal, the deck, and more takes than the backup alone."""
    content = place.read_bytes()
    place.write_bytes(content[: len(content) * 3 // 4 // PAGE * PAGE])
    mended(place)
    with Box.open(place, clock=EVENING) as box:
        assert 4 == box.cards_in_box
        assert 111 in {card.goal_bpm for card in box.cards(at=EVENING.now())}
        assert len(list(box.log())) >= 240


def test_without_a_backup_a_new_box_gets_what_can_be_read(place: Path) -> None:
    """The folder of backups is gone and a page of takes too.

    Deck, goal and the other takes are in a new box.
    """
    for backup in list_backups(place):
        backup.path.unlink()
    before = entries(place)
    hurt(place, pages_of(place, "take")[0])
    assert [Repair.BOX] == repairs(place)
    (said,) = mended(place)

    assert "built again from a new box" in said
    with Box.open(place, clock=EVENING) as box:
        assert 4 == box.cards_in_box
        assert 300 < len(list(box.log())) < 360
        assert set(box.log()) < set(before)


def test_where_nothing_is_left_the_file_stays(place: Path) -> None:
    """Nothing to read and no backup: a sentence, and the file is where it was."""
    for backup in list_backups(place):
        backup.path.unlink()
    place.write_bytes(b"\xa5" * 10_000)
    with pytest.raises((BoxDamagedError, BoxForeignError)):
        mended(place)

    assert b"\xa5" * 10_000 == place.read_bytes()


def test_damaged_backups_are_set_aside(place: Path) -> None:
    """A backup that does not pass the check loses its name, and nothing else; the others stay."""
    newest, older = list_backups(place)
    hurt(newest.path, pages_of(newest.path, "take")[0])
    assert [Repair.BACKUPS] == repairs(place)
    (said,) = mended(place)

    assert f"{newest.path.name}.damaged-2026-03-04-180000" in said
    assert (older,) == list_backups(place)
    assert [] == repairs(place)


def test_both_broken_at_once(place: Path) -> None:
    """The newest backup and the box are damaged.

    The older backup, and the file's readable takes, make the new box.
    """
    newest, older = list_backups(place)
    hurt(newest.path, pages_of(newest.path, "take")[0])
    hurt(place, pages_of(place, "take")[-1])
    assert [Repair.BACKUPS, Repair.BOX] == repairs(place)
    said = mended(place)

    assert older.path.name in said[1]
    assert len(entries(place)) > 300
    assert [] == repairs(place)


def test_entries_that_only_a_backup_has_come_back(place: Path) -> None:
    """Somebody put an old copy over the box.

    The log only grows, so what a backup holds must be in it.
    """
    before = entries(place)[:240]
    older = list_backups(place)[-1]
    place.write_bytes(older.path.read_bytes())
    assert [Repair.LOG] == repairs(place)
    (said,) = mended(place)

    assert "Entries brought back from the backups: 120." == said
    assert before == entries(place)
    assert [] == repairs(place)


def test_a_wrong_cache_is_computed_again(place: Path) -> None:
    """A belief that another program wrote is noticed, and replaced by a replay."""
    with closing(sqlite3.connect(place)) as db:
        db.execute("UPDATE belief SET body = (SELECT body FROM belief LIMIT 1)")
        db.commit()
    assert [Repair.BELIEFS] == repairs(place)
    mended(place)

    assert [] == repairs(place)


def test_a_gap_and_a_missing_guard_are_told(place: Path) -> None:
    """Another program dropped the guard and deleted a take of today.

    Both are said, though nothing brings it back.
    """
    with closing(sqlite3.connect(place)) as db:
        db.execute("DROP TRIGGER take_no_delete")
        db.execute("DELETE FROM take WHERE seq = 300")
        db.commit()
    sentences = [finding.sentence for finding in look(place, clock=EVENING).findings]

    assert any("changed the tables (take_no_delete)" in sentence for sentence in sentences)
    assert any("numbers missing or wrong: 1" in sentence for sentence in sentences)


def test_a_deck_that_cannot_be_read_any_more_is_told(place: Path) -> None:
    """Its cards still work; the sentence says where the text is wrong."""
    with closing(sqlite3.connect(place)) as db:
        db.execute("UPDATE deck SET text = 'title = '")
        db.commit()
    (finding,) = look(place, clock=EVENING).findings

    assert "First ghosts:1:9" in finding.sentence
    assert finding.repair is None


def test_a_box_without_backups_gets_one(place: Path) -> None:
    """Where takes have no good copy, one is made."""
    for backup in list_backups(place):
        backup.path.unlink()
    assert [Repair.BACK_UP] == repairs(place)
    mended(place)

    assert 1 == len(list_backups(place))


def test_what_is_not_ours_is_not_judged(place: Path) -> None:
    """Another program's file and a missing one are refused."""
    foreign = place.with_name("plants.db")
    with closing(sqlite3.connect(foreign)) as db:
        db.execute("CREATE TABLE plants (name)")
    with pytest.raises(BoxForeignError):
        look(foreign, clock=EVENING)
    with pytest.raises(BoxError, match="no such box"):
        look(place.with_name("missing.box"), clock=EVENING)


def test_the_command_says_mends_and_exits_with_what_is_left(
    place: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """6 while something is wrong, 0 when all is well.

    After the repair the box works and has all takes.
    """
    hurt(place, pages_of(place, "take")[-1])
    asked = run(["--box", str(place), "checkup"])
    first = capfd.readouterr()
    mending = run(["--box", str(place), "checkup", "--repair"])
    second = capfd.readouterr()
    run(["--box", str(place), "cards", "--json"])

    assert (6, 0) == (asked, mending)
    assert "not well: the file cannot be followed: " in first.out
    assert "'drillbox checkup --repair': the newest good backup" in first.out
    assert second.out.endswith("All is well.\n")
    assert 4 == len(json.loads(capfd.readouterr().out))
