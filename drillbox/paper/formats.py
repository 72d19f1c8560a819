"""Sheets in every form they can be written in, by the ending of the file's name."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import PurePath
from typing import TYPE_CHECKING

from drillbox.base.files import written_whole
from drillbox.errors import UsageError
from drillbox.paper.letter_rows import USUAL_ROWS, Rows
from drillbox.paper.midi_writing import midi_file
from drillbox.paper.musicxml_writing import musicxml
from drillbox.rhythm import Hand, draw

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime
    from pathlib import Path

    from drillbox.paper.exercise import Collection
    from drillbox.paper.page import Page
    from drillbox.paper.sheet_layout import Look

    SetPages = Callable[["Look"], tuple["Page", ...]]

__all__ = [
    "Form",
    "Playing",
    "Sheet",
    "SheetForm",
    "form_of",
    "rendered",
    "text_sheet",
    "write_files",
]


class Form(StrEnum):
    """What a sheet can be written as."""

    TEXT = "txt"
    PDF = "pdf"
    HTML = "html"
    SVG = "svg"
    MUSICXML = "musicxml"
    MIDI = "mid"


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet, not yet written.

    Parameters
    ----------
    title
        The document's title.
    collection
        Its exercises, for the forms that are not drawn.
    pages
        Sets its pages.
    lines
        What stands below the title in a text.
    text
        What a text shows where that is not the exercises one after another; else empty.
    """

    title: str
    collection: Collection
    pages: SetPages
    lines: tuple[str, ...] = ()
    text: str = ""


@dataclass(frozen=True, slots=True)
class SheetForm:
    """How paper is to look, in words: resolved when a sheet is drawn, since that needs the extra.

    Parameters
    ----------
    paper, staff
        ``a4`` or ``letter``; ``small``, ``usual`` or ``large``.
    leading
        The hand that leads.
    rows
        The rows of letters below a staff.
    """

    paper: str = "a4"
    staff: str = "usual"
    leading: Hand = Hand.RIGHT
    rows: Rows = USUAL_ROWS

    def look(self) -> Look:
        """Return the same in measures."""
        from drillbox.paper.page import A4, LETTER  # noqa: PLC0415 - with the first page
        from drillbox.paper.sheet_layout import STAVES, Look  # noqa: PLC0415

        sizes = {size.name: size for size in (A4, LETTER)}
        return Look(sizes[self.paper], STAVES[self.staff], self.leading, self.rows)


@dataclass(frozen=True, slots=True)
class Playing:
    """What a MIDI file plays: how often each exercise, with what click."""

    passes: int = 1
    click: bool = False
    count_in_bars: int = 0


def form_of(name: str) -> Form:
    """Return what a file's name says it is to be.

    Raises
    ------
    UsageError
        If it says nothing that is known.
    """
    ending = PurePath(name).suffix.removeprefix(".").casefold()
    try:
        return Form(ending)
    except ValueError:
        endings = ", ".join(f".{form}" for form in Form)
        raise UsageError(
            f"a sheet cannot be written as {ending or 'a file without an ending'!r}",
            where=name,
            fix=f"end the name in one of {endings}",
        ) from None


def rendered(
    sheet: Sheet,
    form: Form,
    how: SheetForm,
    *,
    at: datetime,
    playing: Playing | None = None,
) -> tuple[bytes, ...]:
    """Return a sheet's files: one, or of several pages as SVG one a page.

    One exercise as SVG is a drawing of its own size.

    Parameters
    ----------
    sheet
        What is written.
    form
        As what.
    how
        Paper, staff, hands.
    at
        When, for the dates in PDF files.
    playing
        What a MIDI file plays.

    Raises
    ------
    MissingExtraError
        If notes are to be drawn and the extra ``sheets`` is not installed.
    """
    if form is Form.TEXT:
        return (text_sheet(sheet, leading=how.leading).encode(),)
    if form is Form.MUSICXML:
        return (musicxml(sheet.collection, rows=how.rows, leading=how.leading),)
    if form is Form.MIDI:
        play = playing or Playing()
        data = midi_file(
            sheet.collection,
            passes=play.passes,
            click=play.click,
            count_in_bars=play.count_in_bars,
        )
        return (data,)
    if form is Form.SVG and len(sheet.collection.exercises) == 1:
        from drillbox.paper.exercise_sheet import card_drawing  # noqa: PLC0415 - loads the extra

        return _drawn(sheet, form, (card_drawing(sheet.collection.exercises[0], how.look()),), at)
    return _drawn(sheet, form, sheet.pages(how.look()), at)


def write_files(files: Sequence[bytes], path: Path, *, over: bool = False) -> tuple[Path, ...]:
    """Write a sheet's files, several of them numbered; return where they are.

    Parameters
    ----------
    files
        As `rendered` returns them.
    path
        The name; of several files each has its number before the ending.
    over
        Whether to write over files that are there.
    """
    names = [path]
    if len(files) > 1:
        names = [path.with_stem(f"{path.stem}-{number}") for number in range(1, len(files) + 1)]
    for name, content in zip(names, files, strict=True):
        with written_whole(name, over=over) as file:
            file.write(content)
    return tuple(names)


def _drawn(sheet: Sheet, form: Form, pages: tuple[Page, ...], at: datetime) -> tuple[bytes, ...]:
    if form is Form.PDF:
        from drillbox.paper.pdf_pages import pdf_pages  # noqa: PLC0415 - loads the extra

        return (pdf_pages(pages, title=sheet.title, at=at),)
    if form is Form.HTML:
        from drillbox.paper.html_pages import html_pages  # noqa: PLC0415

        return (html_pages(pages, title=sheet.title),)
    from drillbox.paper.svg_pages import svg_page  # noqa: PLC0415

    return tuple(svg_page(page) for page in pages)


def text_sheet(sheet: Sheet, *, width: int = 80, leading: Hand = Hand.RIGHT) -> str:
    """Return a sheet as text: needs no extra, and prints from any terminal.

    Parameters
    ----------
    sheet
        What is written.
    width
        Columns.
    leading
        The hand that leads.
    """
    parts = ["\n".join((sheet.title, *sheet.lines)) + "\n"]
    if sheet.text:
        return "\n".join((*parts, sheet.text))
    for number, each in enumerate(sheet.collection.exercises, start=1):
        note = f"{each.note}\n" if each.note else ""
        drawn = draw(each.pattern, width=width, leading=leading)
        parts.append(f"{number}  {each.title}, {each.bpm:.0f} bpm\n{note}\n{drawn}")
    return "\n".join(parts)
