"""Families.

A few lines that stand for many cards, the same ones every time, each overridable, each with a place
to complain at.

Outside check: the numbers of sets are those of elementary combinatorics, 2^n - 1.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from graphlib import TopologicalSorter

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from drillbox.deckfile import MAX_CARDS, Deck, check, parse_deck
from drillbox.deckfile.families import FAMILY_KEYS
from drillbox.errors import DeckError
from drillbox.rhythm import (
    Level,
    Ornament,
    Pattern,
    Voice,
    fingerprint,
    movement,
    parse,
    spell,
)
from drillbox.rhythm.generators import STOCK_GROOVES, Sieve

HEAD = """\
[deck]
id = "d"
title = "d"
goal = 90
[groove]
hat = "beat &"
snare = ">2 >4"
bass = "1 3"
[[card]]
id = "groove"
title = "groove"
"""
ROCK = "hat: beat &\nbass: 1 3\nsnare: >2 >4 "


def deck(*families: str) -> Deck:
    """Return a deck with one written card and some families."""
    return parse_deck(HEAD + "".join(f"[[family]]\n{family}\n" for family in families), name="d")


def complaint(*families: str) -> str:
    """Return the topmost complaint about some families."""
    with pytest.raises(DeckError) as caught:
        deck(*families)
    return str(caught.value)


def test_three_lines_are_fifteen_cards() -> None:
    """An id is enough.

    All sets of sixteenths as ghosts, singles first, each with a title and what it builds on.
    """
    made = deck('id = "s"\nafter = ["groove"]\nlowest = 70')
    cards = {card.slug: card for card in made.cards}

    assert 1 + 15 == len(cards)
    assert "e and a of every beat" == cards["s-e-a"].title
    assert {"s-e", "s-a"} == set(cards["s-e-a"].after)
    assert ("groove",) == cards["s-e"].after
    assert fingerprint(parse(ROCK + "(e) (a)")) == cards["s-e-a"].card_id
    assert {"s"} == {card.family for card in made.cards[1:]}


@pytest.mark.parametrize(("grid", "sets"), [("8t", 7), ("16", 15), ("16t", 63), ("32", 255)])
def test_every_grid_has_all_its_sets(grid: str, sets: int) -> None:
    """2^n - 1 sets, made or left out with a reason."""
    made = deck(f'id = "s"\ngrid = "{grid}"\nlowest = 20')

    assert sets == len(made.cards) - 1 + len(made.left_out)
    assert all(left.reason for left in made.left_out)


def test_cards_stand_by_difficulty_after_what_they_build_on() -> None:
    """Reading from the top, whatever a card builds on has been met.

    In a family sets come by size: singles, pairs, threes.
    """
    made = deck('id = "s"\nafter = ["groove"]', 'id = "d"\nornament = "double"\nlowest = 50')
    met: set[str] = set()
    for card in made.cards:
        assert set(card.after) <= met
        met.add(card.slug)
    for family in ("s", "d"):
        sizes = [ghosts_a_beat(card.pattern) for card in made.cards if card.family == family]
        assert sorted(sizes) == sizes


def ghosts_a_beat(pattern: Pattern) -> int:
    """Return how many places of a beat have a ghost."""
    return len({stroke.at % 1 for stroke in pattern.strokes if stroke.level is Level.GHOST})


def test_plain_before_doubled_across_families() -> None:
    """A doubled set builds on the plain one of another family, and on the smaller doubled sets."""
    made = deck('id = "s"', 'id = "d"\nornament = "double"\nlowest = 40')
    after = {card.slug: set(card.after) for card in made.cards}

    assert {"s-e"} == after["d-e-doubled"]
    assert {"s-e-a", "d-e-doubled", "d-a-doubled"} == after["d-e-a-doubled"]


@pytest.mark.parametrize("on", ["all", "one", "some"])
def test_what_comes_before_is_simpler(on: str) -> None:
    """A placement comes after cards whose strokes are among its own, or less ornamented."""
    made = deck('id = "s"', f'id = "d"\nornament = "double"\non = "{on}"\nlowest = 30')
    cards = {card.slug: card for card in made.cards[1:]}
    for card in cards.values():
        own = {(s.order, s.level): s.ornament for s in card.pattern.strokes}
        for name in card.after:
            other = {(s.order, s.level): s.ornament for s in cards[name].pattern.strokes}
            doubled = [sum(o is Ornament.DOUBLE for o in part.values()) for part in (other, own)]
            assert other.keys() <= own.keys()
            assert (len(other), doubled[0]) < (len(own), doubled[1])
            assert doubled[0] <= doubled[1]


def test_one_or_some_ghosts_embellished() -> None:
    """One at a time there are n 2^(n-1), some are 3^n - 2^n: 32 and 65 for sixteenths."""
    one = deck('id = "d"\nornament = "buzz"\non = "one"\nlowest = 20')
    some = deck('id = "d"\nornament = "buzz"\non = "some"\nlowest = 20')

    assert (32, 65) == (len(one.cards) - 1, len(some.cards) - 1)
    assert "e and a of every beat, a buzzed" in {card.title for card in one.cards}


def test_a_blend_builds_on_its_parts() -> None:
    """Every sixteenth with every triplet, bar by bar and half bar by half bar.

    The halves come after the bars.
    """
    made = deck(
        'id = "s"\ngroove = "quarter hat"\nsets = ["e", "a"]',
        'id = "t"\ngroove = "quarter hat"\ngrid = "8t"\nsets = ["t", "l"]',
        'id = "b"\nblend = "bar by bar"\nof = ["s"]\nwith = ["t"]',
        'id = "h"\nblend = "half bar by half bar"\nof = ["s"]\nwith = ["t"]',
    )
    cards = {card.slug: card for card in made.cards}

    assert 1 + 2 + 2 + 4 + 4 == len(cards)
    assert ("s-e", "t-let") == cards["b-e-then-let"].after
    assert ("s-e", "t-let", "b-e-then-let") == cards["h-e-then-let"].after
    assert 2 == cards["b-e-then-let"].pattern.bars
    assert (4, 4, 3, 3) == cards["h-e-then-let"].pattern.grids
    assert "e, then let, of every beat" == cards["b-e-then-let"].title


@pytest.mark.parametrize(("one", "other"), [(100, 76), (76, 100), (80, 80)])
def test_a_blend_is_held_at_the_lower_of_its_parts_goals(one: int, other: int) -> None:
    """It is no faster than its slower half; a goal of its own family goes before."""
    sets = f'sets = ["e"]\ngoal = {one}\nid = "s"', f'sets = ["a"]\ngoal = {other}\nid = "t"'
    turns = 'blend = "bar by bar"\nof = ["s"]\nwith = ["t"]\nid = "b"'
    goals = {card.slug: card.goal_bpm for card in deck(*sets, turns).cards}

    assert (one, other, min(one, other)) == (goals["s-e"], goals["t-a"], goals["b-e-then-a"])
    own = {card.slug: card.goal_bpm for card in deck(*sets, f"{turns}\ngoal = 84").cards}
    assert 84 == own["b-e-then-a"]


def test_displacements_come_after_what_is_moved() -> None:
    """A figure of half a bar has seven other places on the sixteenths, each with its goal."""
    made = deck('id = "s"\nsets = ["e"]\ngoal = 76', 'id = "m"\ndisplace = ["s-e"]')
    moved = [card for card in made.cards if card.family == "m"]

    assert [76.0] * 7 == [card.goal_bpm for card in moved]
    assert {("s-e",)} == {card.after for card in moved}
    assert "backbeats on a of 2 and 4: every beat" in {card.title for card in moved}


def test_chosen_each_and_alternating_beats() -> None:
    """The same two sets on beats two and four, on each beat by itself, and in turns."""
    sets = 'sets = ["e", "a"]\nid = "s"\nbeats = '

    assert {"e of 2 and 4", "a of 2 and 4"} == {c.title for c in deck(sets + '"2 4"').cards[1:]}
    assert 8 == len(deck(sets + '"each"').cards) - 1
    assert {"e of 1 and 3, a of 2 and 4", "a of 1 and 3, e of 2 and 4"} == {
        card.title for card in deck(sets + '"alternating"').cards[1:]
    }


def test_titles_count_what_is_heard() -> None:
    """Where a set of half a bar meets the backbeat, the title leaves that place to the backbeat."""
    made = deck('id = "s"\ngroove = "six-eight"\nper = "half bar"\ngrid = "8"')

    assert {"6/8: ghost on 1", "6/8: ghosts on 2 and 5", "6/8: ghosts on 1, 3 and 6"} <= {
        card.title for card in made.cards
    }


def test_accents_over_a_stream_with_both_hands() -> None:
    """Without the groove, over written taps, hands written out by partial."""
    made = deck(
        'id = "acc"\ngroove = false\nsnare = "beat e & a"\nlevel = "accent"\nsticking = "natural"'
    )
    cards = {card.slug: card for card in made.cards}
    text = "snare: Rbeat >Le R& La"

    assert 15 == len(cards) - 1
    assert fingerprint(parse(text)) == cards["acc-e"].card_id


@pytest.mark.parametrize("name", STOCK_GROOVES)
def test_every_stock_groove_has_families(name: str) -> None:
    """Any of them by its name, for families and for cards."""
    made = deck(f'id = "s"\ngroove = "{name}"\nlowest = 20\ngrid = "16"')
    text = f'{HEAD}[[card]]\nid = "x"\ntitle = "x"\ngroove = "{name}"\npedal = "1"'
    card = parse_deck(text, name="d").cards[1]

    assert len(made.cards) > 1
    assert "pedal" in spell(card.pattern)


def test_a_card_may_be_overridden() -> None:
    """Title, goal, order, importance, family and note of one card; the others stay."""
    made = deck(
        'id = "s"\nimportance = 2\n[[family.card]]\nid = "s-e-a"\ntitle = "the engine"\ngoal = 84\n'
        'after = ["groove"]\nnote = "Hand to hand."\nfamily = "engines"\nimportance = 3'
    )
    cards = {card.slug: card for card in made.cards}
    engine = cards["s-e-a"]

    assert ("the engine", 84, ("groove",), "Hand to hand.", "engines", 3) == (
        engine.title,
        engine.goal_bpm,
        engine.after,
        engine.note,
        engine.family,
        engine.importance,
    )
    assert ("e of every beat", 90, 2) == (
        cards["s-e"].title,
        cards["s-e"].goal_bpm,
        cards["s-e"].importance,
    )


def test_goals_fall_to_what_a_hand_can_do() -> None:
    """No card asks for more than the limit at its goal.

    Under the lowest goal it is left out, and says why.
    """
    made = deck('id = "s"\ngrid = "16t"\nlowest = 70')
    strict = deck('id = "s"\ngrid = "16t"')

    assert all(movement(c.pattern).load(c.goal_bpm) <= 1 + 1e-9 for c in made.cards)
    assert {70.0, 90.0} == {card.goal_bpm for card in made.cards}
    singles = deck('id = "s"\nsets = ["a"]\ngoal = 110\nlowest = 70')
    assert 94.0 == singles.cards[1].goal_bpm == 0.9 * 105 // 2 * 2
    assert "9.0 strokes a second in one hand at 90 bpm, more than 7 for two or three in a row" in {
        left.reason for left in strict.left_out
    }
    assert len(strict.cards) < len(made.cards)


def test_twins_and_skipped_cards_are_passed_over() -> None:
    """What would come after a twin comes after the other one.

    What would come after a skipped one, after its parts.
    """
    made = deck('id = "s"\nskip = ["s-e"]', 'id = "t"\nsets = ["a", "e a", "beat e a"]')
    cards = {card.slug: card for card in made.cards}
    reasons = {left.slug: left.reason for left in made.left_out}

    assert {"s-a"} == set(cards["s-e-a"].after)
    assert "skipped by the deck" == reasons["s-e"]
    assert "the same rhythm as 's-a'" == reasons["t-a"]
    assert "t-e-a" not in cards


def test_written_cards_may_come_after_families() -> None:
    """A card of the file that names a family's card stands after it."""
    text = HEAD + 'after = ["s-e"]\n[[family]]\nid = "s"\nsets = ["e"]'

    assert ["s-e", "groove"] == [card.slug for card in parse_deck(text, name="d").cards]


