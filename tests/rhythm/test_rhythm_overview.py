"""Overviews: a pattern in a line, motions in the drawing, the map of all placements."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from strategies import patterns, placings

from drillbox.rhythm import (
    Hand,
    Ornament,
    Pattern,
    Placing,
    Voice,
    chart,
    draw,
    for_player,
    map_cells,
    movement,
    movement_words,
    parse,
    placing,
    strip,
    vocabulary_map,
)
from drillbox.rhythm.generators import figures, lay, stock_groove
from drillbox.rhythm.overview import MAP_GRIDS, map_rows

MAPPED = [Ornament.NONE, Ornament.DOUBLE, Ornament.BUZZ]


@given(st.sets(placings(), max_size=6))
def test_the_rows_of_the_map_are_those_of_its_drawing(known: set[Placing]) -> None:
    """A grid has rows where the drawing has a block of it; each row has something known.

    And whatever is known of such a grid is in one row, under its embellishment, once; rows with
    fewer partials come first, and their letters are the drawing's.
    """
    rows = map_rows(known)
    drawn = vocabulary_map(dict.fromkeys(known, "x"), width=200)
    for grid, letters in MAP_GRIDS.items():
        mine = [row for row in rows if row.grid == grid]
        assert bool(mine) is any(line.startswith(f"{grid}, ") for line in drawn.splitlines())
        sizes = [len(row.cells[0].offsets) for row in mine]
        assert sorted(sizes) == sizes
        for row in mine:
            assert known & set(row.cells)
            assert MAPPED == [placed.ornament for placed in row.cells]
            assert len({placed.offsets for placed in row.cells}) == 1
            slots = {n for n, letter in enumerate(row.partials) if letter != "·"}
            assert row.cells[0].offsets == {Fraction(n, len(letters)) for n in slots}
            assert {letters[n] for n in slots} == set(row.partials) - {"·"}
        held = [placed for row in mine for placed in row.cells if placed in known]
        assert len(held) == len(set(held))
        if mine:
            fits = {p for p in known if all(len(letters) % at.denominator == 0 for at in p.offsets)}
            assert {p for p in fits if p.slots in (0, len(letters))} == set(held)


def test_one_line_for_each_kind_of_stroke() -> None:
    """Silent, ghost, plain, accent, ornaments; blanks between beats, a bar line between bars."""
    pattern = parse("meter: 2/4\ngrid: 16 8t\nsnare: (1) 1e >1& (/1a) z2 f2t d2l | 1")

    assert "oO>/ zfd | O··· ···" == strip(pattern)
    hat = parse("meter: 2/4\ngrid: 8t\nhat: 1 1& >2 o2l\npedal: 1l")
    assert ("x·x· >·O", "···x ···") == (strip(hat, Voice.HAT), strip(hat, Voice.PEDAL))


@examples(60)
@given(patterns())
def test_a_strip_has_a_sign_for_each_partial(pattern: Pattern) -> None:
    """As many signs as partials, as many groups as beats; one more for an & between triplets.

    So the lines of all voices stand under each other.
    """
    bars = strip(pattern).split(" | ")
    halves = {s.at for s in pattern.strokes if s.at.denominator == 2}
    wanted = [
        slots + (slots % 2 == 1 and beat + Fraction(1, 2) in halves)
        for beat, slots in enumerate(pattern.grids)
    ]

    assert pattern.bars == len(bars)
    assert wanted == [len(beat) for bar in bars for beat in bar.split(" ")]
    for voice in {stroke.voice for stroke in pattern.strokes}:
        assert [*map(len, bars)] == [*map(len, strip(pattern, voice).split(" | "))]


def test_a_placing_is_known_whatever_the_groove() -> None:
    """The e and the a on every beat, over any groove of quarters and under backbeats.

    Not with another beat, and not on a pad: a drill of accents is no groove.
    """
    wanted = Placing(frozenset({Fraction(1, 4), Fraction(3, 4)}))

    assert wanted == placing(parse("hat: beat\nsnare: (e) (a) >2 >4"))
    assert wanted == placing(parse("meter: 3/4\nride: beat &\nsnare: (e) (1a) (2a) >3a"))
    assert None is placing(parse("hat: beat\nsnare: (e) (1a)"))
    assert None is placing(parse("hat: beat\nsnare: (e) (/a)"))
    assert None is placing(parse("hat: beat\nsnare: >e"))
    assert None is placing(parse("snare: >beat (&)"))


@pytest.mark.parametrize(
    ("slots", "groove"), [(3, "triplet backbeats"), (4, "rock eighths"), (6, "half-time")]
)
@pytest.mark.parametrize("ornament", [Ornament.NONE, Ornament.DOUBLE, Ornament.BUZZ])
def test_every_generated_placement_has_its_cell(
    slots: int, groove: str, ornament: Ornament
) -> None:
    """2^n - 1 figures, 2^n - 1 placings, and each is written into the map once."""
    laid = [lay(stock_groove(groove), [figure]) for figure in figures(slots, ornament=ornament)]
    found = {placing(one.pattern) for one in laid if one.pattern}
    cells = {placed: "92" for placed in found if placed}
    drawn = vocabulary_map(cells)

    assert 2**slots - 1 == len(cells) == len(found)
    assert f": cards for {2**slots - 1} of {2**slots - 1}\n" in drawn
    assert all(len(line) <= 80 for line in drawn.splitlines())


def test_the_map_groups_by_size() -> None:
    """A row for each number of partials; unknown cells stay empty.

    Grids without anything are not drawn.
    """
    cells = {Placing(frozenset({Fraction(1, 3)})): "(92)", Placing(frozenset({Fraction(0)})): "–"}
    block = vocabulary_map(cells).splitlines()

    assert ["eighth triplets, plain: cards for 2 of 7", "1··     – ·t·  (92) ··l"] == block[:2]
    assert 1 + 3 == len(block)
    assert "" == vocabulary_map({})


def test_the_fastest_of_some_grooves_is_written() -> None:
    """One placing over two grooves and one that is none.

    Played before unplayed, faster before slower.
    """
    e, half = parse("hat: beat\nsnare: (e) >2 >4"), parse("hat: beat\nsnare: (e) >3")
    cells = map_cells(
        [(e, None, "–"), (half, 84.0, "84"), (e, 80.0, "80"), (parse("bass: 1"), 99.0, "99")]
    )

    assert {placing(e): "84"} == cells


def test_motions_stand_under_the_hands_that_make_them() -> None:
    """The paradiddle, down up tap tap, right hand first."""
    text = "meter: 2/4\nsnare: >R1 L1e R1& R1a >L2 R2e L2& L2a"
    drawn = draw(parse(text), motions=True).splitlines()

    assert "right   D       T   T       U" == drawn[3]
    assert "left        U           D       T   T" == drawn[4]
    assert len(draw(parse(text)).splitlines()) + 2 == len(drawn)
    page = (Path(__file__).parents[2] / "docs" / "notation.md").read_text(encoding="utf-8")
    assert page.partition("```motions\n")[2].startswith(draw(parse(text), motions=True))


@examples(60)
@given(patterns())
def test_motions_fit_the_page_with_the_pattern(pattern: Pattern) -> None:
    """In 80 columns, broken like the bars above them.

    The letters in the rows are those of the movement.
    """
    drawn = draw(pattern, motions=True)
    rows = [line for line in drawn.splitlines() if line.startswith(("right", "left"))]
    shown = Counter("".join(rows).replace("right", "").replace("left", "").replace(" ", ""))
    signs: dict[int, str] = {}
    hands_of: dict[int, Hand] = {}
    for blow in movement(pattern).blows:
        if not blow.grace:
            signs[blow.stroke] = signs.get(blow.stroke, "") + blow.motion.sign
            hands_of[blow.stroke] = blow.hand
    struck = {(pattern.strokes[i].at, hands_of[i]): letters for i, letters in sorted(signs.items())}

    assert all(len(line) <= 80 for line in drawn.splitlines())
    assert Counter("".join(struck.values())) == shown


@examples(60)
@given(patterns())
def test_a_left_handed_drawing_is_the_mirror_image(pattern: Pattern) -> None:
    """The rows of the hands change places, all else stays."""
    right = chart(pattern, motions=True)
    left = chart(for_player(pattern, Hand.LEFT), leading=Hand.LEFT, motions=True)
    for one, other in zip(right.bars, left.bars, strict=True):
        assert one.motions is not None
        assert other.motions is not None
        assert one.motions == other.motions[::-1]
        assert one.rows == other.rows


def test_motion_in_words() -> None:
    """Rates, turns and the top in one sentence; a pattern without turns has none."""
    moved = movement(parse("hat: beat &\nsnare: (1a) >2 >4\nbass: 1 3"))

    assert (
        "at 80 bpm the right hand plays 2.7 strokes a second and the left 1.0; "
        "at the quickest a hand has 1312 ms from loud to quiet and 188 ms from quiet to loud; "
        "past about 105 bpm a hand cannot keep it up"
    ) == movement_words(moved, 80)
    assert "turns" not in movement_words(movement(parse("hat: beat")), 80)
    assert "at 60 bpm the right hand plays 0.0 strokes a second and the left 0.0" == movement_words(
        movement(parse("bass: beat")), 60
    )
