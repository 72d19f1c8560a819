"""Decks by what a person types: a file, a packed file, a folder, or the name of a starter deck."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.base.files import at_home, there
from drillbox.errors import DeckError

if TYPE_CHECKING:
    from drillbox.deckfile import Deck


def decks_named(name: str) -> tuple[Deck, ...]:
    """Return the decks at a path, or the starter deck of that name."""
    from drillbox.deckfile import read_decks, starter_decks

    path = at_home(name)
    if there(path) or path.suffix or path.name != name:
        return read_decks(path)
    starters = {starter.name: starter for starter in starter_decks()}
    if name not in starters:
        raise DeckError(
            "no such file, and no starter deck of this name",
            where=name,
            fix=f"give a file, or one of: {', '.join(starters)}",
        )
    return (starters[name].read(),)


def deck_named(name: str) -> Deck:
    """Return the one deck at a path, or the starter deck of that name."""
    decks = decks_named(name)
    if len(decks) > 1:
        raise DeckError(f"there are {len(decks)} decks", where=name, fix="name one file")
    return decks[0]