@pytest.mark.parametrize(
    ("families", "expected"),
    [
        (
            ['id = "s"\nlevel = "loud"'],
            "d:14:9: 'loud' is no level; write one of: ghost, tap, plain, accent.",
        ),
        (
            ['id = "s"\nornament = "bouble"'],
            "d:14:12: 'bouble' is no ornament; did you mean 'double'?",
        ),
        (
            ['id = "s"\nbeats = "2 5"'],
            (
                "d:14:9: cannot read '2 5' as beats;"
                " write every, each, alternating, or numbers from 1 to 4, such as 2 4."
            ),
        ),
        (
            ['id = "s"\nsets = ["e", "t"]'],
            "d:14:14: cannot read 't' as a partial; write some of: beat e & a.",
        ),
        (
            ['id = "s"\npartials = "e x"'],
            "d:14:12: cannot read 'x' as a partial; write some of: beat e & a.",
        ),
        (['id = "s"\ncount = [1, 9]'], "d:14:13: 9 in count is out of range; use 1 to 4."),
        (
            ['id = "s"\nplaces = ["floor", "cowbell"]'],
            (
                "d:14:20: cannot read 'cowbell' as drums; "
                "write one or more of: snare, rim, tom, floor."
            ),
        ),
        (
            ['id = "s"\nbasses = ["1 3", "1 2q"]'],
            "d:14:18: cannot read '2q' as a place; under grid 16: 2 2e 2& 2a.",
        ),
        (
            ['id = "s"\nplaces = []'],
            "d:14:10: places has no drum; write some of: snare, rim, tom, floor.",
        ),
        (
            ['id = "s"\ncount = "two"'],
            "d:14:9: a text in count; write whole numbers: count = [1, 2].",
        ),
        (
            ['id = "s"\ngroove = "polka"'],
            "d:14:10: no groove 'polka'; write one of: " + ", ".join(STOCK_GROOVES) + ".",
        ),
        (
            ['id = "s"\nskip = ["s-x"]'],
            "d:14:9: the family 's' makes no card 's-x'; did you mean 's-e'?",
        ),
        (
            ['id = "s"\n[[family.card]]\nid = "s-ea"'],
            "d:15:6: the family 's' makes no card 's-ea'; did you mean 's-e-a'?",
        ),
        (
            ['id = "s"\n[[family.card]]\nid = "s-e"\ngaol = 3'],
            "d:16:1: unknown key 'gaol'; did you mean 'goal'?",
        ),
        (
            ['id = "s"\nafter = ["grove"]'],
            "d:14:10: after names no card: 'grove'; did you mean 'groove'?",
        ),
        (['id = "groove"'], "d:13:6: a second 'groove'; give every family and card its own id."),
        (
            ['id = "b"\nblend = "bar by bar"\nof = ["s"]'],
            "d:15:7: no card or family 's'; name a card or a family that stands above.",
        ),
        (
            ['id = "b"\nblend = "bar by bar"'],
            "d:12:1: of is missing; add a line that begins with 'of ='.",
        ),
        (
            ['id = "s"\nper = "half bar"\nmeter = "3/4"\ngroove = false'],
            'd:14:7: a bar of 3/4 has no halves; write per = "bar".',
        ),
        (
            ['id = "s"\nper = "bar"\ngrid = "16t"'],
            (
                "d:14:7: 24 partials have too many sets;"
                " choose at most 16 partials, or write count = [1, 2]."
            ),
        ),
        (
            ['id = "s"\nhat = "1q"'],
            "d:14:8: cannot read '1q' as a place; under grid 16: 1 1e 1& 1a.",
        ),
        (
            ['id = "s"\ngrid = "16 16 8t 8t"'],
            "d:14:8: a family has one grid; write one of them for all beats.",
        ),
        (['title = "{}"'], "d:12:1: id is missing; add a line that begins with 'id ='."),
        (['id = "s"\nper = "bar"'], "d:13:6: the families make too many cards; split the deck."),
        (
            ['id = "s"\nsets = ["e"]\n[[family.card]]\nid = "s-e"\nafter = ["s-e"]'],
            (
                "d:17:9: cards wait for each other: s-e before s-e;"
                " take one of these out of its after."
            ),
        ),
    ],
)
def test_complaints_have_a_place_and_a_remedy(families: list[str], expected: str) -> None:
    """Each mistake is one sentence with line and column, and nothing of the deck is taken in."""
    assert expected == complaint(*families)


