"""What a family's figures are laid over: its base with every line it asks for.

A card is a ghost set over a bass line, under a time line, on some drums. A family names a list of
each, and has a card for every way to choose one of each list. Lines are written by their names
(`drillbox.rhythm.repertoire`) or in spoken notation.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING

from drillbox.errors import NotationError, UsageError
from drillbox.rhythm import (
    BASS_LINES,
    TIME_LINES,
    NotationLine,
    Voice,
    grid_name,
    overlay,
    read_entries,
)
from drillbox.rhythm.stroke import DRUMS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from drillbox.deckfile.tables import Table
    from drillbox.rhythm import Pattern

__all__ = ["LIST_KEYS", "Ground", "grounds"]

LIST_KEYS = ("basses", "times", "places")
_OF_TIME = (Voice.HAT, Voice.RIDE, Voice.CRASH, Voice.PEDAL)
_MOST = 400
"""Ways to choose that one family may have."""


@dataclass(frozen=True, slots=True)
class Ground:
    """One way to choose a line of each list.

    Parameters
    ----------
    tag
        What it adds to its cards' ids; empty for the base as it is.
    base
        What figures are laid over.
    drums
        The drums that the figure's partials go down; empty for the family's own voice.
    plain
        Whether nothing was chosen but what the base has.
    """

    tag: str
    base: Pattern
    drums: tuple[Voice, ...] = ()
    plain: bool = True


def grounds(table: Table, base: Pattern) -> tuple[Ground, ...]:
    """Return a family's grounds, the base alone where it has no lists; none after a complaint."""
    basses = _lines(table, "basses", base, _basses(base))
    times = _lines(table, "times", base, TIME_LINES)
    places = _places(table)
    if basses is None or times is None or places is None:
        return ()
    if len(basses) * len(times) * len(places) > _MOST:
        table.wrong("id", f"the lists multiply to more than {_MOST} grooves", "use shorter lists")
        return ()
    found = []
    for (bass, bass_line), (time, time_line), drums in product(basses, times, places):
        made: Pattern | None = base
        for key, line, voices in (
            ("basses", bass_line, (Voice.BASS,)),
            ("times", time_line, _OF_TIME),
        ):
            made = made and _with(table, key, made, line, voices)
        if made is None:
            return ()
        tag = "-".join(filter(None, (bass, time, "-".join(drums))))
        found.append(Ground(tag, made, drums, plain=made == base and not drums))
    return tuple(found)


def _basses(base: Pattern) -> Mapping[str, Mapping[str, str]]:
    """Return the bass lines that fit the grid of a base."""
    grid = "8t" if 3 in base.grids else "16"
    return {name: {"bass": line} for name, line in BASS_LINES[grid].items()}


def _lines(
    table: Table, key: str, base: Pattern, known: Mapping[str, Mapping[str, str]]
) -> list[tuple[str, Pattern | None]] | None:
    """Read a list of lines: the tag of each and what it plays; None after a complaint."""
    if key not in table:
        return [("", None)]
    names = ", ".join(f'"{name}"' for name in known)
    texts = table.texts(key)
    if texts is None:
        return None
    voice = "bass" if key == "basses" else "hat"
    found: list[tuple[str, Pattern | None]] = []
    for text in texts:
        written = known.get(text) or ({voice: text} if re.search(r"\d|&|beat", text) else None)
        if written is None:
            fix = f"write one of: {names}; or a line in spoken notation"
            table.wrong(key, f"no line {text[:24]!r}", fix, item=text)
            return None
        head = {"meter": str(base.meter), "grid": grid_name(base.meter, base.grids[0])}
        try:
            said = head | dict(written)
            line = read_entries(NotationLine(name, part) for name, part in said.items())
        except NotationError as error:
            table.wrong(key, error.what, error.fix, item=text)
            return None
        found.append((_slug(text), line))
    if not found:
        table.wrong(key, f"{key} has no line", f"write some of: {names}")
        return None
    return found


def _places(table: Table) -> list[tuple[Voice, ...]] | None:
    if "places" not in table:
        return [()]
    texts = table.texts("places")
    if texts is None:
        return None
    found = []
    for text in texts:
        words = text.split()
        if not words or any(word not in list(DRUMS) for word in words):
            fix = f"write one or more of: {', '.join(DRUMS)}"
            table.wrong("places", f"cannot read {text[:24]!r} as drums", fix, item=text)
            return None
        found.append(tuple(Voice(word) for word in words))
    if not found:
        table.wrong("places", "places has no drum", f"write some of: {', '.join(DRUMS)}")
        return None
    return found


def _with(
    table: Table, key: str, base: Pattern, line: Pattern | None, voices: Sequence[Voice]
) -> Pattern | None:
    """Return the base with a line in the place of some voices."""
    if line is None:
        return base
    rest = tuple(stroke for stroke in base.strokes if stroke.voice not in voices)
    try:
        return overlay(replace(base, strokes=rest), line)
    except UsageError as error:
        table.wrong(key, error.what, error.fix)
        return None


def _slug(text: str) -> str:
    """Return a line as part of an id: ``1 2& 3`` becomes ``1-2and-3``."""
    return re.sub(r"[^a-z0-9]+", "-", text.replace("&", "and").lower()).strip("-")
