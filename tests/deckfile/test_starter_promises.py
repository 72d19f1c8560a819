"""What the starter decks promise, in their abouts and on the page of courses, is in them.

Each promise is held against the cards. A number in words that stands in no promise is an error, so
that nobody counts wrong in a new sentence.
"""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from claims_kit import accent_gap, accents, at, embellished, family, fill_of, ghosts, levels
from starters import NAMES, decks

from drillbox.rhythm import BASS_LINES, Ornament, Voice

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.deckfile import Card, Deck

COURSES = (Path(__file__).parents[2] / "docs" / "courses.md").read_text(encoding="utf-8")


def grouped(deck: Deck, kind: str) -> set[Fraction]:
    """Return the distances of accents or ghosts in the cards that go all the way round."""
    return {accent_gap(c) * 4 for c in deck.cards if c.family.startswith(f"{kind} every")}


def every_beat_sets(deck: Deck) -> set[frozenset[Fraction]]:
    """Return the sets of partials that a deck ghosts on every beat where no backbeat is."""
    return {frozenset(s.at % 1 for s in ghosts(card)) for card in family(deck, "every beat")}


def lines_of(deck: Deck) -> tuple[int, int]:
    """Return how many bass lines a deck has in sixteenths and in triplets."""
    by_grid: dict[int, set[frozenset[Fraction]]] = {4: set(), 3: set()}
    for card in deck.cards:
        by_grid[card.pattern.grids[0]].add(frozenset(at(card, Voice.BASS)))
    return len(by_grid[4]), len(by_grid[3])


def first_of(deck: Deck, name: str) -> Card:
    """Return the first card of a family."""
    return family(deck, name)[0]


def one_open_hat(deck: Deck) -> bool:
    """Whether some card opens the hat once on each eighth, and none on two or four."""
    alone = [c for c in deck.cards if embellished(c, Ornament.OPEN) == 1]
    opened = {s.at * 2 for c in alone for s in c.pattern.strokes if s.ornament is Ornament.OPEN}
    return opened == {0, 1, 3, 4, 5, 7}


def one_on_each(deck: Deck) -> bool:
    """Whether each odd thirty-second of a beat has its card."""
    cards = family(deck, "one and three")
    return {1, 3, 5, 7} == {int(s.at % 1 * 8) for c in cards for s in ghosts(c)}


def in_eighths(deck: Deck) -> bool:
    """Whether a deck has the two meters of slow threes."""
    return {"6/8", "12/8"} <= {str(card.pattern.meter) for card in deck.cards}


def swung_in_turn(deck: Deck) -> bool:
    """Whether the deck swings lightly first, then all the way."""
    ratios = [c.pattern.swing.ratio for c in deck.cards if c.pattern.swing]
    return ["3:2", "2:1"] == list(dict.fromkeys(ratios))


