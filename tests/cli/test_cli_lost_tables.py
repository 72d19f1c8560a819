"""A box that another program took a table of: damaged, and never taken for an empty one."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

import pytest

from drillbox.errors import BoxDamagedError
from drillbox.memory import Grade

if TYPE_CHECKING:
    from cli_kit import Player

READERS = "today|cards|card e|why e|decks|path|year|vocabulary|ahead|learn --report"
LOSSES = {
    "take": "DROP TABLE take",
    "card": "ALTER TABLE card DROP COLUMN note",
    "deck": "ALTER TABLE deck DROP COLUMN about",
}


def lose(player: Player, table: str) -> None:
    """Take a table away as another program does, after one take."""
    with player.box() as box:
        box.record(box.find("e"), bpm=80, grade=Grade.CLEAN, at=player.clock.now(), seconds=40)
    with closing(sqlite3.connect(player.path)) as db:
        db.execute(LOSSES[table])
        db.commit()


@pytest.mark.parametrize("table", LOSSES)
def test_no_reader_answers_as_from_an_empty_box(player: Player, table: str) -> None:
    """One sentence that names the table and the remedy, the code of damage, and no data."""
    lose(player, table)
    for words in READERS.split("|"):
        said = player(*words.split())
        assert (BoxDamagedError.exit_code, "") == (said.code, said.out), words
        assert f"the box is damaged: its table {table}, or some of the columns, is gone" in said.err
        assert "checkup --repair" in said.err


def test_what_a_loss_does_not_touch_is_still_read(player: Player) -> None:
    """The log without the cards, the settings without the takes; both with a word on the damage."""
    lose(player, "card")
    for words, part in (("export -", '"kind": "take"'), ("set minutes", "15")):
        said = player(*words.split())
        assert 0 == said.code
        assert part in said.out
        assert "Opened for reading only." in said.err


def test_a_repair_says_that_takes_are_lost(player: Player) -> None:
    """Where the log cannot be read; a backup has what it has. Lost cards cost no take."""
    lose(player, "take")
    for backup in player.path.with_name(f"{player.path.name}.backups").glob("*.box"):
        backup.unlink()
    lost = "LOST: takes of the damaged file that can no longer be read."
    assert lost in player("checkup", "--repair").out
    lose(player, "card")
    assert "LOST" not in player("checkup", "--repair").out
    assert 0 == player("backup").code
    lose(player, "take")
    assert f"{lost[:-1]} and that the backup lacks." in player("checkup", "--repair").out
