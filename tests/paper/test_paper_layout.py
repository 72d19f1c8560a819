"""Where things stand on a sheet, in millimetres: margins, boxes, pages, the map, the standing.

A sheet is read from a music stand at a metre: sizes are judgement, and these are the ones decided.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from page_items import boxes, texts

from drillbox.paper.exercise import Exercise
from drillbox.paper.exercise_sheet import card_block, level_key, steps
from drillbox.paper.lettering import broken, printable, shortened, width
from drillbox.paper.map_sheet import map_sheet
from drillbox.paper.page import A4, LETTER, POINT, Line, Text
from drillbox.paper.sheet_layout import (
    STAVES,
    Block,
    Look,
    heading,
    joined,
    paged,
    paragraph,
    tempo_text,
    tick_row,
)
from drillbox.paper.standing_sheet import FamilyStanding, standing_sheet
from drillbox.rhythm import Ornament, Placing, parse

if TYPE_CHECKING:
    from collections.abc import Callable

LOOK = Look()


def high(height: float, name: str = "x") -> Block:
    """Return a block of a height with one text at its top."""
    return Block(height, (Text(0, 0, name, 8),))


def test_paper_is_as_large_as_its_standard_says() -> None:
    """ISO 216: A4 is 210 by 297 mm; letter is 8.5 by 11 inches; a point is a 72nd of an inch."""
    assert (210.0, 297.0) == (A4.width, A4.height)
    assert (8.5 * 25.4, 11 * 25.4) == pytest.approx((LETTER.width, LETTER.height))
    assert 25.4 == pytest.approx(72 * POINT)
    assert {"small": 6.0, "usual": 7.0, "large": 9.5} == STAVES


def test_the_margins_leave_180_mm_of_a_line() -> None:
    """15 mm on both sides; text grows with a staff that is larger than usual, and never shrinks."""
    assert (180.0, 185.9) == pytest.approx((LOOK.room, Look(LETTER).room))
    sizes = [Look(staff=height).text for height in (6.0, 7.0, 9.5)]
    assert [1.0, 1.0, 9.5 / 7.0] == pytest.approx(sizes)


def test_a_title_shrinks_to_eleven_points_before_it_is_cut() -> None:
    """Sixteen where it fits; then smaller by whole points; the rule is 2.5 mm under the text."""
    short = heading("Ghosts", ("one line",), LOOK)
    title, line = texts(short)
    assert title.bold
    assert 0.0 == title.x == line.x
    assert (16.0, 16 * POINT) == pytest.approx((title.size, title.y))
    assert line.y - title.y == pytest.approx(9.5 * POINT * 1.35)
    (rule,) = (item for item in short.items if isinstance(item, Line))
    assert (0, 180.0, 0.4) == (rule.x1, rule.x2, rule.width)
    assert line.y + 2.5 == pytest.approx(rule.y1) == pytest.approx(rule.y2)
    assert rule.y1 + 1 == pytest.approx(short.height)
    (middle,) = texts(heading("Ghosts and more " * 4, (), LOOK))
    assert 11 <= middle.size < 16
    assert (
        width(middle.text, middle.size, bold=True)
        <= 180
        < width(middle.text, middle.size + 1, bold=True)
    )
    (long,) = texts(heading("Ghosts " * 40, (), LOOK))
    assert 11.0 == long.size
    assert long.text.endswith("…")


def test_beside_a_large_staff_text_is_larger() -> None:
    """By one factor in title, lines, paragraphs and boxes: it is read from farther away."""
    large, more = Look(staff=9.5), 9.5 / 7.0
    makers: tuple[Callable[[Look], Block], ...] = (
        lambda look: heading("Ghosts", ("one line",), look),
        lambda look: paragraph("one line", look),
        lambda look: tick_row(["60", "65"], look, before="at"),
    )
    for make in makers:
        usual, bigger = texts(make(LOOK)), texts(make(large))
        assert [more * text.size for text in usual] == pytest.approx([t.size for t in bigger])
        assert [more * text.y for text in usual] == pytest.approx([t.y for t in bigger])


def test_a_paragraph_is_lines_at_even_distances() -> None:
    """1.35 of the size apart; the block is as high as its lines."""
    block = paragraph("word " * 120, LOOK, size=10, bold=True)
    lines = texts(block)
    step = 10 * POINT * 1.35
    assert len(lines) > 2
    assert [step] * (len(lines) - 1) == pytest.approx([b.y - a.y for a, b in pairwise(lines)])
    assert 0.8 * step == pytest.approx(lines[0].y)
    assert step * len(lines) == pytest.approx(block.height)
    assert all(line.bold and line.x == 0 and line.size == 10 for line in lines)


def test_boxes_to_tick_stand_in_a_row() -> None:
    """Four millimetres, the label one beside it; after a word from 26 on; the heavy one 0.6."""
    block = tick_row(["60", "65", "70"], LOOK, heavy="65", before="steady at")
    row, labels = boxes(block), texts(block)
    assert [(4.0, 4.0)] * 3 == [(box.width, box.height) for box in row]
    assert [0.25, 0.6, 0.25] == [box.stroke for box in row]
    assert 26.0 == row[0].x
    assert ["steady at", "60", "65", "70"] == [label.text for label in labels]
    assert [box.x + 5 for box in row] == pytest.approx([label.x for label in labels[1:]])
    assert [False, True, False] == [label.bold for label in labels[1:]]
    gaps = [b.x - a.x for a, b in pairwise(row)]
    assert [4 + width("60", 9.5, bold=True) + 7] * 2 == pytest.approx(gaps)
    assert (5.5, 4 * 0.78) == pytest.approx((block.height, labels[0].y))
    many = boxes(tick_row([str(n) for n in range(100, 140)], LOOK))
    assert 0.0 == many[0].x
    assert [180 / 40] * 39 == pytest.approx([b.x - a.x for a, b in pairwise(many)])
    assert 5.5 == tick_row([], LOOK).height


def test_blocks_are_set_one_under_another() -> None:
    """A joined block is as high as its parts; lines move with both ends."""
    line = Block(3, (Line(1, 1, 2, 2, 0.4),))
    block = joined([high(5), line, high(2)])
    assert (10, [0, 8]) == (block.height, [text.y for text in texts(block)])
    assert Line(1, 6, 2, 7, 0.4) == block.items[1]
    assert 0.0 == joined([]).height


def test_a_page_ends_fifteen_millimetres_above_its_edge() -> None:
    """From 13 mm down; blocks three apart; what would pass 282 mm begins the next page."""
    # Head 13..23, then 26: 256 mm are left on the first page, 269 on the next.
    for height, pages in ((256.0, 1), (256.1, 1), (128.0, 2)):
        found = paged(high(10), [high(height, "a"), high(height, "b")][: 1 if height > 200 else 2],
                      LOOK, foot="f")  # fmt: skip
        assert pages == len(found)
    fits = paged(high(10), [high(126.5, "a"), high(126.5, "b")], LOOK, foot="f")
    assert 1 == len(fits)
    assert 2 == len(paged(high(10), [high(126.6, "a"), high(126.6, "b")], LOOK, foot="f"))
    assert 3 == len(paged(high(10), [high(200, c) for c in "abc"], LOOK, foot="f"))
    first, second = paged(high(10, "h"), [high(100, c) for c in "abc"], LOOK, foot="f")
    assert ["h", "a", "b", "f", "1 / 2"] == [text.text for text in texts(first)]
    assert ["c", "f", "2 / 2"] == [text.text for text in texts(second)]
    assert (15.0, 13.0) == texts(second)[0][:2] == texts(first)[0][:2]


def test_a_full_page_is_spread_and_the_last_hardly() -> None:
    """The room that is left goes between the blocks, nine millimetres at most; on the last 1.5."""
    # Head, two blocks of 100: they end at 13 + 10 + 3 + 100 + 3 + 100 = 229; 53 mm are left over.
    first, last = paged(high(10, "h"), [high(100, c) for c in "abc"], LOOK, foot="f")
    at = {text.text: text.y for text in texts(first)}
    assert (13.0, 26.0 + 9.0, 129.0 + 18.0) == pytest.approx((at["h"], at["a"], at["b"]))
    tight = paged(high(10, "h"), [high(124, c) for c in "abc"], LOOK, foot="f")[0]
    at = {text.text: text.y for text in texts(tight)}
    # 26 + 124 + 3 + 124 = 277: five millimetres for two gaps.
    assert (26.0 + 2.5, 153.0 + 5.0) == pytest.approx((at["a"], at["b"]))
    one = paged(high(10, "h"), [high(50, c) for c in "ab"], LOOK, foot="f")[0]
    at = {text.text: text.y for text in texts(one)}
    assert (27.5, 82.0) == pytest.approx((at["a"], at["b"]))
    assert 13.0 == texts(last)[0].y


def test_a_page_has_its_foot() -> None:
    """Eight millimetres above the edge, a thin rule four above it, the number on the right."""
    (page,) = paged(high(10), [], LOOK, foot="deck, edition 1")
    foot, number = texts(page)[-2:]
    assert (15.0, 289.0, 7.5) == (*foot[:2], foot.size)
    assert (195.0, 289.0, "end", "1 / 1") == (number.x, number.y, number.anchor, number.text)
    (rule,) = (item for item in page.items if isinstance(item, Line))
    assert Line(15.0, 285.0, 195.0, 285.0, 0.15) == rule
    (long,) = paged(high(10), [], LOOK, foot="word " * 200)
    cut = texts(long)[-2]
    assert cut.text.endswith("…")
    assert width(cut.text, 7.5) <= 180 - width("1 / 1", 7.5) - 5


def test_a_tempo_names_its_note_and_feel() -> None:
    """A dotted quarter in 6/8, a quarter elsewhere, whole bpm, and how it swings."""
    told = {
        "snare: 1": "♩ = 92", "meter: 6/8\nsnare: 1": "♩. = 92", "meter: 7/8\nsnare: 1": "♩ = 92",
        "swing: 16 3:2\nsnare: 1": "♩ = 92, sixteenths swung 3:2",
    }  # fmt: skip
    for text, words in told.items():
        assert words == tempo_text(parse(text), 92.4)


def test_text_is_as_wide_as_its_signs() -> None:
    """Widths add up, grow with the size, and bold is wider; a sign nobody has is a box."""
    assert width("ab", 10) == pytest.approx(width("a", 10) + width("b", 10))
    assert width("ab", 20) == pytest.approx(2 * width("ab", 10))
    assert width("ab", 10) < width("ab", 10, bold=True)
    assert "□□a" == printable("鼓鼓a")
    assert width("鼓", 10) == width("□", 10)
    exact = width("four words of text", 10)
    assert "four words of text" == shortened("four words of text", exact, 10)
    assert shortened("four words of text", exact - 0.1, 10).endswith("…")
    assert width(shortened("four words of text", exact - 0.1, 10), 10) <= exact
    assert ["four words", "of text"] == broken("four words of text", width("four words", 10), 10)
    assert ["a", "b"] == broken("a\n\nb", 100, 10)
    assert "…" == shortened("wide", 0.0, 10)


@pytest.mark.parametrize(
    ("goal", "now", "first", "last"), [(100, None, 65, 110), (100, 80.0, 80, 110)]
)
def test_boxes_begin_where_a_card_stands(
    goal: float, now: float | None, first: int, last: int
) -> None:
    """Nobody knows: at 65 % of the goal; else where it stands; two steps of five past the goal."""
    found = steps(goal, now, 5)
    assert (first, last) == (found[0], found[-1])
    assert [5] * (len(found) - 1) == [b - a for a, b in pairwise(found)]
    assert len(found) <= 12


def test_levels_are_explained_where_there_are_taps() -> None:
    """One line for a sheet with a tap, none for a sheet without."""
    tap, plain = (Exercise("x", parse(f"snare: {sign}1"), 90) for sign in ("_", ""))
    assert () == level_key([plain])
    assert 1 == len(level_key([plain, tap]))


def test_the_map_has_a_place_for_every_set() -> None:
    """Squares 2.6 wide at 3.0, rows of 4.6, cells of 10, all scaled alike to fill the page.

    A set's filled squares are its partials; its cell for plain ghosts holds what it is told.
    """
    e = Placing(frozenset({Fraction(1, 4)}))
    buzzed = Placing(frozenset({Fraction(1, 3)}), Ornament.BUZZ, 3)
    (page,) = map_sheet("Map", ("cells",), {e: "96", buzzed: "70"}, LOOK, foot="f")
    squares = [b for b in boxes(page) if b.width == pytest.approx(b.height)]
    cells = [b for b in boxes(page) if b not in squares]
    scale = squares[0].width / 2.6
    assert 0.5 < scale <= 1.4
    assert (4 * 15 + 3 * 7 + 6 * 63, 2 * (15 + 7 + 63)) == (len(squares), len(cells))
    rows = sorted({round(b.y, 3) for b in squares[: 4 * 15]})
    assert [4.6 * scale] * 14 == pytest.approx([b - a for a, b in pairwise(rows)], abs=1e-2)
    first = squares[:4]
    assert [3.0 * scale] * 3 == pytest.approx([b.x - a.x for a, b in pairwise(first)])
    for box in cells:
        assert (8.8 * scale, 3.8 * scale) == pytest.approx((box.width, box.height))
    (told,) = (text for text in texts(page) if text.text == "96")
    row = [b for b in squares if abs(b.y - 0.5 * scale - (told.y - 3 * scale)) < 1e-6 and b.x < 60]
    assert [False, True, False, False] == [b.filled for b in sorted(row)[:4]]
    cell = min(cells, key=lambda b: abs(b.x + b.width / 2 - told.x) + abs(b.y - told.y + 3 * scale))
    assert (cell.x + cell.width / 2, cell.y) == pytest.approx((told.x, told.y - 3 * scale))
    assert 15.0 == pytest.approx(min(b.x for b in boxes(page)))
    right = max(b.x + b.width for b in boxes(page))
    assert right <= 195.0
    names = [t.text for t in texts(page)]
    assert names.count("buzzed") == names.count("plain") > 0
    assert "doubled" not in names


def test_the_standing_is_drawn_to_scale() -> None:
    """A bar of 70 mm is the fastest tempo; black from slowest to fastest, a line at the goal.

    A family with one tempo has a sliver of 0.8 mm.
    """
    families = [
        FamilyStanding("pairs", 9, 2, 60.0, 75.0, 100.0),
        FamilyStanding("one", 1, 0, 70.2, 69.8, 50),
    ]  # fmt: skip
    (page,) = standing_sheet("S", (), families, (), LOOK, foot="f")
    frame, bar, other_frame, sliver = boxes(page)
    assert (70.0, 70.0) == (frame.width, other_frame.width)
    start = 15 + 180 - 70 - 12
    assert (start, start + 42.0, 10.5) == pytest.approx((frame.x, bar.x, bar.width))
    assert 0.8 == sliver.width
    goals = [item.x1 for item in page.items if isinstance(item, Line) and item.width == 0.5]
    assert [start + 70.0, start + 35.0] == pytest.approx(goals)
    words = [text.text for text in texts(page)]
    assert {"60 to 75", "2 of 9", "100", "70", "0 of 1", "50"} <= set(words)
    assert "Begin with these" not in words
    assert [False, True, False, True] == [box.filled for box in boxes(page)]


def test_a_card_has_a_box_every_five_bpm_unless_asked_otherwise() -> None:
    """The goal's own box among them, drawn heavier."""
    card = Exercise("e", parse("snare: >2 >4 (e)"), 92)
    for made, step in (
        (card_block("1", card, LOOK), 5),
        (card_block("1", card, LOOK, step=10), 10),
    ):
        told = [text.text for text in texts(made)]
        assert [str(bpm) for bpm in steps(92, None, step)] == [t for t in told if t.isdigit()][
            -len(steps(92, None, step)) :
        ]
        assert 1 == sum(box.stroke > 0.5 for box in boxes(made))