def test_a_card_that_was_left_out_cannot_come_first() -> None:
    """Naming it says why it is not there."""
    text = HEAD + 'after = ["s-beat-on-2-4"]\n[[family]]\nid = "s"\nbeats = "2 4"'
    (error,) = check(text, name="d")

    assert (
        "d:12:10: after names no card: 's-beat-on-2-4'; it was left out:"
        " the ghost on 2 falls on a louder snare." == str(error)
    )


def test_no_cards_at_all() -> None:
    """A family that makes nothing is no deck."""
    text = HEAD[: HEAD.index("[[card]]")] + '[[family]]\nid = "s"\nbeats = "2 4"\nsets = ["beat"]'

    with pytest.raises(DeckError, match="the deck has no cards"):
        parse_deck(text, name="d")


GRIDS = st.sampled_from(["8t", "16", "16t"])
FAMILY = st.fixed_dictionaries(
    {"grid": GRIDS, "lowest": st.sampled_from([20, 60, 90])},
    optional={
        "ornament": st.sampled_from(["double", "buzz", "flam", "drag"]),
        "on": st.sampled_from(["all", "one"]),
        "groove": st.sampled_from(["rock eighths", "half-time", "triplet backbeats"]),
        "beats": st.sampled_from(["every", "each", "1 3"]),
        "level": st.sampled_from(["ghost", "accent"]),
        "sticking": st.sampled_from(["natural", "alternate"]),
    },
)


