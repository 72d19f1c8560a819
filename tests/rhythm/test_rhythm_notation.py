"""The spoken notation: what can be said, what is said back, and where an error is."""

from __future__ import annotations

from fractions import Fraction

import pytest
from examples import examples
from hypothesis import example, given
from hypothesis import strategies as st
from strategies import patterns

from drillbox.errors import NotationError
from drillbox.rhythm import (
    Hand,
    Level,
    Ornament,
    Pattern,
    Stroke,
    Voice,
    parse,
    parse_meter,
    spell,
)


@examples(200)
@given(patterns())
def test_what_is_written_reads_back(pattern: Pattern) -> None:
    """parse(spell(p)) == p, for every meter, grid, bar count and stroke."""
    assert pattern == parse(spell(pattern))


@examples(100)
@given(patterns())
def test_spelling_is_canonical(pattern: Pattern) -> None:
    """Spelling what was read back gives the same text, letter by letter."""
    text = spell(pattern)

    assert text == spell(parse(text))


def places(text: str) -> list[Fraction]:
    """Return where the snare strikes."""
    return [stroke.at for stroke in parse(text).strokes]


@pytest.mark.parametrize(
    ("grid", "tokens", "expected"),
    [
        ("8", "1 1& 4&", [0, Fraction(1, 2), Fraction(7, 2)]),
        ("16", "1 1e 1& 1a", [0, Fraction(1, 4), Fraction(1, 2), Fraction(3, 4)]),
        ("8t", "2 2t 2l", [1, Fraction(4, 3), Fraction(5, 3)]),
        ("16t", "1 1t 1l 1& 1&t 1&l", [Fraction(n, 6) for n in range(6)]),
        ("32", "1 1. 1e 1e. 1& 1&. 1a 1a.", [Fraction(n, 8) for n in range(8)]),
        ("8t", "1&", [Fraction(1, 2)]),
        ("16", "beat", [0, 1, 2, 3]),
        ("16", "e", [Fraction(4 * n + 1, 4) for n in range(4)]),
        ("16 16 8t 8t", "e", [Fraction(1, 4), Fraction(5, 4)]),
        ("16 16 8t 8t", "t", [Fraction(7, 3), Fraction(10, 3)]),
        ("16 8t 8t 16", "&", [Fraction(2 * n + 1, 2) for n in range(4)]),
        ("16t", "t", [Fraction(6 * n + 1, 6) for n in range(4)]),
    ],
)
def test_every_syllable_has_its_place(grid: str, tokens: str, expected: list[Fraction]) -> None:
    """A syllable is an exact fraction of its beat; alone, it stands on every beat that has it."""
    assert expected == places(f"grid: {grid}\nsnare: {tokens}")


def test_beats_of_an_eighth() -> None:
    """In 6/8 a beat is an eighth: sixteenths halve it, sixteenth triplets divide it by three."""
    assert [0, Fraction(1, 2)] == places("meter: 6/8\nsnare: 1 1&")
    assert [Fraction(16, 3)] == places("meter: 6/8\ngrid: 16t\nsnare: 6t")


@pytest.mark.parametrize(
    ("token", "level", "ornament", "hand"),
    [
        ("2", Level.PLAIN, Ornament.NONE, None),
        ("(2)", Level.GHOST, Ornament.NONE, None),
        (">2", Level.ACCENT, Ornament.NONE, None),
        ("/2", Level.PLAIN, Ornament.DOUBLE, None),
        ("(z2)", Level.GHOST, Ornament.BUZZ, None),
        (">f2", Level.ACCENT, Ornament.FLAM, None),
        ("d2", Level.PLAIN, Ornament.DRAG, None),
        ("R2", Level.PLAIN, Ornament.NONE, Hand.RIGHT),
        ("(/L2)", Level.GHOST, Ornament.DOUBLE, Hand.LEFT),
    ],
)
def test_every_sign_has_its_meaning(
    token: str, level: Level, ornament: Ornament, hand: Hand | None
) -> None:
    """Brackets, accent, ornament and hand mean one thing each, and go together."""
    expected = (Stroke(Fraction(1), Voice.SNARE, level, ornament, hand),)

    assert expected == parse(f"snare: {token}").strokes


def test_every_voice_has_a_line() -> None:
    """A line's name is the voice's.

    Lines come in any order, blank lines and carriage returns do not matter.
    """
    lines = [f"{voice}: 1" for voice in Voice]

    assert list(Voice) == [s.voice for s in parse("\r\n\n".join(reversed(lines))).strokes]


