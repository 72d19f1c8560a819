"""The rhythms of a deck file: the groove, and every card laid over it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from drillbox.deckfile.places import Place
from drillbox.errors import NotationError, UsageError
from drillbox.rhythm import Level, NotationLine, Voice, grid_name, overlay, read_entries
from drillbox.rhythm.entries import NOTATION_KEYS
from drillbox.rhythm.pattern import place_name

if TYPE_CHECKING:
    from drillbox.deckfile.places import Path
    from drillbox.deckfile.tables import Table
    from drillbox.rhythm import Pattern

__all__ = ["Groove"]

MAX_STROKES = 100_000
"""Of all cards together, grooves and bars included.

Two lines can ask for a groove of 18,000 strokes.
"""
_MOST_NAMED = 6


@dataclass(frozen=True, slots=True)
class _Source:
    """A groove to lay things over.

    Its name (empty for the deck's own), what it plays, and how that is written.
    """

    name: str
    pattern: Pattern | None
    texts: dict[Path, str]


class Groove:
    """What all cards of a deck are laid over.

    Parameters
    ----------
    table
        The groove's table.
    """

    def __init__(self, table: Table) -> None:
        texts = _texts(table)
        self._own = _Source("", _read(table, texts), texts)
        self._reduced: dict[tuple[str, frozenset[Voice]], Pattern] = {}
        self._strokes = 0

    def card(self, table: Table) -> Pattern | None:
        """Return a card's whole pattern, or None after a complaint."""
        pattern = self.base(table)
        if pattern is not None and not pattern.strokes:
            table.wrong("id", "the card has nothing to play", "write at least one voice")
            return None
        return pattern

    def base(self, table: Table) -> Pattern | None:
        """Return a table's lines over the groove it asks for, or None after a complaint."""
        if self._strokes > MAX_STROKES:
            return None
        pattern = self._made(table)
        if pattern is not None:
            self._strokes += len(pattern.strokes) + pattern.bars
        if self._strokes > MAX_STROKES:
            table.wrong("id", f"the deck has more than {MAX_STROKES} strokes", "split the deck")
            return None
        return pattern

    def _made(self, table: Table) -> Pattern | None:
        own = _texts(table)
        name = table.flag_or_line("groove", default=True)
        if name is False:
            if "without" in table:
                table.wrong("without", "there is no groove to leave a voice out of", "take it out")
            return _read(table, own)
        source = self._own if name is True else _stock(table, str(name))
        return None if source is None else self._overlaid(table, own, source)

    def _overlaid(self, table: Table, own: dict[Path, str], source: _Source) -> Pattern | None:
        without = _left_out(table, source.texts)
        if source.pattern is None:
            return None
        defaults = {
            path: text
            for path, text in source.texts.items()
            if path[-1] in ("meter", "grid") and path[-1] not in table
        }
        part = _read(table, defaults | own)
        if part is None:
            return None
        base = self._without(without, source.name, source.pattern)
        if not base.strokes and base.meter != part.meter:
            # Where nothing is played there is no groove that a card could disagree with.
            base = replace(part, strokes=(), swing=base.swing)
        try:
            whole = overlay(base, part)
        except UsageError as error:
            first = "meter" if "meter" in table else str(next(iter(own), ("id",))[-1])
            table.wrong(first, error.what, f"{error.fix}, or write groove = false")
            return None
        _doubt_lost_ghosts(table, part, whole)
        return whole

    def _without(self, voices: frozenset[Voice], name: str, whole: Pattern) -> Pattern:
        """Return a groove without some voices; each selection is made once."""
        if (name, voices) not in self._reduced:
            kept = tuple(stroke for stroke in whole.strokes if stroke.voice not in voices)
            self._reduced[name, voices] = replace(whole, strokes=kept)
        return self._reduced[name, voices]


def _doubt_lost_ghosts(table: Table, part: Pattern, whole: Pattern) -> None:
    """Note the ghosts of a card that are never heard, since the groove strikes louder there.

    A syllable on every beat, as a bare one is written, may give way on some of them: that is how
    ghosts around a backbeat are written.
    """
    length = part.beats
    heard = {
        (stroke.voice, stroke.at % length)
        for stroke in whole.strokes
        if stroke.level is Level.GHOST
    }
    ghosts = [stroke for stroke in part.strokes if stroke.level is Level.GHOST]
    everywhere = Counter((stroke.voice, stroke.at % 1) for stroke in ghosts)
    survive = {(voice, at % 1) for voice, at in heard}
    lost = [
        stroke
        for stroke in ghosts
        if (stroke.voice, stroke.at) not in heard
        and not (
            everywhere[stroke.voice, stroke.at % 1] == part.beats
            and (stroke.voice, stroke.at % 1) in survive
        )
    ]
    for voice in dict.fromkeys(stroke.voice for stroke in lost):
        where = [place_name(part, stroke.at) for stroke in lost if stroke.voice is voice]
        named = ", ".join(where[:_MOST_NAMED]) + (" and more" if where[_MOST_NAMED:] else "")
        place = table.problems.places.value((*table.path, str(voice)))
        table.problems.doubt(
            place, f"no ghost is heard on {named}: the groove strikes the {voice} louder there"
        )


def _stock(table: Table, name: str) -> _Source | None:
    """Return a groove that everybody knows by name, or None after a complaint."""
    from drillbox.rhythm.generators import stock_groove  # noqa: PLC0415 - few decks need them

    try:
        pattern = stock_groove(name)
    except UsageError as error:
        table.wrong("groove", error.what, error.fix)
        return None
    grid = grid_name(pattern.meter, pattern.grids[0])
    texts: dict[Path, str] = {("meter",): str(pattern.meter), ("grid",): grid}
    texts |= {(str(stroke.voice),): "" for stroke in pattern.strokes}
    return _Source(name, pattern, texts)


def _left_out(table: Table, texts: dict[Path, str]) -> frozenset[Voice]:
    names = table.slugs("without")
    here = [str(path[-1]) for path in texts if path[-1] in list(Voice)]
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
        return read_entries(NotationLine(str(path[-1]), text) for path, text in texts.items())
    except NotationError:
        places = table.problems.places
        entries = []
        for path, text in texts.items():
            place = places.content(path)
            entries.append(NotationLine(str(path[-1]), text, place.line, place.column))
    try:
        return read_entries(entries)
    except NotationError as error:
        table.problems.add(Place(error.line, error.column), error.what, fix=error.fix)
        return None