@examples(25)
@given(st.lists(FAMILY, min_size=1, max_size=2))
def test_expanded_decks_keep_every_law(families: list[dict[str, object]]) -> None:
    """Twice the same; every rhythm once; every pattern reads back equal; no circles.

    Every name is there; playable.
    """
    text = [
        "\n".join([f'id = "f{n}"', *(f"{k} = {v!r}".replace("'", '"') for k, v in family.items())])
        for n, family in enumerate(families)
    ]
    made, again = deck(*text), deck(*text)

    assert made == again
    assert made.digest == again.digest
    assert len(made.cards) == len({card.card_id for card in made.cards})
    assert len(made.cards) == len({card.slug for card in made.cards}) <= MAX_CARDS
    for card in made.cards:
        assert card.pattern == parse(spell(card.pattern))
        assert card.card_id == fingerprint(card.pattern)
        assert movement(card.pattern).load(card.goal_bpm) <= 1 + 1e-9
    order = TopologicalSorter({card.slug: card.after for card in made.cards})
    assert {card.slug for card in made.cards} == set(order.static_order())


WORDS = (
    "s x every each alternating 9 double flam all some 16 8t 32 bar natural shuffle 6/8 3/4 beat"
)
VALUES = st.one_of(
    st.sampled_from(WORDS.split()),
    st.sampled_from(["", "2 4", "16 8t 8t 8t", "half bar", "beat by beat", "bar by bar", "e a"]),
    st.sampled_from(
        ["seven-eight", "1e 2&", "{}", "{} {}", "accent", "hat", "> (e)", "quarter hat"]
    ),
    st.integers(-1, 30),
    st.booleans(),
    st.lists(st.sampled_from(["e", "e a", "s", "g", "groove", "s-e", "hat", "1e"]), max_size=3),
)


