"""One page in two forms: an SVG and a PDF hold the same things, each once, at the same places.

Each is read by a reader of its own: SVG 1.1 (W3C) by its elements and attributes, PDF (ISO 32000-1,
tables 57 to 60, 105 and 108) by the operators of its content, as pypdf finds them.
"""

from __future__ import annotations

import io
import re
from base64 import b64decode
from collections import Counter
from datetime import UTC, datetime
from typing import NamedTuple
from xml.etree import ElementTree as ET

import pytest
from fontTools.ttLib import TTFont
from pypdf import PdfReader
from pypdf.generic import ContentStream

from drillbox.paper.exercise import Exercise
from drillbox.paper.exercise_sheet import exercise_sheet
from drillbox.paper.flattening import Engraving, Letter, Mark
from drillbox.paper.html_pages import html_pages
from drillbox.paper.lettering import cut_down, width
from drillbox.paper.page import POINT, Line, Music, Page, PageItem, Rectangle, Text
from drillbox.paper.pdf_pages import pdf_pages
from drillbox.paper.plan_sheet import PlanLine, plan_sheet
from drillbox.paper.sheet_layout import Look
from drillbox.paper.svg_pages import font_rules, svg_page
from drillbox.rhythm import parse

AT = datetime(2026, 3, 2, tzinfo=UTC)
SVG = "{http://www.w3.org/2000/svg}"
ENGRAVED = Engraving(
    1000,
    500,
    (
        Mark("M10 20 L30 20", 0, 0, 1.0, stroke=13, filled=False),
        Mark("M5 6 L15 6 L15 16Z", 100, 200, 0.5, upright=-1),
        Mark("M7 8 L9 10", 40, 50, 2.0, stroke=9),
        Mark("M1 2 L3 4 L5 2Z", 0, 0, 1.0),
    ),
    (Letter(50, 400, "e"), Letter(150, 400, "&")),
    0,
)
ITEMS: tuple[PageItem, ...] = (
    Text(20, 30, "start", 10),
    Text(100, 40, "middle", 12, bold=True, anchor="middle"),
    Text(190, 50, "end <&>", 8, anchor="end"),
    Line(1, 2, 30, 4, 0.4),
    Rectangle(5, 6, 7, 9, 0.3),
    Rectangle(15, 16, 17, 18, 0.6, filled=True),
    Music(30, 60, 0.01, ENGRAVED),
)
PAGE = Page(200, 100, ITEMS)


class Put(NamedTuple):
    """Something on a page: its kind, two points in millimetres, how heavy its line is."""

    kind: str
    x: float
    y: float
    to_x: float
    to_y: float
    weight: float = 0.0
    text: str = ""


def wanted(page: Page) -> list[Put]:
    """Return what a page holds, straight from its values: text by its left end."""
    found = []
    for item in page.items:
        if isinstance(item, Text):
            wide = width(item.text, item.size, bold=item.bold)
            left = item.x - wide * {"start": 0, "middle": 0.5, "end": 1}[item.anchor]
            found.append(Put("text", left, item.y, 0, 0, item.size, item.text))
        elif isinstance(item, Line):
            found.append(Put("line", item.x1, item.y1, item.x2, item.y2, item.width))
        elif isinstance(item, Rectangle):
            kind = "black" if item.filled else "box"
            to = item.x + item.width, item.y + item.height
            found.append(Put(kind, item.x, item.y, *to, item.stroke))
        else:
            for mark in item.engraving.marks:
                (x, y), (to_x, to_y) = (
                    (
                        item.x + item.scale * (mark.x + mark.scale * float(px)),
                        item.y + item.scale * (mark.y + mark.scale * mark.upright * float(py)),
                    )
                    for px, py in re.findall(r"[ML](\S+) ([^ZL ]+)", mark.path)[:2]
                )
                kind = "filled" if mark.filled else "drawn"
                found.append(Put(kind, x, y, to_x, to_y, mark.stroke))
            size = 1.62 * 180 * item.scale / POINT
            for one in item.engraving.letters:
                wide = width(one.text, size)
                x, y = item.x + one.x * item.scale, item.y + one.y * item.scale
                found.append(Put("text", x - wide / 2, y, 0, 0, size, one.text))
    return found


