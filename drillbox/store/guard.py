"""Rows that cannot be used: passed over by every reader, counted, never the end of a command.

What enters through the door is right (`drillbox.store.checks`), but a row may have come by another
way: an older version, another program, a disk. One such row must not keep anyone from practising,
so a reader leaves it out and can say which it was and why.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from drillbox.errors import UsageError
from drillbox.store import checks

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

WRONG = (UsageError, ValueError, TypeError, RecursionError, OverflowError)
"""What making a value of a row may raise where the row makes no sense."""

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Unusable:
    """A row that is passed over.

    Parameters
    ----------
    table
        The table it stands in.
    key
        Its id or name there, in printable characters.
    why
        What is wrong with it, in one clause.
    number
        Its number in the log; 0 of a row that is none of the log's.
    text
        Of a deck, or a card of one, the deck's text, where it is known.
    """

    table: str
    key: str
    why: str
    number: int = 0
    text: str = ""


def fetched(
    db: sqlite3.Connection, select: str, values: Sequence[Any] | Mapping[str, Any] = ()
) -> list[tuple[Any, ...]]:
    """Return the rows of a query; text that is not UTF-8 comes as what no check lets through."""
    try:
        return db.execute(select, values).fetchall()
    except sqlite3.OperationalError as error:
        if "decode" not in str(error).lower():
            raise
    usual, db.text_factory = db.text_factory, _escaped
    try:
        return db.execute(select, values).fetchall()
    finally:
        db.text_factory = usual


def usable(rows: Iterable[Sequence[Any]], make: Callable[[Sequence[Any]], Value]) -> list[Value]:
    """Return what can be made of the rows."""
    made = []
    for row in rows:
        try:
            made.append(make(row))
        except WRONG:
            continue
    return made


def parted(
    rows: Iterable[Sequence[Any]],
    make: Callable[[Sequence[Any]], Value],
    *,
    table: str,
    key: int = 0,
) -> tuple[list[Value], list[Unusable]]:
    """Return what can be made of the rows, and the others; `key` is the column with their key."""
    made, wrong = [], []
    for row in rows:
        try:
            made.append(make(row))
        except WRONG as error:
            why = error.what if isinstance(error, UsageError) else "it cannot be read"
            wrong.append(Unusable(table, checks.shown(row[key]).strip("'"), why))
    return made, wrong


def unusable(
    rows: Iterable[Sequence[Any]],
    make: Callable[[Sequence[Any]], object],
    *,
    table: str,
    key: int = 0,
) -> list[Unusable]:
    """Return the rows of which nothing can be made; `key` is the column with their key."""
    return parted(rows, make, table=table, key=key)[1]


def _escaped(text: bytes) -> str:
    return text.decode("utf-8", "surrogateescape")
