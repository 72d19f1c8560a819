"""Reading deck files: from text to a deck, or to everything that is wrong with it.

The file is TOML; docs/decks.md describes it. Deck files come by mail from strangers, so nothing in
one may do more than be refused: sizes and counts are limited, and what would reach a terminal is
checked character by character.
"""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from drillbox.base.tempi import ASKED
from drillbox.deckfile.assignments import read_assignments
from drillbox.deckfile.card_tables import (
    CARD_KEYS,
    Waiting,
    check_order,
    read_cards,
    waiting,
)
from drillbox.deckfile.deck import Deck
from drillbox.deckfile.groove_tables import Groove
from drillbox.deckfile.places import Place
from drillbox.deckfile.tables import Problems, Table
from drillbox.rhythm.entries import NOTATION_KEYS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from drillbox.deckfile.deck import Card, LeftOut
    from drillbox.deckfile.places import Path
    from drillbox.errors import DeckError

__all__ = ["DECK_KEYS", "MAX_BYTES", "MAX_CARDS", "check", "parse_deck"]

MAX_BYTES = 1 << 20
MAX_CARDS = 10_000
MAX_MADE = 2_500
"""Cards that families make: each is laid out, weighed and named, which takes a while."""
MAX_COMMAS = 50_000
"""An array of half a million numbers takes the standard reader more than a second."""
MAX_EDITION = 1_000_000

_TABLES = ("deck", "groove", "card", "family", "assignment")
_HEADER = re.compile(r"^[ \t]*\[\[[ \t]*(card|family)[ \t]*\]\]", re.MULTILINE)
"""A table that has a place in the order; one inside a text could only move cards."""
MAX_PACE = 20
"""New cards a day that a deck may ask for."""
DECK_KEYS = ("id", "title", "edition", "author", "licence", "about", "goal", "pace", "keep")
_FIXES = {
    "card": "begin every card with [[card]] on a line of its own",
    "family": "begin every family with [[family]] on a line of its own",
}
_MANY = {"card": "cards", "family": "families"}
_PLACE_IN_MESSAGE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_PLAINER = {
    "Cannot overwrite a value": "a key or table is given a second time",
    "Exceeds the limit": "a number has thousands of digits",
}
_OTHER_FORMAT = re.compile(r'\A\s*\{\s*"format"\s*:\s*"drillbox ([a-z ]{1,20})"')
_OTHER_KINDS = {
    "reply": (
        "a teacher's reply that was cut short or changed",
        "ask for it once more, and copy it whole",
    ),
    "take log": ("a take log", "take it in with 'drillbox import FILE'"),
    "progress": ("a progress file", "a teacher looks at it with 'drillbox studio FILE'"),
}
_ENDLESS_KEY = re.compile(
    r"""(?:^[ \t]*+(?:\[[ \t]*+){0,2}|[{,][ \t\n]*+)"""
    r"""(?:(?:[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){9}""",
    re.MULTILINE,
)
"""Reading a key of thousands of dotted parts takes the standard reader hours.

No deck needs more than two.
"""


def parse_deck(text: str, *, name: str) -> Deck:
    """Read the text of a deck file.

    Parameters
    ----------
    text
        The whole file.
    name
        What to call the file in an error.

    Raises
    ------
    DeckError
        For the topmost thing that is wrong, with its place.
    """
    reading = _Reading(text, name)
    deck = reading.deck()
    if deck is None:
        raise reading.problems.in_order()[0]
    return deck


def check(text: str, *, name: str) -> tuple[DeckError, ...]:
    """Return everything that is wrong with the text of a deck file, topmost first.

    Nothing if it is well.
    """
    reading = _Reading(text, name)
    reading.deck()
    return reading.problems.in_order()


def _other_kind(text: str) -> tuple[str, str] | None:
    """Return what a file looks like that begins as no deck does, and what to do with it."""
    begins = text[:200].lstrip()
    if found := _OTHER_FORMAT.match(begins):
        kind = found[1]
        return _OTHER_KINDS.get(kind, (f"a file of drillbox {kind}", "name a deck file"))
    if begins.startswith("{"):
        return "JSON", "name a deck file, which is TOML"
    if begins.startswith("<"):
        return "XML", "rhythms of MusicXML are read by 'drillbox read FILE'"
    return None