def in_svg(page: Page) -> list[Put]:
    """Return what an SVG of a page holds."""
    root = ET.fromstring(svg_page(page))
    assert f"0 0 {page.width:g} {page.height:g}" == root.get("viewBox")
    assert (f"{page.width:g}mm", f"{page.height:g}mm") == (root.get("width"), root.get("height"))
    _, paper, *drawn = root
    assert {"width": "100%", "height": "100%", "fill": "#fff"} == paper.attrib
    found = []
    for element in drawn:
        told = element.attrib
        kind = element.tag.removeprefix(SVG)
        if kind == "text":
            size, words = float(told["font-size"]) / POINT, "".join(element.itertext())
            wide = width(words, size, bold=told.get("font-weight") == "700")
            part = {"start": 0, "middle": 0.5, "end": 1}[told.get("text-anchor", "start")]
            at = float(told["x"]) - part * wide, float(told["y"])
            found.append(Put("text", *at, 0, 0, size, words))
        elif kind == "path":
            x, y, to_x, to_y = (float(n) for n in re.findall(r"[\d.]+", told["d"]))
            found.append(Put("line", x, y, to_x, to_y, float(told["stroke-width"])))
        elif kind == "rect":
            x, y, w, h = (float(told[name]) for name in ("x", "y", "width", "height"))
            kind = {"#000": "black", "none": "box"}[told["fill"]]
            found.append(Put(kind, x, y, x + w, y + h, float(told["stroke-width"])))
        else:
            found += _music_in_svg(element)
    return found


def _transform(element: ET.Element) -> tuple[float, float, float, float]:
    told = element.get("transform", "")
    moved = re.search(r"translate\((\S+) (\S+)\)", told)
    scaled = re.search(r"scale\((\S+?)(?: (\S+))?\)", told)
    x, y = (float(moved[1]), float(moved[2])) if moved else (0.0, 0.0)
    across = float(scaled[1]) if scaled else 1.0
    return x, y, across, float(scaled[2]) if scaled and scaled[2] else across


def _music_in_svg(group: ET.Element) -> list[Put]:
    x, y, scale, _ = _transform(group)
    found = []
    for path in group:
        dx, dy, across, down = _transform(path)
        (a, b), (c, d) = re.findall(r"[ML](\S+) ([^ZL ]+)", path.get("d", ""))[:2]
        begin_x, begin_y, end_x, end_y = (
            place + scale * (move + by * float(n))
            for n, place, move, by in (
                (a, x, dx, across), (b, y, dy, down), (c, x, dx, across), (d, y, dy, down),
            )
        )  # fmt: skip
        kind = "drawn" if path.get("fill") == "none" else "filled"
        weight = float(path.get("stroke-width", "0"))
        found.append(Put(kind, begin_x, begin_y, end_x, end_y, weight))
    return found


def in_pdf(page: Page) -> list[Put]:  # noqa: C901 - a case for each operator
    """Return what a PDF of a page holds: points become millimetres, y grows downwards."""
    reader = PdfReader(io.BytesIO(pdf_pages([page], title="t", at=AT)))
    (sheet,) = reader.pages
    states = sheet["/Resources"].get("/ExtGState", {})  # type: ignore[attr-defined]
    height = float(sheet.mediabox.height)
    matrix, kept = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), []
    ends: list[tuple[float, float]] = []
    size = weight = own = 0.0
    before = ""
    found = []
    for operands, operator in ContentStream(sheet.get_contents(), reader).operations:
        told = operator.decode()
        if told == "cm":
            a, _, _, d, e, f = map(float, operands)
            was_a, _, _, was_d, was_e, was_f = matrix
            matrix = (a * was_a, 0, 0, d * was_d, e * was_a + was_e, f * was_d + was_f)
        elif told == "q":
            kept.append((matrix, own))
        elif told == "Q":
            matrix, own = kept.pop()
        elif told == "gs":
            own = float(states[operands[0]].get("/LW", own))
        elif told == "w":
            weight = float(operands[0])
        elif told == "Tf":
            size = float(operands[1])
        elif told == "Td":
            at = float(operands[0]) * POINT, (height - float(operands[1])) * POINT
            found.append(Put("text", *at, 0, 0, size))
        elif told in {"m", "l"}:
            x, y = map(float, operands)
            ends.append(
                ((matrix[0] * x + matrix[4]) * POINT,
                 (height - matrix[3] * y - matrix[5]) * POINT)
            )  # fmt: skip
        elif told == "re":
            x, y, w, h = map(float, operands)
            ends += [(x * POINT, (height - y) * POINT), ((x + w) * POINT, (height - y - h) * POINT)]
        elif told in {"S", "B", "f"}:
            flat = not kept
            kind = {"S": "drawn", "B": "filled", "f": "filled"}[told]
            if flat:
                kind = "black" if told == "B" else "line" if before == "l" else "box"
            heavy = 0.0 if told == "f" else weight * POINT if flat else own
            found.append(Put(kind, *ends[0], *ends[1], heavy))
            ends = []
        before = told
    return found


def near(one: list[Put], other: list[Put], *, words: bool = True) -> None:
    """Check that two pages hold the same, to five hundredths of a millimetre or point."""
    assert Counter(put.kind for put in one) == Counter(put.kind for put in other)
    for kind in {put.kind for put in one}:
        for a, b in zip(
            (put for put in one if put.kind == kind),
            (put for put in other if put.kind == kind),
            strict=True,
        ):
            assert a[1:6] == pytest.approx(b[1:6], abs=0.05), (a, b)
            assert not words or a.text == b.text


