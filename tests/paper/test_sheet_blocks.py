"""The blocks of sheets in millimetres: music with its words, boxes, plans, lessons, the map.

Sizes are judgement, and these are the ones decided; text is placed from its size, a point being
25.4 / 72 mm.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import pytest
from page_items import boxes, texts

from drillbox.paper.engraving import SPACE
from drillbox.paper.exercise import Exercise
from drillbox.paper.exercise_sheet import card_block, card_drawing, exercise_sheet, steps
from drillbox.paper.lesson_sheet import Assigned, lesson_sheet
from drillbox.paper.lettering import width
from drillbox.paper.map_sheet import map_sheet
from drillbox.paper.page import A4, LETTER, POINT, Line, Music, Page, Rectangle, Text
from drillbox.paper.plan_sheet import PlanLine, plan_sheet
from drillbox.paper.sheet_layout import Block, Look, heading, moved, music_block, paged
from drillbox.paper.standing_sheet import FamilyStanding, standing_sheet
from drillbox.rhythm import Ornament, Placing, parse

LOOK = Look()
GROOVE = parse("hat: beat &\nsnare: (e) >2 >4\nbass: 1 3")
CARD = Exercise("Ghosts", GROOVE, 92, "Low.", 70)
FAMILIES = [
    FamilyStanding("pairs", 9, 2, 60, 75, 117), FamilyStanding("one", 1, 0, 70.2, 69.8, 50),
]  # fmt: skip
GRADES = ("poor", "fair", "good")


def music(page: Page | Block) -> list[Music]:
    """Return the music of a page or block."""
    return [item for item in page.items if isinstance(item, Music)]


def spans(page: Page) -> list[tuple[float, float, float, float]]:
    """Return left, right, top and bottom of everything on a page; a text's height is its size."""
    found = []
    for item in page.items:
        if isinstance(item, Text):
            wide = width(item.text, item.size, bold=item.bold)
            left = item.x - wide * {"start": 0, "middle": 0.5, "end": 1}[item.anchor]
            found.append((left, left + wide, item.y - 0.7 * item.size * POINT, item.y))
        elif isinstance(item, Line):
            found.append((item.x1, item.x2, item.y1, item.y2))
        elif isinstance(item, Rectangle):
            found.append((item.x, item.x + item.width, item.y, item.y + item.height))
        else:
            drawn = item.engraving
            right, bottom = item.x + drawn.width * item.scale, item.y + drawn.height * item.scale
            found.append((item.x, right, item.y, bottom))
    return found


def lines_of(number: int) -> list[PlanLine]:
    """Return so many cards of a plan, each with one take more."""
    return [
        PlanLine(f"n{n}", f"Title {n}", GROOVE, "work", 80 + n, n, f"Why {n}.")
        for n in range(1, number + 1)
    ]


def sheets() -> dict[str, tuple[Page, ...]]:
    """Return a sheet of every kind, on two papers."""
    cells = {Placing(frozenset({Fraction(1, 4)})): "96"}
    cells[Placing(frozenset({Fraction(1, 3)}), Ornament.BUZZ, 3)] = "(70)"
    return {
        "exercises": exercise_sheet("Sheet", ("A line.",), [CARD] * 9, LOOK, foot="foot"),
        "plan": plan_sheet("Today", ("Monday.",), lines_of(5), GRADES, Look(LETTER), foot="foot"),
        "lesson": lesson_sheet("Maya", (), "Low.", [Assigned(CARD, "Friday")], LOOK, foot="foot"),
        "map": map_sheet("Map", ("cells",), cells, Look(LETTER), foot="foot"),
        "standing": standing_sheet("S", ("A.",), FAMILIES, [CARD], Look(LETTER), foot="foot"),
    }


@pytest.mark.parametrize("kind", ["exercises", "plan", "lesson", "map", "standing"])
def test_nothing_on_a_sheet_lies_over_anything_else(kind: str) -> None:
    """All stands inside the margins, and no two things share more than a hair of paper."""
    for page in sheets()[kind]:
        found = spans(page)
        for left, right, top, bottom in found:
            assert 15 - 1e-6 <= left <= right <= page.width - 15 + 0.01
            assert 12 <= top <= bottom <= page.height - 8
        flat = [s for s in found if s[0] < s[1] and s[2] < s[3]]
        for one, other in combinations(flat, 2):
            across = min(one[1], other[1]) - max(one[0], other[0])
            down = min(one[3], other[3]) - max(one[2], other[2])
            # What a cell of the map is told stands in it, and what a bar shows lies on its frame.
            inside = (kind == "map" and down < 3.1 * 1.4) or (kind == "standing" and down <= 1.601)
            assert across < 0.02 or down < 0.02 or inside, (one, other)


