"""Corners of deck files: what else a file may be, families that clash, steps out of order."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import pytest
from file_rights import with_mode

from drillbox.deckfile import parse_deck, starter_decks
from drillbox.deckfile.packing import read_decks
from drillbox.deckfile.paths import steps
from drillbox.deckfile.strokewords import stroke_changes
from drillbox.errors import DeckError
from drillbox.rhythm import parse

if TYPE_CHECKING:
    from pathlib import Path

HEAD = """\
[deck]
id = "d"
title = "d"
[groove]
hat = "beat &"
snare = ">2 >4"
bass = "1 3"
"""


def family(*lines: str) -> str:
    """Return a family's table."""
    return "[[family]]\n" + "\n".join(lines) + "\n"


def card(slug: str, rhythm: str = "(e)", **more: str) -> str:
    """Return a card's table."""
    rest = "".join(f"{key} = {value}\n" for key, value in more.items())
    return f'[[card]]\nid = "{slug}"\ntitle = "{slug}"\nsnare = "{rhythm}"\n{rest}'


def complaint(text: str) -> str:
    """Return what is said of a deck that is refused."""
    with pytest.raises(DeckError) as caught:
        parse_deck(text, name="d.toml")
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('{"format": "drillbox reply", "version": 1}\n', "it looks like a teacher's reply"),
        ('{"format": "drillbox song", "version": 1}\n', "it looks like a file of drillbox song; "),
        ('{"a": 1}\n', "it looks like JSON; name a deck file, which is TOML"),
        ("\n  <score-partwise/>\n", "XML; rhythms of MusicXML are read by 'drillbox read FILE'"),
    ],
)
def test_a_file_of_another_kind_is_called_by_its_kind(text: str, said: str) -> None:
    """At its beginning: nothing in it is wrong but that it is no deck."""
    told = complaint(text)
    assert told.startswith("d.toml:1:1: this is no deck; ")
    assert said in told


def test_a_deck_kept_at_its_goals_says_another_thing() -> None:
    """So its edition counts as changed; without the key it is what it always was."""
    plain = parse_deck(HEAD + card("e"), name="d")
    kept = parse_deck(HEAD.replace('title = "d"', 'title = "d"\nkeep = true') + card("e"), name="d")
    not_kept = HEAD.replace('title = "d"', 'title = "d"\nkeep = false') + card("e")
    assert plain.digest != kept.digest
    assert plain.digest == parse_deck(not_kept, name="d").digest


def test_a_card_takes_no_turns_with_itself() -> None:
    """Named twice, once by its family, it still has one blend with each of the others."""
    text = HEAD + family('id = "s"', 'sets = ["e", "a"]')
    text += family('id = "b"', 'blend = "bar by bar"', 'of = ["s"]', 'with = ["s-e"]')
    made = parse_deck(text, name="d")
    assert ["b-a-then-e"] == [card.slug for card in made.cards if card.slug.startswith("b-")]


def test_a_blend_that_cannot_be_is_left_out_with_its_reason() -> None:
    """Of two meters there is none, and who names the card is told why it is not there."""
    text = HEAD + card("four") + family('id = "three"', 'groove = "three-four"', 'sets = ["e"]')
    text += family('id = "b"', 'blend = "bar by bar"', 'of = ["four"]', 'with = ["three"]')
    made = parse_deck(text, name="d")
    (left,) = made.left_out
    assert left.slug == "b-four-then-e"
    assert "make no blend" in left.reason
    again = text + family('id = "m"', f'displace = ["{left.slug}"]')
    assert f"no card or family '{left.slug}'; it was left out: " in complaint(again)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (card("s-e") + family('id = "s"', 'sets = ["e"]'), "two cards would have the id 's-e'"),
        (
            family('id = "s"', 'sets = ["e"]', "[[family.card]]", 'id = "s-e"',
                   "[[family.card]]", 'id = "s-e"'),
            "a second card 's-e'; put both into one",
        ),
    ],
)  # fmt: skip
def test_what_a_family_cannot_make_is_said(text: str, said: str) -> None:
    """With what to do."""
    assert said in complaint(HEAD + text)


@pytest.mark.parametrize(("basses", "is_too_many"), [(80, False), (81, True)])
def test_lists_multiply_up_to_four_hundred_grooves(basses: int, *, is_too_many: bool) -> None:
    """Eighty bass lines under five time lines, and not one more."""
    places = [f"{beat}{syllable}" for beat in (1, 2, 3, 4) for syllable in ("", "e", "&", "a")]
    lines = [f'"{" ".join(pair)}"' for pair in combinations(places, 2)][:basses]
    times = 'times = ["ride", "ride quarters", "ride and foot", "open off", "barks"]'
    text = HEAD + family('id = "s"', 'sets = ["e"]', f"basses = [{', '.join(lines)}]", times)
    if is_too_many:
        said = complaint(text)
        assert "the lists multiply to more than 400 grooves; use shorter lists" in said
    else:
        assert {one.slug[:1] for one in parse_deck(text, name="d").cards} == {"s"}


def test_a_step_comes_after_what_it_builds_on_however_they_are_written() -> None:
    """Cards that stand before what they come after, three deep."""
    text = HEAD + card("c", "(1e)", after='["b"]') + card("b", "(1a)", after='["a"]') + card("a")
    found = steps(parse_deck(text, name="d").cards)
    assert [["a"], ["b"], ["c"]] == [[one.slug for one in step] for step in found]


def test_what_a_starter_deck_says_of_itself_is_true() -> None:
    """Its title and its number of cards are known before it is read."""
    for starter in starter_decks()[::6]:
        deck = starter.read()
        assert (deck.title, len(deck.cards)) == (starter.title(), starter.cards)


def test_rhythms_without_a_common_length_are_written_anew() -> None:
    """Eight bars and nine meet after 72, farther than a pattern goes; eight and four after 8."""
    eight = parse("bass: " + " | ".join(["1", "2"] * 4))
    nine = parse("bass: " + " | ".join(["1"] * 8 + ["2"]))
    assert ("now 9 bars, was 8: written anew",) == tuple(stroke_changes(eight, nine))
    four = parse("bass: 1 | 2 | 1 | 3")
    assert not any("written anew" in phrase for phrase in stroke_changes(eight, four))


def test_a_folder_of_decks_that_may_not_be_read_is_told(tmp_path: Path) -> None:
    """By its name, with what to do."""
    folder = tmp_path / "decks"
    folder.mkdir()
    with with_mode(folder, 0o000), pytest.raises(DeckError, match="the folder cannot be read"):
        read_decks(folder)


def test_a_bare_groove_comes_before_its_other_bass_lines() -> None:
    """The deck's own first, then another bass under it; ghosts over that one after both."""
    lists = 'basses = ["home", "late"]'
    made = parse_deck(HEAD + family('id = "s"', 'sets = ["e"]', lists, "bare = true"), name="d")
    assert {
        "s-bare-home": (),
        "s-e-home": ("s-bare-home",),
        "s-bare-late": ("s-bare-home",),
        "s-e-late": ("s-bare-late", "s-e-home"),
    } == {one.slug: one.after for one in made.cards}
