"""What the starter decks say in words is what their cards play.

A vocabulary of claims: what a title or a note says of one card, and what an about or the page on
courses says of a whole deck. Each is held against the strokes. A number in words that stands in no
claim is an error, so that nobody counts wrong in a new sentence.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from drillbox.deckfile import read_starter_decks
from drillbox.rhythm import (
    BASS_LINES,
    Hand,
    Level,
    Ornament,
    Voice,
    bounces,
    hands,
    strikes,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.deckfile import Card, Deck
    from drillbox.rhythm import Stroke

DECKS = {deck.id: deck for deck in read_starter_decks()}
COURSES = (Path(__file__).parents[2] / "docs" / "courses.md").read_text(encoding="utf-8")
LOUD, GHOST, TAP = Level.ACCENT, Level.GHOST, Level.TAP


def ghosts(card: Card) -> list[Stroke]:
    """Return a card's ghosts."""
    return [s for s in card.pattern.strokes if s.level is GHOST]


def accents(card: Card) -> list[Stroke]:
    """Return a card's accents."""
    return [s for s in card.pattern.strokes if s.level is LOUD]


def at(card: Card, voice: Voice) -> set[Fraction]:
    """Return where a voice is struck."""
    return {s.at for s in card.pattern.strokes if s.voice is voice}


def levels(card: Card) -> set[Level]:
    """Return the levels of a card."""
    return {s.level for s in card.pattern.strokes}


def even(card: Card) -> bool:
    """Whether strokes follow each other without a gap, each as long as the next."""
    places = [s.at for s in card.pattern.strokes]
    return 1 == len({b - a for a, b in pairwise([*places, Fraction(card.pattern.beats)])})


def sounds_even(card: Card) -> bool:
    """Whether everything that sounds, doubles among it, comes at one distance."""
    places = [strike.at for strike in strikes(card.pattern)]
    return 1 == len({b - a for a, b in pairwise([*places, Fraction(card.pattern.beats)])})


def hand_to_hand(card: Card) -> bool:
    """Whether no hand strikes twice in a row.

    In a fill after the last cymbal; where one hand keeps time, whether ghosts and hat take turns.
    """
    if card.family.startswith("fills"):
        mine = [hand for stroke, hand in by_hand(card) if stroke.at in fill_of(card)]
        return all(a is not b for a, b in pairwise(mine))
    if at(card, Voice.HAT) and not any(s.hand for s in card.pattern.strokes):
        return not {s.at for s in ghosts(card)} & at(card, Voice.HAT)
    order = [hand for _, hand in dict.fromkeys((s.at, hand) for s, hand in by_hand(card))]
    return all(a is not b for a, b in pairwise(order))


def by_hand(card: Card) -> list[tuple[Stroke, Hand]]:
    """Return strokes with their hands."""
    found = zip(card.pattern.strokes, hands(card.pattern), strict=True)
    return [(stroke, hand) for stroke, hand in found if hand is not None]


def filled(card: Card) -> bool:
    """Whether hat and drums together leave no partial empty."""
    struck = {s.at for s in card.pattern.strokes if not s.voice.is_foot}
    return len(struck) == sum(card.pattern.grids)


def beside(card: Card, gap: Fraction) -> bool:
    """Whether every backbeat has a ghost within a gap before it or after it, on both sides."""
    places = {s.at for s in ghosts(card)}
    end = card.pattern.beats
    backbeats = {s.at for s in accents(card)}
    near = [
        (any((b - p) % end <= gap for p in places), any((p - b) % end <= gap for p in places))
        for b in backbeats
    ]
    return all(before and after for before, after in near)


def gapless(card: Card) -> bool:
    """Whether the buzzes reach each other at the goal.

    From the last bounce to the next push is no more than twice the widest gap inside a buzz.
    """
    seconds = Fraction(60) / Fraction(card.goal_bpm)
    pushes = strikes(card.pattern)
    gaps = []
    for push in pushes:
        inside = bounces(push.length * seconds)
        gaps.append(push.length * seconds - inside[-1].after)
    return even(card) and max(gaps) <= 2 * inside[0].after


def groups_met(card: Card) -> bool:
    """Whether a ghost of an even grouping would fall on a backbeat."""
    places = sorted(s.at for s in ghosts(card))
    gap = min(b - a for a, b in pairwise(places))
    wanted = {n * gap for n in range(int(card.pattern.beats / gap) + 1)}
    return bool(wanted & {s.at for s in accents(card)})


def accent_gap(card: Card) -> Fraction:
    """Return the distance of a card's first two accents."""
    first, second = (s.at for s in accents(card)[:2])
    return second - first


