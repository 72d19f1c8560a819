"""Limits of deck files from both sides, and what is said of each."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from drillbox.deckfile import Assignment, check, draft_text, edition_changes, parse_deck
from drillbox.deckfile.course import SERVES, next_deck
from drillbox.deckfile.edition_changes import changed_cards
from drillbox.deckfile.packing import MAX_DECKS, MAX_RATIO, VERSION, pack, read_decks, unpack
from drillbox.deckfile.paths import draw_path, path_to, steps
from drillbox.deckfile.places import Place, Places
from drillbox.deckfile.reading import MAX_COMMAS
from drillbox.deckfile.strokewords import stroke_changes
from drillbox.deckfile.tables import MAX_LINE, MAX_NOTATION, MAX_PROSE
from drillbox.errors import DeckError
from drillbox.rhythm import parse

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.deckfile import Deck

HEAD = '[deck]\nid = "d"\ntitle = "d"\n'
CARD = '[[card]]\nid = "one"\nsnare = "(e)"\n'


BEGIN = "begin every card with [[card]] on a line of its own"
KNOWN = "known here: id, title, edition, author, licence, about, goal, pace, keep."


def said(text: str) -> list[str]:
    """Return every complaint about a deck's text, as it is told."""
    return [str(problem) for problem in check(text, name="d")]


def whole(text: str) -> Deck:
    """Return a deck that reads without complaint."""
    return parse_deck(text, name="d")


@pytest.mark.parametrize(
    ("line", "fits"),
    [
        ("edition = 1", True), ("edition = 1000000", True), ("edition = 1000001", False),
        ("edition = 0", False), ("pace = 1", True), ("pace = 20", True), ("pace = 21", False),
        ("pace = 0", False), ("goal = 20", True), ("goal = 400", True), ("goal = 19.9", False),
        ("goal = 400.1", False), ("keep = true", True), ("keep = 1", False),
        (f'author = "{"x" * MAX_LINE}"', True), (f'author = "{"x" * (MAX_LINE + 1)}"', False),
        (f'about = "{"x" * MAX_PROSE}"', True), (f'about = "{"x" * (MAX_PROSE + 1)}"', False),
        ('author = "a\\tb"', False), ('about = "a\\tb\\nc"', True), ('about = "a\\u202Eb"', False),
        ('author = "a\\u200Db"', True), ('author = "a\\u2028b"', False),
        ('author = "a\\uE000b"', False),
    ],
)  # fmt: skip
def test_the_head_of_a_deck_has_its_ranges(line: str, *, fits: bool) -> None:
    """Editions to a million, twenty new cards a day, 20 to 400 bpm, 120 and 4000 characters.

    No control, direction or private sign; joiners and, in prose, tabs and breaks are text.
    """
    assert fits == (not said(f"{HEAD}{line}\n{CARD}"))
    assert (120, 4000, 10_000) == (MAX_LINE, MAX_PROSE, MAX_NOTATION)


@pytest.mark.parametrize(
    ("line", "fits"),
    [
        ("importance = 0.01", True), ("importance = 100", True), ("importance = 0.009", False),
        ("importance = 100.1", False), ("goal = 20", True), ("goal = 400", True),
        ("goal = 401", False), (f'title = "{"x" * MAX_LINE}"', True),
        (f'title = "{"x" * (MAX_LINE + 1)}"', False),
        (f'hat = "{"beat".ljust(MAX_NOTATION)}"', True),
        (f'hat = "{"beat".ljust(MAX_NOTATION + 1)}"', False),
    ],
)  # fmt: skip
def test_a_card_has_its_ranges(line: str, *, fits: bool) -> None:
    """A hundredth to a hundred of an ordinary card, 20 to 400 bpm, ten thousand signs a voice."""
    assert fits == (not said(f"{HEAD}{CARD}{line}\n"))


