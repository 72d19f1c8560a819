"""One sheet in every form: what each holds of its exercises, and how it is asked for."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import mido
import pytest

from drillbox.paper import (
    Collection,
    Exercise,
    Form,
    Playing,
    Sheet,
    SheetForm,
    form_of,
    midi_file,
    musicxml,
    rendered,
    text_sheet,
)
from drillbox.paper.exercise_sheet import card_drawing, exercise_sheet
from drillbox.paper.html_pages import html_pages
from drillbox.paper.letter_rows import Rows
from drillbox.paper.lettering import broken, shortened, width
from drillbox.paper.page import A4, LETTER
from drillbox.paper.sheet_layout import STAVES
from drillbox.paper.svg_pages import svg_page
from drillbox.rhythm import Hand, draw, for_player, parse

if TYPE_CHECKING:
    from drillbox.paper.page import Page
    from drillbox.paper.sheet_layout import Look

AT = datetime(2026, 3, 2, tzinfo=UTC)
CARDS = (
    Exercise("One", parse("hat: beat &\nsnare: (e) >2 >4\nbass: 1 3"), 91.6, "Low."),
    Exercise("Two", parse("snare: f1 2"), 70),
)


def sheet(count: int = 2) -> Sheet:
    """Return a sheet of so many exercises."""
    cards = CARDS[:count]

    def pages(look: Look) -> tuple[Page, ...]:
        return exercise_sheet("A title", (), cards, look, foot="f")

    return Sheet("A title", Collection("all", cards, "me", "CC0"), pages, ("A line.",))


@pytest.mark.parametrize("leading", Hand)
def test_a_text_has_each_exercise_once(leading: Hand) -> None:
    """Title and lines, then number, title and whole bpm, the note if there is one, the drawing."""
    one, two = (draw(card.pattern, width=80, leading=leading) for card in CARDS)
    wanted = f"A title\nA line.\n\n1  One, 92 bpm\nLow.\n\n{one}\n2  Two, 70 bpm\n\n{two}"
    assert wanted == text_sheet(sheet(), leading=leading)
    (content,) = rendered(sheet(), Form.TEXT, SheetForm(leading=leading), at=AT)
    assert wanted.encode() == content


def test_a_text_is_as_wide_as_it_may_be() -> None:
    """No line of a drawing is longer than the columns that are asked for, where one bar fits."""
    long = Exercise("Long", parse("hat: beat e & a\nsnare: " + " | ".join([">2"] * 4)), 90)
    for columns in (80, 50):
        text = text_sheet(Sheet("t", Collection("t", (long,)), lambda _: ()), width=columns)
        assert draw(long.pattern, width=columns) in text
        assert max(map(len, text.splitlines())) <= columns


def test_files_for_other_programs_hold_the_collection() -> None:
    """With the rows, the leading hand, the passes and clicks that were asked for."""
    how = SheetForm(leading=Hand.LEFT, rows=Rows(hands=True, motions=True))
    (score,) = rendered(sheet(), Form.MUSICXML, how, at=AT)
    assert musicxml(sheet().collection, rows=how.rows, leading=Hand.LEFT) == score
    assert musicxml(sheet().collection) != score
    (plain,) = rendered(sheet(), Form.MIDI, how, at=AT)
    assert midi_file(sheet().collection) == plain
    playing = Playing(passes=3, click=True, count_in_bars=2)
    (played,) = rendered(sheet(), Form.MIDI, how, at=AT, playing=playing)
    assert midi_file(sheet().collection, passes=3, click=True, count_in_bars=2) == played
    assert 3 == len(mido.MidiFile(file=io.BytesIO(played)).tracks)


def test_drawn_forms_hold_the_pages() -> None:
    """One SVG a page, one HTML and one PDF for all; one exercise alone is a drawing."""
    how = SheetForm(paper="letter", staff="large")
    look = how.look()
    pages = sheet().pages(look)
    assert tuple(map(svg_page, pages)) == rendered(sheet(), Form.SVG, how, at=AT)
    assert (html_pages(pages, title="A title"),) == rendered(sheet(), Form.HTML, how, at=AT)
    (pdf,) = rendered(sheet(1), Form.PDF, how, at=AT)
    assert pdf.startswith(b"%PDF-")
    (alone,) = rendered(sheet(1), Form.SVG, how, at=AT)
    assert svg_page(card_drawing(CARDS[0], look)) == alone


def test_a_look_is_what_its_words_say() -> None:
    """Every paper and every staff by name; the leading hand and the rows as they were given."""
    rows = Rows(counts=False)
    for name, paper in (("a4", A4), ("letter", LETTER)):
        for staff, height in STAVES.items():
            look = SheetForm(name, staff, Hand.LEFT, rows).look()
            assert (paper, height, Hand.LEFT, rows) == (
                look.paper, look.staff, look.leading, look.rows,
            )  # fmt: skip
    usual = SheetForm().look()
    assert (A4, 7.0, Hand.RIGHT, Rows()) == (usual.paper, usual.staff, usual.leading, usual.rows)
    assert (True, None, False) == (Rows().counts, Rows().hands, Rows().motions)
    assert (1, False, 0) == (Playing().passes, Playing().click, Playing().count_in_bars)


@pytest.mark.parametrize("form", Form)
def test_every_form_is_known_by_its_ending(form: Form) -> None:
    """In any case, wherever the file lies."""
    for name in (f"x.{form}", f"/a.b/x.{form.upper()}", f"x.y.{form}"):
        assert form is form_of(name)


def test_a_player_s_hands_are_drawn() -> None:
    """Mirrored for the left: the letters below, and what a program reads."""
    card = Exercise("x", for_player(parse("snare: R1 L2"), Hand.LEFT), 90)
    one = Sheet("x", Collection("x", (card,)), lambda _: ())
    (score,) = rendered(one, Form.MUSICXML, SheetForm(leading=Hand.LEFT), at=AT)
    assert [b"L", b"R"] == [part[:1] for part in score.split(b'<other-play type="hand">')[1:]]


def test_lines_are_filled_before_they_are_broken() -> None:
    """As many words as fit, to a hair; a word too long alone is cut; an empty text has no line."""
    two = width("aa bb", 10)
    assert ["aa bb", "cc"] == broken("aa bb cc", two, 10)
    assert ["aa", "bb", "aa"] == broken("aa bb aa", two - 0.01, 10)
    assert [] == broken("", 50, 10) == broken(" \n ", 50, 10)
    assert ["a", "b c"] == broken("a\nb  c", 50, 10)
    first, long = broken(f"a {'x' * 99}", 40, 10)
    assert "a" == first
    assert long.endswith("x…")
    assert width(long, 10) <= 40 < width(long.replace("…", "x…"), 10)


def test_a_text_is_cut_as_late_as_it_may_be() -> None:
    """One sign more would not fit; bold is wider and cut sooner; no space before the ellipsis."""
    text = "abcdefghijklmnop"
    for bold in (False, True):
        cut = shortened(text, 20, 10, bold=bold)
        kept = len(cut) - 1
        assert text[:kept] + "…" == cut
        assert width(cut, 10, bold=bold) <= 20 < width(text[: kept + 1] + "…", 10, bold=bold)
    assert "ab…" == shortened("ab cdef", width("ab …", 10) + 0.01, 10)
    assert text == shortened(text, width(text, 10, bold=True), 10, bold=True)
    assert text != shortened(text, width(text, 10), 10, bold=True)
