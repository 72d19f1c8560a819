"""Titles: made from the rhythm alone, in the count said aloud, at most 44 characters.

Outside check: the rudiments' names are those of the Percussive Arts Society's list of 40 (1984).
"""

from __future__ import annotations

import pytest
from examples import examples
from hypothesis import given
from strategies import patterns

from drillbox.rhythm import (
    BASS_LINES,
    MAX_TITLE,
    NAMED,
    TIME_LINES,
    Pattern,
    fingerprint,
    parse,
    repeated,
    title,
)

FILL = "crash: 1\nhat: 1& 2 2& 3 3&\nbass: 1 3\nsnare: >2 "
ROCK = "hat: beat &\nbass: 1 3\nsnare: >2 >4 "
QUARTERS = "grid: 8t\nhat: beat\nbass: 1 3\nsnare: >2 >4 "
TOLD = {
    ROCK: "rock groove",
    ROCK + "(e) (a)": "e and a of every beat",
    ROCK + "(1) (3)": "ghosts on 1 and 3",
    ROCK + "(1) (3) (e)": "1 and 3, e of every beat",
    ROCK + "(1) (3) (e) (&) (a)": "every sixteenth",
    ROCK + "(1a) (2e) (3a) (4e)": "a of 1 and 3, e of 2 and 4",
    ROCK + "(/e) (a)": "e and a of every beat, e doubled",
    ROCK + "(ze) (za)": "e and a of every beat, buzzed",
    "hat: beat &\nsnare: >2 >4 (e)\nbass: 1 2& 3": "e of every beat; bass 1 2& 3",
    "hat: beat\nsnare: >2 >4 (e)\nbass: 1 3": "e of every beat; quarter hat",
    "hat: &\nsnare: >2 >4 (e)\nbass: 1 3": "e of every beat; off-beat hat",
    "ride: beat &\npedal: 2 4\nsnare: >2 >4\nbass: 1 3": "groove; ride; pedal 2 4",
    "hat: beat 1& 2& 3& o4&\nsnare: >2 >4\nbass: 1 3": "groove; open hat 4&",
    "hat: beat o&\nsnare: >2 >4\nbass: 1 3": "groove; open hat every &",
    "hat: 1 o1& 2& 3 o3& 4&\npedal: 2 4\nsnare: >2 >4\nbass: 1 3": "groove; barks 1& 3&",
    "hat: >beat &\nsnare: >2 >4\nbass: 1 3": "groove; hat accents every beat",
    "hat: Lbeat L&\nsnare: >R2 >R4\nbass: 1 3": "groove; left-hand hat",
    "hat: beat &\nsnare: >3 (a)\nbass: 1": "half-time: a of every beat",
    "hat: beat &\nsnare: >2 >4\ntom: (e)\nfloor: (a)\nbass: 1 3": (
        "e of every beat on tom, a of every beat on floor"
    ),
    "grid: 8t\nhat: beat l\nsnare: >2 >4 (t)\nbass: 1 3": "shuffle: trip of every beat",
    "grid: 8t\nhat: beat l\nsnare: >3 (t)\nbass: 1": "half-time shuffle: trip of every beat",
    QUARTERS + "(t) (l)": "trip and let of every beat",
    QUARTERS: "groove; quarter hat",
    "hat: beat\nbass: 1 3\nsnare: >2 >4 (d1&)": "& of 1, with a drag; quarter hat",
    "grid: 8t\nhat: beat l\nsnare: >2 >4 (t)\nbass: 1 2l 3": (
        "shuffle: trip of every beat; bass 1 2let 3"
    ),
    "grid: 16t\nhat: beat &\nsnare: >2 >4 (t) (&t)\nbass: 1 3": "t and &t of every beat",
    "swing: 16 3:2\n" + ROCK + "(a)": "a of every beat, swung 3:2",
    FILL + "4&": "fill on & of 4",
    FILL + "4 4&": "fill on 4 with &",
    FILL + "4 4e 4& 4a": "fill on every sixteenth of 4",
    FILL + "4 4&\ntom: 4e 4a": "fill on every sixteenth of 4; snare 4 4&, tom 4e 4a",
    FILL + "4\ntom: 4&\nfloor: 4a": "kit fill on 4 with & and a",
    "crash: 1\nhat: 1& 2 2&\nsnare: >2 3 3& 4 4e 4& 4a\nbass: 1": (
        "fill on 3 with &, every sixteenth of 4"
    ),
    "meter: 6/8\nhat: beat\nsnare: >4 (2&)\nbass: 1": "6/8: & of 2",
    "meter: 6/8\nhat: beat\nsnare: >4 (1) (2&) (5&)\nbass: 1": "6/8: 1, & of 2 and 5",
    "meter: 6/8\nhat: beat\nsnare: >4 (2&) (5&) (3) (6)\nbass: 1": "6/8: 3 and 6, & of 2 and 5",
    "meter: 6/8\nhat: beat\nsnare: >4\nbass: 1": "6/8 groove",
    "hat: 1e 1& 2& 3 3& 3a 4&\nsnare: >2 >4\nbass: 1 2a 3e": "linear: bass 1 2a 3e",
    "hat: e &\nsnare: (a)\nbass: beat": "linear: bass hat hat ghost",
    "hat: e\nsnare: (&) (a) >2 >4\nbass: 1 3": "linear: bass hat ghost ghost, with backbeats",
    "hat: beat &\nbass: 1 3\nsnare: >2e >4e (a)": "backbeats on e of 2 and 4: a of every beat",
    "snare: beat e & a": "sixteenths, all plain",
    "grid: 8\nsnare: /beat /&": "double stroke roll in sixteenths",
    "snare: >L1 (L2) >L3 (L4)": "left hand: accents 1 and 3, ghosts 2 and 4",
    "meter: 2/4\nsnare: _R1 _L1e _R1& _R1a _L2 _R2e _L2& _L2a": "2/4: paradiddle, all taps",
    "snare: >R1 _L1e _R1& >L1a _R2 _L2e >R2& _L2a _R3 >L3e _R3& _L3a >R4 _L4e _R4& >L4a": (
        "accents on every third sixteenth"
    ),
    "snare: _Rbeat _Le _R& _La": "sixteenths, all taps",
    "snare: _beat >e _& _a": "accents on e of every beat",
    "snare: >beat (&)": "accents on every beat, ghosted eighths",
    "grid: 32\n" + ROCK + "(e.)": "just after e of every beat",
}


