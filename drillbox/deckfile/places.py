"""Where things stand in a TOML text.

The standard reader gives values without places, but an error is only useful with one. This walks
once over a text that the standard reader has accepted, and remembers where every key, value and
table header begins. It is made only when there is something to complain about.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass
from itertools import accumulate

__all__ = ["Path", "Place", "Places"]

Path = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\n]|#[^\n]*+)*+")
_SPACE = re.compile(r"[ \t]*")
_KEY = re.compile(r"""[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'""")
_STRING = re.compile(
    r'''"""(?:[^\\]|\\.)*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:[^"\\\n]|\\.)*"|'[^'\n]*\'''', re.DOTALL
)
_WORD = re.compile(r"[^,\]}#\n]*")


@dataclass(frozen=True, slots=True)
class Place:
    """A one-based line and column."""

    line: int
    column: int


class Places:
    """The places of everything in one text.

    A path names a thing: ``("deck", "title")``, ``("card", 0, "after", 1)`` for an element of an
    array.
    """

    def __init__(self, text: str) -> None:
        self._text = text
        self._position = 0
        self._lines = [0, *accumulate(len(line) + 1 for line in text.split("\n"))]
        self._keys: dict[Path, int] = {(): 0}
        self._values: dict[Path, int] = {}
        self._counts: dict[Path, int] = {}
        self._scan()

    def key(self, path: Path) -> Place:
        """Return where a key, table header or array element begins; of a missing one, its table."""
        while path not in self._keys:
            path = path[:-1]
        return self._place(self._keys[path])

    def value(self, path: Path) -> Place:
        """Return where the value begins; for a missing one, where its table does."""
        return self._place(self._values[path]) if path in self._values else self.key(path)

    def content(self, path: Path) -> Place:
        """Return where a text begins within its quotes; of a missing one, what `key` says."""
        if path not in self._values:
            return self.key(path)
        at = self._values[path]
        opening = re.compile(r'("""|\'\'\')\n?|["\']').match(self._text, at)
        return self._place(opening.end() if opening else at)

    def _place(self, at: int) -> Place:
        line = bisect_right(self._lines, at)
        return Place(line, at - self._lines[line - 1] + 1)

    def _scan(self) -> None:
        table: Path = ()
        while self._skip(_BLANK) < len(self._text):
            if self._text[self._position] == "[":
                table = self._header()
            else:
                self._pair(table)

    def _skip(self, pattern: re.Pattern[str]) -> int:
        match = pattern.match(self._text, self._position)
        self._position = match.end() if match else self._position
        return self._position

    def _header(self) -> Path:
        start = self._position
        many = self._text.startswith("[[", start)
        self._position += 2 if many else 1
        path: Path = ()
        parts = self._dotted()
        for part in parts[:-1]:
            path = self._newest((*path, part))
        path = (*path, parts[-1])
        self._keys.setdefault(path, start)
        if many:
            count = self._counts.get(path, 0)
            self._counts[path] = count + 1
            path = (*path, count)
            self._keys[path] = start
        self._position += 2 if many else 1
        return path

    def _newest(self, path: Path) -> Path:
        return (*path, self._counts[path] - 1) if path in self._counts else path

    def _dotted(self) -> list[str]:
        """Read a dotted key and stop before what follows it."""
        parts = []
        while True:
            self._skip(_SPACE)
            start = self._position
            parts.append(self._text[start : self._skip(_KEY)].strip("\"'"))
            self._skip(_SPACE)
            if not self._text.startswith(".", self._position):
                return parts
            self._position += 1

    def _pair(self, table: Path) -> None:
        start = self._position
        path = table
        for part in self._dotted():
            path = (*path, part)
            self._keys.setdefault(path, start)
        self._position += 1
        self._skip(_SPACE)
        self._value(path)

    def _value(self, path: Path) -> None:
        self._values[path] = self._position
        first = self._text[self._position]
        if first in "\"'":
            self._skip(_STRING)
        elif first == "[":
            self._inside(path, "]")
        elif first == "{":
            self._inside(path, "}")
        else:
            self._skip(_WORD)

    def _inside(self, path: Path, end: str) -> None:
        """Read an array or an inline table."""
        index = 0
        self._position += 1
        while self._text[self._skip(_BLANK)] != end:
            if self._text[self._position] == ",":
                self._position += 1
            elif end == "}":
                self._pair(path)
            else:
                self._keys[*path, index] = self._position
                self._value((*path, index))
                index += 1
        self._position += 1
