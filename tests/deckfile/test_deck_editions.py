"""What changed from one edition to the next, in words that a player understands."""

from __future__ import annotations

import pytest
from examples import examples
from hypothesis import given
from strategies import meters, patterns

from drillbox.deckfile import Deck, changed_cards, edition_changes, parse_deck
from drillbox.deckfile.strokewords import stroke_changes
from drillbox.rhythm import Pattern, fingerprint, parse

DECK = """\
[deck]
id = "d"
title = "D"
edition = 1
goal = 90
[groove]
hat = "beat &"
snare = ">2 >4"
bass = "1 3"
[[card]]
id = "e"
title = "e of every beat"
snare = "(e)"
[[card]]
id = "a-4"
title = "a of 4"
snare = "(4a)"
[[card]]
id = "both"
title = "both"
snare = "(e) (4a)"
after = ["e"]
"""


def deck(*changes: tuple[str, str]) -> Deck:
    """Return the deck with some of its text changed."""
    text = DECK
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return parse_deck(text, name="d.toml")


CARD = '[[card]]\nid = "{0}"\ntitle = "{0}"\nsnare = "({1})"\n'


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ((), ()),
        ([("edition = 1", "edition = 2")], ()),
        (
            [('snare = "(e)"', 'snare = "(e)"\ngoal = 100')],
            ("e of every beat: goal 90 to 100",),
        ),
        ([('"(4a)"', '"(/4a)"')], ("a of 4: snare on the a of 4 now doubled",)),
        ([('snare = "(e)"', 'snare = "e"')],
         ("e of every beat: snare on the e of every beat now plain",)),
        ([('"(4a)"', '"(4a) (1a)"')], ("a of 4: snare on the a of 1 added ghosted",)),
        ([("goal = 90", "goal = 80")], ("every card that was there: goal 90 to 80",)),
        ([('"1 3"', '"1 3 3&"')], ("every card that was there: bass on the & of 3 added",)),
        (
            [('after = ["e"]\n', "")],
            ("both: now after no other card",),
        ),
        (
            [('title = "both"', 'title = "two"\nimportance = 2\nnote = "low"')],
            ("two: was called 'both', importance 1 to 2, another note",),
        ),
        ([('title = "D"', 'title = "E"'), ("goal = 90", 'goal = 90\nabout = "x"')],
         ("title 'D' is now 'E'", "the deck is described anew")),
        ([('id = "a-4"', 'id = "four"')], ("a of 4: id 'a-4' is now 'four'",)),
        ([('"1 3"\n', '"1 3"\n' + CARD.format("x", "1e") + CARD.format("y", "2e"))],
         ("two cards added (x, y)",)),
        ([('[[card]]\nid = "a-4"\ntitle = "a of 4"\nsnare = "(4a)"\n', "")],
         ("one card removed (a of 4)",)),
        ([('after = ["e"]\n', 'after = ["e"]\n[[assignment]]\nby = 2026-12-20\n')],
         ("other assignments (one now)",)),
    ],
)  # fmt: skip
def test_an_edition_is_told_in_musical_words(
    changes: list[tuple[str, str]], said: tuple[str, ...]
) -> None:
    """Goals, strokes, cards added and removed.

    One clause each, and what all cards share is said once.
    """
    assert said == edition_changes(deck(), deck(*changes))


def test_many_names_are_cut_short() -> None:
    """Of eleven new cards five are named."""
    new = "".join(CARD.format(f"x{n}", f"{n % 4 + 1}{'e&a'[n // 4]}") for n in range(11))

    assert (
        "11 cards added (x0, x1, x2, x3, x4 and 6 more)",
    ) == edition_changes(deck(), deck(('"1 3"\n', f'"1 3"\n{new}')))  # fmt: skip


def test_another_order_is_said() -> None:
    """The order of the cards is the teacher's advice."""
    first, second = DECK.index('[[card]]\nid = "e"'), DECK.index('[[card]]\nid = "a-4"')
    third = DECK.index('[[card]]\nid = "both"')
    text = DECK[:first] + DECK[second:third] + DECK[first:second] + DECK[third:]

    said = edition_changes(deck(), parse_deck(text, name="d.toml"))
    assert ("the cards stand in another order",) == said


def test_changed_cards_are_those_to_look_at() -> None:
    """A new card and one with other strokes; not the one that stayed."""
    new = deck(('"(4a)"', '"(/4a)"'), ('"1 3"\n', '"1 3"\n' + CARD.format("x", "1e")))

    assert ["x", "a-4"] == [card.slug for card in changed_cards(deck(), new)]
    assert () == changed_cards(new, new)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("hat: 1", "meter: 6/8\nhat: 1", ("now in 6/8, was 4/4: written anew",)),
        (
            "snare: (e)",
            "snare: (e) | (e) >4",
            ("now 2 bars, was 1", "snare on 4 of bar 2 added accented"),
        ),
        ("snare: 1", "grid: 8t\nsnare: 1 zt", ("snare on the t of every beat added, buzzed",)),
        ("grid: 8t\nsnare: 1 t", "snare: 1", ("snare on the t of every beat taken out",)),
        ("snare: 1 2", "snare: L1 2", ("snare on 1 now with L",)),
        ("snare: f1", "snare: >d1", ("snare on 1 now an accent", "snare on 1 now with a drag")),
        ("hat: 1e 2 2e 3 4a", "hat: 4", ("hat in 5 places taken out", "hat on 4 added")),
        (
            "hat: beat\nsnare: 1 2\nbass: 3",
            "hat: >1 (2) /3 z4\nride: 1\nsnare: 2\nbass: f3 4",
            ("written anew in 8 places",),
        ),
    ],
)
def test_places_and_strokes_have_names(old: str, new: str, said: tuple[str, ...]) -> None:
    """Bars, beats and syllables are counted as a drummer counts them.

    A flood of changes is summed up.
    """
    assert said == stroke_changes(parse(old), parse(new))


@examples(100)
@given(meters().flatmap(lambda meter: patterns(meter=meter)), patterns())
def test_words_are_found_exactly_where_rhythms_differ(left: Pattern, right: Pattern) -> None:
    """Two patterns of one rhythm give no words, two of different rhythms always do."""
    assert () == stroke_changes(left, left)
    assert bool(stroke_changes(left, right)) == (fingerprint(left) != fingerprint(right))
