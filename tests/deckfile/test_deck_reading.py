"""Deck files: what is read, what is refused, and where the complaint points."""

from __future__ import annotations

import pytest

from drillbox.deckfile import MAX_BYTES, MAX_CARDS, Deck, check, parse_deck
from drillbox.errors import DeckError
from drillbox.rhythm import Level, Voice, fingerprint, parse

GOOD = """\
# A small deck.
[deck]
id = "first"
title = "First ghosts"
edition = 3
author = "A. Teacher"
licence = "CC0-1.0"
about = '''
Two lines,
of prose.
'''
goal = 90

[groove]
hat = "1 & 2 & 3 & 4 &"
snare = ">2 >4"
bass = "1 3"

[[card]]
id = "e"
title = "e of every beat"
snare = "(e)"

[[card]]
id = "a-loud"
title = "a, louder"
snare = "a"
goal = 100.5
importance = 1.5
after = ["e"]
family = "singles"
note = "Up."

[[card]]
id = "ride"
title = "on the ride"
without = ["hat"]
ride = "beat"

[[card]]
id = "six"
title = "six-eight"
groove = false
meter = "6/8"
hat = "beat"
"""


def deck(text: str = GOOD) -> Deck:
    """Read a deck."""
    return parse_deck(text, name="first.toml")


def changed(old: str, new: str) -> str:
    """Return the good deck with its first `old` made `new`."""
    assert old in GOOD
    return GOOD.replace(old, new, 1)


def test_a_deck_is_read_whole() -> None:
    """Every key of the file is in the deck, every card in order.

    With the deck's goal where it has none.
    """
    read = deck()

    assert ("first", "First ghosts", 3) == (read.id, read.title, read.edition)
    assert ("A. Teacher", "CC0-1.0") == (read.author, read.licence)
    assert ("Two lines,\nof prose.", 90.0) == (read.about, read.goal_bpm)
    assert GOOD == read.text
    assert ["e", "a-loud", "ride", "six"] == [card.slug for card in read.cards]
    assert [90.0, 100.5, 90.0, 90.0] == [card.goal_bpm for card in read.cards]
    card = read.cards[1]
    assert ("first", "a, louder", 1.5, ("e",)) == (
        card.deck_id,
        card.title,
        card.importance,
        card.after,
    )
    assert ("singles", "Up.") == (card.family, card.note)


def test_cards_lie_over_the_groove() -> None:
    """A card's pattern is the groove with its own strokes; its id is the fingerprint of that."""
    read = deck()
    whole = parse("hat: beat &\nsnare: (e) >2 >4\nbass: 1 3")

    assert whole == read.cards[0].pattern
    assert fingerprint(whole) == read.cards[0].card_id


def test_a_voice_is_replaced_by_leaving_the_grooves_out() -> None:
    """`without` takes a voice of the groove away; the card's own line is then all there is."""
    assert parse("ride: beat\nsnare: >2 >4\nbass: 1 3") == deck().cards[2].pattern


def test_a_card_may_stand_alone() -> None:
    """`groove = false` leaves nothing of the groove, not even the meter."""
    assert parse("meter: 6/8\nhat: beat") == deck().cards[3].pattern


def test_the_backbeat_accent_wins() -> None:
    """Ghosts on every beat leave the accents on two and four."""
    read = deck(changed('snare = "(e)"', 'snare = "(beat)"'))

    snare = [s.level for s in read.cards[0].pattern.strokes if s.voice is Voice.SNARE]
    assert [Level.GHOST, Level.ACCENT, Level.GHOST, Level.ACCENT] == snare


def test_a_card_takes_the_grooves_meter_and_grid() -> None:
    """The groove's meter and grid hold for the cards' own lines, unless they say it themselves."""
    text = """
deck = {id = "d", title = "d"}
groove = {meter = "3/4", grid = "8t", hat = "beat"}
card = [
  {id = "t", title = "t", snare = "(t)"},
  {id = "e", title = "e", grid = "16", snare = "(e)"},
]
"""
    first, second = deck(text).cards

    assert parse("meter: 3/4\ngrid: 8t\nhat: beat\nsnare: (t)") == first.pattern
    assert parse("meter: 3/4\nhat: beat\nsnare: (e)") == second.pattern
    assert 100.0 == first.goal_bpm


def test_line_ends_of_windows_do_not_matter() -> None:
    """The same deck with carriage returns says the same.

    And its complaints have the same places.
    """
    assert deck().digest == deck(GOOD.replace("\n", "\r\n")).digest
    with pytest.raises(DeckError, match=r"^first.toml:22:11: "):
        deck(changed("(e)", "(q)").replace("\n", "\r\n"))