PROMISES: dict[str, dict[str, Callable[[Deck], bool]]] = {
    "first-week": {
        "one ghost a bar, two, and at last four": lambda d: (
            [1, 2, 4] == sorted({len(ghosts(c)) for c in d.cards if at(c, Voice.HAT)} - {0})
            and 4 == len(ghosts(d.cards[-1]))
        ),
        "one ghost with the hat, then one between the hats": lambda d: (
            [0, 1]
            == [
                int(ghosts(c)[0].at.denominator == 4)
                for c in d.cards
                if at(c, Voice.HAT) and len(ghosts(c)) == 1
            ][:3:2]
        ),
        "The last card has four": lambda d: 4 == len(ghosts(d.cards[-1])),
    },
    "accents-and-taps": {
        "one accent in eight": lambda d: (
            {2} == {len(accents(c)) for c in family(d, "one accent in eight")}
        ),
        "one and two accents in sixteenth triplets": lambda d: (
            {1, 2}
            == {
                len({s.at % 1 for s in accents(c)})
                for c in family(d, "accents in sixteenth triplets")
            }
        ),
        "Quarters and eighths stand first": lambda d: (
            ["quarters", "eighths"] == [c.slug for c in d.cards[:2]]
        ),
    },
    "sixteenth-ghosts": {
        "fifteen in all": lambda d: 15 == len({s for s in every_beat_sets(d) if s}),
        "then all fifteen sets on every beat": lambda d: 15 == len(every_beat_sets(d)),
        "One ghost in each place": lambda d: 14 == len(family(d, "one ghost")),
    },
    "ghosts-over-bass": {
        "Nine everyday bass lines in sixteenths and five in a shuffle": lambda d: (
            (9, 5) == (len(BASS_LINES["16"]), len(BASS_LINES["8t"])) == lines_of(d)
        ),
        "Nine bass lines in sixteenths and five in a shuffle": lambda d: (9, 5) == lines_of(d),
    },
    "time-hand": {
        "open hats on every eighth but the backbeats": one_open_hat,
        "sixteenths in one hand": lambda d: any(len(at(c, Voice.HAT)) == 16 for c in d.cards),
        "an open hat on every eighth but the backbeats": one_open_hat,
    },
    "triplet-ghosts": {
        "seven in all": lambda d: 7 == len(family(d, "every beat")),
        "the seven sets over a shuffle and over quarters": lambda d: (
            7 == len(family(d, "every beat")) == len(family(d, "quarters on the hat")) - 1
        ),
        "in three": lambda d: all(set(c.pattern.grids) == {3} for c in d.cards),
    },
    "levels": {
        "each of four levels": lambda d: (
            4 == len({level for c in family(d, "one level") for level in levels(c)})
        ),
        "changes between two": lambda d: {2} == {len(levels(c)) for c in family(d, "two levels")},
        "Three streams at four levels": lambda d: 12 == len(family(d, "one level")),
    },
    "doubles": {
        "pairs with one of the two doubled": lambda d: all(
            0 < sum(s.ornament is Ornament.DOUBLE for s in ghosts(c)) < len(ghosts(c))
            for c in family(d, "one of two doubled")
        ),
        "one place at a time": lambda d: all(
            1 == len(ghosts(c)) for c in family(d, "doubled, one place")
        ),
        "sets in which one hand would double without a rest": lambda d: bool(d.left_out),
    },
    "buzzes": {
        "pairs with one of the two buzzed": lambda d: all(
            0 < sum(s.ornament is Ornament.BUZZ for s in ghosts(c)) < len(ghosts(c))
            for c in family(d, "one of two buzzed")
        ),
        "one place at a time": lambda d: all(
            1 == len(ghosts(c)) for c in family(d, "buzzed, one place")
        ),
    },
    "flams-and-drags": {
        "one grace note or two": lambda d: (
            {Ornament.FLAM, Ornament.DRAG} <= {s.ornament for c in d.cards for s in ghosts(c)}
        ),
    },
    "across-the-kit": {
        "fills of one beat, in every set of sixteenths": lambda d: (
            15 == len(family(d, "fills of one beat"))
        ),
        "of two beats": lambda d: all(
            2 <= min(fill_of(c)) < Fraction(3) for c in family(d, "fills of two beats")
        ),
        "fills of one beat in every set": lambda d: 15 == len(family(d, "fills of one beat")),
        "lead back to one": lambda d: all(
            0 in at(c, Voice.CRASH)
            for c in d.cards
            if c.family.startswith("fills") and "triplets" not in c.family
        ),
    },
    "grooves": {
        "three, five and seven": lambda d: (
            {"3/4", "5/4", "7/8"} <= {str(c.pattern.meter) for c in d.cards}
        ),
        "one new card a day at most": lambda d: 1 == d.pace,
        "three, five, seven: from each bare groove on": lambda d: all(
            not ghosts(first_of(d, name)) for name in dict.fromkeys(c.family for c in d.cards)
        ),
        "six-eight and twelve-eight": in_eighths,
        "six-eight, twelve-eight": in_eighths,
    },
    "linear": {
        "twelve in all": lambda d: 12 == len(family(d, "one beat")),
        "All twelve cells of four": lambda d: 12 == len(family(d, "one beat")),
        "Every cell of four sixteenths": lambda d: 12 == len(family(d, "one beat")),
        "backbeats on two and four": lambda d: (
            {(1, 3)} == {tuple(int(s.at) for s in accents(c)) for c in family(d, "with backbeats")}
        ),
        "cells of three": lambda d: (
            {3} == {grid for c in family(d, "in triplets") for grid in c.pattern.grids}
        ),
    },
    "swung-sixteenths": {
        "three to two, then two to one": swung_in_turn,
        "at three to two, then at two to one": swung_in_turn,
    },
    "blends": {
        "Two that alternate beat by beat; two bar by bar": lambda d: bool(
            family(d, "alternating beats") and family(d, "sixteenths, bar by bar")
        ),
    },
    "sixteenth-triplet-ghosts": {
        "six to the beat": lambda d: {6} == {g for c in d.cards[1:] for g in c.pattern.grids} - {4},
        "every set of one to four": lambda d: (
            {1, 2, 3, 4} == {len({s.at % 1 for s in ghosts(c)}) for c in family(d, "every beat")}
        ),
        "Five and six in one hand": lambda d: all(
            len({s.at % 1 for s in ghosts(c)}) < 5 for c in d.cards
        ),
        "Each of the six places": lambda d: 22 == len(family(d, "one ghost")),
    },
    "odd-groupings": {
        "Every third, fifth and seventh sixteenth": lambda d: {3, 5, 7} == grouped(d, "accents"),
        "over two bars": lambda d: 6 == sum(c.pattern.bars == 2 for c in d.cards),
        "until it meets one again": lambda d: {3, 5, 7} <= {c.pattern.bars for c in d.cards},
        "groups of two and four against triplets": lambda d: (
            {2, 4}
            == {
                int(accent_gap(c) * c.pattern.grids[0])
                for c in family(d, "accents against triplets")
            }
        ),
        "Threes, fives and sevens over four": lambda d: {3, 5, 7} == grouped(d, "accents"),
    },
    "thirty-seconds": {
        "One ghost on each of the thirty-seconds": one_on_each,
        "One ghost on each thirty-second": one_on_each,
        "on one and three, on two and four": lambda d: (
            {0, 2} == {int(s.at) for c in family(d, "one and three") for s in ghosts(c)}
            and {1, 3} == {int(s.at) for c in family(d, "two and four") for s in ghosts(c)}
        ),
    },
}
"""By deck, what its about or its section of the page says, word for word; the numbers in it."""
FIGURES = (
    "the one that will play", "has just played an accent", "one hand has many", "one deck for",
    "two levels where the music wants four", "is one motion", "is one push", "one line rather",
    "losing it", "come out on one",
)  # fmt: skip
"""What has a number in it and counts nothing."""
NUMBERS = (
    "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve", "thirteen", "fourteen", "fifteen",
)  # fmt: skip


def section(name: str) -> str:
    """Return what the page on courses says of a deck, without its first line."""
    text = COURSES.partition(f"\n## {name}\n")[2].partition("\n## ")[0]
    return " ".join(text.partition("**Asks for**")[2].partition(".")[2].split())


@pytest.mark.parametrize("name", NAMES)
def test_what_a_deck_promises_is_there(name: str) -> None:
    """Every promise is made, kept, and no number in words stands outside of one."""
    deck = decks()[name]
    told = " ".join(deck.about.split()) + " " + section(name)
    left = told
    for figure in FIGURES:
        left = left.replace(figure, "")
    for promise, kept in PROMISES.get(name, {}).items():
        assert promise in told, promise
        assert kept(deck), promise
        left = left.replace(promise, "")

    assert [] == [word for word in re.findall(r"[a-z]+", left.lower()) if word in NUMBERS], left
