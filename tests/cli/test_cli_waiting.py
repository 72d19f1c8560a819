"""Takes that the app could not save: what writes saves them, what reads tells of them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import platformdirs
import pytest

from drillbox.memory import Grade
from drillbox.store import TakeRow
from drillbox.store.second_place import SecondPlace

if TYPE_CHECKING:
    from cli_kit import Player

TOLD = "not in the box yet: 2 takes kept in "


@pytest.fixture(autouse=True)
def waiting(player: Player) -> None:
    """Leave two takes of a player where they wait that the box did not take."""
    with player.box() as box:
        card = box.find("e")
    folder = platformdirs.user_state_path("drillbox", appauthor=False) / "unsaved"
    place = SecondPlace([folder], player.path, owner="ended")
    now = player.clock.now()
    one = TakeRow("1" * 32, card, 64.0, int(Grade.STEADY), now, "Europe/Zurich", 40.0, "self")
    assert place.hold([one, replace(one, id="2" * 32)]) is not None


def grades(player: Player) -> int:
    """Return how many takes the box has."""
    with player.box() as box:
        return len(box.archive.takes())


def files(player: Player) -> int:
    """Return how many files still wait."""
    folder = platformdirs.user_state_path("drillbox", appauthor=False) / "unsaved"
    return len(SecondPlace([folder], player.path, owner="another").left_behind())


@pytest.mark.parametrize("words", ["record e 66 steady", "undo", "goals e --by 5", "backup"])
def test_what_changes_the_box_takes_waiting_takes_in(player: Player, words: str) -> None:
    """First, so that what it does counts with them; and each once."""
    said = player(*words.split())
    assert (0, "drillbox: 2 takes kept from last time: saved now.\n") == (said.code, said.err)
    assert {"record": 3, "undo": 1}.get(words.split(maxsplit=1)[0], 2) == grades(player)
    assert 0 == files(player)
    assert "" == player("today").err


@pytest.mark.parametrize("words", ["today", "cards", "card e", "year", "export -", "set"])
def test_what_only_reads_says_that_takes_wait(player: Player, words: str) -> None:
    """It says how many and where on standard error, and leaves them there."""
    said = player(*words.split())
    assert 0 == said.code
    assert TOLD in said.err
    assert ".jsonl; the next start of the app" in said.err
    assert TOLD not in said.out
    assert (0, 1) == (grades(player), files(player))


def test_a_checkup_finds_waiting_takes_and_a_repair_saves_them(
    player: Player, waiting: SecondPlace
) -> None:
    """All is not well while graded takes are not in the box."""
    said = player("checkup")
    assert 6 == said.code
    assert f"not well: {TOLD}" in said.out
    assert "All is well." not in said.out
    mended = player("checkup", "--repair")
    assert "2 takes kept from last time: saved now." in mended.out
    assert (2, 0) == (grades(player), files(player))
    assert "not in the box yet" not in player("checkup").out


def test_takes_wait_on_while_the_box_is_gone(player: Player) -> None:
    """Nothing is saved into an empty box that only stands in for one that is not there."""
    player.path.unlink()
    said = player("goals", "e", "--by", "5")
    assert TOLD in said.err
    assert 1 == files(player)
