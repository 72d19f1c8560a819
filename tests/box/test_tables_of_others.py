"""What another program did to the tables of a box costs no take, and is said in a sentence."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from conftest import MORNING
from hostile_rows import alter

from drillbox import Box, Grade
from drillbox.app.unsaved import Unsaved
from drillbox.cli.main import run
from drillbox.errors import BoxDamagedError, NotSavedError
from drillbox.report.checkup import look, mend
from drillbox.store.second_place import SecondPlace

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from drillbox.base.clock import ManualClock
    from drillbox.deckfile import Deck

USED_UP = (
    "INSERT INTO take SELECT 9223372036854775807, printf('%032d', 7), card_id, 80, 0, at, zone, 30,"
    " 'self', NULL, 1 FROM take LIMIT 1"
)
SWALLOWS = "CREATE TRIGGER bad BEFORE INSERT ON take BEGIN SELECT RAISE(IGNORE); END"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return where the box is."""
    return tmp_path / "player.box"


@pytest.fixture
def filed(path: Path, clock: ManualClock, small_deck: Deck) -> Iterator[Box]:
    """Return a box on disk with a deck."""
    with Box.open(path, clock=clock) as box:
        box.put_deck(small_deck, at=clock.now())
        yield box


def played(box: Box, takes: int = 2) -> None:
    """Record some takes of one card."""
    for minute in range(takes):
        at = MORNING + timedelta(minutes=minute)
        box.record(box.find("e"), bpm=80, grade=Grade.STEADY, at=at, seconds=40)


