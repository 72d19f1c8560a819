"""Following a deck file while it is being written: a look at it after every save.

Works by asking the file for its time and size, so it needs nothing of the system and works on any
disk. An editor may take the file away for a moment while it saves; that is not the end of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.deckfile.edition_changes import changed_cards, edition_changes
from drillbox.deckfile.reading import check, parse_deck
from drillbox.deckfile.starter_decks import read_text
from drillbox.errors import DeckError

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.deckfile.deck import Card, Deck

__all__ = ["DeckFollower", "SavedDeck"]


@dataclass(frozen=True, slots=True)
class SavedDeck:
    """A deck file as it was last saved.

    Parameters
    ----------
    text
        What is in it; empty where it could not be opened.
    errors
        Everything that is wrong with it, topmost first.
    deck
        The deck, if nothing is.
    changed
        Its cards that are new or other than at the last look without errors; all of them at first.
    clauses
        What changed since then, in words; nothing at first.
    """

    text: str
    errors: tuple[DeckError, ...]
    deck: Deck | None
    changed: tuple[Card, ...]
    clauses: tuple[str, ...]


class DeckFollower:
    """Looks at a deck file whenever it was saved.

    Parameters
    ----------
    path
        The file.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._seen: tuple[int, int] | None = None
        self._last: Deck | None = None

    def look(self) -> SavedDeck | None:
        """Return the file as it is now.

        None if it was not saved since the last look, or is away for a moment.

        Raises
        ------
        DeckError
            If it is not there at the first look.
        """
        try:
            found = self.path.stat()
        except OSError:
            if self._seen is None:
                read_text(self.path)
            return None
        stamp = (found.st_mtime_ns, found.st_size)
        if stamp == self._seen:
            return None
        self._seen = stamp
        return self._look()

    def _look(self) -> SavedDeck:
        name = self.path.name
        try:
            text = read_text(self.path)
        except DeckError as error:
            return SavedDeck("", (error,), None, (), ())
        if errors := check(text, name=name):
            return SavedDeck(text, errors, None, (), ())
        deck, before = parse_deck(text, name=name), self._last
        self._last = deck
        if before is None:
            return SavedDeck(text, (), deck, deck.cards, ())
        return SavedDeck(text, (), deck, changed_cards(before, deck), edition_changes(before, deck))