@pytest.mark.parametrize(
    ("slug", "fits"),
    [
        ("a", True), ("e-and-a", True), ("9", True), ("x" * 64, True), ("x" * 65, False),
        ("a--b", False), ("-a", False), ("a-", False), ("A", False), ("a_b", False), ("é", False),
    ],
)  # fmt: skip
def test_ids_are_short_and_plain(slug: str, *, fits: bool) -> None:
    """Lower-case letters, digits and single hyphens, 64 at most."""
    assert fits == (not said(f'{HEAD}[[card]]\nid = "{slug}"\nsnare = "1"\n'))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('[deck]\nid = "d"\ntitle = " "\n' + CARD,
         "d:3:9: title is empty; write something between the quotes."),
        (HEAD, f"d:1:1: the deck has no cards; {BEGIN}."),
        (HEAD + 'titel = "x"\n' + CARD,
         "d:4:1: unknown key 'titel'; did you mean 'title'?"),
        (HEAD + "goal = 1000000000000000\n" + CARD,
         "d:4:8: goal is out of range; use 20 to 400."),
        (HEAD + "goal = 999999999999999\n" + CARD,
         "d:4:8: goal = 1e+15 is out of range; use 20 to 400."),
        (HEAD + "deck2 = 1\n" + CARD, ("d:4:1: unknown key 'deck2'; known here: id, title, edition,"
         " author, licence, about, goal, pace, keep.")),
        (HEAD + f"{'k' * 41} = 1\n" + CARD, (f"d:4:1: unknown key '{'k' * 37}...'; known here: id,"
         " title, edition, author, licence, about, goal, pace, keep.")),
        (HEAD + f"{'k' * 40} = 1\n" + CARD, (f"d:4:1: unknown key '{'k' * 40}'; known here: id,"
         " title, edition, author, licence, about, goal, pace, keep.")),
        ("groove = 3\n" + HEAD + CARD,
         "d:1:1: groove is not a table; write [groove] on a line of its own."),
        ("card = 3\n" + HEAD,
         f"d:1:1: card is not a list of tables; {BEGIN}."
         ),
        (HEAD + "a.b.c.d.e.f.g.h.i.j = 1\n" + CARD,
         "d:4:1: a key of more than nine dotted parts; take it out."),
        (HEAD + 'title = "again"\n' + CARD,
         ("d:4:16: a key or table is given a second time; mend the TOML there; texts stand in"
         " quotes, tables in [ ] or [[ ]].")),
        (HEAD + '[[card]]\nid = "x"\n',
         "d:5:6: the card has nothing to play; write at least one voice."),
        (HEAD + '[[card]]\nid = "x"\ngroove = false\nwithout = ["hat"]\nsnare = "1"\n',
         "d:7:11: there is no groove to leave a voice out of; take it out."),
        (HEAD + '[groove]\nhat = "1"\n[[card]]\nid = "x"\nwithout = ["bass"]\nsnare = "1"\n',
         "d:8:12: the groove has no 'bass'; it has hat."),
    ],
)  # fmt: skip
def test_what_is_said_of_a_broken_deck(text: str, expected: str) -> None:
    """One mistake, one sentence: its line and column, what it is and how to mend it."""
    assert [expected] == said(text)


def test_a_hundred_complaints_are_enough() -> None:
    """Of unknown keys no more than a hundred are told."""
    keys = "".join(f"k{n} = 1\n" for n in range(150))
    assert 100 == len(said(HEAD + keys + CARD))


def test_commas_are_counted() -> None:
    """Fifty thousand are read, one more is refused before the reader is let at them."""
    assert MAX_COMMAS == 50_000
    few, many = (f"{HEAD}about = '{',' * n}'\n{CARD}" for n in (MAX_COMMAS, MAX_COMMAS + 1))
    assert ["d:4:9: about has 50000 characters; use at most 4000."] == said(few)
    assert ["d:1:1: the file has more than 50000 commas; split the deck."] == said(many)


