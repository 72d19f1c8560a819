"""Rudiments of the Percussive Arts Society's list of 40.

As facts of the trade that the notation and the motions must give.

Numbers and names are those of the list (1984). The sticking of the single paradiddle was looked up;
every other sticking, accent and count of strokes is from memory. Motions follow from the four basic
strokes, by stick height: a stroke before a higher one of the same hand goes up, before a lower one
down (common practice, no source).
"""

from __future__ import annotations

from typing import NamedTuple

import pytest

from drillbox.rhythm import Hand, Pattern, mirrored, movement, parse


class Rudiment(NamedTuple):
    """A rudiment, to be played over and over.

    `blows` are all sticks coming down, graces as small letters, doubles counted out; `motions` one
    letter for each written stroke: full, down, tap, up; empty where no motion is claimed.
    """

    number: int
    name: str
    text: str
    strokes: int
    blows: str
    motions: str = ""


RUDIMENTS = [
    Rudiment(1, "single stroke roll", "2/4 16: beat e & a", 8, "RLRLRLRL", "FFFFFFFF"),
    Rudiment(2, "single stroke four", "2/4 8t: 1 1t 1l 2", 4, "RLRL"),
    Rudiment(3, "single stroke seven", "2/4 16t: 1 1t 1l 1& 1&t 1&l 2", 7, "RLRLRLR"),
    Rudiment(6, "double stroke open roll", "2/4 8: /beat /&", 8, "RRLLRRLL", "FFFF"),
    Rudiment(7, "five stroke roll", "2/4 8: /1 /1& >2", 5, "RRLLR"),
    Rudiment(8, "six stroke roll", "2/4 16: >1 /1e /1& >1a", 6, "RLLRRL"),
    Rudiment(9, "seven stroke roll", "2/4 16: /1 /1e /1& >1a", 7, "RRLLRRL"),
    Rudiment(10, "nine stroke roll", "2/4 16: /1 /1e /1& /1a >2", 9, "RRLLRRLLR"),
    Rudiment(11, "ten stroke roll", "2/4 16: /1 /1e /1& /1a >2 >2e", 10, "RRLLRRLLRL"),
    Rudiment(12, "eleven stroke roll", "2/4 16: /1 /1e /1& /1a /2 >2e", 11, "RRLLRRLLRRL"),
    Rudiment(
        13, "thirteen stroke roll", "2/4 16t: /1 /1t /1l /1& /1&t /1&l >2", 13, "RRLL" * 3 + "R"
    ),
    Rudiment(
        14, "fifteen stroke roll", "2/4 16: /beat /1e /1& /1a /2e /2& >2a", 15, "RRLL" * 3 + "RRL"
    ),
    Rudiment(
        15,
        "seventeen stroke roll",
        "3/4 16: /1 /1e /1& /1a /2 /2e /2& /2a >3",
        17,
        "RRLL" * 4 + "R",
    ),
    Rudiment(
        16,
        "single paradiddle",
        "2/4 16: >R1 L1e R1& R1a >L2 R2e L2& L2a",
        8,
        "RLRRLRLL",
        "DUTTDUTT",
    ),
    Rudiment(
        17,
        "double paradiddle",
        "6/8 16: >R1 L1& R2 L2& R3 R3& >L4 R4& L5 R5& L6 L6&",
        12,
        "RLRLRRLRLRLL",
        "DTTUTTDTTUTT",
    ),
    Rudiment(
        18,
        "triple paradiddle",
        "4/4 16: >R1 L1e R1& L1a R2 L2e R2& R2a >L3 R3e L3& R3a L4 R4e L4& L4a",
        16,
        "RLRLRLRRLRLRLRLL",
        "DTTTTUTTDTTTTUTT",
    ),
    Rudiment(
        19, "single paradiddle-diddle", "3/8 16: >R1 L1& R2 R2& L3 L3&", 6, "RLRRLL", "DTTUTT"
    ),
    Rudiment(20, "flam", "2/4 8: fbeat", 4, "lRrL", "DD"),
    Rudiment(21, "flam accent", "2/4 8t: >fbeat t l", 8, "lRLRrLRL", "DUTDUT"),
    Rudiment(22, "flam tap", "2/4 8: >fR1 R1& >fL2 L2&", 6, "lRRrLL", "DTDT"),
    Rudiment(23, "flamacue", "2/4 16: f1 >1e 1& 1a f2", 7, "lRLRLlR"),
    Rudiment(
        24,
        "flam paradiddle",
        "2/4 16: >fR1 L1e R1& R1a >fL2 R2e L2& L2a",
        10,
        "lRLRRrLRLL",
        "DUTTDUTT",
    ),
    Rudiment(
        25,
        "single flammed mill",
        "2/4 16: >fR1 R1e L1& R1a >fL2 L2e R2& L2a",
        10,
        "lRRLRrLLRL",
        "DTUTDTUT",
    ),
    Rudiment(
        26,
        "flam paradiddle-diddle",
        "6/8 16: >fR1 L1& R2 R2& L3 L3& >fL4 R4& L5 L5& R6 R6&",
        14,
        "lRLRRLLrLRLLRR",
        "DTTTTUDTTTTU",
    ),
    Rudiment(27, "pataflafla", "1/4 16: >f1 1e 1& >f1a", 6, "lRLRrL"),
    Rudiment(
        28, "Swiss army triplet", "2/4 8t: >fR1 R1t L1l >fR2 R2t L2l", 8, "lRRLlRRL", "DUTDUT"
    ),
    Rudiment(29, "inverted flam tap", "2/4 8: >fR1 L1& >fL2 R2&", 6, "lRLrLR", "DUDU"),
    Rudiment(31, "drag", "2/4 8: dbeat", 6, "llRrrL", "DD"),
    Rudiment(32, "single drag tap", "2/4 8: dR1 >L1& dL2 >R2&", 8, "llRLrrLR"),
    Rudiment(33, "double drag tap", "6/8 8: dR1 dR2 >L3 dL4 dL5 >R6", 14, "llRllRLrrLrrLR"),
    Rudiment(
        35, "single dragadiddle", "2/4 16: >/R1 L1e R1& R1a >/L2 R2e L2& L2a", 10, "RRLRRLLRLL"
    ),
    Rudiment(36, "drag paradiddle 1", "6/8 8: >R1 dR2 L3 R4 R5", 7, "RllRLRR"),
    Rudiment(38, "single ratamacue", "2/4 8t: d1 1t 1l >2", 6, "llRLRL"),
]