def test_without_a_header_it_is_four_four_in_sixteenths() -> None:
    """The most common frame need not be written."""
    pattern = parse("snare: 1")

    assert (parse_meter("4/4"), (4, 4, 4, 4)) == (pattern.meter, pattern.grids)


def test_a_line_of_one_bar_holds_for_every_bar() -> None:
    """Bars are divided by a bar line; what is the same in every bar is written once."""
    pattern = parse("hat: beat\nbass: 1 | 1 3& | ")

    assert 3 == pattern.bars
    assert [0, 4, Fraction(13, 2)] == [s.at for s in pattern.strokes if s.voice is Voice.BASS]
    assert 12 == sum(s.voice is Voice.HAT for s in pattern.strokes)


def test_a_grid_may_change_bar_by_bar_and_beat_by_beat() -> None:
    """Each bar of the grid line is one grid, or one for every beat."""
    pattern = parse("meter: 2/4\ngrid: 16 8t | 32\nsnare: 1")

    assert (4, 3, 8, 8) == pattern.grids


def test_a_bar_may_be_counted_out() -> None:
    """A syllable is said once, or once for each beat, the way a drummer counts."""
    assert parse("hat: beat &") == parse("hat: 1 & 2 & 3 & 4 &")
    assert parse("hat: beat (e) & (a)") == parse(
        "hat: 1 (e) & (a) 2 (e) & (a) 3 (e) & (a) 4 (e) & (a)"
    )


def test_half_a_count_is_refused() -> None:
    """``1 & 3 &`` would mean something else than it says.

    So it is an error that says how to go on.
    """
    with pytest.raises(NotationError, match=r"write it once, or once for each beat, or with the"):
        parse("hat: 1 & 3 &")


@pytest.mark.parametrize(
    ("text", "canonical"),
    [
        ("snare: 4 2 (1e)", "snare: (1e) 2 4\n"),
        ("snare: (1e) (2e) (3e) (4e) >2", "snare: (e) >2\n"),
        ("bass: 1 2 3 4\nhat: 1 & 2 & 3 & 4 &", "hat: beat &\nbass: beat\n"),
        ("grid: 8t 8t 8t 8t\nmeter: 4/4\nsnare: 1t", "grid: 8t\nsnare: 1t\n"),
        ("snare: 1 | 1", "grid: 16 | 16\nsnare: 1\n"),
        ("snare: 1 | 1\nbass: 1 | 3", "snare: 1\nbass: 1 | 3\n"),
        ("meter: 7/8\nsnare: | /L7&", "meter: 7/8\nsnare: | /L7&\n"),
        ("", ""),
    ],
)
def test_the_canonical_text(text: str, canonical: str) -> None:
    """Defaults are left out, voices run from cymbals to feet, and repetition is said once."""
    assert canonical == spell(parse(text))


