"""Deck files on disk, and the starter decks that come with drillbox."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from drillbox.base.files import opened
from drillbox.deckfile.course import SERVES
from drillbox.deckfile.reading import MAX_BYTES, parse_deck
from drillbox.errors import DeckError

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

    from drillbox.deckfile.deck import Deck

__all__ = ["StarterDeck", "read", "read_starter_decks", "read_text", "starter_decks"]

ORDER = (
    "first-week",
    "accents-and-taps",
    "sixteenth-ghosts",
    "ghosts-over-bass",
    "time-hand",
    "triplet-ghosts",
    "levels",
    "rudiments",
    "doubles",
    "buzzes",
    "flams-and-drags",
    "across-the-kit",
    "grooves",
    "linear",
    "swung-sixteenths",
    "blends",
    "sixteenth-triplet-ghosts",
    "odd-groupings",
    "thirty-seconds",
)


@dataclass(frozen=True, slots=True)
class StarterDeck:
    """A deck file that comes with drillbox.

    Parameters
    ----------
    name
        The file's name without its ending.
    source
        The file, which may lie inside a zip archive.
    """

    name: str
    source: Traversable

    def read(self) -> Deck:
        """Read the deck, once: it cannot change while the program runs."""
        return _read_starter(self)

    @property
    def cards(self) -> int:
        """How many cards it has; known without reading it."""
        return SERVES[self.name].cards

    def title(self) -> str:
        """Return the deck's title, from the head of the file alone."""
        head, _, _ = self.source.read_text(encoding="utf-8").partition("\n[groove")
        return str(tomllib.loads(head.partition("\n[[")[0])["deck"]["title"])


@cache
def _read_starter(starter: StarterDeck) -> Deck:
    return parse_deck(starter.source.read_text(encoding="utf-8"), name=starter.source.name)


def read(path: str | Path) -> Deck:
    """Read the deck file at `path`.

    Raises
    ------
    DeckError
        If it cannot be read or is no deck; for the topmost thing that is wrong, with its place.
    """
    return parse_deck(read_text(path), name=str(path))


def read_text(path: str | Path) -> str:
    """Return the text of the deck file at `path`.

    Raises
    ------
    DeckError
        If there is no such file, it cannot be opened, it is too large, or it is not UTF-8.
    """
    path = Path(path)
    with opened(path, error=DeckError, what="the deck") as file:
        content = file.read(MAX_BYTES + 1)
    if len(content) > MAX_BYTES:
        what = f"the file is larger than {MAX_BYTES} bytes"
        raise DeckError(what, where=str(path), fix="split the deck")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = error.object[: error.start].decode("utf-8")
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        where = f"{path}:{line}:{column}"
        raise DeckError("not UTF-8 text", where=where, fix="save the file as UTF-8") from None


def starter_decks() -> tuple[StarterDeck, ...]:
    """Return the decks that come with drillbox, in the order of docs/courses.md."""
    from importlib.resources import files  # noqa: PLC0415 - only where starter decks are wanted

    folder: Traversable = files("drillbox") / "decks"
    if not folder.is_dir():
        # A checkout keeps them beside the package; the wheel moves them into it.
        folder = Path(__file__).resolve().parents[2] / "decks"
    found = [file for file in folder.iterdir() if file.name.endswith(".toml")]
    starters = [StarterDeck(file.name.removesuffix(".toml"), file) for file in found]
    place = {name: number for number, name in enumerate(ORDER)}
    return tuple(sorted(starters, key=lambda one: (place.get(one.name, len(place)), one.name)))


def read_starter_decks() -> tuple[Deck, ...]:
    """Return the decks that come with drillbox, read."""
    return tuple(starter.read() for starter in starter_decks())
