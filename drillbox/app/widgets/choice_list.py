"""A list to choose from that bears any window, also one that leaves it no row."""

from __future__ import annotations

from textual.widgets import OptionList


class ChoiceList(OptionList):
    """An `OptionList` whose page keys do nothing where there is no page.

    Textual's own looks for the first row then, and ends the app when there is none.
    """

    def action_page_up(self) -> None:
        """Go up by a page."""
        if self.scrollable_content_region:
            super().action_page_up()  # type: ignore[no-untyped-call] # Textual has no type here

    def action_page_down(self) -> None:
        """Go down by a page."""
        if self.scrollable_content_region:
            super().action_page_down()  # type: ignore[no-untyped-call] # Textual has no type here
