"""Limits and worked examples of rhythm: feels, meters, facts, words, buzzes, errors."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from drillbox.errors import NotationError, UsageError
from drillbox.rhythm import (
    Hand,
    Meter,
    Ornament,
    Pattern,
    Placing,
    Sticking,
    Stroke,
    Swing,
    Voice,
    bounces,
    facts,
    fingerprint,
    grace_seconds,
    hands,
    hands_to_show,
    map_cells,
    movement,
    movement_words,
    parse,
    parse_meter,
    placing,
    repeated,
    spell,
    strip,
    title,
    vocabulary_map,
)
from drillbox.rhythm.charting import closes, feel_words
from drillbox.rhythm.crossing import crossed
from drillbox.rhythm.entries import shown
from drillbox.rhythm.lists import Axis

EIGHTH = Fraction(1, 8)


@pytest.mark.parametrize(
    ("share", "pair", "ratio"),
    [
        ("1/2", "1", "1:1"), ("2/3", "1", "2:1"), ("3/4", "1/2", "3:1"), ("3/5", "1/3", "3:2"),
        ("99/100", "1", "99:1"),
    ],
)  # fmt: skip
def test_what_can_be_swung(share: str, pair: str, ratio: str) -> None:
    """A share from a half to below one, a pair that fills a beat; told in whole numbers."""
    assert ratio == Swing(Fraction(share), Fraction(pair)).ratio


@pytest.mark.parametrize(
    ("share", "pair"), [("49/100", "1"), ("1", "1"), ("2/3", "0"), ("2/3", "-1"), ("2/3", "2/3"),
                        ("2/3", "2")],
)  # fmt: skip
def test_what_cannot_be_swung(share: str, pair: str) -> None:
    """Short before long, nothing for the short one, and pairs that do not fill a beat."""
    with pytest.raises(UsageError, match="a swing"):
        Swing(Fraction(share), Fraction(pair))


def test_a_bent_place_by_hand() -> None:
    """Three to two in half beats: the middle of the second half goes to 1/2 + 3/5 * 1/2 = 4/5.

    A place between is drawn out in proportion; back again it is where it was.
    """
    swing = Swing(Fraction(3, 5), Fraction(1, 2))
    told = {"0": "0", "1/8": "3/20", "1/4": "3/10", "3/8": "2/5", "1/2": "1/2", "7/4": "9/5"}
    for written, played in told.items():
        assert Fraction(played) == swing.bend(Fraction(written))
        assert Fraction(written) == swing.unbend(Fraction(played))


def test_a_bar_has_one_to_twenty_four_beats() -> None:
    """Both ends are meters, and one more is none; groups are of one beat at least."""
    assert (1, 24) == (Meter(1, 4).beats, Meter(24, 8).beats)
    for beats in (0, 25):
        with pytest.raises(UsageError, match=f"a bar cannot have {beats} beats"):
            Meter(beats, 8)
    for groups in ((4, 0), (0, 4), (5, -1)):
        with pytest.raises(UsageError, match="do not make 4 beats"):
            Meter(4, 4, groups)
    assert (4,) == Meter(4, 4, (4,)).groups == Meter(4, 4, (0,)).groups


@pytest.mark.parametrize(
    ("text", "groups"),
    [
        ("1/4", (1,)), ("8/4", (4, 4)), ("9/4", (3, 3, 3)), ("10/4", (4, 4, 2)),
        ("11/4", (4, 4, 3)),
        ("13/4", (4, 4, 5)), ("1/8", (1,)), ("2/8", (2,)), ("4/8", (2, 2)),
        ("11/8", (2, 2, 2, 2, 3)),
    ],
)  # fmt: skip
def test_long_and_short_bars_are_grouped(text: str, groups: tuple[int, ...]) -> None:
    """Fours in quarters, twos in eighths, threes where they fill the bar; what is over joins."""
    assert groups == parse_meter(text).groups


def test_a_beat_lasts_what_its_pulse_says() -> None:
    """At 90: a quarter 2/3 s; in 6/8 an eighth is a third of a pulse, in 7/8 a half."""
    for text, seconds in (("4/4", 2 / 3), ("6/8", 2 / 9), ("7/8", 1 / 3), ("3/8", 1 / 3)):
        assert seconds == pytest.approx(parse_meter(text).beat_seconds(90.0))


def test_the_facts_of_a_mixed_bar_by_hand() -> None:
    """Sixteenths with triplets on two, a double, a flam and a buzz, backbeats; quarters on the hat.

    Five strokes on the snare, three off the hat; the grid changes twice; double and buzz count one,
    the flam two. Limbs strike together as hat and snare, hat alone and snare alone: three sets.
    """
    seen = facts(parse("grid: 16 8t 16 16\nhat: beat\nsnare: >2 >4 (/1e) (f3e) (z4a)"))
    assert (5 / 4, 3 / 4, 3, 4, 2.0, 4 / 4) == (
        seen.drums, seen.off_time, seen.limb_sets, seen.beats, seen.grid_changes, seen.ornaments,
    )  # fmt: skip
    expected = 3 * seen.drums + seen.off_time + 2 * seen.turns + 10 * seen.load
    expected += seen.limb_sets + seen.beats + 3 * seen.grid_changes + 2 * seen.ornaments
    assert round(expected, 1) == seen.difficulty
    # A change over the repeat counts, and bars share it: once into and once out of the triplets.
    two = facts(parse("grid: 16 16 16 16 | 8t 8t 8t 8t\nsnare: 1 | 1"))
    assert 2 / 2 == two.grid_changes


def test_without_a_cymbal_nothing_is_off_the_time() -> None:
    """Hands alone have no time line that strokes could be off."""
    assert 0.0 == facts(parse("snare: beat e")).off_time
    assert 1.0 == facts(parse("hat: beat\nsnare: e")).off_time


def test_what_hands_do_is_told_in_a_sentence() -> None:
    """Rates to a tenth, turns in whole ms, the tempo past which a hand gives out.

    At 80 bpm the hat's eighths are 2.67 a second; from the accent on 2 to the ghost on its & are
    375 ms, from the a of 3 up to 4 187.5. Feet alone are kept up for ever.
    """
    groove = parse("hat: beat &\nsnare: >2 (2&) (3a) >4\nbass: 1 3")
    assert movement_words(movement(groove), 80) == (
        "at 80 bpm the right hand plays 2.7 strokes a second and the left 1.3; at the quickest a"
        " hand has 375 ms from loud to quiet and 188 ms from quiet to loud; past about 105 bpm a"
        " hand cannot keep it up"
    )
    assert movement_words(movement(parse("hat: beat")), 72.5) == (
        "at 72.5 bpm the right hand plays 1.2 strokes a second and the left 0.0; past about 300 bpm"
        " a hand cannot keep it up"
    )
    assert movement_words(movement(parse("snare: 1 2 3 4")), 90) == (
        "at 90 bpm the right hand plays 0.8 strokes a second and the left 0.8"
    )  # nobody asks for the 600 that a hand might reach
    assert movement_words(movement(parse("bass: beat")), 80) == (
        "at 80 bpm the right hand plays 0.0 strokes a second and the left 0.0"
    )


def test_a_hand_with_one_stroke_a_pass() -> None:
    """A stroke in four beats is a quarter a beat in every measure; a hand at rest has none."""
    right, left = movement(parse("snare: R1")).work
    assert (1, Fraction(1, 4), Fraction(1, 4), Fraction(1, 4)) == (
        right.strokes, right.per_beat, right.burst, right.stream,
    )  # fmt: skip
    assert not any((left.strokes, left.per_beat, left.burst, left.stream))
    assert movement(parse("bass: 1")).top_bpm is None


def test_the_feel_is_told_by_its_grid() -> None:
    """Eighths and sixteenths by name, a straight pattern not at all."""
    told = {
        "swing: 8 2:1\nhat: beat &": "eighths swung 2:1",
        "swing: 16 3:2\nhat: beat &": "sixteenths swung 3:2",
        "hat: beat": "",
    }
    for text, words in told.items():
        assert words == feel_words(parse(text))


def test_an_open_hat_is_closed_by_what_comes_next_on_its_line() -> None:
    """By the stick or the foot, over the repeat too; an open stroke closes none."""
    closed = closes(parse("hat: o1 2 o4\npedal: 3"))
    assert {(Fraction(1), Voice.HAT)} == closed
    assert {(Fraction(0), Voice.PEDAL)} == closes(parse("hat: o4\npedal: 1 2"))


@pytest.mark.parametrize(
    ("seconds", "gaps"),
    [
        (Fraction(1, 2), [34.0, 32.3, 30.685, 29.15075]),
        (Fraction(1, 5), [100 / 3, 95 / 3, 1805 / 60, 34295 / 1200]),
        (Fraction(1, 10), [22.0, 22.0, 22.0, 22.0]),
        (Fraction(66, 1000), [22.0, 22.0]),
    ],
)
def test_a_buzz_bounces_closer_and_closer(seconds: Fraction, gaps: list[float]) -> None:
    """A sixth of the partial apart at first, 34 ms at most, 22 at least, each a twentieth less.

    Falls of 0.9, 1.4, 0.7 and 1.2 dB in turn; none on the next partial (judgement).
    """
    seen = bounces(seconds)
    at = [0.0, *(1000.0 * float(one.after) for one in seen)]
    assert gaps == pytest.approx([b - a for a, b in pairwise(at)][: len(gaps)])
    assert [-0.9, -2.3, -3.0, -4.2, -5.1][: len(seen)] == pytest.approx(
        [one.db for one in seen][:5]
    )
    assert len(seen) <= 9
    assert seen[-1].after < seconds


def test_graces_stand_closer_where_the_notes_do() -> None:
    """28 ms each, from partials of 112 ms up; a quarter of the partial below."""
    for length, each in ((Fraction(1, 2), 28), (Fraction(112, 1000), 28), (Fraction(1, 10), 25)):
        for early in (1, 2):
            assert Fraction(early * each, 1000) == grace_seconds(early, length)


def test_a_line_shows_one_voice() -> None:
    """A sign a partial, a blank a beat, a bar line a bar; metal has its own plain sign.

    The & of a triplet beat has a place where any voice strikes it.
    """
    drum = parse("snare: (1) _1e 1& >1a /2 z2e f2& d2a | (/3)")
    assert "o_O> /zfd ···· ···· | ···· ···· /··· ····" == strip(drum)
    hat = parse("hat: 1 o1& >2\npedal: 3")
    assert "x·O· >··· ···· ····" == strip(hat, Voice.HAT)
    assert "···· ···· x··· ····" == strip(hat, Voice.PEDAL)
    assert "·o·· ·o·· ·o·· ·o··" == strip(parse("grid: 8t\nsnare: (t)\nhat: beat &"))
    assert "·o· ·o· ·o· ·o·" == strip(parse("grid: 8t\nsnare: (t)\nhat: beat"))


ROCK = "hat: beat &\nbass: 1 3\nsnare: >2 >4 "


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (ROCK + "(e)", Placing(frozenset({Fraction(1, 4)}))),
        (ROCK + "(/e)", Placing(frozenset({Fraction(1, 4)}), Ornament.DOUBLE, 4)),
        (ROCK + "(1) (3)", Placing(frozenset({Fraction(0)}))),
        (ROCK + "(1e)", None),
        (ROCK + "(/e) (a)", None),
        (ROCK, None),
        ("hat: beat\nsnare: (e)\nbass: 1 | 1", Placing(frozenset({Fraction(1, 4)}))),
        ("snare: >2 >4 (e)", None),
        ("bass: 1\nsnare: (e)", Placing(frozenset({Fraction(1, 4)}))),
        ("meter: 6/8\nhat: beat\nsnare: (&)", None),
        ("grid: 16 16 8 8\nhat: beat\nsnare: (&)", None),
        (ROCK + "(e)\ntom: (1a)", Placing(frozenset({Fraction(1, 4)}))),
    ],
)
def test_what_has_a_place_on_the_map(text: str, expected: Placing | None) -> None:
    """Ghosts of one kind on every beat of a groove in quarters, but where the snare is louder."""
    assert expected == placing(parse(text))


def test_the_fastest_card_of_a_placing_is_on_the_map() -> None:
    """Over different grooves the fastest; one never played gives way; the first of equals stays."""
    one, two = parse(ROCK + "(e)"), parse("ride: beat\nsnare: (e)")
    (e,) = {placing(one), placing(two)}
    assert e is not None
    assert {e: "b"} == map_cells([(one, 80.0, "a"), (two, 90.0, "b")])
    assert {e: "a"} == map_cells([(one, 90.0, "a"), (two, 80.0, "b")])
    assert {e: "a"} == map_cells([(one, 80.0, "a"), (two, None, "b")])
    assert {e: "a"} == map_cells([(one, None, "a"), (two, None, "b")])
    assert {} == map_cells([(parse("snare: 1"), 80.0, "x")])


def test_the_map_is_as_wide_as_its_window() -> None:
    """A cell of sixteenths has four letters, a blank, five for what is written, a blank between.

    Eleven columns a cell but for the last blank: two fit 21 columns, one 20, and one any less.
    """
    cells = {Placing(frozenset({Fraction(slot, 4)})): "96" for slot in range(4)}
    for width, rows in ((21, 2), (20, 4), (5, 4), (32, 2), (43, 1)):
        lines = vocabulary_map(cells, width=width).splitlines()
        assert lines[0].startswith("sixteenths, plain: ")
        assert lines[0].endswith("4 of 15")
        single = [line for line in lines[1:] if "96" in line]
        assert rows == len(single)
    assert "1···    96 ·e··    96" == vocabulary_map(cells, width=21).splitlines()[1]
    # Ghosts on the & alone are no more a sixteenth's than a triplet's.
    assert "" == vocabulary_map({Placing(frozenset({Fraction(1, 2)})): "80"})


def test_sixty_four_bars_and_no_more() -> None:
    """The longest pattern is read, made and refused one bar later, each in its sentence."""
    longest = parse("snare: 1" + " | 1" * 63)
    assert 64 == longest.bars
    with pytest.raises(NotationError, match="65 bars are written for the snare"):
        parse("snare: 1" + " | 1" * 64)
    with pytest.raises(UsageError, match="260 beats are not 1 to 64 whole bars of 4/4"):
        Pattern(Meter(4, 4), (4,) * 260, ())
    with pytest.raises(UsageError, match="3 beats are not"):
        Pattern(Meter(4, 4), (4,) * 3, ())
    with pytest.raises(UsageError, match="0 beats are not"):
        Pattern(Meter(4, 4), (), ())
    with pytest.raises(UsageError, match="5 slots a beat is no grid of 4/4"):
        Pattern(Meter(4, 4), (4, 4, 5, 4), ())


@pytest.mark.parametrize(
    ("at", "what"),
    [
        (Fraction(-1, 4), "outside 4 beats"),
        (Fraction(4), "outside 4 beats"),
        (Fraction(1, 3), "is off its grid"),
        (Fraction(1, 100), "is off its grid"),
    ],
)
def test_a_stroke_stands_inside_and_on_its_grid(at: Fraction, what: str) -> None:
    """The last sixteenth is inside, the end is not; a third is on no sixteenth."""
    Pattern(Meter(4, 4), (4,) * 4, (Stroke(Fraction(15, 4), Voice.SNARE),))
    with pytest.raises(UsageError, match=what):
        Pattern(Meter(4, 4), (4,) * 4, (Stroke(at, Voice.SNARE),))


def test_a_pattern_fills_whole_multiples() -> None:
    """Two bars fill two, four and six; not three, one or none."""
    two = parse("snare: 1 | 2")
    assert two is repeated(two, 2)
    assert 6 == repeated(two, 6).bars
    assert [0, 5, 8, 13] == [int(s.at) for s in repeated(two, 4).strokes]
    for bars in (3, 1, 0, -2):
        with pytest.raises(UsageError, match=f"2 bars cannot fill {bars}"):
            repeated(two, bars)


def test_texts_are_shortened_after_twenty_four_characters() -> None:
    """Twenty-four are shown whole, of more the first twenty-one and three points."""
    assert repr("x" * 24) == shown("x" * 24)
    assert repr("x" * 21 + "...") == shown("x" * 25)


@pytest.mark.parametrize(
    ("text", "line", "column", "what"),
    [
        ("snare: 5", 1, 8, "a bar of 4/4 has no beat '5'"),
        ("snare: 0", 1, 8, "a bar of 4/4 has no beat '0'"),
        ("snare: 04", 1, 8, "a bar of 4/4 has no beat '04'"),
        ("snare: (123e)", 1, 9, "a bar of 4/4 has no beat '123'"),
        ("snare: 1\nsnare: 2", 2, 1, "a second snare line"),
        ("  drum: 1", 1, 3, "cannot read 'drum' as the name of a line"),
        ("snare:", 1, 7, "nothing is written for the snare"),
        ("meter: 4/4 3/4\nsnare: 1", 1, 7, "the meter is not one word"),
        ("meter: 4/4 |\nsnare: 1", 1, 7, "the meter is not one word"),
        ("snare: 1 | 2 | 3\nhat: 1 | 2", 2, 6, "2 bars for the hat, but 3 for the snare"),
        ("grid: 16 16\nsnare: 1", 1, 7, "2 grids in a bar of 4 beats"),
        ("grid: 5\nsnare: 1", 1, 7, "cannot read '5' as a grid"),
        ("grid: 16 | | 16\nsnare: 1 | 2 | 3", 1, 7, "a bar without a grid"),
        ("snare: (1", 1, 8, "the bracket of '(1' is not closed"),
        ("snare: ((1))", 1, 8, "cannot read '((1))' as a stroke"),
        ("snare: >>1", 1, 8, "cannot read '>>1' as a stroke"),
        ("snare: 1)", 1, 8, "cannot read '1)' as a stroke"),
        ("snare: R/1", 1, 8, "cannot read 'R/1' as a stroke"),
        ("snare: /", 1, 9, "a place is missing"),
        ("snare: o1", 1, 8, "the snare cannot be open"),
        ("snare: 1x", 1, 8, "cannot read '1x' as a place"),
        ("swing: 16\nhat: 1", 1, 8, "cannot read '16' as a swing"),
        ("swing: 16 2:1 |\nhat: 1", 1, 8, "cannot read '16 2:1 |' as a swing"),
        ("swing: 16 1:1\nhat: 1", 1, 11, "'1:1' is no swing"),
        ("swing: 8t 2:1\nhat: 1", 1, 8, "cannot read '8t 2:1' as a swing"),
        ("snare: 1 (1)", 1, 10, "already has a stroke on 1: '1' at column 8"),
        ("snare: 1 beat", 1, 10, "already has a stroke on some of these beats: '1' at column 8"),
    ],
)
def test_every_error_has_its_place(text: str, line: int, column: int, what: str) -> None:
    """Line and column of the first thing that cannot be read, counted from one."""
    with pytest.raises(NotationError) as refused:
        parse(text)
    assert (line, column) == (refused.value.line, refused.value.column)
    assert what in refused.value.what


def test_a_syllable_counted_out_is_the_syllable() -> None:
    """Written once for each beat it means every beat; written twice for four it is a mistake."""
    assert parse("snare: e e e e") == parse("snare: e")
    assert 4 == len(parse("snare: e").strokes)
    with pytest.raises(NotationError, match="some of these beats"):
        parse("snare: e e")


def test_the_canonical_text_by_hand() -> None:
    """Defaults left out, `beat` and bare syllables for every beat, one bar for like bars."""
    told = {
        "meter: 4/4\ngrid: 16\nsnare: 1 2 3 4": "snare: beat\n",
        "snare: 1e 2e 3e 4e (1)": "snare: (1) e\n",
        "grid: 16 16 8 8\nsnare: 1e 2e 1& 2& 3& 4&": "grid: 16 16 8 8\nsnare: e &\n",
        "snare: 1 | 1": "grid: 16 | 16\nsnare: 1\n",
        "snare: 1 | 2\nhat: 1": "hat: 1\nsnare: 1 | 2\n",
        "swing: 8 2:1\nhat: beat": "swing: 8 2:1\nhat: beat\n",
        "meter: 1/4\nsnare: beat": "meter: 1/4\nsnare: 1\n",
        "snare: >/R1 zL2": "snare: >/R1 zL2\n",
    }
    for text, canonical in told.items():
        assert canonical == spell(parse(text))


def test_one_rhythm_has_one_identity() -> None:
    """The grid and written-out repeats are not seen; the feel, hands and every stroke are."""
    one = parse("snare: 1 2")
    same = [parse("grid: 8\nsnare: 1 2"), parse("snare: 1 2 | 1 2"), repeated(one, 4)]
    assert {fingerprint(one)} == {fingerprint(p) for p in same}
    others = ["snare: 1 3", "snare: R1 2", "tom: 1 2", "snare: (1) 2", "swing: 8 2:1\nsnare: 1 2",
              "meter: 3/4\nsnare: 1 2", "snare: 1 2 | 1 3", "snare: /1 2"]  # fmt: skip
    assert len(others) + 1 == len({fingerprint(one), *(fingerprint(parse(t)) for t in others)})


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("hat: 1 2 4\nsnare: 3 3e", "RRRLR"),
        ("hat: 1 2 3 4\nsnare: 3e 3&", "RRRLLR"),
        ("meter: 6/8\nhat: 1 4\nsnare: 2 3", "RLLR"),
        ("meter: 6/8\nhat: 1\nsnare: 2 3", "RRL"),
        ("hat: 1 2\nsnare: (3) (3e) 4", "RRLLL"),
        ("crash: 2\nsnare: 1 4 4&", "RRRL"),
    ],
)
def test_a_fill_needs_a_pause_and_two_strokes(text: str, expected: str) -> None:
    """More than a beat without a cymbal (three eighths in x/8), over the repeat too.

    At least two strokes of it are no ghosts; common practice, no source.
    """
    assert expected == "".join(hand or "." for hand in hands(parse(text)))


def test_a_player_is_told_the_hands_that_are_not_plain() -> None:
    """Nothing of a groove, all of hands alone, and of a groove with a fill the fill."""
    groove = parse("hat: beat\nsnare: 2 4")
    assert {None} == set(hands_to_show(groove))
    alone = parse("snare: beat")
    assert "RLRL" == "".join(str(h) for h in hands_to_show(alone))
    fill = parse("hat: 1 2\nsnare: 2 3 3& 4")
    shown_hands = hands_to_show(fill)
    assert [None, None, None, "R", "L", "R"] == [h and str(h) for h in shown_hands]
    written = parse("hat: 1\nsnare: L2")
    assert [Hand.RIGHT, Hand.LEFT] == list(hands_to_show(written))


def test_natural_sticking_counts_partials_from_the_bar() -> None:
    """In a bar of sixteenths and triplets the eighth partial is the third of beat two."""
    text = "meter: 2/4\ngrid: 16 8t\nsnare: 1a 2 2t 2l"
    found = hands(parse(text), way=Sticking.NATURAL)
    assert "LRLR" == "".join(str(hand) for hand in found)
    later = hands(parse("meter: 1/4\ngrid: 8t\nsnare: 1l | 1 1t"), way=Sticking.NATURAL)
    assert "RRL" == "".join(str(hand) for hand in later)


def test_ghosts_are_crossed_by_what_they_are() -> None:
    """One ornament is told, several are mixed; prescribed hands and no ghosts are out."""

    def row(ghosts: str) -> tuple[str, ...]:
        lines = ("bass: 1", "bass: 1 3")
        rows = [parse(f"hat: beat\nsnare: {g}\n{b}") for g in (ghosts, "(2a)") for b in lines]
        table = crossed([(pattern, 80.0, "x") for pattern in rows], Axis.BASS)
        return tuple(name for name, _ in table.rows if name != "a of 2")

    assert ("e of every beat, doubled",) == row("(/e)")
    assert ("e and a of every beat, mixed",) == row("(/e) (za)")
    assert ("e of every beat",) == row("(e) >2")
    assert () == row("(R1e)")
    assert () == row("2e")


def test_a_title_that_fits_nowhere_is_cut_between_words() -> None:
    """At most 44 characters, the last a sign that something is missing."""
    busy = parse(
        "snare: (1e) /2& >3a (z4e) | 1 >2e (3&) | f1a (2) 3e >4& | (1&) d2a 3 (4e)\n"
        "tom: 1a 2e | (3a) >4 | 2& z3 | >1e (4a)\nfloor: (2e) | 1& | 3a | (2&)"
    )
    told = title(busy)
    assert len(told) <= 44
    assert told.endswith("…")
    assert not told[:-1].endswith((" ", ",", ";", ":", "|"))
