"""Pages as SVG: paths and text only, the font carried along, nothing loaded from elsewhere."""

from __future__ import annotations

from base64 import b64encode
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from drillbox.paper.lettering import FAMILY, cut_down, printable
from drillbox.paper.page import POINT, Line, Music, Rectangle, Text

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from drillbox.paper.page import Page

__all__ = ["font_rules", "svg_body", "svg_page"]

LETTER_SIZE = 1.62
"""Size of the letters below a staff, in spaces."""


def svg_page(page: Page) -> bytes:
    """Return one page as an SVG file."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{page.width:g}mm" '
        f'height="{page.height:g}mm" viewBox="0 0 {page.width:g} {page.height:g}">'
        f"<style>{font_rules([page])}</style>"
        f'<rect width="100%" height="100%" fill="#fff"/>{svg_body(page)}</svg>\n'
    ).encode()


def svg_body(page: Page) -> str:
    """Return what stands inside a page's svg element."""
    return "".join(_drawn(page))


def font_rules(pages: Sequence[Page]) -> str:
    """Return the style rules that carry the font along, cut down to the signs of some pages."""
    rules = []
    for bold in (False, True):
        signs = {sign for page in pages for text in _texts(page, bold=bold) for sign in text}
        if signs:
            font = b64encode(cut_down(signs, bold=bold)).decode()
            rules.append(
                f"@font-face{{font-family:'{FAMILY}';font-weight:{700 if bold else 400};"
                f"src:url(data:font/ttf;base64,{font})}}"
            )
    return "".join(rules) + f"text{{font-family:'{FAMILY}',sans-serif;white-space:pre}}"


def _texts(page: Page, *, bold: bool) -> Iterator[str]:
    for item in page.items:
        if isinstance(item, Text) and item.bold == bold:
            yield item.text
        elif isinstance(item, Music) and not bold:
            yield from (letter.text for letter in item.engraving.letters)


def _drawn(page: Page) -> Iterator[str]:
    for item in page.items:
        if isinstance(item, Text):
            yield _text(item)
        elif isinstance(item, Line):
            yield (
                f'<path d="M{item.x1:.3f} {item.y1:.3f}L{item.x2:.3f} {item.y2:.3f}" '
                f'stroke="#000" stroke-width="{item.width:g}"/>'
            )
        elif isinstance(item, Rectangle):
            fill = "#000" if item.filled else "none"
            yield (
                f'<rect x="{item.x:.3f}" y="{item.y:.3f}" width="{item.width:.3f}" '
                f'height="{item.height:.3f}" fill="{fill}" stroke="#000" '
                f'stroke-width="{item.stroke:g}"/>'
            )
        else:
            yield from map(_text, letters_of(item))
            yield f'<g transform="translate({item.x:.3f} {item.y:.3f}) scale({item.scale:.6f})">'
            yield from marks_of(item)
            yield "</g>"


def _text(item: Text) -> str:
    weight = ' font-weight="700"' if item.bold else ""
    anchor = "" if item.anchor == "start" else f' text-anchor="{item.anchor}"'
    return (
        f'<text x="{item.x:.3f}" y="{item.y:.3f}" font-size="{item.size * POINT:.3f}"'
        f"{weight}{anchor}>{escape(printable(item.text))}</text>"
    )


def letters_of(music: Music) -> Iterable[Text]:
    """Return the letters below a staff as text on the page."""
    from drillbox.paper.engraving import SPACE  # noqa: PLC0415 - it imports what imports this

    size = LETTER_SIZE * SPACE * music.scale / POINT
    for letter in music.engraving.letters:
        x = music.x + letter.x * music.scale
        yield Text(x, music.y + letter.y * music.scale, letter.text, size, anchor="middle")


def marks_of(music: Music) -> Iterator[str]:
    """Return the marks of engraved music as paths, in the engraving's own units."""
    for mark in music.engraving.marks:
        stroke = f' stroke="#000" stroke-width="{mark.stroke:g}"' if mark.stroke else ""
        fill = "" if mark.filled else ' fill="none"'
        moved = ""
        if mark.upright < 0 or mark.scale != 1.0:
            moved = (
                f' transform="translate({mark.x:g} {mark.y:g}) '
                f'scale({mark.scale:g} {mark.scale * mark.upright:g})"'
            )
        yield f'<path d="{mark.path}"{moved}{fill}{stroke}/>'
