"""The commands that show many cards at once: the map, a deck's tables, the path."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

import pytest

from drillbox.deckfile import FIRST_MONTH, parse_deck, starter_decks
from drillbox.rhythm import difficulty, parse

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


@pytest.fixture
def few_starters(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let two starter decks be looked through for a card: reading all takes seconds."""
    few = starter_decks()[:2]
    monkeypatch.setattr("drillbox.deckfile.starter_decks", lambda: few)


def test_a_deck_in_the_box_is_the_players_own(say: Say, tmp_path: Path, few_starters: None) -> None:
    """Once added, a deck is found by its id, without its file."""
    del few_starters
    file = tmp_path / "mine.toml"
    file.write_text('[deck]\nid = "mine"\ntitle = "m"\n[[family]]\nid = "s"\n', encoding="utf-8")
    say("decks", "add", str(file))
    file.unlink()

    assert "e and a of every beat" in say("path", "mine")[1]
    assert 4 == say("path", "not-mine")[0]


TWO_FAMILIES = """\
[deck]
id = "mine"
title = "Mine"
goal = 80

[groove]
snare = ">2 >4"

[[card]]
id = "bare"
title = "Bare"
note = "Nothing but the backbeats."

[[card]]
id = "e"
title = "The e"
snare = "(e)"
goal = 70
after = ["bare"]

[[family]]
id = "s"
title = "On Two"
beats = "2"
sets = ["beat", "a"]
"""
"""A deck with a note, a card before another, a family, and a ghost that falls on a backbeat."""


@pytest.fixture
def mine(tmp_path: Path) -> str:
    """Return the path of the deck."""
    file = tmp_path / "mine.toml"
    file.write_text(TWO_FAMILIES, encoding="utf-8")
    return str(file)


def test_a_deck_as_values_is_the_deck(say: Say, mine: str) -> None:
    """Card by card, in its families; what is left out stands beside them."""
    deck = parse_deck(TWO_FAMILIES, name="mine.toml")
    told = json.loads(say("family", mine, "--json")[1])
    cards = [card for family in told["families"] for card in family["cards"]]
    by_slug = {card["slug"]: card for card in cards}

    assert deck.id == told["deck"]
    assert list(dict.fromkeys(card.family for card in deck.cards)) == [
        family["family"] for family in told["families"]
    ]
    assert {card.slug for card in deck.cards} == by_slug.keys()
    assert len(deck.cards) == len(cards) >= 3
    for card in deck.cards:
        found = by_slug[card.slug]
        assert (card.card_id, card.title, card.goal_bpm, list(card.after)) == (
            found["card_id"], found["title"], found["goal_bpm"], found["after"],
        )  # fmt: skip
        assert card.pattern == parse(found["pattern"])
        assert difficulty(card.pattern) == pytest.approx(found["difficulty"], abs=0.5)
    assert [(left.title, left.reason) for left in deck.left_out] == [
        (left["title"], left["reason"]) for left in told["left_out"]
    ]
    assert 1 == len(told["left_out"])


def test_a_family_is_shown_alone_and_left_out_cards_with_all_of_them(say: Say, mine: str) -> None:
    """However its name is written; what a deck leaves out belongs to none of its families."""
    whole = say("family", mine)[1]
    names = [
        family["family"] for family in json.loads(say("family", mine, "--json")[1])["families"]
    ]
    one = say("family", mine, names[-1].upper())[1]
    (only,) = json.loads(say("family", mine, names[-1].upper(), "--json")[1])["families"]

    assert [f"{name or 'no family'}, " in whole for name in names] == [True] * len(names)
    assert "\nleft out, 1\n  " in whole
    assert one.startswith(f"{names[-1]}, {len(only['cards'])}\n")
    assert "left out" not in one
    assert names[-1] == only["family"]


def test_the_way_to_a_card_ends_with_its_note(say: Say, mine: str) -> None:
    """By its name or its title, in its deck or, once that is in the box, without it."""
    whole, to_e, to_bare = (say("path", mine, *card)[1] for card in ((), ("e",), ("BARE",)))
    say("decks", "add", mine)
    steps = json.loads(say("path", "mine", "e", "--json")[1])

    assert "Nothing but" not in whole + to_e
    assert to_bare.endswith("\nBare: Nothing but the backbeats.\n")
    assert " 1  Bare\n 2  The e" == to_e.rstrip("\n")
    assert {"deck": "mine", "steps": [
        [{"slug": "bare", "title": "Bare"}], [{"slug": "e", "title": "The e"}],
    ]} == steps  # fmt: skip
    assert [to_e] * 3 == [say("path", *words)[1] for words in (("The E",), ("e",), ("mine", "e"))]
    assert to_e != say("path", "mine")[1]


def test_a_card_that_no_deck_of_the_box_has_is_looked_for_in_the_starters(
    say: Say, few_starters: None
) -> None:
    """By its title alone; what nobody knows is refused as a deck is."""
    del few_starters
    named = say("path", "first-week", "quarters, all plain")[1]

    assert named == say("path", "Quarters, all plain")[1]
    assert 4 == say("path", "e of every fifth moon")[0]


def test_a_deck_that_is_put_away_is_not_the_one_in_the_box(say: Say, mine: str) -> None:
    """Its name means a starter deck or a file again, and neither is there."""
    say("decks", "add", mine)
    say("decks", "archive", "mine")

    assert (4, 4) == (say("path", "mine")[0], say("family", "mine")[0])


def test_the_course_has_every_starter_deck_and_what_the_player_has_of_it(say: Say) -> None:
    """In words the first month, as values each deck with its cards, in hand or not in the box."""
    starters = starter_decks()
    say("decks", "add", "first-week")
    told = json.loads(say("path", "--json")[1])
    (first,) = (row for row in told if row["deck"] == "first-week")

    assert [(deck.name, deck.title(), deck.cards) for deck in starters] == [
        (row["deck"], row["title"], row["cards"]) for row in told
    ]
    assert (True, 0) == (first["in_box"], first["holding"])
    assert [False] == list({row["in_box"] for row in told if row is not first})
    assert {0} == {row["holding"] for row in told}
    lines = say("path")[1].splitlines()
    weeks = [line for line in lines if line.startswith("  week ")]
    assert len(FIRST_MONTH) == len(weeks)
    own = f"0 of {first['cards']}"
    assert 1 == sum(own in line for line in lines)