def test_music_stands_between_its_words() -> None:
    """Number and title on the left in bold, a word on the right, the note below, then the staff.

    The staff is 7 mm high; title 11 points, note 8, lines 1.35 of their size apart, 2.7 mm to the
    music and 1.2 under it.
    """
    block = music_block("3", "Ghosts", "goal 92", GROOVE, LOOK, note="Keep them low.")
    title, right, note = texts(block)
    assert Text(0, 11 * POINT, "3  Ghosts", 11, bold=True) == title
    assert Text(180, 11 * POINT, "goal 92", 11, anchor="end") == right
    assert (0, "Keep them low.", 8, False) == (note.x, note.text, note.size, note.bold)
    assert 11 * POINT + 8 * POINT * 1.35 == pytest.approx(note.y)
    (drawn,) = music(block)
    assert (0, note.y + 2.7) == pytest.approx((drawn.x, drawn.y))
    assert 7.0 == pytest.approx(4 * SPACE * drawn.scale, rel=1e-3)
    assert 180 == pytest.approx(drawn.engraving.width * drawn.scale, rel=1e-3)
    assert drawn.y + drawn.engraving.height * drawn.scale + 1.2 == pytest.approx(block.height)
    bare = music_block("", "Ghosts", "goal 92", GROOVE, LOOK)
    assert ["Ghosts", "goal 92"] == [text.text for text in texts(bare)]
    assert 11 * POINT + 2.7 == pytest.approx(music(bare)[0].y)


def test_a_long_title_leaves_room_for_the_word_on_the_right() -> None:
    """Four millimetres between them; a note has two lines at most."""
    block = music_block("1", "Ghosts " * 60, "goal 92", GROOVE, LOOK, note="word " * 300)
    title, right, *note = texts(block)
    room = 180 - width("goal 92", 11) - 4
    assert title.text.endswith("…")
    assert room - 8 < width(title.text, 11, bold=True) <= room
    assert "goal 92" == right.text
    assert 2 == len(note)


@pytest.mark.parametrize(("staff", "more"), [(6.0, 1.0), (9.5, 9.5 / 7)])
def test_words_grow_with_a_larger_staff(staff: float, more: float) -> None:
    """And the distances to it; the staff itself is as high as asked where its bar fits."""
    block = music_block("", "x", "r", parse("snare: 1"), Look(staff=staff), note="n")
    title, right, note = texts(block)
    assert [11 * more, 11 * more, 8 * more] == pytest.approx([title.size, right.size, note.size])
    (drawn,) = music(block)
    assert 2.7 * more == pytest.approx(drawn.y - note.y)
    assert 1.2 * more == pytest.approx(
        block.height - drawn.y - drawn.engraving.height * drawn.scale
    )
    assert staff == pytest.approx(4 * SPACE * drawn.scale, rel=1e-3)


def test_what_is_below_music_hangs_under_it() -> None:
    """Blocks in order, each at the end of the one before."""
    below = [Block(5, (Line(0, 1, 9, 1),)), Block(7, (Line(0, 2, 9, 2),))]
    bare = music_block("", "x", "r", GROOVE, LOOK)
    block = music_block("", "x", "r", GROOVE, LOOK, below=below)
    lines = [item.y1 for item in block.items if isinstance(item, Line)]
    assert [bare.height + 1, bare.height + 5 + 2] == pytest.approx(lines)
    assert bare.height + 12 == pytest.approx(block.height)


def test_a_bar_too_long_for_the_line_is_drawn_smaller() -> None:
    """As wide as the line and no wider."""
    long = parse("meter: 12/8\nhat: beat &\nsnare: 1")
    (drawn,) = music(music_block("", "x", "r", long, Look(staff=9.5)))
    assert drawn.engraving.width * drawn.scale <= 180.01
    assert 4 * SPACE * drawn.scale < 9.5


def test_moving_a_thing_moves_all_of_it() -> None:
    """By as much across and down, and changes nothing else."""
    assert Text(11, 22, "t", 8) == moved(Text(1, 2, "t", 8), 10, 20)
    black = Rectangle(1, 2, 3, 4, 0.5, filled=True)
    assert Rectangle(11, 22, 3, 4, 0.5, filled=True) == moved(black, 10, 20)
    assert Line(11, 22, 13, 24, 0.7) == moved(Line(1, 2, 3, 4, 0.7), 10, 20)


