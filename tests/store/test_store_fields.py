"""Every field of every row through every writer, so that none forgets a new field unnoticed."""

from __future__ import annotations

import re
from dataclasses import MISSING, fields, replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from store_kit import CARD, NOW, OTHER, card, deck, open_box, take

import drillbox.store
from drillbox.store import (
    Holdings,
    Retraction,
    Setting,
    Wish,
    list_backups,
    read_log,
    replace_log,
    restore,
)
from drillbox.store.repair import rebuild

TAKE = take(1, measures={"jitter_ms": 3.5}, source="audio", grade=-2, seconds=1.5)
ANSWER = Retraction(f"{2:032x}", TAKE.id, NOW + timedelta(minutes=2))
DECK = deck(edition=3, archived=True)
CARD_ROW = card(4, importance=2.5, after=(CARD, OTHER), note="lightly")
WISH = Wish(CARD, 101.0, 3.0, resting=True, at=NOW)
SETTING = Setting("what", [1, {"a": None}], NOW)
OWN = Holdings((TAKE, ANSWER), (WISH,), (SETTING,))


@pytest.mark.parametrize("row", [TAKE, ANSWER, DECK, CARD_ROW, WISH, SETTING])
def test_no_value_of_these_rows_is_a_default(row: Any) -> None:
    """Else a writer that forgets a field would not be found out below; each is no column's zero."""
    for one in fields(row):
        assert getattr(row, one.name) not in (None, "", (), False), one.name
        if one.default is not MISSING:
            assert one.default != getattr(row, one.name), one.name


def filled(path: Path) -> Path:
    """Return a box with all of these rows."""
    with open_box(path) as box:
        box.merge(OWN.log)
        box.put_deck(DECK, [CARD_ROW])
        box.put_wish(WISH)
        box.put_setting(SETTING.key, SETTING.value, NOW)
    return path


def test_every_field_is_read_as_it_was_written(tmp_path: Path) -> None:
    """By a connection that did not write it."""
    with open_box(filled(tmp_path / "box")) as box:
        assert OWN == box.holdings()
        assert ([DECK], [CARD_ROW]) == (box.decks(), box.cards())


def test_every_field_of_the_log_is_exported_and_imported(tmp_path: Path) -> None:
    """As JSON Lines and back."""
    replace_log(tmp_path / "takes.jsonl", OWN.log)
    with (tmp_path / "takes.jsonl").open("rb") as file:
        assert list(OWN.log) == list(read_log(file, "takes.jsonl"))


def test_every_field_of_what_is_the_players_own_travels(tmp_path: Path) -> None:
    """Into another box."""
    with open_box(filled(tmp_path / "box")) as box, open_box(tmp_path / "other") as other:
        other.join(box.holdings())
        assert OWN == other.holdings()


def test_every_field_is_in_a_backup_and_comes_back(tmp_path: Path) -> None:
    """Restored with a take that the backup lacks."""
    path = filled(tmp_path / "box")
    with open_box(path) as box:
        made = box.back_up(NOW)
    restore(path, made.path, now=NOW, keeping=[take(3)])
    with open_box(path) as box:
        assert replace(OWN, log=(TAKE, ANSWER, take(3))) == box.holdings()
        assert ([DECK], [CARD_ROW]) == (box.decks(), box.cards())


def test_every_field_is_in_a_box_built_again(tmp_path: Path) -> None:
    """From nothing but what the old file still says."""
    path = filled(tmp_path / "box")
    for backup in list_backups(path):
        backup.path.unlink()
    rebuild(path, now=NOW)
    with open_box(path) as box:
        assert OWN == box.holdings()
        assert ([DECK], [CARD_ROW]) == (box.decks(), box.cards())


def test_archiving_a_deck_changes_nothing_else(tmp_path: Path) -> None:
    """Out and back."""
    with open_box(filled(tmp_path / "box")) as box:
        box.archive_deck(DECK.id, archived=False)
        assert [replace(DECK, archived=False)] == box.decks()
        box.archive_deck(DECK.id, archived=True)
        assert ([DECK], [CARD_ROW]) == (box.decks(), box.cards())


def test_sql_names_its_columns() -> None:
    """A column added later shifts no value: every statement names the columns it writes."""
    room = Path(drillbox.store.__file__).parent
    for path in room.glob("*.py"):
        text = path.read_text(encoding="utf-8")
        assert "SELECT *" not in text, path
        for found in re.finditer(r"(?:INSERT|REPLACE) INTO (\w+)([\s\"]*)(.)", text):
            assert "(" == found[3], (path.name, found[1])
