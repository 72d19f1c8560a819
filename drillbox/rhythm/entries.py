"""The spoken notation, cut up.

Entries (a name, a text, a place), and the pieces between their blanks and bar lines.

Every piece knows its place, one-based line and column, so that whoever reads it can say where it
stands.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.errors import NotationError
from drillbox.rhythm.pattern import MAX_BARS
from drillbox.rhythm.stroke import Voice

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["NOTATION_KEYS", "NotationLine", "Piece", "cut", "cut_lines", "shown"]

NOTATION_KEYS = ("meter", "grid", "swing", *map(str, Voice))
_PIECE = re.compile(r"\||[^\s|]+")


@dataclass(frozen=True, slots=True)
class NotationLine:
    """A name and what was written for it, with the one-based place of its first character."""

    name: str
    text: str
    line: int = 1
    column: int = 1


@dataclass(frozen=True, slots=True)
class Piece:
    """A token and its place."""

    text: str
    line: int
    column: int

    def error(self, what: str, fix: str, *, skip: int = 0) -> NotationError:
        """Return an error at this piece, `skip` characters in."""
        return NotationError(what, line=self.line, column=self.column + skip, fix=fix)


def cut_lines(text: str) -> Iterable[NotationLine]:
    """Cut a text into entries, one a line."""
    seen: dict[str, int] = {}
    for number, line in enumerate(text.split("\n"), start=1):
        if not line.strip():
            continue
        name, colon, rest = line.partition(":")
        column = len(name) - len(name.lstrip()) + 1
        name = name.strip()
        if not colon or name not in NOTATION_KEYS:
            raise NotationError(
                f"cannot read {shown(name)} as the name of a line",
                line=number,
                column=column,
                fix=f"begin the line with a name and a colon: {', '.join(NOTATION_KEYS)}",
            )
        if name in seen:
            raise NotationError(
                f"a second {name} line",
                line=number,
                column=column,
                fix=f"put everything of the {name} in line {seen[name]}",
            )
        seen[name] = number
        yield NotationLine(name, rest, number, line.index(":") + 2)


def cut(entry: NotationLine) -> list[list[Piece]]:
    """Cut an entry into bars of pieces."""
    bars: list[list[Piece]] = [[]]
    lines = entry.text.split("\n")
    for number, line in enumerate(lines):
        start = entry.column if number == 0 else 1
        for match in _PIECE.finditer(line):
            if match[0] == "|":
                bars.append([])
            else:
                bars[-1].append(Piece(match[0], entry.line + number, start + match.start()))
    if not any(bars):
        raise NotationError(
            f"nothing is written for the {entry.name}",
            line=entry.line,
            column=entry.column,
            fix="write at least one token, or leave the line out",
        )
    if len(bars) > MAX_BARS:
        raise NotationError(
            f"{len(bars)} bars are written for the {entry.name}",
            line=entry.line,
            column=entry.column,
            fix=f"write at most {MAX_BARS}",
        )
    return bars


def shown(text: str) -> str:
    """Return a text in quotes, shortened where it is long."""
    return repr(text if len(text) <= 24 else text[:21] + "...")