def test_a_card_in_a_text_has_four_millimetres_around_it() -> None:
    """The block as it would stand on a sheet, without number and boxes."""
    page = card_drawing(CARD, LOOK)
    block = music_block("", "Ghosts", "♩ = 92", GROOVE, LOOK, note="Low.")
    assert (188, block.height + 8) == pytest.approx((page.width, page.height))
    assert [moved(item, 4, 4) for item in block.items] == list(page.items)


def test_a_card_has_its_boxes_below() -> None:
    """From where it stands to two steps past its goal, whose box is heavy; the goal itself."""
    block = card_block("2", CARD, LOOK)
    words = [text.text for text in texts(block)]
    assert ["2  Ghosts", "goal ♩ = 92", "Low."] == words[:3]
    assert ["70", "75", "80", "85", "90", "92", "95", "100"] == words[3:]
    assert [0.6 if word == "92" else 0.25 for word in words[3:]] == [b.stroke for b in boxes(block)]
    assert "by Friday" == texts(card_block("2", CARD, LOOK, right="by Friday"))[1].text


@pytest.mark.parametrize(
    ("goal", "now", "step", "expected"),
    [
        (90, None, 5, (55, 60, 65, 70, 75, 80, 85, 90, 95, 100)),
        (90, 90.0, 5, (90, 95, 100)),
        (92, 92.0, 5, (90, 92, 95, 100)),
        (92, 95.0, 5, (90, 92, 95, 100)),
        (60, 2.0, 10, (10, 20, 30, 40, 50, 60, 70, 80)),
        (100, 55.0, 5, (55, 60, 65, 70, 75, 80, 85, 90, 95, 100, 105, 110)),
        (100, 54.9, 5, (50, 60, 70, 80, 90, 100, 110, 120)),
        (91.6, 90.0, 5, (90, 92, 95, 100)),
    ],
)
def test_boxes_are_at_even_tempos_and_twelve_at_most(
    goal: float, now: float | None, step: int, expected: tuple[int, ...]
) -> None:
    """On multiples of the step, the goal's own between them, two beyond it.

    Thirteen would be too many: then they are twice as far apart.
    """
    assert expected == steps(goal, now, step)


def test_cards_are_numbered_and_passed_on_as_they_are_drawn() -> None:
    """From one, in order, each once; a progress bar sees them all."""
    seen: list[str] = []

    def through(cards):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
        for card in cards:
            seen.append(card.title)
            yield card

    cards = [Exercise(name, GROOVE, 92) for name in ("a", "b", "c")]
    pages = exercise_sheet("Sheet", (), cards, LOOK, foot="f", through=through)
    told = [text.text for page in pages for text in texts(page)]
    assert ["a", "b", "c"] == seen
    assert [1, 1, 1] == [told.count(name) for name in ("1  a", "2  b", "3  c")]


def test_a_plan_has_a_row_of_grades_a_take_and_six_at_most() -> None:
    """The first at its tempo, the others open; every grade a box in every row."""
    plan = [lines_of(8)[n - 1] for n in (1, 2, 6, 7, 8)]
    told = [
        t.text for page in plan_sheet("T", (), plan, GRADES, LOOK, foot="f") for t in texts(page)
    ]
    first, *others = ([t for t in told if t.startswith(f"take {n}, ")] for n in range(1, 8))
    assert ["take 1, 81", "take 1, 82", "take 1, 86", "take 1, 87", "take 1, 88"] == first
    assert [4, 3, 3, 3, 3, 0] == [len(rows) for rows in others]
    assert {f"take {n}, ____" for n in range(2, 7)} == {t for rows in others for t in rows}
    assert [1 + 2 + 6 + 6 + 6] * 3 == [told.count(grade) for grade in GRADES]
    assert "1  Title 1" in told
    assert "work, ♩ = 81" in told


def test_the_words_to_type_are_bold_and_the_line_is_not() -> None:
    """The last block of a plan: what to do, and below it the line with its gaps."""
    (page,) = plan_sheet("T", (), lines_of(1), GRADES, LOOK, foot="f")
    head, line = texts(page)[-4:-2]
    assert ("Afterwards, type the grades of the first takes in one line:", True) == (
        head.text, head.bold,
    )  # fmt: skip
    assert ("drillbox record n1 81 ____", False) == (line.text, line.bold)
    assert 9.5 * POINT * 1.35 == pytest.approx(line.y - head.y)