@examples(150)
@given(st.lists(st.dictionaries(st.sampled_from(FAMILY_KEYS), VALUES, max_size=5), max_size=3))
def test_whatever_a_family_says_is_read_or_refused(families: list[dict[str, object]]) -> None:
    """Any key with any value gives a deck or complaints with places, never anything else."""
    text = HEAD
    for number, family in enumerate(families):
        lines = {"id": "sgx"[number], **family}
        text += "[[family]]\n" + "".join(f"{k} = {json.dumps(v)}\n" for k, v in lines.items())
    complaints = check(text, name="d")

    assert all(re.match(r"d:\d+:\d+$", error.where) for error in complaints)
    if not complaints:
        assert parse_deck(text, name="d").cards


def test_what_cannot_be_moved_is_left_out() -> None:
    """Sixteenths moved by triplets stand off their grid, and the deck says so."""
    made = deck('id = "s"\nsets = ["e"]', 'id = "m"\ndisplace = ["s-e"]\ngrid = "8t"')

    assert 2 <= len(made.left_out)
    assert any("off its grid" in left.reason for left in made.left_out)


def test_decks_without_families_load_no_generators() -> None:
    """Reading cards that are written one by one needs neither generators nor motion."""
    script = (
        "import sys, drillbox.deckfile as d\n"
        f"d.parse_deck({HEAD!r}, name='d')\n"
        "print(*[f'drillbox.rhythm.{m}' in sys.modules for m in ('generators', 'motion')])"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )

    assert "False False" == done.stdout.strip()


