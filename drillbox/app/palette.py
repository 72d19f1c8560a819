"""What the command palette offers: every place and action by name, and each card."""

from __future__ import annotations

from functools import partial
from typing import ClassVar, Protocol, runtime_checkable

from textual.command import CommandList, CommandPalette, DiscoveryHit, Hit, Hits, Provider


class Palette(CommandPalette):
    """Textual's palette, which bears a window that leaves its list no row (see `ChoiceList`)."""

    def _action_command_list(self, action: str) -> None:
        if self.query_one(CommandList).scrollable_content_region:
            super()._action_command_list(action)


class Places(Provider):
    """The app's screens and actions."""

    KNOWN: ClassVar = (
        ("today", "app.home", "what to play, and why"),
        ("play", "app.play_today", "take today's first card to the stand"),
        ("play on", "app.play_on", "five minutes more today"),
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
        """Offer those whose names or purposes match."""
        matcher = self.matcher(query)
        for name, action, what in self.KNOWN:
            score = max(matcher.match(name), matcher.match(what) / 2)
            if score > 0:
                run = partial(self.app.run_action, action)
                yield Hit(score, matcher.highlight(name), run, text=name, help=what)


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
        """Offer the cards whose titles match."""
        matcher = self.matcher(query)
        for card_id, title in self._titles.items():
            score = matcher.match(title)
            if score > 0:
                run = partial(self.app.run_action, f"app.card({card_id!r})")
                yield Hit(score, matcher.highlight(title), run, text=title, help="its page")
