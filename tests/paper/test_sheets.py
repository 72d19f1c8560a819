"""Sheets: what stands on their pages, and that a file carries everything with it."""

from __future__ import annotations

import io
import re
import sys
from collections import Counter
from datetime import UTC, datetime
from fractions import Fraction
from functools import cache
from html import escape
from itertools import pairwise
from typing import TYPE_CHECKING

import html5lib
import pytest
from examples import examples
from hypothesis import given
from pypdf import PdfReader
from pypdf.generic import ContentStream
from starters import decks
from strategies import patterns

from drillbox.errors import DrillboxError, MissingExtraError, UsageError
from drillbox.paper import (
    Collection,
    Exercise,
    Form,
    Sheet,
    SheetForm,
    form_of,
    rendered,
    text_sheet,
)
from drillbox.paper.engraving import SPACE, bars_in_line, engrave
from drillbox.paper.exercise_sheet import exercise_sheet, steps
from drillbox.paper.formats import write_files
from drillbox.paper.lesson_sheet import Assigned, lesson_sheet
from drillbox.paper.letter_rows import Rows
from drillbox.paper.lettering import FAMILY, broken, width
from drillbox.paper.map_sheet import map_sheet
from drillbox.paper.page import A4, LETTER, POINT, Line, Music, Page, Rectangle, Text
from drillbox.paper.pdf_pages import pdf_pages
from drillbox.paper.plan_sheet import PlanLine, plan_sheet, record_line
from drillbox.paper.sheet_layout import STAVES, Look
from drillbox.paper.standing_sheet import FamilyStanding, standing_sheet
from drillbox.paper.svg_pages import letters_of
from drillbox.rhythm import Hand, Ornament, Pattern, Placing, parse

if TYPE_CHECKING:
    from pathlib import Path

AT = datetime(2026, 3, 2, tzinfo=UTC)


@cache
def to_print() -> tuple[Exercise, ...]:
    """Return what a sheet is made of, out of one starter deck."""
    cards = decks()["sixteenth-ghosts"].cards
    return tuple(Exercise(c.title, c.pattern, c.goal_bpm, c.note) for c in cards)


PAINTING = ("S", "s", "f", "F", "f*", "B", "B*", "b", "b*")
GRADES = ("fell apart", "shaky", "steady", "clean", "automatic")


def said(pages: tuple[Page, ...]) -> list[str]:
    """Return every text on some pages."""
    return [item.text for page in pages for item in page.items if isinstance(item, Text)]


def read(pages: tuple[Page, ...]) -> PdfReader:
    """Return pages as an independent reader sees their PDF."""
    return PdfReader(io.BytesIO(pdf_pages(pages, title="a title", at=AT)))