def test_the_digest_is_about_content() -> None:
    """Comments and layout leave it; a goal, a stroke or an edition change it."""
    same = changed("# A small deck.", "# Another remark.\n\n").replace(
        '"A. Teacher"', "'A. Teacher'"
    )

    assert deck().digest == deck(same).digest
    for old, new in [("goal = 90", "goal = 91"), ("(e)", "(/e)"), ("edition = 3", "edition = 4")]:
        assert deck().digest != deck(changed(old, new)).digest


COMPLAINTS = [
    ('title = "First ghosts"', "titel = 1", 4, 1, "unknown key 'titel'; did you mean 'title'"),
    ("[groove]", "[grooves]", 14, 1, "unknown key 'grooves'; did you mean 'groove'"),
    ('family = "singles"', "xyz = 1", 31, 1, "unknown key 'xyz'; known here: id, title, goal"),
    ('id = "first"\n', "", 2, 1, "id is missing; add a line that begins with 'id ='"),
    ('id = "first"', 'id = "First!"', 3, 6, "'First!' cannot be an id; use lower-case"),
    ('id = "first"', 'id = "a--b"', 3, 6, "cannot be an id"),
    ('id = "first"', f'id = "{"a" * 65}"', 3, 6, "cannot be an id; .* at most 64"),
    ('id = "e"', "id = 7", 20, 6, 'id is a whole number; write a text in quotes: id = "..."'),
    ('title = "on', 'title = ["x"] #', 36, 9, "title is an array"),
    ("edition = 3", "edition = 0", 5, 11, "edition is out of range"),
    ("edition = 3", "edition = 1.5", 5, 11, "edition is a number; write a whole number"),
    ("goal = 90", "goal = 19", 12, 8, "goal = 19 is out of range; use 20 to 400"),
    ("goal = 90", "goal = '90'", 12, 8, "goal is a text; write a number"),
    ("goal = 90", "goal = true", 12, 8, "goal is true or false; write a number"),
    ("goal = 90", "goal = nan", 12, 8, "goal = nan is out of range"),
    ("goal = 90", "goal = 2026-03-01", 12, 8, "goal is a date or time"),
    ("goal = 100.5", "goal = 400.1", 28, 8, "goal = 400.1 is out of range"),
    ("importance = 1.5", "importance = 0", 29, 14, "importance = 0 is out of range; use 0.01"),
    ("importance = 1.5", "importance = -inf", 29, 14, "importance = -inf is out of range"),
    ('after = ["e"]', 'after = "e"', 30, 9, "after is a text; write an array of texts"),
    ('after = ["e"]', 'after = ["e", 1]', 30, 15, "a whole number in after; write a text"),
    ('after = ["e"]', 'after = ["e",\n "a"]', 31, 2, "after names no card: 'a'"),
    ('after = ["e"]', 'after = ["a-luod"]', 30, 10, "names no card.*did you mean 'a-loud'"),
    ('after = ["e"]', 'after = ["a-loud"]', 30, 9, "cards wait for each other: a-loud before a"),
    (
        'snare = "(e)"',
        'snare = "(e)"\nafter = ["a-loud"]',
        23,
        9,
        "wait for each other: .* before ",
    ),
    ('id = "a-loud"', 'id = "e"', 25, 6, "a second card 'e'; give every card its own id"),
    ('snare = "a"', 'snare = "(e)"', 25, 6, "'a-loud' is the same rhythm as 'e'; keep one"),
    ('snare = "(e)"', 'snare = "(e) 1q"', 22, 14, "cannot read '1q' as a place"),
    ('snare = "(e)"', "snare = '''\n(e)\n 1q'''", 24, 2, "cannot read '1q' as a place"),
    ('bass = "1 3"', 'bass = "1 7"', 17, 11, "a bar of 4/4 has no beat '7'"),
    ('bass = "1 3"', 'grid = "8t 8t"', 17, 9, "2 grids in a bar of 4 beats"),
    ('bass = "1 3"', 'bass = ""', 17, 9, "nothing is written for the bass"),
    ('meter = "6/8"', 'meter = "6/7"', 44, 10, "cannot read '6/7' as a meter"),
    (
        'ride = "beat"',
        'meter = "3/4"',
        38,
        9,
        "3/4 cannot lie over .* 4/4; .*or write groove = false",
    ),
    ('ride = "beat"', 'grid = "8t"\ntom = "t"\nhat = "e"', 40, 8, "cannot read 'e'"),
    ('without = ["hat"]', 'without = ["tom"]', 37, 12, "the groove has no 'tom'; it has hat, sn"),
    ("groove = false", "groove = 0", 43, 10, "groove is a whole number; write true or false"),
    ("groove = false", 'groove = false\nwithout = ["hat"]', 44, 11, "no groove to leave a voice"),
    ('hat = "beat"\n', "", 41, 6, "the card has nothing to play; write at least one voice"),
    ('title = "First ghosts"', 'title = ""', 4, 9, "title is empty"),
    ('"A. Teacher"', '"\\u001b[2J"', 6, 10, r"author contains the unprintable character U\+001B"),
    ('"A. Teacher"', '"a\\nb"', 6, 10, r"character U\+000A; take it out, and write one line"),
    ("Two lines,", "Two \u202elines,", 8, 9, r"about contains the unprintable character U\+202E"),
    ('"Up."', f'"{"x" * 4001}"', 32, 8, "note has 4001 characters; use at most 4000"),
    ('"singles"', f'"{"x" * 121}"', 31, 10, "family has 121 characters; use at most 120"),
    ("[[card]]", "[card]", 24, 7, "a key or table is given a second time"),
    ("edition = 3", "edition = 3\nedition = 4", 6, 12, "a key or table is given a second time"),
    ("goal = 90", "goal = ", 12, 8, "invalid value; mend the TOML there"),
    ("goal = 90", "a.b.c.d.e.f.g.h.i.j = 1", 12, 1, "a key of more than nine dotted parts"),
    ("goal = 90", "goal = [[[[]]]]", 12, 8, "goal is an array"),
]


