"""What titles and notes of the starter decks say in words is what their cards play.

A vocabulary of claims, each held against the strokes of every card that makes it.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from claims_kit import accent_gap, accents, at, by_hand, embellished, fill_of, ghosts, levels
from starters import decks

from drillbox.rhythm import (
    Hand,
    Level,
    Ornament,
    Voice,
    bounces,
    strikes,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from drillbox.deckfile import Card

LOUD, GHOST, TAP = Level.ACCENT, Level.GHOST, Level.TAP


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


def down_the_kit(card: Card) -> bool:
    """Whether a fill goes from snare to tom to floor and never back; no arm crosses the other.

    Arms cross where the left hand goes on to the next drum while the right one stays (fact of the
    trade, no source): right-handed, snare, tom and floor stand from left to right.
    """
    mine = [(stroke.voice, hand) for stroke, hand in by_hand(card) if stroke.at in fill_of(card)]
    order = [(Voice.SNARE, Voice.TOM, Voice.FLOOR).index(voice) for voice, _ in mine]
    moves = [b[1] for a, b in pairwise(mine) if a[0] is not b[0]]
    return bool(moves) and sorted(order) == order and (len(mine) < 4 or {*moves} == {Hand.RIGHT})


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
    "down the kit": down_the_kit,
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
    "one double in the bar": lambda c: 1 == len(ghosts(c)) == embellished(c, Ornament.DOUBLE),
    "one buzz in the bar": lambda c: 1 == len(ghosts(c)) == embellished(c, Ornament.BUZZ),
    "one flam in the bar": lambda c: 1 == len(ghosts(c)) == embellished(c, Ornament.FLAM),
    "one drag in the bar": lambda c: 1 == len(ghosts(c)) == embellished(c, Ornament.DRAG),
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
    for deck in decks().values():
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
        cards = [card for card in decks()[name].cards if card.family == word]
        assert cards
        for card in cards:
            assert {int(s.at) + 1 for s in ghosts(card)} == {int(number) for number in beat.split()}


def test_paradiddles_go_as_their_notes_spell_them() -> None:
    """R L R R and its kin: the letters at the head of a note are the hands of the card."""
    for card in decks()["rudiments"].cards:
        if spelled := re.match(r"([RL] ){3,}[RL]\b(, ([RL] ){3}[RL]\b)?", card.note):
            letters = re.sub(r"[ ,]", "", spelled[0])
            assert "".join(str(s.hand) for s in strikes(card.pattern) if s.hand).startswith(letters)