def test_a_page_is_the_same_in_both_forms() -> None:
    """Every text, line, box and mark once, where it was put, as heavy as it was asked for."""
    near(wanted(PAGE), in_svg(PAGE))
    near(wanted(PAGE), in_pdf(PAGE), words=False)


def test_a_sheet_is_the_same_in_both_forms() -> None:
    """Boxes, lines and texts of whole sheets: what is drawn by one writer is by the other."""
    card = Exercise("Ghosts", parse("hat: beat &\nsnare: (e) >2 >4\nbass: 1 3"), 92, "Low.", 70)
    line = PlanLine("e", "e of every beat", card.pattern, "work", 92, 2, "Because.")
    pages = (
        *exercise_sheet("Ghosts", ("A line.",), [card], Look(), foot="f"),
        *plan_sheet("Today", (), [line], ("poor", "good"), Look(), foot="f"),
    )
    for page in pages:
        flat = Page(
            page.width,
            page.height,
            tuple(item for item in page.items if not isinstance(item, Music)),
        )
        near(in_svg(flat), in_pdf(flat), words=False)
        near(wanted(flat), in_svg(flat))


def test_a_pdf_says_what_it_is() -> None:
    """Its title, the program, the day that was given; as many pages, each of its own size."""
    other = Page(100, 50, ())
    reader = PdfReader(io.BytesIO(pdf_pages([PAGE, other], title="A title", at=AT)))
    told = reader.metadata
    assert told is not None
    assert ("A title", "drillbox", AT) == (told.title, told.creator, told.creation_date)
    sizes = [float(n) * POINT for p in reader.pages for n in (p.mediabox.width, p.mediabox.height)]
    assert [200, 100, 100, 50] == pytest.approx(sizes, abs=0.01)


def cuts(rules: str) -> list[str]:
    """Return the weights of the fonts that some rules carry."""
    return re.findall(r"font-weight:(\d+)", rules)


@pytest.mark.parametrize(
    ("items", "weights"),
    [
        ((), []),
        ((Text(0, 0, "a", 8),), ["400"]),
        ((Text(0, 0, "a", 8, bold=True),), ["700"]),
        ((Music(0, 0, 1, ENGRAVED),), ["400"]),
        ((Line(0, 0, 1, 1), Rectangle(0, 0, 1, 1)), []),
        ((Text(0, 0, "a", 8, bold=True), Text(0, 0, "", 8)), ["700"]),
        ((Text(0, 0, "a", 8), Text(0, 0, "a", 8, bold=True)), ["400", "700"]),
    ],
)
def test_only_the_fonts_that_are_needed_are_carried(
    items: tuple[PageItem, ...], weights: list[str]
) -> None:
    """The light cut for text and for the letters below music, the bold one for bold text."""
    assert weights == cuts(font_rules([Page(9, 9, items)]))


def signs_of(rules: str) -> dict[str, set[str]]:
    """Return the signs of each font that some rules carry, by its weight."""
    carried = r"font-weight:(\d+);src:url\(data:font/ttf;base64,(\S+?)\)"
    return {
        weight: set(map(chr, TTFont(io.BytesIO(b64decode(data))).getBestCmap()))
        for weight, data in re.findall(carried, rules)
    }


def test_a_font_has_the_signs_of_its_own_texts() -> None:
    """All of ASCII, the box, and of other signs those that are set in it and no others."""
    items = (
        Text(0, 0, "é", 8),
        Text(0, 0, "ж", 8, bold=True),
        Music(0, 0, 1, Engraving(1, 1, (), (Letter(0, 0, "ü"),), 0)),
    )
    found = signs_of(font_rules([Page(9, 9, items[:1]), Page(9, 9, items[1:])]))
    ascii_and_box = set(map(chr, range(0x20, 0x7F))) | {"□", "♩"}
    assert {"400": ascii_and_box | set("éü"), "700": ascii_and_box | {"ж"}} == found
    assert len(cut_down("é", bold=False)) < 60_000


def test_an_html_page_holds_each_page_once() -> None:
    """In order, each named by its number, of its own size, with what its SVG holds."""
    text = html_pages([PAGE, Page(200, 100, ITEMS[:1])], title="A <b>").decode()
    drawn = re.findall(r"<svg .*?</svg>", text, re.DOTALL)
    labels = [re.search(r'aria-label="(.*?)"', each)[1] for each in drawn]  # type: ignore[index]
    assert ["A &lt;b&gt;, page 1", "A &lt;b&gt;, page 2"] == labels
    assert all('width="200mm" height="100mm" viewBox="0 0 200 100"' in each for each in drawn)
    body = svg_page(PAGE).decode().split('fill="#fff"/>')[1].removesuffix("</svg>\n")
    assert drawn[0].endswith(f"{body}</svg>")
    assert [1, 1] == [each.count(">start<") for each in drawn]
