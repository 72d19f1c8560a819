"""What stands on pages and in blocks, by its kind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.paper.page import Rectangle, Text

if TYPE_CHECKING:
    from drillbox.paper.page import Page
    from drillbox.paper.sheet_layout import Block


def texts(page: Page | Block) -> list[Text]:
    """Return the texts of a page or block."""
    return [item for item in page.items if isinstance(item, Text)]


def boxes(page: Page | Block) -> list[Rectangle]:
    """Return the boxes of a page or block."""
    return [item for item in page.items if isinstance(item, Rectangle)]