@pytest.mark.parametrize(
    ("figure", "place"),
    [("f2 >f4", "beat 2"), ("d2", "beat 2"), ("f2& f4&", "2&"), ("z2 /4", ""), ("f1e d2a", "")],
)
def test_a_card_and_a_family_are_judged_alike_by_the_hands_they_need(
    figure: str, place: str
) -> None:
    """A flam under a hat stroke takes a third hand, whether it is written out or made.

    A flam takes both hands: one plays the grace, the other the stroke (*International Drum
    Rudiments*, Percussive Arts Society, numbers 20 and 31: alternate hands; value from memory).
    """
    lines = f'groove = "rock eighths"\ngrid = "16"\nwithout = ["snare"]\nsnare = "{figure}"\n'
    written = parse_deck(f'{HEAD}[[card]]\nid = "one"\n{lines}', name="d")
    rhythm = written.cards[-1].pattern
    verdict = Sieve().judge("one", rhythm, bpm=60)

    clause = f"{place} needs more than two hands" if place else ""
    assert clause == verdict.detail
    told = [doubt.partition(": ")[2] for doubt in written.doubts]
    assert ([f"one: {clause}"] if place else []) == told


@pytest.mark.parametrize("groove", ["", "[groove]\ngrid = '16'\n", "[groove]\nmeter = '3/4'\n"])
def test_a_groove_in_which_nothing_is_played_has_no_meter_to_disagree_with(groove: str) -> None:
    """A deck without a groove may have a card in any meter; the card's own meter holds."""
    text = f"""
[deck]
id = "d"
title = "d"
{groove}
[[card]]
id = "sevens"
meter = "7/8"
hat = "beat"
snare = ">3 >5"
"""
    (card,) = parse_deck(text, name="d").cards

    assert "7/8" == str(card.pattern.meter)
    assert 7 == sum(stroke.voice is Voice.HAT for stroke in card.pattern.strokes)


def test_only_the_bar_that_asks_for_three_hands_is_named() -> None:
    """In several bars the bar is told; a foot is no hand."""
    feet = parse("hat: 1\nsnare: f2\nbass: 2\npedal: 2")
    late = parse("hat: beat | beat\nsnare: >2 | >2 f3")

    assert "" == Sieve().judge("feet", feet, bpm=60).detail
    detail = Sieve().judge("late", late, bpm=60).detail
    assert "beat 3 of bar 2 needs more than two hands" == detail
