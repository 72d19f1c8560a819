"""Titles read aloud: each says what is played, and of a groove what nobody would assume."""

from __future__ import annotations

import pytest

from drillbox.rhythm import MAX_TITLE, parse, title

SAID = {
    "snare: beat & _e (a)": "sixteenths, ghosts on 1a 2a 3a 4a, taps on…",
    "snare: >1 _2 (3) >4 _1& _2& _3& _4&": "eighths, ghosts on 3, taps on 1& 2 2& 3&…",
    "snare: beat >& _e (a)": "sixteenths, ghosts on 1a 2a 3a 4a, taps on…",
    "snare: >1 2 3 4": "accents on 1, plain quarters",
    "snare: >1 >2 3 4": "accents on 1 and 2, plain quarters",
    "snare: (1) 2": "ghost on 1, stroke on 2",
    "snare: (1) (2) 3a": "ghosts on 1 and 2, stroke on a of 3",
    "snare: 1\ntom: 2": "stroke on 1, stroke on 2 on tom",
    "snare: (/1) (/2)": "ghosts on 1 and 2, doubled",
    "snare: (/1) (2)": "ghosts on 1 and 2, 1 doubled",
    "snare: (/1) (z2)": "ghosts on 1 and 2, 1 doubled, 2 buzzed",
    "snare: >beat >e >& >a | beat e & a": "sixteenths, accent then plain by bars",
    (
        "snare: >1 >1e >1& >1a >2 >2e >2& >2a (3) (3e) (3&) (3a) (4) (4e) (4&) (4a)"
    ): "sixteenths, accent then ghost by half bars",
    (
        "snare: >1 >1e >1& >1a _2 _2e _2& _2a 3 3e 3& 3a (4) (4e) (4&) (4a)"
    ): "sixteenths, accent then tap then plain…",
    (
        "snare: (1) (1e) (1&) (1a) _2 _2e _2& _2a 3 3e 3& 3a >4 >4e >4& >4a"
    ): "sixteenths, ghost to accent by beats",
    "grid: 8t\nsnare: beat t l": "triplets, all plain",
    "grid: 16t\nsnare: beat t l & &t &l": "sixteenth triplets, all plain",
    "snare: /beat /e /& /a": "double stroke roll in thirty-seconds",
    "snare: zbeat z&": "buzz roll, hands in eighths",
    "snare: beat": "quarters, all plain",
    "snare: beat &": "eighths, all plain",
    "snare: Rbeat Re R& Ra": "sixteenths, right hand alone",
    "snare: Lbeat Le L& La": "sixteenths, left hand alone",
    "snare: Lbeat Re L& Ra": "sixteenths, left hand leads",
    "snare: Rbeat Re L& La": "sixteenths, doubles",
    "meter: 6/8\nsnare: beat": "6/8: eighths, all plain",
    "meter: 6/8\nsnare: beat &": "6/8: sixteenths, all plain",
    (
        "snare: >1 >1e >1& >1a (2) (2e) (2&) (2a) >3 >3e >3& >3a (4) (4e) (4&) (4a)"
    ): "sixteenths, accent then ghost by beats",
    "snare: f1 f2 f3 f4": "quarters, flammed",
    "snare: /1 2 3 4": "quarters; 1 doubled",
    "snare: >1 _2 >3 _4": "accents on 1 and 3, quarters",
    "snare: >R1 _R2 >R3 _R4": "right hand: accents on 1 and 3",
    "snare: >R1 _L2 >R3 _L4": "accents on 1 and 3, quarters",
    "meter: 3/4\nsnare: 1 2&": "3/4: strokes on 1, & of 2",
    "bass: 1 3\nsnare: >2 >4 (R1e) (L1a)": "e and a of 1, hand to hand; no hat",
    (
        "ride: R1 R1& R2 R2&\nhat: R3 R3& R4 R4&\nsnare: Le La"
    ): "snare 1e 1a 2e 2a 3e 3a 4e 4a; ride 1 1& 2…",
    "snare: (e) (a)": "ghosts on e and a of every beat",
    "snare: >e (a)": "accents on every e, ghosts on every a",
    "snare: _1 _1e": "taps on 1 with e",
    "snare: Rbeat (Le) R& (La)": "sixteenths, ghosts on e and a of every beat",
    "snare: >Rbeat (Re) >R& (Ra)": "right hand: accents on 1 1& 2 2& 3 3& 4…",
    "snare: >Rbeat (R&)": "right hand: accents 1 2 3 4, ghosts 1& 2&…",
    "meter: 3/4\nhat: beat &\nbass: 1\nsnare: >2 (e)": "3/4: backbeats on 2: e of every beat",
    "meter: 5/4\nhat: beat &\nbass: 1 4\nsnare: >2 >5": "5/4 groove",
    "meter: 7/8\nhat: beat\nbass: 1 5\nsnare: >3 >7": "7/8 groove",
    "meter: 12/8\nhat: beat\nbass: 1 7\nsnare: >4 >10": "12/8 groove",
    "hat: beat &\nbass: 1 3\nsnare: 2 4": "snare 2 4",
    "hat: beat &\nbass: 1 3": "no backbeat",
    "hat: beat &\nbass: 1 3\nsnare: >2 >3 >4": "backbeats on 2, 3 and 4",
    "hat: beat &\nbass: 1 3\nsnare: >2\ntom: >4": "snare 2, tom 4",
    "hat: beat &\nbass: 1 3\nsnare: >/2 >4": "snare 2 doubled, snare 4",
    "hat: beat &\nsnare: >2 >4": "groove; no bass",
    "bass: 1 3\nsnare: >2 >4": "groove; no hat",
    "hat: beat &\nbass: 1 3 | 1 2& 3\nsnare: >2 >4 | >2 >4": "groove; bass 1 3 | 1 2& 3",
    "ride: beat\nbass: 1 3\nsnare: >2 >4": "groove; quarter ride",
    "hat: beat e & a\nbass: 1 3\nsnare: >2 >4": "groove; sixteenth hat",
    "hat: >& beat\nbass: 1 3\nsnare: >2 >4": "groove; hat accents every &",
    (
        "crash: 1\nhat: 1& 2 2& 3 3& 4 4&\nbass: 1 3\nsnare: >2 >4"
    ): "groove; crash 1, hat 1& 2 2& 3 3& 4 4&",
    "hat: beat &\npedal: 2 4\nbass: 1 3\nsnare: >2 >4": "groove; pedal 2 4",
    "hat: R1 R3 Le R& La\nbass: 1 3\nsnare: >2 >4": "groove; hat hand to hand",
    (
        "hat: R1 L1e R1& L1a L2e R2& L2a R3 L3e R3& L3a L4e R4& L4a\nsnare: >R2 >R4\nbass: 1 3"
    ): "groove; hat hand to hand",
    (
        "hat: R1 R1& R1a R2e R3 R3& R3a R4e\n"
        "snare: (L1e) (L2) (L2&) (L2a) (L3e) (L4) (L4&) (L4a)\nbass: 1"
    ): "paradiddle on hat and snare",
    (
        "hat: 1 1e 1& 1a 2e 2& 2a 3 3e 3& 3a 4e 4& 4a\nsnare: >2 >4\nbass: 1 3"
    ): "groove; sixteenth hat",
    "hat: beat &\nbass: 1 3\nsnare: >2 >4 (1e) (/1a)": "e and a of 1, a of 1 doubled",
    "hat: beat &\nbass: 1 3\nsnare: >2 >4 (1) (1e)": "1 with e",
    "hat: beat &\nbass: 1 3\nsnare: >2 >4 (2e)": "e of 2",
    "hat: beat &\nbass: 1 3\nsnare: >2 >4 (/2e)": "e of 2, doubled",
    "hat: beat &\nbass: 1 3\nsnare: >2 >4 (f2e) (f3e)": "e of 2 and 3, flammed",
    "hat: beat &\nbass: 1 3\nsnare: >2 >4 (z2e) (/3a)": "2e 3a, e of 2 buzzed, a of 3 doubled",
    "hat: beat &\nbass: 1 3\nsnare: >2 >4 (e) | >2 >4 (a)": "e, then a, of every beat",
    "hat: beat &\nbass: 1 3\nsnare: >2 >4 (1e) | >2 >4": "e of 1, then nothing",
    "hat: beat &\nbass: 1 3\nsnare: >2 >4 (1e)\ntom: (3a)": "e of 1 on snare, a of 3 on tom",
    "hat: beat &\nbass: 1 3\nsnare: >2 >4\nrim: (e)": "e of every beat on rim",
    "hat: 1 1& 2 2& 3 3&\nbass: 1 3\nsnare: >2 4 >4&": "fill on 4 with &, accents 4&",
    "hat: 1 1&\nbass: 1\nsnare: 2 2& 3 3& 4 4&": "fill on 2, 3 and 4 with &",
    "hat: 1 2 3\nbass: 1\nsnare: >2 4": "fill on 4; quarter hat",
    (
        "grid: 8t\nhat: 1 1l 2 2l 3 3l\nbass: 1\nsnare: >2 4 4t 4l"
    ): "shuffle: fill on every triplet of 4",
    (
        "hat: 1 1& 2 2& 3 3&\nbass: 1 3\nsnare: >2\ntom: 4 4e\nfloor: 4& 4a"
    ): "tom fill on every sixteenth of 4",
    "hat: 1 1& 2 2& 3 3&\nbass: 1 3\nsnare: >2 (4)": "backbeats 2: ghost on 4; hat 1 1& 2 2& 3 3&",
    "hat: 1e 1& 1a\nbass: 1 2 3\nsnare: 4": "linear: bass 1 2 3; hat 1e 1& 1a",
    "hat: beat\nsnare: e\nbass: & a": "linear: bass 1& 1a 2& 2a 3& 3a 4& 4a",
    "grid: 8t\nhat: t\nsnare: (l)\nbass: beat": "linear: bass hat ghost",
    "meter: 6/8\nhat: beat\nbass: 1\nsnare: >4 (2) (3)": "6/8: ghosts on 2 and 3",
    "swing: 8 2:1\nhat: beat &\nbass: 1 3\nsnare: >2 >4": "rock groove, swung 2:1",
    "grid: 8t\nhat: beat l\nbass: 1 3\nsnare: >2 >4 >3": "shuffle, backbeats on 2, 3 and 4",
    "grid: 32\nhat: beat &\nbass: 1 3\nsnare: >2 >4 (1e.)": "just after e of 1",
}


@pytest.mark.parametrize("text", SAID)
def test_a_title_says_what_is_played(text: str) -> None:
    """Hands alone by stream, sticking and levels; grooves by what is other; fills by their places.

    Never longer than a title may be.
    """
    assert SAID[text] == title(parse(text))
    assert len(SAID[text]) <= MAX_TITLE