@pytest.mark.parametrize(
    ("text", "line", "column", "message"),
    [
        (
            "snare 1",
            1,
            1,
            r"cannot read 'snare 1' as the name of a line; begin .*: meter, grid, swing, hat",
        ),
        ("hat: 1\n  snore: 2", 2, 3, "cannot read 'snore'"),
        ("hat: 1\nhat: 2", 2, 1, "a second hat line; put everything of the hat in line 1"),
        ("snare:", 1, 7, "nothing is written for the snare"),
        ("snare: | |", 1, 7, "nothing is written for the snare"),
        ("snare: 1e 1q", 1, 11, r"cannot read '1q' as a place; under grid 16: 1 1e 1& 1a\."),
        ("snare: (/L1q)", 1, 11, "cannot read '1q'"),
        (
            "grid: 8t\nsnare: 1 e",
            2,
            10,
            r"cannot read 'e' as a place; under grid 8t: t & l, a beat",
        ),
        ("grid: 16 16 8t 8t\nsnare: 3e", 2, 8, r"under grid 8t: 3 3t 3& 3l\."),
        ("snare: 5", 1, 8, "a bar of 4/4 has no beat '5'; write 1 to 4"),
        ("snare: 0", 1, 8, "a bar of 4/4 has no beat '0'"),
        ("snare: (02e)", 1, 9, "no beat '02'"),
        ("snare: " + "9" * 5000, 1, 8, r"no beat '9{21}\.\.\.'"),
        ("snare: (R)", 1, 10, "a place is missing"),
        ("snare: z", 1, 9, "a place is missing"),
        ("snare: 1 d>2", 1, 10, "cannot read 'd>2' as a stroke; write how loud .* first: '>d2'"),
        ("snare: z(2e)", 1, 8, r"cannot read 'z\(2e\)' as a stroke; write .*: '\(z2e\)'"),
        ("snare: /L_2", 1, 8, "first: '_/L2'"),
        ("snare: R>beat", 1, 8, "first: '>Rbeat'"),
        ("snare: d>>2", 1, 9, "cannot read '>>2' as a place"),
        ("snare: L/2", 1, 8, "write the ornament before the hand, as in /R2e"),
        ("snare: 1 (2e", 1, 10, r"the bracket of '\(2e' is not closed"),
        ("snare: ( 2e )", 1, 8, "is not closed; write a ghost as"),
        ("snare: 2e)", 1, 8, "cannot read '2e\\)' as a stroke"),
        ("snare: >(2e)", 1, 8, "cannot read '>\\(2e\\)' as a stroke"),
        ("snare: ()", 1, 8, "cannot read '\\(\\)' as a stroke"),
        (
            "snare: >2 (2)",
            1,
            11,
            r"the snare already has a stroke on 2: '>2' at column 8; keep one",
        ),
        ("snare: 1 | >2 (e) 2", 1, 19, "already has a stroke on 2: '>2' at column 12"),
        ("snare: >2 (beat)", 1, 11, "already has a stroke on some of these beats: '>2'"),
        ("hat: 1 | 2 | 3\nbass: 1 | 3", 2, 7, "2 bars for the bass, but 3 for the hat"),
        ("meter: 4/4 3/4\nhat: 1", 1, 7, "the meter is not one word"),
        ("meter: 4/4 | 3/4\nhat: 1", 1, 7, "the meter is not one word"),
        ("meter:  4/5\nhat: 1", 1, 9, "cannot read '4/5' as a meter"),
        (
            "grid: 17\nhat: 1",
            1,
            7,
            "cannot read '17' as a grid; in 4/4 write one of 8 8t 16 16t 32",
        ),
        ("meter: 6/8\ngrid: 8t\nhat: 1", 2, 7, "in 6/8 write one of 8 16 16t 32"),
        ("grid: 16 8t\nhat: 1", 1, 7, "2 grids in a bar of 4 beats"),
        ("grid: 16 | | 8t\nhat: 1", 1, 7, "a bar without a grid"),
        ("hat: " + "1|" * 64, 1, 5, "65 bars are written for the hat; write at most 64"),
    ],
)
def test_an_error_says_where_and_what_to_write(
    text: str, line: int, column: int, message: str
) -> None:
    """Line and column, both from 1, point at what cannot be read; the sentence says what can."""
    with pytest.raises(NotationError, match=message) as caught:
        parse(text)

    assert (line, column) == (caught.value.line, caught.value.column)


@examples(300)
@given(st.text(alphabet="1230e&atl./zfdRL()>|beat: \n\tgrid816snare", max_size=60))
@example("snare: \x0c1")
def test_any_text_is_read_or_refused_inside_itself(text: str) -> None:
    """Nothing but a NotationError comes out, and its place is in the text or just behind it."""
    try:
        pattern = parse(text)
    except NotationError as error:
        place = (error.line, error.column)
    else:
        place = (1, 1)
        assert pattern == parse(spell(pattern))
    lines = text.split("\n")
    assert 1 <= place[0] <= len(lines)
    assert 1 <= place[1] <= len(lines[place[0] - 1]) + 1


def test_the_same_line_is_read_for_its_own_meter_grid_and_bars() -> None:
    """Lines are kept for a while; what they mean depends on what stands round them, errors too."""
    for _ in range(2):
        for rest, strokes in (
            ("", 8),
            ("meter: 3/4", 6),
            ("grid: 8", 8),
            ("bass: 1 | 3", 16),
        ):
            hat = [s for s in parse(f"hat: beat &\n{rest}").strokes if s.voice is Voice.HAT]
            assert strokes == len(hat)
        for before in range(3):
            with pytest.raises(NotationError) as refused:
                parse("\n" * before + "hat: beat 9")
            assert before + 1 == refused.value.line
