"""What is taken out of a box: rows that make no sense, settings, counts; and what stays."""

from __future__ import annotations

from contextlib import closing
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from hostile_rows import alter, lay_open
from store_kit import CARD, NOW, OTHER, card, deck, open_box, take

from drillbox.errors import BoxError, NotSavedError
from drillbox.store import Wish

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def hurt(tmp_path: Path) -> Path:
    """Return a box in which a deck, a card, a wish and a setting make no sense, and one of each do.

    The text of the hurt deck stands in it, that of the hurt card's deck, too.
    """
    path = tmp_path / "box"
    with open_box(path) as box:
        for key in ("sound", "hurt"):
            box.put_deck(deck(key, text=f"of {key}"), [card(1, key), card(2, key)])
        for card_id in (CARD, OTHER):
            box.put_wish(Wish(card_id, 90.0, None, resting=False, at=NOW))
        for key in ("minutes", "leading"):
            box.put_setting(key, 20, NOW)
    with closing(lay_open(path)) as db:
        db.execute("UPDATE deck SET edition = 'first' WHERE id = 'hurt'")
        db.execute("UPDATE card SET goal_bpm = -1 WHERE deck_id = 'sound' AND slug = 'card-2'")
        db.execute("UPDATE wish SET goal_bpm = 'fast' WHERE card_id = ?", (OTHER,))
        db.execute("UPDATE setting SET value = '{' WHERE key = 'leading'")
    return path


def test_rows_that_make_no_sense_are_named_and_taken_out(hurt: Path) -> None:
    """Of decks and cards only where the deck's text can be read, so that it can be put in again."""
    with open_box(hurt) as box:
        wrong = sorted((row.table, row.text) for row in box.unusable_rows())
        assert [("card", "of sound"), ("deck", "of hurt"), ("setting", ""), ("wish", "")] == wrong
        assert (2, []) == box.take_out_unusable(reads=lambda _: False)
        assert ["card", "deck"] == sorted(row.table for row in box.unusable_rows())
        assert {CARD} == set(box.wishes())
        assert {"minutes"} == set(box.settings())
        taken, texts = box.take_out_unusable(reads=lambda text: text.startswith("of "))
        assert (2, ["of hurt", "of sound"]) == (taken, sorted(texts))
        assert [] == box.unusable_rows()
        assert ["sound"] == [row.id for row in box.decks()]
        assert ["card-1"] == [row.slug for row in box.cards() if row.deck_id == "sound"]


def test_settings_taken_out_are_those_named() -> None:
    """One that nobody made is no matter."""
    with open_box() as box:
        for key in ("minutes", "leading", "days"):
            box.put_setting(key, 20, NOW)
        box.drop_settings(["leading", "never", "days"])
        assert {"minutes"} == set(box.settings())


def test_counts_taken_out_are_all(tmp_path: Path) -> None:
    """Whatever the rules they were counted by."""
    with open_box(tmp_path / "box") as box:
        box.put_features({CARD: (1.0, 2.0)}, version="1")
        box.put_features({OTHER: (3.0,)}, version="2")
        assert {CARD: (1.0, 2.0)} == box.features("1")
        box.drop_features()
        assert {} == box.features("1") == box.features("2")


@pytest.mark.parametrize("ties", [2, 5])
def test_takes_of_one_moment_stand_by_their_ids(ties: int) -> None:
    """In columns as in rows, whatever the order in which they came; those before it come before."""
    with open_box() as box:
        for number in range(ties, 0, -1):
            box.add_take(take(number, at=NOW, bpm=80.0 + number))
        box.add_take(take(9, at=NOW - timedelta(hours=1)))
        assert [92.0, *(80.0 + n for n in range(1, ties + 1))] == box.columns(
            until=NOW
        ).bpm.tolist()
        assert [row.bpm for row in box.takes()] == box.columns(until=NOW).bpm.tolist()


def test_a_log_up_to_a_moment_has_the_take_of_that_moment() -> None:
    """With what cannot be used, and without."""
    with open_box() as box:
        for number in (1, 2, 3):
            box.add_take(take(number))
        for until, count in ((take(2).at, 2), (take(2).at - timedelta(microseconds=1), 1)):
            assert count == len(box.columns(until=until).at)
            assert count == len(box.whole_log(until=until).takes.at)


def test_a_take_that_another_program_keeps_out_is_not_called_saved(tmp_path: Path) -> None:
    """A trigger that ignores what is put in; the sentence names the checkup."""
    path = tmp_path / "box"
    open_box(path).close()
    alter(
        path,
        "CREATE TRIGGER keep_out BEFORE INSERT ON take BEGIN SELECT RAISE(IGNORE); END",
    )
    with open_box(path) as box, pytest.raises(NotSavedError, match="changed the tables"):
        box.add_take(take(1))


def test_a_place_that_cannot_be_opened_is_told(tmp_path: Path) -> None:
    """A name that no file system takes."""
    for name in ("n" * 300, "a\0b"):
        with pytest.raises(BoxError, match=r"it cannot be opened: .*; choose another place"):
            open_box(tmp_path / name)