def test_cards_that_wait_for_each_other_are_shown_in_turn() -> None:
    """Seven are told whole, of more six and three points."""
    for count in (6, 7):
        cards = "".join(
            f'[[card]]\nid = "c{n}"\nsnare = "({n % 4 + 1}{"e&a"[n // 4]})"\n'
            f'after = ["c{(n + 1) % count}"]\n'
            for n in range(count)
        )
        (sentence,) = said(HEAD + cards)
        circle = sentence.partition("each other: ")[2].partition(";")[0].split(" before ")
        assert (count + 1 if count == 6 else 7) == len(circle)
        assert ("..." in circle) == (count == 7)


FAMILY = f'{HEAD}[groove]\nhat = "beat &"\nsnare = ">2 >4"\nbass = "1 3"\n[[family]]\nid = "s"\n'


@pytest.mark.parametrize(
    ("lines", "count"),
    [
        ('sets = ["e"]', 1),
        ("count = 1", 4),
        ("count = [1, 2]", 10),
        ("count = 4", 1),
        ('partials = "e a"', 3),
        ('sets = ["e"]\nbeats = "each"', 4),
        ('sets = ["e", "a"]\nbeats = "alternating"', 2),
        ('sets = ["e"]\nbeats = "1 3"', 1),
        ('sets = ["1e"]\nper = "half bar"\nbeats = "each"', 2),
        ('sets = ["1e 3a"]\nper = "bar"', 1),
        ('sets = ["e"]\nbare = true', 2),
        ('sets = ["e"]\nbasses = ["1 3", "1 2& 3"]', 2),
        ('sets = ["e a"]\nplaces = ["tom", "tom floor"]', 2),
    ],
)
def test_a_family_makes_as_many_cards_as_its_lists_say(lines: str, count: int) -> None:
    """Products and binomial coefficients: C(4,1) = 4, C(4,1) + C(4,2) = 10, two lines twice."""
    assert count == len(whole(f"{FAMILY}lowest = 20\n{lines}\n").cards)


@pytest.mark.parametrize(
    ("lines", "what"),
    [
        ("count = 5", "5 in count is out of range; use 1 to 4"),
        ("count = 0", "0 in count is out of range; use 1 to 4"),
        ("count = [true]", "true or false in count; write whole numbers: count = [1, 2]"),
        ('beats = "0 2"', "cannot read '0 2' as beats; write every, each, alternating, or numbers"),
        ('beats = "5"', "cannot read '5' as beats"),
        ('beats = "alternating"\nper = "bar"\nsets = ["1e"]', "nothing to alternate in one"),
        ('grid = "16t"\nper = "bar"', "24 partials have too many sets; choose at most 16"),
        ('grid = "16t"\nper = "bar"\ncount = [1, 4]', "24 partials have too many sets"),
        ('sets = ["x"]', "cannot read 'x' as a partial; write some of: beat e & a"),
        ('partials = ""', "no partials in partials; write some, such as 'e a'"),
        ('grid = "16 8 16 8"', "a family has one grid; write one of them for all beats"),
        ('ornament = "doubel"', "'doubel' is no ornament; did you mean 'double'"),
        ('ornament = "open"', "'open' is no ornament"),
        ('skip = ["s-x"]', "no card"),
        ("basses = []", "basses has no line"),
        ('places = ["hat"]', "cannot read 'hat' as drums; write one or more of: snare, rim, tom"),
        ("places = []", "places has no drum; write some of"),
        (
            'groove = false\nmeter = "3/4"\nsnare = ">1"\nper = "half bar"',
            'a bar of 3/4 has no halves; write per = "bar"',
        ),
        (f'family = "{"x" * 121}"', "family has 121 characters"),
    ],
)
def test_what_a_family_cannot_be(lines: str, what: str) -> None:
    """Each mistake of a family in its own sentence; the family is told, not its cards."""
    found = said(f"{FAMILY}{lines}\n")
    assert any(what in sentence for sentence in found), found


