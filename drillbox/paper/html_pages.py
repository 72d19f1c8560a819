"""Pages as one HTML file that prints: everything inside it, nothing loaded from elsewhere."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from drillbox.paper.svg_pages import font_rules, svg_body

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.paper.page import Page

__all__ = ["html_pages"]


def html_pages(pages: Sequence[Page], *, title: str) -> bytes:
    """Return pages of one size as an HTML file; each is one printed page."""
    width, height = pages[0].width, pages[0].height
    rules = (
        f"@page{{size:{width:g}mm {height:g}mm;margin:0}}"
        "body{margin:0;background:#888}"
        "svg{display:block;margin:4mm auto;background:#fff}"
        "@media print{body{background:#fff}svg{margin:0;break-after:page}"
        "svg:last-of-type{break-after:auto}}"
    )
    drawn = "".join(
        f'<svg role="img" aria-label="{escape(title)}, page {number}" '
        f'width="{page.width:g}mm" height="{page.height:g}mm" '
        f'viewBox="0 0 {page.width:g} {page.height:g}">{svg_body(page)}</svg>\n'
        for number, page in enumerate(pages, start=1)
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f"<title>{escape(title)}</title><style>{rules}{font_rules(pages)}</style></head>\n"
        f"<body>\n{drawn}</body></html>\n"
    ).encode()