@pytest.mark.parametrize("text", [text for text in TOLD if len(TOLD[text]) <= MAX_TITLE])
def test_what_is_other_is_said(text: str) -> None:
    """The count aloud, and of the groove only what nobody would assume."""
    assert TOLD[text] == title(parse(text))


def test_long_titles_lose_their_small_words_first() -> None:
    """And say the bare counts before they are cut."""
    long = next(text for text in TOLD if len(TOLD[text]) > MAX_TITLE)

    assert "every e on tom, every a on floor" == title(parse(long))


@examples(60)
@given(patterns())
def test_every_rhythm_has_a_short_title_that_the_writing_does_not_change(pattern: Pattern) -> None:
    """At most 44 characters for anything; written out twice it is called the same."""
    told = title(pattern)

    assert 0 < len(told) <= MAX_TITLE
    assert told == title(repeated(pattern, 2 * pattern.bars))


def test_the_grid_does_not_show() -> None:
    """One rhythm on two grids has one title."""
    eighths, sixteenths = (parse(f"grid: {g}\n" + ROCK + "(&)") for g in ("8", "16"))

    assert fingerprint(eighths) == fingerprint(sixteenths)
    assert title(eighths) == title(sixteenths) == "& of every beat"


def test_names_are_unique_and_belong_to_rhythms() -> None:
    """Every named rhythm is read, has its name, and shares it with none."""
    assert len(NAMED) == len(set(NAMED.values())) == len({fingerprint(parse(t)) for t in NAMED})
    assert all(name == title(parse(text)) for text, name in NAMED.items())
    assert all(len(name) <= MAX_TITLE for name in NAMED.values())


@pytest.mark.parametrize("grid", BASS_LINES)
def test_bass_lines_are_told_apart(grid: str) -> None:
    """Each line has its own title, and all but the usual one say their counts."""
    hat = "beat l" if grid == "8t" else "beat &"
    titles = [
        title(parse(f"grid: {grid}\nhat: {hat}\nsnare: >2 >4\nbass: {line}"))
        for line in BASS_LINES[grid].values()
    ]

    assert len(titles) == len(set(titles))
    assert all("bass 1" in told for told in titles[1:])


def test_time_lines_are_told_apart() -> None:
    """Each time line has its own title over the same backbeats."""
    titles = [
        title(
            parse(
                "".join(f"{voice}: {line}\n" for voice, line in lines.items())
                + "snare: >2 >4\nbass: 1 3"
            )
        )
        for lines in TIME_LINES.values()
    ]

    assert "rock groove" == titles[0]
    assert len(titles) == len(set(titles))
