"""What each family of the starter decks promises, counted: complete, and in a teacher's order.

Outside checks: the non-empty sets of n partials are 2^n - 1 (elementary combinatorics), and of
three places filled with three voices so many have two given ones: 3^3 - 2 * 2^3 + 1 = 12
(inclusion and exclusion).
"""

from __future__ import annotations

from itertools import combinations, product
from typing import TYPE_CHECKING

import pytest
from starters import decks

from drillbox.rhythm import (
    BASS_LINES,
    NAMED,
    TIME_LINES,
    Level,
    Ornament,
    Voice,
    fingerprint,
    overlay,
    parse,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from drillbox.deckfile import Card, Deck

ROCK = "hat: beat &\nsnare: >2 >4\nbass: 1 3"
SHUFFLE = "grid: 8t\nhat: beat l\nsnare: >2 >4\nbass: 1 3"
QUARTERS = "hat: beat\nsnare: >2 >4\nbass: 1 3"
SIXTEENTHS, TRIPLETS = ("beat", "e", "&", "a"), ("beat", "t", "l")


def ids(deck: Deck) -> set[str]:
    """Return the rhythms of a deck."""
    return {card.card_id for card in deck.cards}


def sets(partials: Iterable[str], most: int = 9) -> list[tuple[str, ...]]:
    """Return all non-empty sets of some partials."""
    partials = tuple(partials)
    return [c for n in range(1, min(most, len(partials)) + 1) for c in combinations(partials, n)]


def ghosted(groove: str, places: Iterable[str], *, sign: str = "") -> str:
    """Return the rhythm of ghosts at places, over a groove."""
    grid = "".join(line + "\n" for line in groove.splitlines() if line.startswith("grid"))
    ghosts = " ".join(f"({sign}{place})" for place in places)
    return fingerprint(overlay(parse(groove), parse(f"{grid}snare: {ghosts}")))


def on(beats: str, syllables: Iterable[str]) -> list[str]:
    """Return places: each syllable on each of some beats."""
    return [f"{beat}{'' if s == 'beat' else s}" for beat in beats.split() for s in syllables]


@pytest.mark.parametrize(
    ("deck", "groove", "partials"),
    [
        ("sixteenth-ghosts", ROCK, SIXTEENTHS),
        ("triplet-ghosts", SHUFFLE, TRIPLETS),
        ("triplet-ghosts", "grid: 8t\n" + QUARTERS, TRIPLETS),
        ("doubles", ROCK, SIXTEENTHS),
        ("buzzes", ROCK, SIXTEENTHS),
        ("sixteenth-triplet-ghosts", "grid: 16t\n" + ROCK, ("beat", "t", "l", "&", "&t", "&l")),
    ],
)
def test_every_set_on_every_beat(deck: str, groove: str, partials: tuple[str, ...]) -> None:
    """All 2^n - 1; of sixteenth triplets those of one to four, for more is a stream of one hand."""
    most = 4 if len(partials) == 6 else 9
    wanted = {ghosted(groove, chosen) for chosen in sets(partials, most)}

    assert {3: 7, 4: 15, 6: 56}[len(partials)] == len(wanted)
    assert wanted <= ids(decks()[deck])


@pytest.mark.parametrize(
    ("deck", "groove", "partials"),
    [("sixteenth-ghosts", ROCK, SIXTEENTHS), ("triplet-ghosts", SHUFFLE, TRIPLETS)],
)
def test_every_place_by_itself_and_every_set_round_the_backbeats(
    deck: str, groove: str, partials: tuple[str, ...]
) -> None:
    """One ghost in each place but the backbeats; each set after one and three, and two and four."""
    places = [place for place in on("1 2 3 4", partials) if place not in ("2", "4")]
    alone = {ghosted(groove, [place]) for place in places}
    beside = {
        ghosted(groove, on(beats, chosen))
        for beats in ("1 3", "2 4")
        for chosen in sets(partials[1:])
    }

    assert 4 * len(partials) - 2 == len(alone)
    assert 2 * (2 ** (len(partials) - 1) - 1) == len(beside)
    assert alone | beside <= ids(decks()[deck])


def test_every_sixteenth_triplet_by_itself() -> None:
    """Each place of each beat, but the backbeats; nothing but those is left out of the deck."""
    deck = decks()["sixteenth-triplet-ghosts"]
    places = on("1 2 3 4", ("beat", "t", "l", "&", "&t", "&l"))
    groove = "grid: 16t\n" + ROCK

    assert {ghosted(groove, [p]) for p in places if p not in ("2", "4")} <= ids(deck)
    assert {"one-p1-on-2", "one-p1-on-4"} == {left.slug for left in deck.left_out}


@pytest.mark.parametrize(
    ("grid", "partials", "most"),
    [("16", SIXTEENTHS, 9), ("8t", TRIPLETS, 9), ("16t", ("beat", "t", "l", "&", "&t", "&l"), 2)],
)
def test_accents_in_every_place_of_a_stream(
    grid: str, partials: tuple[str, ...], most: int
) -> None:
    """All sets of accents over taps, singles before pairs, the beat before the places off it."""
    cards = decks()["accents-and-taps"].cards
    stream = {"16": "sixteenths", "8t": "triplets", "16t": "sixteenth triplets"}[grid]
    mine = [card for card in cards if card.family == f"accents in {stream}"]
    sizes = [accents(card) for card in mine]

    assert len(sets(partials, most)) == len(mine)
    assert sorted(sizes) == sizes
    assert "accents on every beat" in mine[0].title


def accents(card: Card) -> int:
    """Return how many places of the beat have accents."""
    return len({s.at % 1 for s in card.pattern.strokes if s.level is Level.ACCENT})


def test_the_first_cards_are_the_simplest() -> None:
    """A player on a pad meets quarters, eighths, then taps in sixteenths and single accents.

    A paradiddle comes after those.
    """
    names = [card.slug for card in decks()["accents-and-taps"].cards]

    assert ["quarters", "eighths", "sixteenths"] == names[:3]
    assert names.index("sixteenth-beat") < names.index("paradiddle")
    assert names.index("sixteenth-e") < names.index("paradiddle")


@pytest.mark.parametrize(
    ("name", "ornament", "sign"), [("flams", Ornament.FLAM, "f"), ("drags", Ornament.DRAG, "d")]
)
def test_ghosted_flams_and_drags(name: str, ornament: Ornament, sign: str) -> None:
    """Every set of e, & and a between quarters, with the grace; none where the hat is struck."""
    deck = decks()["flams-and-drags"]
    wanted = {ghosted(QUARTERS, chosen, sign=sign) for chosen in sets(("e", "&", "a"))}

    assert name
    assert 7 == len(wanted)
    assert wanted <= ids(deck)
    for card in deck.cards:
        struck = {s.at for s in card.pattern.strokes if s.voice.is_cymbal}
        graced = {s.at for s in card.pattern.strokes if s.ornament is ornament}
        assert not struck & graced


def test_the_same_ghosts_over_every_bass_line() -> None:
    """Lines times sets, each line by itself first."""
    deck = decks()["ghosts-over-bass"]
    chosen = [("e",), ("a",), ("&",), ("e", "a"), ("e", "&"), ("&", "a")]
    wanted = set()
    for line in BASS_LINES["16"].values():
        groove = f"hat: beat &\nsnare: >2 >4\nbass: {line}"
        wanted |= {fingerprint(parse(groove)), *(ghosted(groove, places) for places in chosen)}

    assert 9 * (1 + 6) == len(wanted)
    assert wanted <= ids(deck)
    cards = {card.slug: card for card in deck.cards}
    assert {"sixteenth-e-pick-up", "sixteenth-a-pick-up", "sixteenth-bare-pick-up"} <= set(
        cards["sixteenth-e-a-pick-up"].after
    )


def test_the_same_ghosts_under_every_time_line() -> None:
    """Lines times sets, each line by itself first."""
    wanted = set()
    for lines in TIME_LINES.values():
        text = "".join(f"{voice}: {line}\n" for voice, line in lines.items())
        groove = f"{text}snare: >2 >4\nbass: 1 3"
        wanted |= {fingerprint(parse(groove))}
        wanted |= {ghosted(groove, places) for places in (("e",), ("a",), ("e", "a"))}

    assert 4 * len(TIME_LINES) == len(wanted)
    assert wanted <= ids(decks()["time-hand"])


def test_a_fill_of_one_beat_in_every_set() -> None:
    """All fifteen, and every one leads back to a crash on one."""
    fills = [card for card in decks()["across-the-kit"].cards if card.family == "fills of one beat"]
    found = {frozenset(s.at for s in c.pattern.strokes if s.at >= 3) for c in fills}

    assert 15 == len(found)
    for card in fills:
        assert Voice.CRASH in {s.voice for s in card.pattern.strokes if s.at == 0}


def test_every_linear_cell_that_begins_with_the_bass() -> None:
    """Twelve cells of four have the hat and a ghost in them; nothing is struck together."""
    deck = decks()["linear"]
    cells = [c for c in product("hgb", repeat=3) if "h" in c and "g" in c]
    voices = {"h": "hat", "g": "snare", "b": "bass"}
    wanted = set()
    for cell in cells:
        placed: dict[str, list[str]] = {"bass": ["beat"]}
        for letter, syllable in zip(cell, ("e", "&", "a"), strict=True):
            text = f"({syllable})" if letter == "g" else syllable
            placed.setdefault(voices[letter], []).append(text)
        wanted.add(fingerprint(parse("\n".join(f"{v}: {' '.join(p)}" for v, p in placed.items()))))

    assert 3**3 - 2 * 2**3 + 1 == 12 == len(wanted)
    assert wanted <= ids(deck)
    for card in deck.cards:
        places = [stroke.at for stroke in card.pattern.strokes]
        assert len(places) == len(set(places))
        assert any(s.voice is Voice.BASS and s.at == 0 for s in card.pattern.strokes)


@pytest.mark.parametrize("gap", [3, 5, 7])
def test_odd_groupings_go_all_the_way_round(gap: int) -> None:
    """The full turn has as many bars as the group has sixteenths."""
    cards = {card.slug: card for card in decks()["odd-groupings"].cards}
    turn = cards[f"acc-{gap}-{gap}"].pattern
    places = [s.at * 4 for s in turn.strokes if s.level is Level.ACCENT]

    assert gap == turn.bars
    assert list(range(0, 16 * gap, gap)) == places


def test_four_levels_in_three_streams() -> None:
    """Each stream at each level, and what goes through all of them."""
    deck = decks()["levels"]
    one = [card for card in deck.cards if card.family == "one level"]

    assert 3 * 4 == len(one)
    for card in deck.cards:
        found = {stroke.level for stroke in card.pattern.strokes}
        assert {"one level": 1, "two levels": 2, "swells and fades": 4}[card.family] == len(found)


def test_the_rudiments_are_the_named_ones() -> None:
    """Every rhythm on a pad in the deck has its name from the list."""
    pad = [
        card
        for card in decks()["rudiments"].cards
        if not any(s.voice.is_foot or s.voice.is_cymbal for s in card.pattern.strokes)
    ]

    assert 26 <= len(pad)
    assert {card.title for card in pad} <= set(NAMED.values())


@pytest.mark.parametrize("share", ["3:2", "2:1"])
def test_swung_cards_have_something_to_swing(share: str) -> None:
    """Their ghosts or their bass stand where the ratio is heard: on an e or an a."""
    swung = [
        card
        for card in decks()["swung-sixteenths"].cards
        if card.pattern.swing and card.pattern.swing.ratio == share
    ]

    assert 16 == len(swung)
    for card in swung:
        assert any((stroke.at % 1).denominator == 4 for stroke in card.pattern.strokes)