def test_a_family_s_id_leaves_room_for_its_cards() -> None:
    """Thirty-two characters, not one more."""
    for size, fits in ((32, True), (33, False)):
        text = FAMILY.replace('id = "s"', f'id = "{"s" * size}"') + 'sets = ["e"]\n'
        assert fits == (not said(text))


def test_places_are_counted_from_one() -> None:
    """Of keys, values, what is inside quotes, elements, headers and what is missing."""
    text = (
        '[deck]\nid = "d"\nabout = """\nx"""\n[[card]]\nafter = ["a",\n  "b"]\n[[card]]\n"q" = 3\n'
        "in = {k = 'v', l = [1, 2]}\na.b = 1\n"
    )
    places = Places(text)
    assert Place(1, 1) == places.key(("deck",))
    assert (Place(2, 1), Place(2, 6), Place(2, 7)) == (
        places.key(("deck", "id")), places.value(("deck", "id")), places.content(("deck", "id")),
    )  # fmt: skip
    assert Place(4, 1) == places.content(("deck", "about"))
    assert Place(5, 1) == places.key(("card", 0)) == places.key(("card",))
    assert (Place(6, 10), Place(7, 3)) == (
        places.value(("card", 0, "after", 0)), places.value(("card", 0, "after", 1)),
    )  # fmt: skip
    assert (Place(8, 1), Place(9, 1)) == (places.key(("card", 1)), places.key(("card", 1, "q")))
    assert Place(10, 12) == places.content(("card", 1, "in", "k"))
    assert Place(10, 24) == places.value(("card", 1, "in", "l", 1))
    assert Place(11, 7) == places.value(("card", 1, "a", "b"))
    assert Place(8, 1) == places.value(("card", 1, "none"))
    assert Place(9, 7) == places.content(("card", 1, "q"))


def test_an_assignment_passes_after_its_day() -> None:
    """On the day itself it has not passed; it means its cards, or all."""
    one = Assignment(date(2026, 3, 9), ("a",), None)
    day = date(2026, 3, 9).toordinal()
    assert [False, False, True] == [one.passed(n) for n in (day - 1, day, day + 1)]
    assert [True, False] == [one.means(slug) for slug in "ab"]


@pytest.mark.parametrize(
    ("line", "fits"),
    [
        ("by = 2026-12-20", True), ("by = 2026-12-20T10:00:00", False), ("by = 10:00:00", False),
        ('by = "2026-12-20"', False), ("goal = 80", False),
        ("by = 2026-12-20\ngoal = 20", True), ("by = 2026-12-20\ngoal = 400", True),
        ("by = 2026-12-20\ngoal = 401", False), ("by = 2026-12-20\ngoal = 19", False),
        ('by = 2026-12-20\ncards = ["one"]', True), ('by = 2026-12-20\ncards = ["on"]', False),
    ],
)  # fmt: skip
def test_what_an_assignment_may_say(line: str, *, fits: bool) -> None:
    """A day without an hour, a tempo from 20 to 400, cards of the deck."""
    assert fits == (not said(f"{HEAD}{CARD}[[assignment]]\n{line}\n"))


def test_a_hundred_assignments_are_the_most() -> None:
    """And one more is refused at its place."""
    lines = "[[assignment]]\nby = 2026-12-20\n"
    assert [] == said(HEAD + CARD + lines * 100)
    assert ["d:207:1: more than 100 assignments; keep the next ones."] == said(
        HEAD + CARD + lines * 101
    )


def grown(count: int, *, goal: int = 90, edition: int = 1, **changes: str) -> Deck:
    """Return a deck of so many cards, each a place of its own."""
    cards = "".join(
        f'[[card]]\nid = "c{n}"\ntitle = "C{n}"\nsnare = "({n % 4 + 1}{"e&a"[n // 4]})"\n'
        for n in range(count)
    )
    text = f'[deck]\nid = "d"\ntitle = "d"\nedition = {edition}\ngoal = {goal}\n{cards}'
    for old, new in changes.items():
        text = text.replace(f'"{old}"', f'"{new}"')
    return whole(text)


