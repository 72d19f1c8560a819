"""Pages as a PDF file, by fpdf2: vectors and embedded fonts, no pictures.

The same pages give the same bytes: the file's date is an argument.
"""

from __future__ import annotations

import logging
from functools import lru_cache
from importlib.resources import as_file
from typing import TYPE_CHECKING, Any

from drillbox.errors import MissingExtraError
from drillbox.paper.lettering import FAMILY, font_file, printable, width
from drillbox.paper.page import Line, Rectangle, Text
from drillbox.paper.svg_pages import letters_of

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from drillbox.paper.page import Music, Page

__all__ = ["pdf_pages"]


def pdf_pages(pages: Iterable[Page], *, title: str, at: datetime) -> bytes:
    """Return pages as one PDF file.

    Parameters
    ----------
    pages
        In order.
    title
        The document's title.
    at
        When it was made.
    """
    pdf = _document()
    pdf.set_title(title)
    pdf.set_creator("drillbox")
    pdf.set_creation_date(at)
    for page in pages:
        pdf.add_page(format=(page.width, page.height))
        for item in page.items:
            if isinstance(item, Text):
                _text(pdf, item)
            elif isinstance(item, Line):
                pdf.set_line_width(item.width)
                pdf.line(item.x1, item.y1, item.x2, item.y2)
            elif isinstance(item, Rectangle):
                pdf.set_line_width(item.stroke)
                style = "DF" if item.filled else "D"
                pdf.rect(item.x, item.y, item.width, item.height, style=style)
            else:
                _music(pdf, item)
    return bytes(pdf.output())


def _document() -> Any:
    try:
        from fpdf import FPDF  # noqa: PLC0415 - an extra, loaded when a PDF is made
    except ImportError:
        raise MissingExtraError(
            "PDF files are written by fpdf2, which is not installed",
            fix="run pip install 'drillbox[sheets]', or ask for .txt, .musicxml or .mid",
        ) from None
    logging.getLogger("fontTools.subset").setLevel(logging.ERROR)
    pdf = FPDF(unit="mm")
    pdf.set_auto_page_break(auto=False)
    pdf.set_margin(0)
    pdf.set_fill_color(0)
    for bold in (False, True):
        with as_file(font_file(bold=bold)) as path:
            pdf.add_font(FAMILY, "B" if bold else "", path)
    return pdf


def _text(pdf: Any, item: Text) -> None:
    text = printable(item.text)
    pdf.set_font(FAMILY, "B" if item.bold else "", item.size)
    before = {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor]
    pdf.text(item.x - before * width(text, item.size, bold=item.bold), item.y, text)


def _music(pdf: Any, item: Music) -> None:
    from fpdf.drawing import GraphicsContext  # noqa: PLC0415
    from fpdf.drawing_primitives import Transform  # noqa: PLC0415

    with pdf.drawing_context() as drawing:
        music = GraphicsContext()
        music.transform = Transform.scaling(item.scale) @ Transform.translation(item.x, item.y)
        for mark in item.engraving.marks:
            placed = GraphicsContext()
            placed.transform = Transform.scaling(
                mark.scale, mark.scale * mark.upright
            ) @ Transform.translation(mark.x, mark.y)
            placed.add_item(_shape(mark.path, mark.stroke, filled=mark.filled), clone=False)
            music.add_item(placed, clone=False)
        drawing.add_item(music, clone=False)
    for letter in letters_of(item):
        _text(pdf, letter)


@lru_cache(maxsize=512)
def _shape(path: str, stroke: float, *, filled: bool) -> Any:
    """Return a path as fpdf2 draws it; glyphs come again and again."""
    from fpdf.drawing import PaintedPath  # noqa: PLC0415
    from fpdf.svg import svg_path_converter  # noqa: PLC0415

    shape = PaintedPath()
    svg_path_converter(shape, path)
    shape.style.auto_close = False
    shape.style.fill_color = "#000" if filled else None
    shape.style.stroke_color = "#000" if stroke else None
    shape.style.stroke_width = stroke or None
    return shape
