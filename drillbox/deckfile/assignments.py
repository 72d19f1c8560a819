"""Assignments: what a teacher asks of the deck's cards by a day, "have these at goal by this date".

They stand in the deck file and travel with it, so the deck's text stays the one place they are kept
in. A date is a practice day of the player's own, without a zone.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from drillbox.base.tempi import ASKED
from drillbox.base.wording import did_you_mean
from drillbox.deckfile.tables import Problems, Table

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from drillbox.deckfile.deck import Card

__all__ = ["ASSIGNMENT_KEYS", "MAX_ASSIGNMENTS", "Assignment", "assignments_in", "read_assignments"]

ASSIGNMENT_KEYS = ("by", "cards", "goal")
MAX_ASSIGNMENTS = 100
_FIX = "begin every assignment with [[assignment]] on a line of its own"


@dataclass(frozen=True, slots=True)
class Assignment:
    """Cards to have in hand by a day.

    Parameters
    ----------
    by
        The day.
    cards
        Slugs of cards of the deck; empty for all of them.
    goal_bpm
        The tempo to have them at; None for each card's own goal.
    """

    by: date
    cards: tuple[str, ...]
    goal_bpm: float | None

    def passed(self, day: int) -> bool:
        """Whether its day lies before a practice day, an ordinal."""
        return self.by.toordinal() < day

    def means(self, slug: str) -> bool:
        """Whether the assignment is about a card."""
        return not self.cards or slug in self.cards


def read_assignments(
    found: object, cards: Sequence[Card], problems: Problems
) -> tuple[Assignment, ...]:
    """Read a deck file's assignments.

    Parameters
    ----------
    found
        What the standard reader has under ``assignment``.
    cards
        The deck's cards.
    problems
        Takes the complaints; where a card could not be read, names are not looked up.
    """
    if found is None:
        return ()
    if not isinstance(found, list) or not all(isinstance(one, dict) for one in found):
        place = problems.places.key(("assignment",))
        problems.add(place, "assignment is not a list of tables", fix=_FIX)
        return ()
    if len(found) > MAX_ASSIGNMENTS:
        place = problems.places.key(("assignment", MAX_ASSIGNMENTS))
        problems.add(place, f"more than {MAX_ASSIGNMENTS} assignments", fix="keep the next ones")
        return ()
    slugs = None if problems else tuple(card.slug for card in cards)
    return tuple(_read(values, n, slugs, problems) for n, values in enumerate(found))


def assignments_in(text: str) -> tuple[Assignment, ...]:
    """Return the assignments of a deck's text that was read without complaint when it was added.

    What another program has made of it since is passed over: the player's day hangs on it.
    """
    if "assignment" not in text:
        return ()
    try:
        found = tomllib.loads(text.replace("\r\n", "\n")).get("assignment", ())
        return tuple(_sound(found, text))
    except (ValueError, TypeError, RecursionError):
        return ()


def _sound(found: Iterable[Any], text: str) -> Iterator[Assignment]:
    for number, values in enumerate(found):
        problems = Problems("deck", text)
        one = _read(values, number, None, problems) if isinstance(values, dict) else None
        if one is not None and not problems:
            yield one


def _read(
    values: Mapping[str, Any], number: int, slugs: Sequence[str] | None, problems: Problems
) -> Assignment:
    table = Table(values, ("assignment", number), ASSIGNMENT_KEYS, problems)
    table.require("by")
    by = values.get("by")
    if by is not None and (isinstance(by, datetime) or not isinstance(by, date)):
        table.wrong("by", "by is not a date", "write the day without quotes: by = 2026-12-20")
        by = None
    cards = table.slugs("cards")
    for name in cards:
        if slugs is not None and name not in slugs and not problems.enough:
            fix = did_you_mean(name, slugs, otherwise="name the id of a card of this deck")
            table.wrong("cards", f"the assignment names no card: {name!r}", fix, item=name)
    goal = None
    if "goal" in table:
        goal = table.number("goal", ASKED.least, low=ASKED.least, high=ASKED.most)
    return Assignment(by or date.max, cards, goal)
