"""The rhythms of a deck file: the groove, and every card laid over it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from drillbox.deckfile.places import Place
from drillbox.errors import NotationError, UsageError
from drillbox.rhythm import Entry, Voice, overlay, read_entries

if TYPE_CHECKING:
    from drillbox.deckfile.places import Path
    from drillbox.deckfile.tables import Table
    from drillbox.rhythm import Pattern

__all__ = ["NOTATION_KEYS", "Groove"]

NOTATION_KEYS = ("meter", "grid", *map(str, Voice))


class Groove:
    """What all cards of a deck are laid over.

    Parameters
    ----------
    table
        The groove's table.
    """

    def __init__(self, table: Table) -> None:
        self._table = table
        self._texts = _texts(table)
        self.pattern = _read(table, self._texts)
        self._reduced: dict[frozenset[Voice], Pattern] = {}

    def card(self, table: Table) -> Pattern | None:
        """Return a card's whole pattern, or None after a complaint."""
        own = _texts(table)
        if not table.flag("groove", default=True):
            if "without" in table:
                table.wrong("without", "there is no groove to leave a voice out of", "take it out")
            pattern = _read(table, own)
        else:
            pattern = self._overlaid(table, own)
        if pattern is not None and not pattern.strokes:
            table.wrong("id", "the card has nothing to play", "write at least one voice")
            return None
        return pattern

    def _overlaid(self, table: Table, own: dict[Path, str]) -> Pattern | None:
        without = self._left_out(table)
        if self.pattern is None:
            return None
        defaults = {
            path: text
            for path, text in self._texts.items()
            if path[-1] in ("meter", "grid") and path[-1] not in table
        }
        part = _read(table, defaults | own)
        if part is None:
            return None
        try:
            return overlay(self._without(without, self.pattern), part)
        except UsageError as error:
            first = "meter" if "meter" in table else str(next(iter(own), ("id",))[-1])
            table.wrong(first, error.what, f"{error.fix}, or write groove = false")
            return None

    def _without(self, voices: frozenset[Voice], whole: Pattern) -> Pattern:
        """Return the groove without some voices; each selection is made once."""
        if voices not in self._reduced:
            kept = tuple(stroke for stroke in whole.strokes if stroke.voice not in voices)
            self._reduced[voices] = replace(whole, strokes=kept)
        return self._reduced[voices]

    def _left_out(self, table: Table) -> frozenset[Voice]:
        names = table.slugs("without")
        here = [str(path[-1]) for path in self._texts if path[-1] in list(Voice)]
        for name in names:
            if name not in here:
                fix = f"it has {', '.join(here)}" if here else "take it out"
                table.wrong("without", f"the groove has no {name!r}", fix, item=name)
        return frozenset(Voice(name) for name in names if name in here)


def _texts(table: Table) -> dict[Path, str]:
    """Return what a table says in spoken notation, by path."""
    found = {(*table.path, key): table.notation(key) for key in NOTATION_KEYS if key in table}
    return {path: text for path, text in found.items() if text is not None}


def _read(table: Table, texts: dict[Path, str]) -> Pattern | None:
    """Read texts as one pattern; on an error read them once more with their places in the file."""
    try:
        return read_entries(Entry(str(path[-1]), text) for path, text in texts.items())
    except NotationError:
        places = table.problems.places
        entries = []
        for path, text in texts.items():
            place = places.content(path)
            entries.append(Entry(str(path[-1]), text, place.line, place.column))
    try:
        return read_entries(entries)
    except NotationError as error:
        table.problems.add(Place(error.line, error.column), error.what, fix=error.fix)
        return None