def pattern_of(rudiment: Rudiment) -> Pattern:
    """Return the rudiment on the snare."""
    head, _, tokens = rudiment.text.partition(":")
    meter, grid = head.split()
    return parse(f"meter: {meter}\ngrid: {grid}\nsnare:{tokens}")


@pytest.fixture(params=RUDIMENTS, ids=lambda rudiment: rudiment.name, name="rudiment")
def every_rudiment(request: pytest.FixtureRequest) -> Rudiment:
    """Return each rudiment in turn."""
    found: Rudiment = request.param
    return found


def test_strokes_hands_and_order(rudiment: Rudiment) -> None:
    """As many sticks come down as the rudiment's name says, in its order, from its hands."""
    blows = movement(pattern_of(rudiment)).blows
    shown = "".join(blow.hand.lower() if blow.grace else str(blow.hand) for blow in blows)

    assert rudiment.strokes == len(blows)
    assert rudiment.blows == shown


@pytest.mark.parametrize(
    "rudiment", [r for r in RUDIMENTS if r.motions], ids=lambda rudiment: rudiment.name
)
def test_motions(rudiment: Rudiment) -> None:
    """Full, down, tap, up.

    The paradiddle's down up tap tap, the flam tap's down tap, and the others.
    """
    motions = movement(pattern_of(rudiment)).of_strokes

    assert rudiment.motions == "".join(motion.sign if motion else "." for motion in motions)


def test_graces_of_flams_go_up_and_their_mains_come_down() -> None:
    """A flam is a low stroke and a high one.

    Where flams alternate, each hand's low one rises to its next high one.
    """
    blows = movement(parse("meter: 2/4\nsnare: fbeat")).blows

    assert ["up", "down", "up", "down"] == [blow.motion.value for blow in blows]


def test_a_left_handed_player_has_the_mirror_image(rudiment: Rudiment) -> None:
    """Mirrored and led by the left, every stick is the other one and every motion is the same."""
    pattern = pattern_of(rudiment)
    right, left = movement(pattern), movement(mirrored(pattern), leading=Hand.LEFT)

    assert [blow.hand.other for blow in right.blows] == [blow.hand for blow in left.blows]
    assert right.of_strokes == left.of_strokes


def test_at_least_twenty_of_the_forty() -> None:
    """Enough of the list is covered to speak of it; no number comes twice."""
    numbers = [rudiment.number for rudiment in RUDIMENTS]

    assert 20 <= len(set(numbers)) == len(numbers)
    assert set(numbers) <= set(range(1, 41))