@pytest.mark.parametrize(("old", "new", "line", "column", "message"), COMPLAINTS)
def test_a_complaint_has_its_place(
    old: str, new: str, line: int, column: int, message: str
) -> None:
    """File, line and column of what is wrong, in front; what to write instead, behind."""
    with pytest.raises(DeckError, match=message) as caught:
        deck(changed(old, new))

    assert f"first.toml:{line}:{column}" == caught.value.where
    assert caught.value.fix


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "d.toml:1:1: id is missing"),
        ("deck = 1", "d.toml:1:1: deck is not a table; write .deck. on a line of its own"),
        ("card = 3\n[deck]\nid='a'\ntitle='b'", "d.toml:1:1: card is not a list of tables"),
        ("[card]\n[deck]\nid='a'\ntitle='b'", "d.toml:1:1: card is not a list of tables"),
        ("card = [1]\n[deck]\nid='a'\ntitle='b'", "d.toml:1:1: card is not a list of tables"),
        ("[deck]\nid='a'\ntitle='b'", "d.toml:1:1: the deck has no cards"),
        ("card = []\n[deck]\nid='a'\ntitle='b'", "d.toml:1:1: the deck has no cards"),
        ("[deck]\nid='a'\ntitle='b'\n[[card]", "d.toml:4:7: expected"),
        ("[deck]\nid='a", "d.toml:2:6: "),
        ("x", "d.toml:1:2: expected '=' after a key"),
    ],
)
def test_what_is_no_deck(text: str, message: str) -> None:
    """A file that is hardly a deck is refused in the same way."""
    with pytest.raises(DeckError, match=f"^{message}"):
        parse_deck(text, name="d.toml")


def test_check_lists_everything() -> None:
    """All complaints come at once, topmost first; reading raises the first of them.

    A good deck has none.
    """
    bad = changed("(e)", "(q)").replace("goal = 90", "goal = 9").replace("1.5", "-1")

    found = check(bad, name="d.toml")
    assert ["d.toml:12:8", "d.toml:22:11", "d.toml:29:14"] == [error.where for error in found]
    with pytest.raises(DeckError) as caught:
        parse_deck(bad, name="d.toml")
    assert found[0].sentence() == caught.value.sentence()
    assert () == check(GOOD, name="d.toml")


def test_a_long_circle_is_shortened() -> None:
    """A circle of many cards names the first few."""
    cards = "".join(
        f'[[card]]\nid = "c{n}"\ntitle = "c"\nsnare = "{n + 1}"\nafter = ["c{(n + 1) % 12}"]\n'
        for n in range(12)
    )
    text = f'[deck]\nid = "d"\ntitle = "d"\n[groove]\nmeter = "12/8"\n{cards}'

    with pytest.raises(DeckError, match=r"wait for each other: (c\d+ before ){6}\.\.\.;"):
        parse_deck(text, name="d.toml")


def test_sizes_are_limited() -> None:
    """A byte more than a mebibyte, or a card more than 10,000, is refused before all else."""
    with pytest.raises(DeckError, match=r"^d.toml:1:1: the file is larger than 1048576 bytes"):
        parse_deck("#" + "é" * (MAX_BYTES // 2), name="d.toml")
    many = "[deck]\nid='d'\ntitle='d'\n" + "[[card]]\n" * (MAX_CARDS + 1)
    with pytest.raises(DeckError, match=r"^d.toml:10004:1: more than 10000 cards"):
        parse_deck(many, name="d.toml")
