"""Which cards have a rhythm that can be read: the others are passed over, and named.

A row may have been altered by another program, or have come from one that knows other signs.
Reading a rhythm takes longer than all else of a start, so it is done once: what was counted in a
rhythm is kept in the box (`drillbox.store.features`) with a mark of the text it was counted in, and
a text with its mark was read before.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING
from zlib import crc32

from drillbox.errors import NotationError

if TYPE_CHECKING:
    from drillbox.store import Archive, CardRow

RULES = "5"
"""Of what is counted in a rhythm; changes whenever the same one would get other numbers."""
LENGTH, PLACED = 11, -2
"""So many numbers are counted in a rhythm; all but the last two are its place among the others."""
_FARTHEST = 1e6


def counted_before(archive: Archive) -> dict[str, tuple[float, ...]]:
    """Return what the box keeps of the numbers of rhythms, by card; what makes no sense, not."""
    return {
        card_id: numbers
        for card_id, numbers in archive.features(RULES).items()
        if len(numbers) == LENGTH
        and all(abs(number) < _FARTHEST for number in numbers[:PLACED])
        and all(0 <= number < inf for number in numbers[PLACED:])
    }


def text_mark(pattern: str) -> float:
    """Return a number that tells a rhythm's text from another: its CRC-32."""
    return float(crc32(pattern.encode("utf-8", "surrogatepass")))


class Legible:
    """The reading of a box's rhythms, each text once."""

    def __init__(self, archive: Archive) -> None:
        self._archive = archive
        self._why: dict[str, str] = {}

    def rows(self, rows: list[CardRow]) -> tuple[list[CardRow], dict[str, str]]:
        """Return the cards that can be read, and why the others cannot, by ``deck/slug``."""
        counted = counted_before(self._archive)
        sound, wrong = [], {}
        for row in rows:
            numbers = counted.get(row.card_id)
            known = numbers is not None and numbers[-1] == text_mark(row.pattern)
            why = "" if known else self._read(row.pattern)
            if why:
                wrong[f"{row.deck_id}/{row.slug}"] = why
            else:
                sound.append(row)
        return sound, wrong

    def _read(self, pattern: str) -> str:
        """Return why a text cannot be read as a rhythm, or nothing where it can."""
        if pattern not in self._why:
            from drillbox.rhythm import parse  # noqa: PLC0415 - only for texts not read before

            try:
                parse(pattern)
            except NotationError as error:
                self._why[pattern] = error.sentence().rstrip(".")
            else:
                self._why[pattern] = ""
        return self._why[pattern]