CLAIMS: dict[str, Callable[[Card], bool]] = {
    "double stroke roll": lambda c: (
        even(c) and all(s.ornament is Ornament.DOUBLE for s in c.pattern.strokes)
    ),
    "roll in sixteenths": lambda c: sounds_even(c) and strikes(c.pattern)[1].at == Fraction(1, 4),
    "roll in thirty-seconds": lambda c: (
        sounds_even(c) and strikes(c.pattern)[1].at == Fraction(1, 8)
    ),
    "r r l l in sixteenths": lambda c: (
        "RRLL" == "".join(str(strike.hand) for strike in strikes(c.pattern)[:4])
    ),
    "buzz roll": lambda c: even(c) and all(s.ornament is Ornament.BUZZ for s in c.pattern.strokes),
    "no gap": gapless,
    "all taps": lambda c: even(c) and levels(c) == {TAP},
    "all ghosts": lambda c: even(c) and levels(c) == {GHOST},
    ", all accents": lambda c: even(c) and levels(c) == {LOUD},
    "hand to hand": hand_to_hand,
    "one hand, all sixteenths": lambda c: (
        at(c, Voice.HAT) == {Fraction(n, 4) for n in range(c.pattern.beats * 4)}
    ),
    "one hand plays every": lambda c: len(at(c, Voice.SNARE)) == sum(c.pattern.grids),
    "rises twice a bar": lambda c: len(accents(c)) == 2 * c.pattern.bars,
    "no two limbs": lambda c: len({s.at for s in c.pattern.strokes}) == len(c.pattern.strokes),
    "nothing together": lambda c: len({s.at for s in c.pattern.strokes}) == len(c.pattern.strokes),
    "linear": lambda c: len({s.at for s in c.pattern.strokes}) == len(c.pattern.strokes),
    "one ghost a bar": lambda c: len(ghosts(c)) == c.pattern.bars,
    "one ghost in the bar": lambda c: len(ghosts(c)) == 1,
    "two ghosts on one beat": lambda c: (
        2 == len(ghosts(c)) and 1 == len({int(s.at) for s in ghosts(c)})
    ),
    "two ghosts, one on each side": lambda c: 2 == len(ghosts(c)),
    "one double in the bar": lambda c: 1 == len(ghosts(c)) == dressed(c, Ornament.DOUBLE),
    "one buzz in the bar": lambda c: 1 == len(ghosts(c)) == dressed(c, Ornament.BUZZ),
    "one flam in the bar": lambda c: 1 == len(ghosts(c)) == dressed(c, Ornament.FLAM),
    "one drag in the bar": lambda c: 1 == len(ghosts(c)) == dressed(c, Ornament.DRAG),
    "one accent, seven taps": lambda c: (
        7 * len(accents(c)) == sum(s.level is TAP for s in c.pattern.strokes)
    ),
    "both sides of the backbeat": lambda c: beside(c, Fraction(3, 4)),
    "before and after the backbeat": lambda c: beside(c, Fraction(1, 4)),
    "round the bass": lambda c: {s.at % 2 for s in ghosts(c)} == {Fraction(1, 4), Fraction(7, 4)},
    "together with the bass": lambda c: {s.at for s in ghosts(c)} <= at(c, Voice.BASS),
    "together with the hat": lambda c: {s.at for s in ghosts(c)} <= at(c, Voice.HAT),
    "the ghosts are with the hat": lambda c: {s.at for s in ghosts(c)} <= at(c, Voice.HAT),
    "the ghosts alone say that this is in three": lambda c: (
        any(s.at.denominator == 3 for s in ghosts(c))
        and not any(x.denominator == 3 for x in at(c, Voice.HAT) | at(c, Voice.BASS))
    ),
    "fills all sixteenths": filled,
    "fills the sixteenths": filled,
    "fills the triplet": filled,
    "no ghost meets a backbeat": lambda c: not groups_met(c),
    "the backbeat wins where the two meet": groups_met,
    "the second bar cuts the last group short": lambda c: (
        c.pattern.bars == 2 and (8 / accent_gap(c)).denominator != 1
    ),
    "the bar cuts the last group short": lambda c: (
        c.pattern.bars == 1 and (4 / accent_gap(c)).denominator != 1
    ),
    "all the way round": lambda c: (c.pattern.beats / accent_gap(c)).denominator == 1,
    "the beat changes hands": lambda c: changes_hands(c, {s.at for s, _ in by_hand(c)}),
    "accent changes hands": lambda c: changes_hands(c, {s.at for s in accents(c)}),
    "the same hand on every beat": lambda c: (
        1 == len({hand for stroke, hand in by_hand(c) if stroke.at.denominator == 1})
    ),
    "all of it in the right hand": lambda c: (
        {Hand.RIGHT} == {hand for stroke, hand in by_hand(c) if stroke.voice is Voice.SNARE}
    ),
    "the very next stroke": lambda c: next_of_open(c) <= at(c, Voice.HAT),
    "barks": lambda c: next_of_open(c) == at(c, Voice.PEDAL),
    "the backbeat takes the place of the foot": lambda c: (
        not {s.at for s in accents(c)} & at(c, Voice.BASS)
    ),
}