@examples(15)
@given(patterns(max_bars=2))
def test_any_pattern_can_be_engraved(pattern: Pattern) -> None:
    """As wide as the line or wider, and each letter below stands on one of few straight rows."""
    drawn = engrave(pattern, spaces=100, rows=Rows(hands=True))
    lines = -(-pattern.bars // bars_in_line(pattern, 100))
    rows = {letter.y for letter in drawn.letters}

    assert drawn.width >= 100 * SPACE - 1
    assert len(rows) <= 2 * lines


@pytest.mark.parametrize("spaces", [100, 110, 140])
def test_music_that_fits_is_as_wide_as_its_line(spaces: int) -> None:
    """To a hundredth: patterns below each other end at one edge."""
    for text in ("hat: beat &\nsnare: (e) >2 >4 (a)\nbass: 1 3", "snare: 1 2 3 4"):
        assert spaces == pytest.approx(engrave(parse(text), spaces=spaces).width / SPACE, rel=0.01)


def test_a_line_has_as_many_bars_as_it_holds_and_one_at_least() -> None:
    """A bar of sixteenths wants 16 * 4.4 spaces, clef and meter nine; there are no more than is."""
    four = parse("hat: beat e & a\nsnare: " + " | ".join([">2"] * 4))
    for spaces, bars in (
        (20, 1),
        (9 + 2 * 70.3, 1),
        (9 + 2 * 70.5, 2),
        (9 + 3 * 70.5, 3),
        (999, 4),
    ):
        assert bars == bars_in_line(four, spaces)


def test_time_runs_evenly_and_beams_are_flat() -> None:
    """Sixteen sixteenths stand at even distances, ghosts or not; no beam slopes."""
    pattern = parse("hat: beat &\nsnare: (e) >2 >4 (a)\nbass: 1 3")
    drawn = engrave(pattern, spaces=110)
    at = [letter.x for letter in sorted(drawn.letters)]
    steps_between = [after - before for before, after in pairwise(at)]
    beams = [mark.path for mark in drawn.marks if mark.path.endswith("Z") and " L" in mark.path]
    corners = [[pair.split() for pair in beam[1:-1].split(" L")] for beam in beams]

    assert ["1", "e", "&", "a"] == [letter.text for letter in sorted(drawn.letters)][:4]
    assert 16 == len(at)
    assert max(steps_between) - min(steps_between) < 0.15 * max(steps_between)
    assert beams
    assert all(corner[0][1] == corner[1][1] for corner in corners)


def test_triplet_brackets_are_level() -> None:
    """Also where no beam carries them, which the engraver would slope."""
    drawn = engrave(parse("grid: 8t\nhat: 1 l\nsnare: 1t"), spaces=100)
    brackets = [mark.path for mark in drawn.marks if not mark.filled]
    levels = [
        [pair.split(",")[1:] or pair.split()[1:] for pair in b[1:].split(" L")] for b in brackets
    ]

    assert brackets
    assert all(points[1] == points[2] for points in levels)


def test_letters_below_a_staff_grow_with_it() -> None:
    """1.62 spaces high, in the middle below their notes, wherever the music stands on the page."""
    drawn = engrave(to_print()[0].pattern, spaces=100)
    for scale in (0.009, 0.012):
        told = list(letters_of(Music(15.0, 40.0, scale, drawn)))
        assert len(told) == len(drawn.letters)
        for text, letter in zip(told, drawn.letters, strict=True):
            assert 1.62 * 180 * scale == pytest.approx(text.size * POINT)
            assert (15.0 + letter.x * scale, 40.0 + letter.y * scale) == (text.x, text.y)
            assert (letter.text, "middle") == (text.text, text.anchor)


@pytest.mark.parametrize("bars", [1, 4])
def test_the_top_of_music_is_the_highest_line_of_its_first_staff(bars: int) -> None:
    """What is set above it, a title say, stands above that."""
    pattern = parse("hat: beat e & a\nsnare: " + " | ".join([">2 >4"] * bars))
    drawn = engrave(pattern, spaces=60)
    lines = [mark.path[1:].replace(" L", " ").split() for mark in drawn.marks if mark.stroke]
    level = [float(path[1]) for path in lines if len(path) == 4 and path[1] == path[3]]
    assert min(level) == drawn.top
    assert 5 * -(-bars // bars_in_line(pattern, 60)) == len(set(level))


def test_the_number_of_a_triplet_stands_in_the_gap_of_its_bracket() -> None:
    """Between its two halves, as far below their line under every bracket, however notes lie."""
    drawn = engrave(parse("grid: 8t\nhat: 1 2l\nsnare: 1t 3 4l\nbass: 1l 2t 3l"), spaces=100)
    halves = [mark.path[1:].replace(" L", " ").split() for mark in drawn.marks if not mark.filled]
    left, right = halves[::2], halves[1::2]
    assert len(left) == len(right) > 1
    below: list[float] = []
    for one, other in zip(left, right, strict=True):
        gap, level = (float(one[4]), float(other[4])), float(one[5])
        (number,) = (
            mark
            for mark in drawn.marks
            if mark.upright == -1 and gap[0] - 1 <= mark.x <= gap[1] and abs(mark.y - level) < SPACE
        )
        below.append(number.y - level)
    assert max(below) - min(below) < SPACE / 50


@pytest.mark.parametrize(
    "text", ["hat: beat &\nsnare: (e) >2 >4 (a)\nbass: 1 3", "snare: beat t l"]
)
def test_letters_stand_in_the_middle_below_a_head(text: str) -> None:
    """Of a chord, the lowest one; all as far from its left edge."""
    drawn = engrave(parse(text if "&" in text else f"grid: 8t\n{text}"), spaces=100)
    heads = {round(mark.x, 1) for mark in drawn.marks if mark.upright == -1}
    assert drawn.letters
    for letter in drawn.letters:
        assert round(letter.x - 157 * 0.72, 1) in heads


def test_an_exercise_sheet_has_what_a_player_needs() -> None:
    """Six to eight patterns a page with title, goal, note, boxes, foot and page number."""
    pages = exercise_sheet(
        "Ghosts", ("A line.",), to_print()[:21], Look(), foot="deck, edition 1, CC0"
    )
    reader = read(pages)
    text = [page.extract_text() for page in reader.pages]

    for number, exercise in enumerate(to_print()[:21], start=1):
        assert f"{number}  {exercise.title}" in "\n".join(text)
    for number, page in enumerate(text, start=1):
        assert "deck, edition 1, CC0" in page
        assert f"{number} / {len(pages)}" in page
    for page in text[:-1]:
        assert 6 <= len(re.findall(r"goal ♩ = \d+", page)) <= 8
    assert A4.width == pytest.approx(float(reader.pages[0].mediabox.width) * POINT, abs=0.1)


def test_levels_have_a_key_where_there_are_taps() -> None:
    """A small head says nothing by itself; ghosts and accents alone are what everybody knows."""
    taps = Exercise("taps", parse("snare: >beat _e (&)"), 80.0)
    with_key = exercise_sheet("a title", (), [taps, *to_print()[:1]], Look(), foot="")

    assert any("small a tap" in text for text in said(with_key))
    assert not any(
        "small a tap" in t for t in said(exercise_sheet("", (), to_print()[:2], Look(), foot=""))
    )


def test_a_pdf_carries_its_fonts_and_no_pictures() -> None:
    """Both cuts embedded, every note a vector; the same sheet gives the same bytes."""
    pages = exercise_sheet("Ghosts", (), to_print()[:3], Look(paper=LETTER), foot="foot")
    reader = read(pages)
    fonts = reader.pages[0]["/Resources"]["/Font"]  # type: ignore[index]

    assert 2 == len(fonts)
    for font in fonts.values():
        below = font.get_object()["/DescendantFonts"][0].get_object()
        assert "/FontFile2" in below["/FontDescriptor"].get_object()
    assert [] == list(reader.pages[0].images)
    assert pdf_pages(pages, title="a", at=AT) == pdf_pages(pages, title="a", at=AT)


def test_text_stands_where_its_anchor_says() -> None:
    """Begun, centred or ended at a place, in millimetres from the top left, as a PDF counts."""
    wide = width("Ghosts", 11.0)
    for anchor, before in (("start", 0.0), ("middle", 0.5), ("end", 1.0)):
        page = Page(210.0, 297.0, (Text(100.0, 20.0, "Ghosts", 11.0, anchor=anchor),))
        found: list[tuple[float, float]] = []
        read((page,)).pages[0].extract_text(
            visitor_text=lambda text, _, place, *__, found=found: (
                found.append((place[4] * POINT, place[5] * POINT)) if text.strip() else None
            )
        )
        ((x, y),) = found
        assert (100.0 - before * wide, 297.0 - 20.0) == pytest.approx((x, y), abs=0.01)


def test_a_pdf_paints_every_mark_once() -> None:
    """As many paintings as marks of the music, lines and boxes; as much text as there is.

    By the operators of ISO 32000-1, table 60, read by another library.
    """
    for page in exercise_sheet("Ghosts", (), to_print()[:3], Look(), foot="foot"):
        reader = read((page,))
        stream = ContentStream(reader.pages[0].get_contents(), reader)
        painted = Counter(operator.decode() for _, operator in stream.operations)
        music = [item for item in page.items if isinstance(item, Music)]
        flat = [item for item in page.items if isinstance(item, Line | Rectangle)]
        letters = [letter.text for item in music for letter in item.engraving.letters]
        assert len(music) == 3
        marks = sum(len(item.engraving.marks) for item in music)
        assert marks + len(flat) == sum(painted[paints] for paints in PAINTING)
        told = reader.pages[0].extract_text()
        for letter, times in Counter(letters).items():
            assert told.count(letter) >= times


@pytest.mark.parametrize("form", [Form.SVG, Form.HTML])
def test_drawn_files_load_nothing_from_elsewhere(form: Form) -> None:
    """No address but the name of SVG itself, no script, the font inside; the same bytes twice."""
    collection = Collection("Ghosts", to_print()[:9])
    sheet = Sheet(
        "Ghosts",
        collection,
        lambda look: exercise_sheet("Ghosts", (), to_print()[:9], look, foot="f"),
    )
    files = rendered(sheet, form, SheetForm(), at=AT)
    text = "".join(content.decode() for content in files)

    assert (2 if form is Form.SVG else 1) == len(files)
    assert {"http://www.w3.org/2000/svg"} >= set(re.findall(r"https?://[^\"' ]+", text))
    assert "<script" not in text
    assert "url(data:font/ttf;base64," in text
    assert FAMILY in text
    assert files == rendered(sheet, form, SheetForm(), at=AT)


def test_html_is_read_without_a_complaint_and_prints_page_by_page() -> None:
    """By a strict reader of the HTML standard; one svg a page, the page's size in the rules."""
    sheet = Sheet(
        "A & B <x>",
        Collection("x", to_print()[:9]),
        lambda look: exercise_sheet("A & B <x>", (), to_print()[:9], look, foot="f"),
    )
    (content,) = rendered(sheet, Form.HTML, SheetForm(), at=AT)
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    document = parser.parse(content.decode())

    assert "A & B <x>" == document.findtext("head/title")
    assert 2 == len(document.findall("body/{http://www.w3.org/2000/svg}svg"))
    assert "@page{size:210mm 297mm" in content.decode()


def test_one_card_as_svg_is_a_drawing_of_its_own_size() -> None:
    """To stand in somebody's text: no page, no foot, no boxes."""
    sheet = Sheet(
        "x", Collection("x", (to_print()[3],)), lambda look: pytest.fail("no page is set")
    )
    (content,) = rendered(sheet, Form.SVG, SheetForm(), at=AT)
    height = float(re.search(rb'height="([\d.]+)mm"', content)[1])  # type: ignore[index]

    assert height < 50
    assert escape(to_print()[3].title) in content.decode()


@pytest.mark.parametrize(
    ("goal", "now", "step", "expected"),
    [
        (92, None, 5, (55, 60, 65, 70, 75, 80, 85, 90, 92, 95, 100)),
        (100, 81, 5, (80, 85, 90, 95, 100, 105, 110)),
        (100, 120, 5, (100, 105, 110)),
        (120, None, 10, (70, 80, 90, 100, 110, 120, 130, 140)),
        (200, 20, 5, (20, 40, 60, 80, 100, 120, 140, 160, 180, 200, 220, 240)),
    ],
)
def test_boxes_go_from_where_the_card_stands_past_the_goal(
    goal: float, now: float | None, step: int, expected: tuple[int, ...]
) -> None:
    """Steps of five or ten are common practice; the goal has its own box, and is no ceiling."""
    assert expected == steps(goal, now, step)


def test_a_plan_is_graded_with_a_pencil_and_typed_in_afterwards() -> None:
    """A row of grades a take, the tempo of the first; below, the line to type with gaps."""
    plan = [
        PlanLine("e", "e of every beat", to_print()[0].pattern, "work", 92, 2, "Because."),
        PlanLine("a", "a of every beat", to_print()[1].pattern, "wrap-up", 80, 1, "It holds."),
    ]
    pages = plan_sheet("Thursday", (), plan, GRADES, Look(), foot="f")
    words = said(pages)
    bold = {i.text for page in pages for i in page.items if isinstance(i, Text) and i.bold}

    assert "Afterwards, type the grades of the first takes in one line:" in bold
    assert record_line(plan) not in bold
    assert "drillbox record e 92 ____, a 80 ____" == record_line(plan)
    assert record_line(plan) in words
    assert 3 == words.count("automatic")
    assert ["take 1, 92", "take 2, ____", "take 1, 80"] == [w for w in words if "take " in w][:3]
    assert "Because." in words


def test_a_lesson_sheet_is_for_one_student() -> None:
    """The teacher's words, tempo now, target and day, and a line for those at home."""
    exercise = Exercise("e", to_print()[0].pattern, 92, "Low.", 71.6)
    words = said(
        lesson_sheet(
            "Maya", ("x",), "Play it low.", [Assigned(exercise, "Fri 6 Mar")], Look(), foot=""
        )
    )

    assert "Lesson sheet: Maya" in words
    assert "Play it low." in words
    assert "now 72, target ♩ = 92 by Fri 6 Mar" in words
    assert "Seen at home (name, date):" in words


def test_the_map_is_one_page_of_all_sets() -> None:
    """15 sets of sixteenths, 7 of triplets, 63 of sixteenth triplets: 2^n - 1 each."""
    cells = {
        Placing(frozenset({Fraction(1, 4)})): "96",
        Placing(frozenset({Fraction(1, 3)}), Ornament.BUZZ, 3): "(70)",
    }
    pages = map_sheet("Map", (), cells, Look(), foot="f")
    boxes = [item for item in pages[0].items if isinstance(item, Rectangle)]
    squares = [box for box in boxes if abs(box.width - box.height) < 1e-9]
    filled = sum(square.filled for square in squares)

    assert 1 == len(pages)
    assert 4 * 15 + 3 * 7 + 6 * 63 == len(squares)
    assert 15 * 4 // 2 + 2 + 7 * 3 // 2 + 2 + 63 * 6 // 2 + 3 == filled
    assert {"96", "(70)", "buzzed"} <= set(said(pages))
    assert "doubled" not in said(pages)
    assert max(item.x for item in pages[0].items if isinstance(item, Rectangle)) < A4.width - 15


def test_the_page_to_take_home_names_every_family() -> None:
    """How many were played, from which tempo to which, the goal; then what to begin with."""
    families = [
        FamilyStanding("pairs", 9, 2, 61.2, 74.6, 92),
        FamilyStanding("one", 1, 0, 70, 70, 60),
    ]
    words = said(standing_sheet("Standing", (), families, to_print()[:1], Look(), foot="f"))

    assert ["pairs", "2 of 9", "61 to 75", "92"] == words[2:6]
    assert ["one", "0 of 1", "70", "60"] == words[6:10]
    assert f"1  {to_print()[0].title}" in words


@pytest.mark.parametrize("staff", STAVES)
def test_every_staff_size_stays_inside_the_page(staff: str) -> None:
    """Left-handed on letter paper, hands and motions below: nothing runs over an edge."""
    look = Look(LETTER, STAVES[staff], Hand.LEFT, Rows(hands=True, motions=True))
    for page in exercise_sheet("Ghosts", ("x " * 300,), to_print()[:7], look, foot="f " * 300):
        for item in page.items:
            if isinstance(item, Text):
                size = width(item.text, item.size, bold=item.bold)
                left = item.x - {"start": 0, "middle": size / 2, "end": size}[item.anchor]
                assert left > 10, item
                assert left + size < LETTER.width - 10, item
                assert 5 < item.y < LETTER.height - 5, item


def test_text_is_broken_between_words_and_cut_where_it_must_be() -> None:
    """No line is wider than asked; a word that is too long ends with an ellipsis."""
    lines = broken("one two three four " * 9 + "x" * 400, 60, 10)

    assert all(width(line, 10) <= 60 for line in lines)
    assert lines[-1].endswith("…")
    assert ["one", "two", "three", "four"] == " ".join(lines).split()[:4]


def test_a_sign_that_the_font_lacks_is_a_box() -> None:
    """A title in Chinese leaves boxes, not a traceback; Greek and Cyrillic are there."""
    exercise = Exercise("鼓 Ωмега", to_print()[0].pattern, 90)
    reader = read(exercise_sheet("鼓", (), [exercise], Look(), foot="f"))

    assert "□ Ωмега" in reader.pages[0].extract_text()


@pytest.mark.parametrize(
    ("library", "form"), [("verovio", Form.SVG), ("fontTools.ttLib", Form.SVG), ("fpdf", Form.PDF)]
)
def test_a_missing_extra_is_one_sentence(
    library: str, form: Form, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is missing, how to get it, and what works without."""
    from drillbox.paper import engraving, lettering

    engraving._engraver.cache_clear()
    lettering._font.cache_clear()
    lettering._advances.cache_clear()
    monkeypatch.setitem(sys.modules, library, None)
    sheet = Sheet(
        "x",
        Collection("x", to_print()[:2]),
        lambda look: exercise_sheet("x", (), to_print()[:2], look, foot="f"),
    )
    with pytest.raises(MissingExtraError, match=r"pip install 'drillbox\[sheets\]'"):
        rendered(sheet, form, SheetForm(), at=AT)
    for other in (Form.TEXT, Form.MUSICXML, Form.MIDI):
        assert all(rendered(sheet, other, SheetForm(), at=AT))


def test_the_ending_of_the_name_says_the_form() -> None:
    """In any case; anything else is refused with the list."""
    assert Form.PDF is form_of("a/b.PDF")
    assert Form.MIDI is form_of("x.mid")
    with pytest.raises(UsageError, match=r"end the name in one of \.txt, \.pdf"):
        form_of("x.docx")
    with pytest.raises(UsageError, match="without an ending"):
        form_of("x")


def test_files_of_a_sheet_are_numbered_where_they_are_several(tmp_path: Path) -> None:
    """One has the name that was given; what is there is written over only if asked."""
    path = tmp_path / "sheet.svg"
    assert (path,) == write_files([b"one"], path)
    assert b"one" == path.read_bytes()
    names = write_files([b"1", b"2", b"3"], path)
    assert ["sheet-1.svg", "sheet-2.svg", "sheet-3.svg"] == [name.name for name in names]
    assert [b"1", b"2", b"3"] == [name.read_bytes() for name in names]
    with pytest.raises(DrillboxError, match=r"sheet-1\.svg"):
        write_files([b"x", b"y"], path)
    write_files([b"x", b"y"], path, over=True)
    assert b"y" == names[1].read_bytes()


def test_a_sheet_with_words_of_its_own_is_those_words() -> None:
    """Below its title and its lines; its exercises are not drawn out once more."""
    sheet = Sheet(
        "A plan", Collection("x", to_print()[:2]), lambda _: (), lines=("Mon.",), text="e at 92\n"
    )
    assert "A plan\nMon.\n\ne at 92\n" == text_sheet(sheet)


def test_a_text_sheet_needs_nothing_but_a_terminal() -> None:
    """Title, tempo, note and drawing of each."""
    sheet = Sheet("Ghosts", Collection("Ghosts", to_print()[:2]), lambda _: (), ("A line.",))
    (content,) = rendered(sheet, Form.TEXT, SheetForm(), at=AT)
    text = content.decode()

    assert text.startswith("Ghosts\nA line.\n")
    assert f"1  {to_print()[0].title}, {to_print()[0].bpm:.0f} bpm" in text
    assert "snare |" in text