class _Reading:
    """One pass over one file."""

    def __init__(self, text: str, name: str) -> None:
        self._original = text
        self._text = text.replace("\r\n", "\n")
        self.problems = Problems(name, self._text)

    def deck(self) -> Deck | None:
        """Return the deck, or None where there are problems."""
        try:
            values = self._values()
            return None if self.problems else self._deck(values)
        except RecursionError:
            # Either the standard reader went too deep, or it just did not and the search for a
            # place did.
            top = Place(1, 1)
            self.problems.add(top, "arrays are nested too deeply", fix="a deck needs one level")
            return None

    def _deck(self, values: Mapping[str, Any]) -> Deck | None:
        self._table(values, (), _TABLES)
        head = self._table(self._part(values, "deck"), ("deck",), DECK_KEYS)
        head.require("id", "title")
        groove = Groove(self._table(self._part(values, "groove"), ("groove",), NOTATION_KEYS))
        deck_id = head.slug("id")
        goal = head.number("goal", 100, low=ASKED.least, high=ASKED.most)
        named = waiting(self._many(values, "card", CARD_KEYS))
        written = read_cards(named, groove, deck_id=deck_id, goal_bpm=goal)
        cards, left_out = self._expanded(
            values, groove, named, written, deck_id=deck_id, goal_bpm=goal
        )
        deck = Deck(
            id=deck_id,
            title=head.line("title"),
            edition=head.whole("edition", 1, high=MAX_EDITION),
            author=head.line("author"),
            licence=head.line("licence"),
            about=head.prose("about"),
            goal_bpm=goal,
            pace=head.whole("pace", 0, high=MAX_PACE) if "pace" in head else None,
            keep=head.flag("keep", default=False),
            assignments=read_assignments(values.get("assignment"), cards, self.problems),
            cards=cards,
            text=self._original,
            left_out=left_out,
            doubts=self.problems.doubts,
        )
        return None if self.problems else deck

    def _expanded(
        self,
        values: Mapping[str, Any],
        groove: Groove,
        named: Sequence[Waiting],
        written: tuple[Card, ...],
        *,
        deck_id: str,
        goal_bpm: float,
    ) -> tuple[tuple[Card, ...], tuple[LeftOut, ...]]:
        """Return the cards with those that families make, and what is left out."""
        if "family" not in values:
            if not named and not self.problems:
                self.problems.add(Place(1, 1), "the deck has no cards", fix=_FIXES["card"])
            check_order(named, {})
            return written, ()
        from drillbox.deckfile.expanding import expand  # noqa: PLC0415 - few decks have families
        from drillbox.deckfile.families import FAMILY_KEYS  # noqa: PLC0415

        tables = self._many(values, "family", FAMILY_KEYS)
        grown = expand(
            tables,
            groove,
            written,
            deck_id=deck_id,
            goal_bpm=goal_bpm,
            limit=min(MAX_MADE, MAX_CARDS - len(written)),
        )
        made = [
            Waiting(table, slug, grown.cards[slug].after) for slug, table in grown.tables.items()
        ]
        if not self.problems:
            check_order([*named, *made], grown.left_out)
        if not grown.cards and not self.problems:
            self.problems.add(Place(1, 1), "the deck has no cards", fix=_FIXES["card"])
        cards = () if self.problems else grown.in_order(_HEADER.findall(self._text))
        return cards, tuple(grown.left_out.values())

    def _values(self) -> dict[str, Any]:
        """Read the TOML."""
        if len(self._text.encode("utf-8", "surrogatepass")) > MAX_BYTES:
            what = f"the file is larger than {MAX_BYTES} bytes"
            self.problems.add(Place(1, 1), what, fix="split the deck")
            return {}
        if self._text.count(",") > MAX_COMMAS:
            what = f"the file has more than {MAX_COMMAS} commas"
            self.problems.add(Place(1, 1), what, fix="split the deck")
            return {}
        if endless := _ENDLESS_KEY.search(self._text):
            place = self._place_at(endless.start())
            self.problems.add(place, "a key of more than nine dotted parts", fix="take it out")
            return {}
        try:
            return tomllib.loads(self._text)
        except ValueError as error:
            self._broken_toml(str(error))
        return {}

    def _broken_toml(self, message: str) -> None:
        """Say what else the file looks like, or what the standard reader says, with the place."""
        if other := _other_kind(self._text):
            what, fix = other
            self.problems.add(Place(1, 1), f"this is no deck; it looks like {what}", fix=fix)
            return
        found = _PLACE_IN_MESSAGE.search(message)
        place = self._place_at(len(self._text))
        if found and found[1]:
            place = Place(int(found[1]), int(found[2]))
        what = message[: found.start()] if found else message.partition(":")[0]
        what = next((ours for theirs, ours in _PLAINER.items() if what.startswith(theirs)), what)
        fix = "mend the TOML there; texts stand in quotes, tables in [ ] or [[ ]]"
        self.problems.add(place, f"{what[:1].lower()}{what[1:]}", fix=fix)

    def _place_at(self, offset: int) -> Place:
        before = self._text[:offset]
        return Place(before.count("\n") + 1, offset - before.rfind("\n"))

    def _table(self, values: Mapping[str, Any], path: Path, known: Sequence[str]) -> Table:
        return Table(values, path, known, self.problems)

    def _part(self, values: Mapping[str, Any], name: str) -> Mapping[str, Any]:
        """Return one of the single tables; empty where the file has none."""
        found = values.get(name, {})
        if isinstance(found, dict):
            return found
        place = self.problems.places.key((name,))
        self.problems.add(
            place, f"{name} is not a table", fix=f"write [{name}] on a line of its own"
        )
        return {}

    def _many(self, values: Mapping[str, Any], name: str, known: Sequence[str]) -> list[Table]:
        """Return the tables of one kind."""
        found = values.get(name, [])
        if not isinstance(found, list) or not all(isinstance(one, dict) for one in found):
            place = self.problems.places.key((name,))
            self.problems.add(place, f"{name} is not a list of tables", fix=_FIXES[name])
        elif len(found) > MAX_CARDS:
            place = self.problems.places.key((name, MAX_CARDS))
            self.problems.add(place, f"more than {MAX_CARDS} {_MANY[name]}", fix="split the deck")
        else:
            return [self._table(one, (name, n), known) for n, one in enumerate(found)]
        return []