def said_of(path: Path, clock: ManualClock) -> str:
    """Return all that a checkup finds."""
    return "\n".join(finding.sentence for finding in look(path, clock=clock).findings)


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        (USED_UP, ("has used up the numbers of the log", "used up the numbers of the log")),
        (SWALLOWS, ("has changed the tables of the box", "changed the tables (bad)")),
    ],
)
def test_a_take_that_the_tables_keep_out_waits_in_the_second_place(
    filed: Box, path: Path, clock: ManualClock, statement: str, said: tuple[str, str]
) -> None:
    """No row came, so nobody is told "saved": the take is kept elsewhere, and checkup says why."""
    (why, found), folder = said, path.parent / "second"
    played(filed)
    alter(path, statement)
    place = SecondPlace([folder], path, owner="one")
    clock.forward(seconds=600)
    with pytest.raises(NotSavedError, match=why):
        filed.record(filed.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    unsaved = Unsaved(filed, clock, second_place=place)
    card = filed.find("e")
    assert not unsaved.save(card, bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    assert unsaved.trouble is not None
    assert why in unsaved.trouble.what
    assert unsaved.trouble.fix
    (left,) = SecondPlace([folder], path, owner="two").left_behind()
    assert unsaved.takes == left.takes
    assert found in said_of(path, clock)


def test_what_fails_in_drillbox_itself_leaves_the_take_in_the_second_place(
    filed: Box, path: Path, clock: ManualClock, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault of our own ends the program, and not the take."""
    place = SecondPlace([tmp_path / "second"], path, owner="one")
    unsaved = Unsaved(filed, clock, second_place=place)
    card = filed.find("e")

    def broken(*_: object, **__: object) -> None:
        raise KeyError("nothing")

    with monkeypatch.context() as patch:
        patch.setattr(type(filed), "keep", broken)
        with pytest.raises(KeyError):
            unsaved.save(card, bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    next_start = Unsaved(
        filed, clock, second_place=SecondPlace([tmp_path / "second"], path, owner="two")
    )
    assert next_start.take_up() == "1 take kept from last time: saved now."
    assert unsaved.takes[0].id in {entry.id for entry in filed.log()}


def test_the_whole_takes_of_a_cut_file_come_in(
    filed: Box, path: Path, clock: ManualClock, tmp_path: Path
) -> None:
    """The last line of a second place was cut: the takes before it are saved, the rest is named."""
    folder = tmp_path / "second"
    alter(path, SWALLOWS)
    unsaved = Unsaved(filed, clock, second_place=SecondPlace([folder], path, owner="one"))
    for _ in range(3):
        clock.forward(seconds=60)
        unsaved.save(filed.find("e"), bpm=80, grade=Grade.CLEAN, at=clock.now(), seconds=40)
    alter(path, "DROP TRIGGER bad")
    (file,) = folder.iterdir()
    lines = file.read_bytes().splitlines(keepends=True)
    file.write_bytes(b"".join(lines[:3]) + lines[3][:20])

    def start() -> str:
        return Unsaved(
            filed, clock, second_place=SecondPlace([folder], path, owner="two")
        ).take_up()

    said = start()
    assert said.startswith("2 takes kept from last time: saved now.")
    assert f"{file}:4: the file is cut short in this line" in said
    assert [take.id for take in unsaved.takes[:2]] == [entry.id for entry in filed.log()]
    (aside,) = folder.iterdir()
    assert str(aside) in said
    assert start() == ""


@pytest.mark.parametrize("table", ["feature", "belief", "course"])
@pytest.mark.parametrize(
    "body", [b"", bytes(8), bytes(16), b"\xff" * 88, b"\xff" * 96, b"\xff" * 80, bytes(96)]
)
def test_a_cache_that_makes_no_sense_is_no_cache(
    path: Path, clock: ManualClock, small_deck: Deck, table: str, body: bytes
) -> None:
    """Of the wrong length, or no numbers: plan, days and takes go on from what the log says."""
    with Box.open(path, clock=clock) as box:
        box.put_deck(small_deck, at=clock.now())
        played(box)
        box.plan(at=clock.now())
        kept = (box.cards(at=clock.now()), box.days(), box.plan(at=clock.now()))
    alter(path, f"UPDATE {table} SET body = x'{body.hex()}'")  # noqa: S608 - our own names

    assert ("cards believed otherwise" in said_of(path, clock)) == (table != "feature")
    with Box.open(path, clock=clock, read_only=True) as box:
        assert str(kept[1]) == str(box.days())
    with Box.open(path, clock=clock) as box:
        again = (box.cards(at=clock.now()), box.days(), box.plan(at=clock.now()))
        assert str(kept) == str(again)
        played(box)
    mended = list(mend(path, look(path, clock=clock), clock=clock))
    assert not any("computed" in said for said in mended)
    assert "believed otherwise" not in said_of(path, clock)


@pytest.mark.parametrize("table", ["belief", "course", "history_state", "feature"])
def test_a_cache_that_is_gone_is_made_again(
    path: Path, clock: ManualClock, small_deck: Deck, table: str
) -> None:
    """Nothing is lost with it: readers and players go on."""
    with Box.open(path, clock=clock) as box:
        box.put_deck(small_deck, at=clock.now())
        played(box)
        kept = str(box.days())
    alter(path, f"DROP TABLE {table}")
    for read_only in (True, False, False):
        with Box.open(path, clock=clock, read_only=read_only) as box:
            assert kept == str(box.days())
            assert box.plan(at=clock.now()).items
    assert said_of(path, clock) == "there is no good backup"


@pytest.mark.parametrize("table", ["setting", "wish", "deck", "card", "take", "retraction"])
def test_a_table_that_is_gone_is_damage_with_a_remedy(
    path: Path, clock: ManualClock, small_deck: Deck, table: str
) -> None:
    """The rest can still be read, and a repair makes a whole box of it."""
    with Box.open(path, clock=clock) as box:
        box.put_deck(small_deck, at=clock.now())
        played(box)
    alter(path, "PRAGMA foreign_keys = OFF", f"DROP TABLE {table}")
    with pytest.raises(BoxDamagedError, match="checkup --repair"):
        Box.open(path, clock=clock)
    with Box.open(path, clock=clock, read_only=True) as box:
        assert len(list(box.log())) == (0 if table == "take" else 2)
    report = look(path, clock=clock)
    assert f"the table {table}, or some of its columns, is gone" in report.findings[0].sentence
    assert list(mend(path, report, clock=clock))
    with Box.open(path, clock=clock) as box:
        assert len(list(box.log())) == (0 if table == "take" else 2)


@pytest.mark.parametrize(
    ("column", "left"),
    [
        ("card.note", (2, 4)),
        ("card.family", (2, 4)),
        ("deck.about", (2, 0)),
        ("wish.resting", (2, 4)),
        ("setting.value", (2, 4)),
        ("take.zone", (0, 4)),
    ],
)
def test_a_table_without_one_of_its_columns_is_a_table_that_is_gone(
    filed: Box, path: Path, clock: ManualClock, column: str, left: tuple[int, int]
) -> None:
    """Also in a backup, which is then no good one; cards are built again from their deck's text."""
    table, _, name = column.partition(".")
    played(filed)
    filed.close()
    alter(path, f"ALTER TABLE {table} DROP COLUMN {name}")
    home = path.with_name(f"{path.name}.backups")
    for backup in home.glob("*.box"):
        backup.unlink()
    (home / "2026-01-01-000000.box").write_bytes(path.read_bytes())
    with pytest.raises(BoxDamagedError, match="checkup --repair"):
        Box.open(path, clock=clock)
    with Box.open(path, clock=clock, read_only=True) as box:
        box.plan(clock.now())
    done = list(mend(path, look(path, clock=clock), clock=clock))

    assert ("Decks built again from their texts" in done[-1]) == (table == "card")
    assert "cannot be followed" not in said_of(path, clock)
    with Box.open(path, clock=clock) as box:
        assert left == (len(list(box.log())), box.cards_in_box)


@pytest.mark.parametrize("table", ["belief", "course", "feature", "set_aside", "history_state"])
def test_a_cache_without_its_columns_is_made_again(
    filed: Box, path: Path, clock: ManualClock, table: str
) -> None:
    """Nothing is lost by it, so nobody is told."""
    played(filed)
    believed = filed.outlook(filed.find("e"), at=clock.now())
    filed.close()
    alter(path, f"DROP TABLE {table}", f"CREATE TABLE {table} (x)")
    with Box.open(path, clock=clock) as box:
        assert believed == box.outlook(box.find("e"), at=clock.now())
    assert "changed the tables" not in said_of(path, clock)


def test_a_repair_lets_every_entry_rest(filed: Box, path: Path, clock: ManualClock) -> None:
    """A retraction without a moment is answered where its take is here, and else is set aside."""
    played(filed)
    here = next(iter(filed.log())).id
    clock.forward(seconds=600)
    for number, take in ((8, here), (9, "f" * 32)):
        row = f"{number}, '{number:032x}', '{take}', '2026-99-99T00:00:00.000000Z'"
        alter(path, f"INSERT INTO retraction VALUES ({row})")  # noqa: S608 - our own numbers
    list(mend(path, look(path, clock=clock), clock=clock))
    report = look(path, clock=clock)
    assert not any("makes no sense" in one.sentence for one in report.findings)
    with Box.open(path, clock=clock) as box:
        assert 1 == box.archive.mark() - 9
        assert here not in {take.id for take in box.archive.takes()}
        assert 0 == box.left_out(at=clock.now()).unusable


def test_today_names_the_cards_of_a_box_in_which_none_can_be_read(
    filed: Box, path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The deck is there: nobody is told to add one."""
    filed.close()
    alter(path, "UPDATE card SET pattern = 'snare: >9 zz('")
    run(["--box", str(path), "today"])
    said = capsys.readouterr().out
    assert "cannot be read" in said
    assert "No deck" not in said


def test_of_a_file_that_is_gone_nothing_is_said_to_be_read(
    filed: Box, path: Path, clock: ManualClock
) -> None:
    """Only the backup is left, and only the backup is promised."""
    played(filed)
    filed.archive.back_up(clock.now())
    path.unlink()
    with pytest.raises(BoxDamagedError) as refusal:
        Box.open(path, clock=clock)
    assert "restores the last good backup" in refusal.value.fix
    assert "still says" not in refusal.value.fix


def test_a_card_without_a_title_is_named(filed: Box, path: Path, clock: ManualClock) -> None:
    """Whatever it is passed over for, today says which card is missing."""
    alter(path, "UPDATE card SET title = '' WHERE slug = 'e-a'")
    assert filed.left_out(at=clock.now()).sentence.startswith("Card e-a cannot be used")