def test_a_lesson_has_a_line_to_sign() -> None:
    """Behind its label, to the right margin, a little below; no tempo that nobody knows."""
    (page,) = lesson_sheet("Maya", (), "", [Assigned(Exercise("x", GROOVE, 92))], LOOK, foot="f")
    label = next(text for text in texts(page) if text.text.startswith("Seen at home"))
    (line,) = (item for item in page.items if isinstance(item, Line) and item.width == 0.2)
    assert 15 + width(label.text, label.size) < line.x1
    assert (75, 195, label.y + 0.5, label.y + 0.5) == pytest.approx(
        (line.x1, line.x2, line.y1, line.y2)
    )
    assert "target ♩ = 92" in [text.text for text in texts(page)]


def test_a_family_has_a_line_of_its_own() -> None:
    """Name, count, tempos, a bar of them, the goal at the right margin; lines six mm apart.

    Above them what the bars show, below them the cards to begin with, under a heading.
    """
    (page,) = standing_sheet("S", (), FAMILIES, [CARD], LOOK, foot="f")
    told = {text.text: text for text in texts(page)}
    key = next(text for name, text in told.items() if name.startswith("Black: "))
    assert (15, 8, False) == (key.x, key.size, key.bold)
    pairs, one, count, tempos, goal = (
        told[name] for name in ("pairs", "one", "2 of 9", "60 to 75", "117")
    )
    assert pairs.y == count.y == tempos.y == goal.y
    assert [15, 15 + 62 + 14, 15 + 180 - 84, 195] == [
        each.x for each in (pairs, count, tempos, goal)
    ]
    assert ["start", "end", "end", "end"] == [each.anchor for each in (pairs, count, tempos, goal)]
    assert [9.5, 8, 9.5, 9.5] == [each.size for each in (pairs, count, tempos, goal)]
    frame, bar, *_ = boxes(page)
    assert (pairs.y - 2, pairs.y - 2) == pytest.approx((frame.y, bar.y))
    assert (1.6, 1.6, 0.15, 0.1) == (frame.height, bar.height, frame.stroke, bar.stroke)
    mark = next(item for item in page.items if isinstance(item, Line) and item.width == 0.5)
    assert (pairs.y - 3.2, pairs.y + 0.8) == pytest.approx((mark.y1, mark.y2))
    assert 6.0 <= one.y - pairs.y <= 6.0 + 1.5
    begin, card = told["Begin with these"], told["1  Ghosts"]
    assert (True, 13) == (begin.bold, begin.size)
    assert one.y < begin.y < card.y
    names = [text.text for text in texts(page)]
    assert ["70", "50"] == names[names.index("0 of 1") + 1 :][:2]


def test_a_long_family_is_cut_before_its_count() -> None:
    """At 62 mm."""
    long = FamilyStanding("name " * 40, 9, 2, 60, 75, 100)
    (page,) = standing_sheet("S", (), [long], (), LOOK, foot="f")
    (name,) = (text for text in texts(page) if text.text.startswith("name"))
    assert 55 < width(name.text, name.size) <= 62


def test_the_map_has_three_columns_from_the_left_margin() -> None:
    """Sixteenths above triplets, then the sets of sixteenth triplets in two halves.

    A column is as wide as its squares, two millimetres, and ten for each embellishment; six lie
    between two columns. The head of a part is ten high, four follow its rows.
    """
    (page,) = map_sheet("Map", (), {}, LOOK, foot="f")
    squares = [b for b in boxes(page) if b.width == pytest.approx(b.height)]
    cells = [b for b in boxes(page) if b.width > 2 * b.height]
    scale = squares[0].width / 2.6
    wide = [4 * 3 + 2 + 10, 6 * 3 + 2 + 10, 6 * 3 + 2 + 10]
    lefts = [15.0, 15 + (wide[0] + 6) * scale, 15 + (wide[0] + wide[1] + 12) * scale]
    starts = [b.x for b in (squares[0], squares[60 + 21], squares[60 + 21 + 32 * 6])]
    assert lefts == pytest.approx(starts)
    assert 32 * 4.6 + 14 == pytest.approx(max(32 * 4.6 + 14, 22 * 4.6 + 28))
    tall = max(32 * 4.6 + 14, 22 * 4.6 + 28)
    most = min(1.4, 180 / (sum(wide) + 12), (297 - 60) / tall)
    assert most == pytest.approx(scale)
    assert [left + (w - 10 + 0.6) * scale for left, w in zip(lefts, wide, strict=True)] == (
        pytest.approx([cells[n].x for n in (0, 15 + 7, 15 + 7 + 32)])
    )
    top = squares[0].y - 10.5 * scale
    below = squares[60].y - 10.5 * scale
    assert (10 + 15 * 4.6 + 4) * scale == pytest.approx(below - top)
    assert [top] * 2 == pytest.approx([squares[n].y - 10.5 * scale for n in (81, 81 + 192)])
    assert [b.stroke for b in squares[:2] + cells[:2]] == [0.15, 0.15, 0.12, 0.12]