def test_what_all_cards_have_new_is_said_once_from_three_on() -> None:
    """Of two cards each says it; of three it is said of every card that was there."""
    assert ("C0: goal 90 to 100", "C1: goal 90 to 100") == edition_changes(
        grown(2), grown(2, goal=100)
    )
    assert ("every card that was there: goal 90 to 100",) == edition_changes(
        grown(3), grown(3, goal=100)
    )


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (1, "one card added (C0)"),
        (5, "five cards added (C0, C1, C2, C3, C4)"),
        (6, "six cards added (C0, C1, C2, C3, C4 and 1 more)"),
        (10, "ten cards added (C0, C1, C2, C3, C4 and 5 more)"),
        (11, "11 cards added (C0, C1, C2, C3, C4 and 6 more)"),
    ],
)
def test_cards_are_counted_in_words_to_ten(count: int, words: str) -> None:
    """Five are named; numbers to ten are words."""
    base = whole(f'[deck]\nid = "d"\ntitle = "d"\ngoal = 90\n{CARD}')
    more = whole(grown(count).text.replace("edition = 1\n", "edition = 1\n") + CARD)
    assert (words,) == edition_changes(base, more)
    assert (words.replace("added", "removed"),) == edition_changes(more, base)
    assert count == len(changed_cards(base, more))
    assert () == changed_cards(more, more)


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("snare: 1", "snare: 1 2", ("snare on 2 added",)),
        ("snare: 1 2", "snare: 1", ("snare on 2 taken out",)),
        ("snare: 1", "snare: 1 2 | 1 2",
         ("now 2 bars, was 1", "snare on 2 of bar 1 and 2 of bar 2 added")),
        ("snare: 1", "snare: >1", ("snare on 1 now an accent",)),
        ("snare: 1", "snare: 1 (/2)", ("snare on 2 added ghosted, doubled",)),
        ("snare: 1", "snare: 1 (e)", ("snare on the e of every beat added ghosted",)),
        ("meter: 3/4\nsnare: 1", "snare: 1", ("now in 4/4, was 3/4: written anew",)),
        ("snare: 1", "swing: 16 3:2\nsnare: 1", ("now swung 3:2, was straight",)),
        ("snare: R1", "snare: L1", ("snare on 1 now with L",)),
        ("snare: R1", "snare: 1", ("snare on 1 now with either hand",)),
        ("snare: 1", "snare: 1 1e 2 2e 3", ("snare on the e of 1, 2, the e of 2 and 3 added",)),
        ("snare: 1", "snare: 1 1e 2 2e 3 3e", ("snare in 5 places added",)),
        ("snare: 1e", "snare: 1e 2e 3e 4e",
         ("snare on the e of 2, the e of 3 and the e of 4 added",)),
        ("snare: 1\nhat: 1", "snare: 1\nhat: beat", ("hat on 2, 3 and 4 added",)),
        ("snare: 1", "snare: 1 | 1 2", ("now 2 bars, was 1", "snare on 2 of bar 2 added")),
    ],
)  # fmt: skip
def test_strokes_are_compared_place_by_place(old: str, new: str, expected: tuple[str, ...]) -> None:
    """Up to four places are named, more are counted; a syllable on every beat is said once."""
    assert expected == stroke_changes(parse(old), parse(new))


def test_a_flood_of_changes_is_counted() -> None:
    """Six kinds of change are told, a seventh makes it a rhythm written anew."""
    voices = ("hat", "ride", "crash", "snare", "rim", "tom", "floor")
    old = parse("".join(f"{voice}: 1\n" for voice in voices))
    for count in (6, 7):
        new = parse("".join(f"{v}: {'1 2' if n < count else '1'}\n" for n, v in enumerate(voices)))
        found = stroke_changes(old, new)
        assert (6 if count == 6 else 1) == len(found)
    assert ("written anew in 7 places",) == found


