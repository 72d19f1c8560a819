"""Tables of a TOML file, checked key by key; every complaint gets its place.

Reading goes on after a complaint, with a stand-in for what was wrong, so that one pass finds them
all.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cached_property
from typing import TYPE_CHECKING

from drillbox.base.wording import did_you_mean, nearest, was_meant
from drillbox.deckfile.places import Place, Places
from drillbox.errors import DeckError

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from drillbox.deckfile.places import Path

__all__ = ["Problems", "Table"]

MAX_SLUG = 64
MAX_LINE = 120
MAX_PROSE = 4000
MAX_NOTATION = 10_000
_ENOUGH = 100

_SLUG = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_JOINERS = ("\u200c", "\u200d")
"""Invisible, but part of the spelling in some scripts."""


class Problems:
    """What is wrong with one file, in the order it was found."""

    def __init__(self, name: str, text: str) -> None:
        self._name = name
        self._text = text
        self._found: list[tuple[int, int, DeckError]] = []
        self._doubts: list[tuple[int, int, str]] = []

    @cached_property
    def places(self) -> Places:
        """Where things stand in the file."""
        return Places(self._text)

    def add(self, place: Place, what: str, *, fix: str) -> None:
        """Complain about something at a place."""
        where = f"{self._name}:{place.line}:{place.column}"
        self._found.append((place.line, place.column, DeckError(what, where=where, fix=fix)))

    def doubt(self, place: Place, what: str) -> None:
        """Note something that can be read and is hardly meant."""
        self._doubts.append((place.line, place.column, f"{self._name}:{place.line}: {what}"))

    @property
    def doubts(self) -> tuple[str, ...]:
        """What can be read and is hardly meant, the topmost first."""
        return tuple(what for *_, what in sorted(self._doubts))

    @property
    def enough(self) -> bool:
        """Whether there is more wrong than anybody wants to read."""
        return len(self._found) >= _ENOUGH

    def in_order(self) -> tuple[DeckError, ...]:
        """Return the complaints by place, the topmost first."""
        return tuple(error for *_, error in sorted(self._found, key=lambda found: found[:2]))

    def __bool__(self) -> bool:
        return bool(self._found)


class Table:
    """One table of the file.

    Parameters
    ----------
    values
        What the standard reader found.
    path
        Where it is in the file.
    known
        The keys it may have.
    problems
        Takes the complaints.
    """

    def __init__(
        self, values: Mapping[str, object], path: Path, known: Collection[str], problems: Problems
    ) -> None:
        self._values = values
        self.path = path
        self.problems = problems
        self._meant: set[str] = set()
        for key in values:
            if key not in known and not problems.enough:
                near = nearest(key, known)
                if near is not None:
                    self._meant.add(near)
                fix = was_meant(near, otherwise=f"known here: {', '.join(known)}")
                problems.add(
                    problems.places.key((*path, key)), f"unknown key {_brief(key)}", fix=fix
                )

    def __contains__(self, key: str) -> bool:
        return key in self._values

    def wrong(self, key: str, what: str, fix: str, *, item: object = None) -> None:
        """Complain about a key's value, an item of it, or the table where it has no such key."""
        path: Path = (*self.path, key)
        found = self._values.get(key)
        if item is not None and isinstance(found, list):
            path = (*path, found.index(item))
        self.problems.add(self.problems.places.value(path), what, fix=fix)

    def require(self, *keys: str) -> None:
        """Complain about every key that is empty, or missing and not merely misspelt."""
        for key in keys:
            found = self._values.get(key)
            if found is None and key not in self._meant:
                self.wrong(key, f"{key} is missing", f"add a line that begins with '{key} ='")
            elif isinstance(found, str) and not found.strip():
                self.wrong(key, f"{key} is empty", "write something between the quotes")

    def slug(self, key: str) -> str:
        """Return a short name such as ``e-and-a``."""
        text = self._text(key)
        if text and not _is_slug(text):
            self.wrong(
                key, f"{_brief(text)} cannot be {'an' if key[0] in 'aei' else 'a'} {key}", _SLUG_FIX
            )
        return text or ""

    def slugs(self, key: str) -> tuple[str, ...]:
        """Return an array of texts; none where the key is missing."""
        return self.texts(key) or ()

    def texts(self, key: str) -> tuple[str, ...] | None:
        """Return an array of texts, each once; None after a complaint."""
        found = self._values.get(key, [])
        if not isinstance(found, list):
            self.wrong(key, f"{key} is {_kind(found)}", f'write an array of texts: {key} = ["..."]')
            return None
        wrong = [item for item in found if not isinstance(item, str)]
        for item in wrong:
            self.wrong(key, f"{_kind(item)} in {key}", 'write a text: "..."', item=item)
        return None if wrong else tuple(dict.fromkeys(found))

    def line(self, key: str) -> str:
        """Return a text of one line; empty where the key is missing."""
        return self._plain(key, MAX_LINE, allowed="")

    def prose(self, key: str) -> str:
        """Return a text of some lines, without blanks at its ends.

        Empty where the key is missing.
        """
        return self._plain(key, MAX_PROSE, allowed="\n\t").strip()

    def notation(self, key: str) -> str | None:
        """Return a text to be read as spoken notation, or None."""
        text = self._text(key)
        if text is not None and len(text) > MAX_NOTATION:
            self.wrong(key, f"{key} has {len(text)} characters", f"use at most {MAX_NOTATION}")
            return None
        return text

    def number(self, key: str, default: float, *, low: float, high: float) -> float:
        """Return a number from `low` to `high`."""
        found = self._values.get(key, default)
        if isinstance(found, bool) or not isinstance(found, int | float):
            self.wrong(key, f"{key} is {_kind(found)}", f"write a number: {key} = {default:g}")
        elif not low <= found <= high:
            self.wrong(key, f"{key}{_shown(found)} is out of range", f"use {low:g} to {high:g}")
        else:
            return float(found)
        return default

    def whole(self, key: str, default: int, *, high: int) -> int:
        """Return a whole number from 1 to `high`."""
        found = self._values.get(key, default)
        if isinstance(found, bool) or not isinstance(found, int):
            self.wrong(key, f"{key} is {_kind(found)}", f"write a whole number: {key} = {default}")
        elif not 1 <= found <= high:
            self.wrong(key, f"{key} is out of range", f"use 1 to {high}")
        else:
            return found
        return default

    def flag(self, key: str, *, default: bool) -> bool:
        """Return true or false."""
        found = self._values.get(key, default)
        if not isinstance(found, bool):
            self.wrong(key, f"{key} is {_kind(found)}", "write true or false, without quotes")
            return default
        return found

    def tables(self, key: str, known: Collection[str]) -> Iterable[Table]:
        """Yield the tables of an array of tables; none where the key is missing."""
        found = self._values.get(key, [])
        if not isinstance(found, list) or not all(isinstance(item, dict) for item in found):
            self.wrong(key, f"{key} is {_kind(found)}", "begin each with [[family.card]]")
            return
        for number, item in enumerate(found):
            yield Table(item, (*self.path, key, number), known, self.problems)

    def flag_or_line(self, key: str, *, default: bool) -> bool | str:
        """Return true, false, or a name."""
        found = self._values.get(key, default)
        return self.line(key) if isinstance(found, str) else self.flag(key, default=default)

    def choice(self, key: str, choices: Sequence[str], default: str) -> str:
        """Return one of some words."""
        found = self._text(key)
        if found is None or found in choices:
            return found or default
        words = [str(choice) for choice in choices]
        fix = did_you_mean(found, words, otherwise=f"write one of: {', '.join(words)}")
        self.wrong(key, f"{_brief(found)} is no {key}", fix)
        return default

    def wholes(self, key: str, *, high: int) -> tuple[int, ...]:
        """Return a whole number from 1 to `high`, or an array of them.

        None where the key is missing.
        """
        found = self._values.get(key, [])
        numbers = found if isinstance(found, list) else [found]
        for number in numbers:
            if isinstance(number, bool) or not isinstance(number, int):
                fix = f"write whole numbers: {key} = [1, 2]"
                self.wrong(key, f"{_kind(number)} in {key}", fix, item=number)
            elif not 1 <= number <= high:
                which = f"{number} in {key}" if abs(number) < _MUCH else f"a number in {key}"
                what = f"{which} is out of range"
                self.wrong(key, what, f"use 1 to {high}", item=number)
            else:
                continue
            return ()
        return tuple(sorted(set(numbers)))

    def _text(self, key: str) -> str | None:
        found = self._values.get(key)
        if found is not None and not isinstance(found, str):
            self.wrong(key, f"{key} is {_kind(found)}", f'write a text in quotes: {key} = "..."')
            return None
        return found

    def _plain(self, key: str, longest: int, *, allowed: str) -> str:
        text = self._text(key)
        if text is None:
            return ""
        if len(text) > longest:
            self.wrong(key, f"{key} has {len(text)} characters", f"use at most {longest}")
        strange = next((sign for sign in text if sign not in allowed and not _is_plain(sign)), None)
        if strange is not None:
            what = f"{key} contains the unprintable character U+{ord(strange):04X}"
            self.wrong(key, what, "take it out" if allowed else "take it out, and write one line")
        return text


def _brief(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:37] + "...")


def _shown(number: float) -> str:
    """Return a number as a message may show it; nothing of one that no float can hold."""
    return "" if type(number) is int and abs(number) >= _MUCH else f" = {number:.6g}"


_MUCH = 10**15
_SLUG_FIX = (
    f"use lower-case letters, digits and single hyphens, at most {MAX_SLUG}, such as 'e-and-a'"
)


def _is_slug(text: str) -> bool:
    return len(text) <= MAX_SLUG and _SLUG.fullmatch(text) is not None


def _is_plain(sign: str) -> bool:
    """Whether a terminal may be sent this character: no control, direction or private signs."""
    category = unicodedata.category(sign)
    return sign in _JOINERS or not (category.startswith("C") or category in ("Zl", "Zp"))


_KINDS: Iterable[tuple[type, str]] = (
    (bool, "true or false"),
    (str, "a text"),
    (int, "a whole number"),
    (float, "a number"),
    (list, "an array"),
    (dict, "a table"),
)


def _kind(value: object) -> str:
    """Return what a value is, in words."""
    return next((words for kind, words in _KINDS if isinstance(value, kind)), "a date or time")