def test_the_map_names_its_parts_columns_and_partials() -> None:
    """Names at the left edge in bold, letters over their squares, embellishments over their cells.

    Words that are too long for a cell are set smaller; none is wider than the cell less one.
    """
    cells = {Placing(frozenset({Fraction(1, 4)}), each, 4): "1" for each in Ornament if each}
    (page,) = map_sheet("Map", (), cells, LOOK, foot="f")
    squares = [b for b in boxes(page) if b.width == pytest.approx(b.height)]
    scale = squares[0].width / 2.6
    names = [t for t in texts(page) if t.bold][1:]
    assert ["Sixteenths", "Eighth triplets", "Sixteenth triplets", ""] == [t.text for t in names]
    assert [10 * scale] * 4 == pytest.approx([t.size for t in names])
    assert squares[0].y - 6.5 * scale == pytest.approx(names[0].y)
    letters = [t for t in texts(page) if t.anchor == "middle"]
    above = [t for t in letters if t.y == pytest.approx(squares[0].y - 1.9 * scale)]
    first = [t.text for t in above if t.x < 15 + 12 * scale]
    assert ["1", "e", "&", "a"] == first
    centres = [b.x + b.width / 2 for b in squares[:4]]
    assert centres == pytest.approx([t.x for t in above if t.x < 15 + 12 * scale])
    words = [t for t in above if len(t.text) > 1]
    assert len(words) == 3 * len(Ornament)
    assert all(width(t.text, t.size) <= 9 * scale + 1e-6 for t in words)
    assert all(t.size <= 7 * scale + 1e-9 for t in words)
    assert any(t.size == pytest.approx(7 * scale) for t in words)
    slots = [b for b in boxes(page) if b.width > 2 * b.height][: len(Ornament)]
    middles = [b.x + b.width / 2 for b in slots]
    assert middles == pytest.approx([t.x for t in words[: len(Ornament)]])


@pytest.mark.parametrize("slots", [3, 4, 6])
def test_each_set_of_the_map_has_its_own_cell(slots: int) -> None:
    """What a placing is told stands in its row and its embellishment's column, in no other."""
    column = {4: "Sixteenths", 3: "Eighth triplets", 6: "Sixteenth triplets"}[slots]
    for partials in ((0,), (1, 2), tuple(range(slots))):
        offsets = frozenset(Fraction(n, slots) for n in partials)
        for ornament in (Ornament.NONE, Ornament.DOUBLE):
            placing = Placing(offsets, ornament, 0 if ornament is Ornament.NONE else slots)
            (page,) = map_sheet("Map", (), {placing: "told"}, LOOK, foot="f")
            told = [text for text in texts(page) if text.text == "told"]
            # The plain set of halves, or of a beat, is one of every grid that has it.
            assert 1 <= len(told) <= (3 if ornament is Ornament.NONE else 1), column
            squares = [b for b in boxes(page) if b.width == pytest.approx(b.height)]
            scale = squares[0].width / 2.6
            rows = [
                [b.filled for b in squares if abs(b.y - (t.y - 2.5 * scale)) < 1e-6 and
                 t.x - (20 + 10 * (1 + (ornament is not Ornament.NONE))) * scale < b.x < t.x]
                for t in told
            ]  # fmt: skip
            assert [n in partials for n in range(slots)] in rows


def test_a_page_takes_what_fits_and_begins_the_next_with_what_does_not() -> None:
    """Every block once, in order; a block that fits on no page has one of its own."""
    tall = [Block(300, (Text(0, 0, name, 8),)) for name in "ab"]
    small = Block(20, (Text(0, 0, "c", 8),))
    pages = paged(heading("T", (), LOOK), [*tall, small], LOOK, foot="f")
    told = [[t.text for t in texts(page) if len(t.text) == 1 and t.size == 8] for page in pages]
    assert ["a", "b", "c"] == [name for page in told for name in page]
    assert all(len(page) <= 1 for page in told)
    assert [A4.height] * len(pages) == [page.height for page in pages]
