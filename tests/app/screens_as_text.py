"""What a screen shows, as plain text rows, read from Textual's public screenshot export."""

from __future__ import annotations

import re
from html import unescape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.app import App

_TEXT = re.compile(r'<text class="[^"]*" x="([\d.]+)" y="([\d.]+)"[^>]*>([^<]*)</text>')
_CELL_WIDTH = 12.2
"""Width of one terminal cell in the exported picture, in its own units."""


def screen_text(app: App[int]) -> str:
    """Return the rows of the screen that is up, right-stripped, joined by newlines."""
    rows: dict[float, dict[int, str]] = {}
    for x, y, text in _TEXT.findall(app.export_screenshot(simplify=False)):
        rows.setdefault(float(y), {})[round(float(x) / _CELL_WIDTH)] = unescape(text)
    lines = []
    for y in sorted(rows):
        line = ""
        for column, text in sorted(rows[y].items()):
            line = line.ljust(column) + text
        lines.append(line.replace("\xa0", " ").rstrip())
    return "\n".join(lines)