def test_the_course_goes_on_after_the_earliest_deck() -> None:
    """What was passed over before it is not proposed; at the end there is none."""
    course = list(SERVES)
    assert course[0] == next_deck(())
    assert course[3] == next_deck([course[2]])
    assert course[4] == next_deck([course[3], course[5]])
    assert course[5] == next_deck([course[3], course[4], "my-own"])
    assert next_deck([course[-1]]) is None


def test_a_card_s_path_and_its_steps() -> None:
    """What comes before it in the deck's order; a step is one after the last of those before."""
    text = FAMILY.partition("[[family]]")[0] + "".join(
        f'[[card]]\nid = "{slug}"\nsnare = "({place})"\nafter = [{after}]\n'
        for slug, place, after in (
            ("a", "1e", ""), ("b", "2e", '"a"'), ("c", "3e", '"a", "b"'), ("d", "4e", ""),
        )
    )  # fmt: skip
    deck = whole(text)
    assert ["a", "b", "c"] == [card.slug for card in path_to(deck, "c")]
    assert ["d"] == [card.slug for card in path_to(deck, "d")]
    assert [["a", "d"], ["b"], ["c"]] == [
        [card.slug for card in step] for step in steps(deck.cards)
    ]
    assert [["b"], ["c"]] == [[c.slug for c in step] for step in steps(deck.cards[1:3])]
    assert () == steps(())
    lines = draw_path(deck.cards, width=40).splitlines()
    assert [" 1  e of 1 · e of 4", " 2  e of 2", " 3  e of 3"] == lines


def test_a_draft_names_every_card_apart() -> None:
    """Ids from titles, a number where one is taken; titles of 44 characters, longer ones cut."""
    pattern = parse("snare: (e)")
    cards = [("Same", pattern, ""), ("same!", parse("snare: (a)"), "note"),
             ("same", parse("snare: (&)"), ""), ("y" * 44, parse("tom: 1"), ""),
             ("z" * 45, parse("rim: 1"), "")]  # fmt: skip
    deck = whole(draft_text("My Deck", cards, goal_bpm=84.4, about="From a file."))
    assert ["same", "same-2", "same-3"] == [card.slug for card in deck.cards[:3]]
    assert ("y" * 44, "z" * 43 + "…") == (deck.cards[3].title, deck.cards[4].title)
    assert ("my-deck", "My deck", 84.0, "From a file.") == (
        deck.id, deck.title, deck.goal_bpm, deck.about,
    )  # fmt: skip
    assert ["", "note"] == [card.note for card in deck.cards[:2]]


def test_packed_decks_are_a_hundred_at_most(tmp_path: Path) -> None:
    """A hundred files in a folder, and no more; none is no folder of decks."""
    assert (100, 200, 1) == (MAX_DECKS, MAX_RATIO, VERSION)
    with pytest.raises(DeckError, match="there are no decks"):
        read_decks(tmp_path)
    for n in range(100):
        (tmp_path / f"d{n}.toml").write_text(HEAD.replace('"d"', f'"d{n}"') + CARD, "utf-8")
    (tmp_path / "readme.txt").write_text("no deck", "utf-8")
    assert 100 == len(read_decks(tmp_path))
    (tmp_path / "d100.toml").write_text(HEAD.replace('"d"', '"d100"') + CARD, "utf-8")
    with pytest.raises(DeckError, match="more than 100 files"):
        read_decks(tmp_path)


def test_a_text_that_packs_very_small_is_refused() -> None:
    """A deck of one sign over and over packs a thousand to one: no deck is like that."""
    blank = whole(HEAD + CARD + "\n" * 400_000)
    with pytest.raises(DeckError, match="packed suspiciously small"):
        pack([blank])
    plain = whole(HEAD + CARD)
    assert (plain,) == unpack(pack([plain]), name="p.zip")
