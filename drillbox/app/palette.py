"""What the command palette offers: every place and action by name, and each card."""

from __future__ import annotations

import re
from functools import partial
from typing import TYPE_CHECKING, ClassVar, Protocol, runtime_checkable

from textual.command import (
    CommandList,
    CommandPalette,
    DiscoveryHit,
    Hit,
    Hits,
    Provider,
    SearchIcon,
)
from textual.content import Content

if TYPE_CHECKING:
    from textual.style import Style

PLACEHOLDER = "A place, what to do, or a card"
_WORD = re.compile(r"[^\s,;:()“”]+")


def begun_words(typed: str, text: str) -> list[tuple[int, int]]:
    """Return where each typed word begins a word of a text, from and to; nothing if one does not.

    Scattered letters are no match: who types ``rock`` does not look for the year.
    """
    words = [(found.start(), found[0].casefold()) for found in _WORD.finditer(text)]
    spans = []
    for wanted in _WORD.findall(typed.casefold()):
        start = next((at for at, word in words if word.startswith(wanted)), None)
        if start is None:
            return []
        spans.append((start, start + len(wanted)))
    return spans


def _score(spans: list[tuple[int, int]]) -> float:
    """Return how good a match in a name is: best from its first letter, least in no name at all."""
    if not spans:
        return 0.3
    return 1.0 if spans[0][0] == 0 else 0.6


def _marked(name: str, spans: list[tuple[int, int]], style: Style | None) -> Content:
    """Return a name with what was typed marked in it."""
    content = Content(name)
    for start, end in spans:
        content = content.stylize(style or "reverse", start, end)
    return content


class Palette(CommandPalette):
    """Textual's palette, which bears a window that leaves its list no row (see `ChoiceList`)."""

    def __init__(self) -> None:
        super().__init__(placeholder=PLACEHOLDER, id="--command-palette")

    def on_mount(self) -> None:
        """Put the key before the line, in the place of Textual's own sign."""
        self.query_one(SearchIcon).icon = "^p"

    def _action_command_list(self, action: str) -> None:
        if self.query_one(CommandList).scrollable_content_region:
            super()._action_command_list(action)


class Places(Provider):
    """The app's screens and actions."""

    KNOWN: ClassVar = (
        ("today", "app.home", "what to play, and why"),
        ("play", "app.play_today", "take today's first card to the stand"),
        ("play on", "app.play_on", "five minutes more today"),
        ("undo", "app.take_back", "take today's last grade back, and give it again"),
        ("week", "app.week", "what the last seven days brought"),
        ("year", "app.year", "vocabulary in hand, minutes, what comes back"),
        ("shelf", "app.shelf", "every card, searched and sorted"),
        ("map", "app.map", "every placement of ghosts, with your tempo in each"),
        ("setup", "app.setup", "minutes, days, hands, click, levels, sound"),
        ("add a starter deck", "app.add_deck", "more rhythms"),
        ("take in a reply", "app.take_in", "a file from your teacher"),
        ("hand in progress", "app.hand_in", "a file for your teacher; read what is in it first"),
        ("keys", "app.keys", "every key of every screen"),
        ("dark or light", "app.light", "the other colours"),
        ("quit", "app.quit", "everything is saved"),
    )

    async def discover(self) -> Hits:
        """Offer all of them before anything is typed."""
        for name, action, what in self.KNOWN:
            yield DiscoveryHit(name, partial(self.app.run_action, action), help=what)

    async def search(self, query: str) -> Hits:
        """Offer those of whose names or purposes words begin like what is typed."""
        for name, action, what in self.KNOWN:
            named = begun_words(query, name)
            if named or begun_words(query, what):
                run = partial(self.app.run_action, action)
                shown = _marked(name, named, self.match_style)
                yield Hit(_score(named), shown, run, text=name, help=what)


@runtime_checkable
class HasCards(Protocol):
    """An app that knows the titles of its cards, by card id."""

    def card_titles(self) -> dict[str, str]:
        """Return the titles; none where the box refuses."""
        ...


class Cards(Provider):
    """Each card of the box, by its title; it opens the card's page."""

    async def startup(self) -> None:
        """Read the titles once, when the palette opens."""
        self._titles = self.app.card_titles() if isinstance(self.app, HasCards) else {}

    async def search(self, query: str) -> Hits:
        """Offer the cards of whose titles words begin like what is typed."""
        for card_id, title in self._titles.items():
            named = begun_words(query, title)
            if named:
                run = partial(self.app.run_action, f"app.card({card_id!r})")
                shown = _marked(title, named, self.match_style)
                yield Hit(_score(named), shown, run, text=title, help="its page")