def dressed(card: Card, ornament: Ornament) -> int:
    """Return how many strokes have an ornament."""
    return sum(s.ornament is ornament for s in card.pattern.strokes)


def changes_hands(card: Card, places: set[Fraction]) -> bool:
    """Whether the strokes on beats among some places, or all of them, go from hand to hand."""
    whole = {place for place in places if place.denominator == 1} or places
    order = [hand for stroke, hand in by_hand(card) if stroke.at in whole]
    return all(a is not b for a, b in pairwise(order))


def next_of_open(card: Card) -> set[Fraction]:
    """Return where the strokes of hat or pedal are that come after an open hat."""
    line = [s for s in card.pattern.strokes if s.voice in (Voice.HAT, Voice.PEDAL)]
    return {
        after.at
        for stroke, after in zip(line, [*line[1:], *line[:1]], strict=True)
        if stroke.ornament is Ornament.OPEN
    }


def test_what_titles_and_notes_say_is_what_sounds() -> None:
    """Each claim holds for every card that makes it, and some card makes it."""
    seen = set()
    for deck in DECKS.values():
        for card in deck.cards:
            told = f"{card.title}. {card.note}".lower()
            for claim, holds in CLAIMS.items():
                if claim in told:
                    seen.add(claim)
                    assert holds(card), (deck.id, card.slug, claim)

    assert set(CLAIMS) == seen


@pytest.mark.parametrize(
    ("word", "beat"), [("before the backbeats", "1 3"), ("after the backbeats", "2 4")]
)
def test_before_and_after_are_where_they_say(word: str, beat: str) -> None:
    """Families before the backbeats ghost on one and three, those after on two and four, only."""
    for name in ("sixteenth-ghosts", "triplet-ghosts"):
        cards = [card for card in DECKS[name].cards if card.family == word]
        assert cards
        for card in cards:
            assert {int(s.at) + 1 for s in ghosts(card)} == {int(number) for number in beat.split()}


def test_paradiddles_go_as_their_notes_spell_them() -> None:
    """R L R R and its kin: the letters at the head of a note are the hands of the card."""
    for card in DECKS["rudiments"].cards:
        if spelled := re.match(r"([RL] ){3,}[RL]\b(, ([RL] ){3}[RL]\b)?", card.note):
            letters = re.sub(r"[ ,]", "", spelled[0])
            assert "".join(str(s.hand) for s in strikes(card.pattern) if s.hand).startswith(letters)


def family(deck: Deck, *names: str) -> list[Card]:
    """Return the cards of some families."""
    found = [card for card in deck.cards if card.family in names]
    assert found, names
    return found


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
    alone = [c for c in deck.cards if dressed(c, Ornament.OPEN) == 1]
    opened = {s.at * 2 for c in alone for s in c.pattern.strokes if s.ornament is Ornament.OPEN}
    return opened == {0, 1, 3, 4, 5, 7}


def fill_of(card: Card) -> set[Fraction]:
    """Return where drums are struck after the last cymbal."""
    last = max(s.at for s in card.pattern.strokes if s.voice.is_cymbal)
    return {s.at for s in card.pattern.strokes if s.at > last and not s.voice.is_foot}


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
    "losing it", "come out on one", "lead back to one",
)  # fmt: skip
"""What has a number in it and counts nothing."""
NUMBERS = [
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
]


def section(name: str) -> str:
    """Return what the page on courses says of a deck, without its first line."""
    text = COURSES.partition(f"\n## {name}\n")[2].partition("\n## ")[0]
    return " ".join(text.partition("**Asks for**")[2].partition(".")[2].split())


@pytest.mark.parametrize("name", DECKS)
def test_what_a_deck_promises_is_there(name: str) -> None:
    """Every promise is made, kept, and no number in words stands outside of one."""
    deck = DECKS[name]
    told = " ".join(deck.about.split()) + " " + section(name)
    left = told
    for figure in FIGURES:
        left = left.replace(figure, "")
    for promise, kept in PROMISES.get(name, {}).items():
        assert promise in told, promise
        assert kept(deck), promise
        left = left.replace(promise, "")

    assert [] == [word for word in re.findall(r"[a-z]+", left.lower()) if word in NUMBERS], left
