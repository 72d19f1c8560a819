"""Following a deck file: a look after every save, whatever the editor does to the file."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from drillbox.deckfile import DeckFollower, SavedDeck, deck_template
from drillbox.errors import DeckError

if TYPE_CHECKING:
    from pathlib import Path

GOOD = deck_template("week-3")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return the path of a new deck."""
    path = tmp_path / "week-3.toml"
    path.write_text(GOOD, encoding="utf-8")
    return path


def save(path: Path, text: str) -> None:
    """Save a text the way careful editors do.

    Beside the file, then in its place; a second later each time.
    """
    later = path.stat().st_mtime + 1 if path.exists() else 1.0
    beside = path.with_name("week-3.toml.new")
    beside.write_text(text, encoding="utf-8")
    os.utime(beside, (later, later))
    beside.replace(path)


def look_at(follower: DeckFollower) -> SavedDeck:
    """Return a look that there must be."""
    look = follower.look()
    assert look is not None
    return look


def test_the_first_look_shows_everything_and_then_only_saves_count(path: Path) -> None:
    """All cards at first, nothing while nothing is saved, then the one that changed, and how."""
    follower = DeckFollower(path)
    first = look_at(follower)
    quiet = follower.look()
    save(path, GOOD.replace('"(a)"', '"(/a)"'))
    second = look_at(follower)

    assert (["e", "a", "e-and-a"], ()) == ([card.slug for card in first.changed], first.errors)
    assert quiet is None
    assert ["a"] == [card.slug for card in second.changed]
    assert ("a of every beat: snare on the a of every beat now doubled",) == second.clauses


def test_errors_are_shown_and_the_last_good_deck_is_remembered(path: Path) -> None:
    """Two mistakes give two sentences; mended, the change is told against the deck before them."""
    follower = DeckFollower(path)
    follower.look()
    save(path, GOOD.replace('"(e)"', '"(9)"').replace("goal = 96", 'gaol = "x"'))
    wrong = look_at(follower)
    save(path, GOOD.replace('"(e)"', '"(1e)"'))
    mended = look_at(follower)

    assert 2 == len(wrong.errors)
    assert wrong.deck is None
    assert all(error.where.startswith("week-3.toml:") for error in wrong.errors)
    assert ["e"] == [card.slug for card in mended.changed]


def test_a_file_that_is_away_for_a_moment_is_waited_for(path: Path) -> None:
    """Between taking the old file away and putting the new one there is nothing.

    At the start that is an error.
    """
    follower = DeckFollower(path)
    follower.look()
    path.unlink()
    away = follower.look()
    save(path, GOOD + "# more\n")

    assert away is None
    assert () == look_at(follower).changed
    with pytest.raises(DeckError, match="No such file"):
        DeckFollower(path.with_name("none.toml")).look()


def test_what_cannot_be_read_is_a_sentence(path: Path) -> None:
    """Saved in another encoding: an error to look at, not an end."""
    follower = DeckFollower(path)
    follower.look()
    path.write_bytes(b"\xff\xfe")

    (error,) = look_at(follower).errors
    assert "not UTF-8 text" in error.sentence()
