"""The commands that show many cards at once: the map, a deck's tables, the path."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from cli_kit import Say


def test_the_map_has_the_players_tempo_in_each_cell(say: Say) -> None:
    """Not begun, then begun: a dash becomes a tempo; an empty box has no map but a way to one."""
    _, empty, _ = say("vocabulary")
    say("decks", "add", "sixteenth-ghosts")
    _, before, _ = say("vocabulary")
    say("record", "sixteenth-ghosts/e-and-a", "60", "steady")
    _, after, _ = say("vocabulary")

    assert "drillbox decks" in empty
    assert "sixteenths, plain: cards for 15 of 15" in before
    assert "·e·a     –" in before
    assert re.search(r"·e·a +\(\d\d\)", after)
    assert all(len(line) <= 80 for line in after.splitlines())


def test_the_map_and_a_reason_for_programs(say: Say) -> None:
    """A cell a card, with its grid, its partials and all that a card says of itself."""
    say("decks", "add", "sixteenth-ghosts")
    cells = json.loads(say("vocabulary", "--json")[1])
    reason = json.loads(say("why", "e-and-a", "--json")[1])
    (cell,) = (cell for cell in cells if cell["partials"] == "·e·a")

    assert ("sixteenths", "plain", "waiting") == (
        cell["grid"], cell["embellishment"], cell["state"]
    )  # fmt: skip
    assert 15 == len(cells)
    assert {"card_id", "why", "compared"} == reason.keys()
    assert reason["why"] == say("why", "e-and-a")[1].splitlines()[1]


def test_the_map_of_some_decks(say: Say) -> None:
    """Only what is asked for; a deck that is not in the box is named."""
    say("decks", "add", "sixteenth-ghosts")
    say("decks", "add", "triplet-ghosts")
    _, out, _ = say("vocabulary", "triplet-ghosts")
    code, _, err = say("vocabulary", "doubles")

    assert "eighth triplets, plain: cards for 7 of 7" in out
    assert "·e·a" not in out
    assert (5, True) == (code, "no deck 'doubles' in the box" in err)


def test_a_deck_as_tables(say: Say, tmp_path: Path) -> None:
    """A line for each bar of a voice; families by name; what is left out, with its reason.

    In any kind of deck.
    """
    file = tmp_path / "two.toml"
    file.write_text(
        '[deck]\nid = "two"\ntitle = "two"\n[groove]\nsnare = ">2 >4"\n'
        '[[family]]\nid = "s"\nbeats = "2 4"\nsets = ["beat", "e"]\n',
        encoding="utf-8",
    )
    _, blends, _ = say("family", "blends", "Sixteenths, bar by bar")
    _, own, _ = say("family", str(file))
    code, _, err = say("family", "blends", "polkas")

    assert blends.startswith("sixteenths, bar by bar, 10\n")
    assert "       ···o >··o ···o >··o " in blends
    assert "···· >o·· ···· >o··   100     –" in own
    assert "s-beat-on-2-4: the ghost on 2 falls on a louder snare" in own
    assert (5, True) == (code, "no family 'polkas' in blends; name one of: groove" in err)


def test_the_path_to_a_card(say: Say) -> None:
    """Step by step to one card, by id or title; or through the whole deck."""
    _, one, _ = say("path", "doubles", "one-e-a-with-a-doubled")
    _, titled, _ = say("path", "doubles", "e and a of every beat, a doubled")
    _, whole, _ = say("path", "first-week")
    code, _, err = say("path", "doubles", "one-e-a")

    assert one == titled
    assert " 4  e and a of every beat, a doubled" == one.splitlines()[3]
    assert " 1  quarters, all plain" == whole.splitlines()[0]
    assert (5, True) == (code, "did you mean" in err)


def test_a_deck_in_the_box_is_the_players_own(say: Say, tmp_path: Path) -> None:
    """Once added, a deck is found by its id, without its file."""
    file = tmp_path / "mine.toml"
    file.write_text('[deck]\nid = "mine"\ntitle = "m"\n[[family]]\nid = "s"\n', encoding="utf-8")
    say("decks", "add", str(file))
    file.unlink()

    assert "e and a of every beat" in say("path", "mine")[1]
    assert 4 == say("path", "not-mine")[0]
