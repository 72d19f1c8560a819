"""The values that go into the box and come out of it.

All are frozen and checked when made: a wrong value is a `UsageError` at once, not a surprise at the
disk. The take log is made of `TakeRow` and `Retraction` and of nothing else; every other row is
either the deck's (`DeckRow`, `CardRow`), the player's wish (`Wish`, `Setting`) or a cache that can
be thrown away (`BeliefCache`).

Units: tempo in beats per minute, length in seconds, instants in UTC.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, TypeAlias

from drillbox.base.tempi import LOGGED
from drillbox.errors import UsageError
from drillbox.store import checks

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

LONGEST_TAKE = 86_400.0
MEASURING = frozenset({"audio", "midi"})
"""Sources of a grade that was measured, and accepted by the player."""
LONGEST_SOURCE = 40
GREATEST_IMPORTANCE = 1000.0
FACT = "heir/"
"""Settings whose keys begin so tell what has happened, and not what is wanted."""


def _put(row: object, **values: Any) -> None:
    for name, value in values.items():
        object.__setattr__(row, name, value)


@dataclass(frozen=True, slots=True)
class TakeRow:
    """One take: what was played, how fast, how it went, and when.

    Parameters
    ----------
    id
        32 lowercase hex digits, made once by whoever records the take; the same on every machine.
    card_id
        The fingerprint of what was played.
    bpm
        The tempo, 1 to 1000.
    grade
        The player's verdict: -2 fell apart, -1 shaky, 0 steady, 1 clean, 2 automatic.
    at
        The moment of the verdict; kept in UTC.
    zone
        The player's time zone at that moment, an IANA name or an offset: it says which day it was.
    seconds
        How long the take lasted.
    source
        What gave the verdict, such as ``self``, ``audio`` or ``midi``.
    measures
        What was measured of it, as JSON values, or None.
    """

    id: str
    card_id: str
    bpm: float
    grade: int
    at: datetime
    zone: str
    seconds: float
    source: str
    measures: Mapping[str, Any] | None = field(default=None, hash=False)

    def __post_init__(self) -> None:
        checks.entry_id(self.id)
        checks.card_id(self.card_id)
        checks.zone(self.zone)
        checks.line(self.source, "source", longest=LONGEST_SOURCE)
        _put(
            self,
            bpm=checks.number(self.bpm, "bpm", low=LOGGED.least, high=LOGGED.most),
            grade=checks.whole(self.grade, "grade", low=-2, high=2),
            at=checks.played_at(self.at),
            seconds=checks.number(self.seconds, "seconds", low=0.0, high=LONGEST_TAKE),
            measures=checks.measures(self.measures, slowest=LOGGED.least, fastest=LOGGED.most),
        )


@dataclass(frozen=True, slots=True)
class Retraction:
    """A take entered by mistake is taken back: from here on it does not count."""

    id: str
    take_id: str
    at: datetime

    def __post_init__(self) -> None:
        checks.entry_id(self.id)
        checks.entry_id(self.take_id, "take_id")
        _put(self, at=checks.instant(self.at))


LogEntry: TypeAlias = TakeRow | Retraction


@dataclass(frozen=True, slots=True)
class DeckRow:
    """A deck as it was added: who made it, which edition, and its whole text."""

    id: str
    title: str
    edition: int
    author: str
    licence: str
    about: str
    text: str
    added_at: datetime
    archived: bool = False

    def __post_init__(self) -> None:
        checks.line(self.id, "deck id", longest=200)
        checks.line(self.title, "title", longest=200)
        checks.whole(self.edition, "edition", low=1, high=1_000_000)
        checks.line(self.author, "author", longest=200, empty=True)
        checks.line(self.licence, "licence", longest=200, empty=True)
        checks.prose(self.about, "about", longest=10_000)
        checks.prose(self.text, "text", longest=20_000_000)
        _put(self, added_at=checks.instant(self.added_at, "added_at"))


@dataclass(frozen=True, slots=True)
class CardRow:
    """One card of one deck.

    Parameters
    ----------
    pattern
        The rhythm in the spoken notation.
    seconds60
        How long the pattern lasts at 60 bpm.
    bars
        How many bars it has.
    after
        Card ids that come first.
    family
        What the card is a variation of; look-alikes share it.
    position
        Its place in the deck, from 0.
    """

    deck_id: str
    slug: str
    card_id: str
    title: str
    pattern: str
    seconds60: float
    bars: int
    goal_bpm: float
    importance: float
    after: tuple[str, ...]
    family: str
    position: int
    note: str = ""

    def __post_init__(self) -> None:
        checks.line(self.deck_id, "deck id", longest=200)
        checks.line(self.slug, "card slug", longest=200)
        checks.card_id(self.card_id)
        checks.line(self.title, "title", longest=200)
        checks.prose(self.pattern, "pattern", longest=100_000)
        checks.line(self.family, "family", longest=200, empty=True)
        checks.whole(self.position, "position", low=0, high=1_000_000)
        checks.whole(self.bars, "bars", low=1, high=10_000)
        checks.prose(self.note, "note", longest=10_000)
        for one in self.after:
            checks.card_id(one, "after")
        _put(
            self,
            seconds60=checks.number(self.seconds60, "seconds60", low=0.01, high=LONGEST_TAKE),
            goal_bpm=checks.number(self.goal_bpm, "goal_bpm", low=LOGGED.least, high=LOGGED.most),
            importance=checks.number(
                self.importance, "importance", low=0.0, high=GREATEST_IMPORTANCE
            ),
        )


@dataclass(frozen=True, slots=True)
class Wish:
    """What the player wants of a card, over what its deck says; None leaves it to the deck."""

    card_id: str
    goal_bpm: float | None
    importance: float | None
    resting: bool
    at: datetime

    def __post_init__(self) -> None:
        checks.card_id(self.card_id)
        _put(self, at=checks.instant(self.at), resting=bool(self.resting))
        if self.goal_bpm is not None:
            _put(
                self,
                goal_bpm=checks.number(
                    self.goal_bpm, "goal_bpm", low=LOGGED.least, high=LOGGED.most
                ),
            )
        if self.importance is not None:
            top = GREATEST_IMPORTANCE
            _put(self, importance=checks.number(self.importance, "importance", low=0.0, high=top))


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting of the box: any JSON value, and when it was chosen."""

    key: str
    value: Any
    at: datetime

    def __post_init__(self) -> None:
        checks.line(self.key, "key", longest=100)
        plain = json.loads(checks.json_text(self.value, self.key))
        _put(self, value=plain, at=checks.instant(self.at))


@dataclass(frozen=True, slots=True)
class BeliefRow:
    """What follows from the log for one card, as numbers only the model can read.

    Parameters
    ----------
    card_id
        The card.
    body
        What is believed of it; NaN may stand for "none".
    days
        Its history by days, packed.
    """

    card_id: str
    body: tuple[float, ...]
    days: bytes = b""

    def __post_init__(self) -> None:
        checks.card_id(self.card_id)
        try:
            _put(self, body=tuple(float(value) for value in self.body))
        except (TypeError, ValueError, OverflowError):
            raise UsageError("a belief holds something that is no number", where="body") from None


@dataclass(frozen=True, slots=True)
class Standing:
    """What a cache accounts for.

    Parameters
    ----------
    version
        The premises that it was computed by.
    mark
        The log's mark (`Archive.mark`).
    until
        Takes dated later than this wait, and are not in it.
    unusable
        How many entries of the log are passed over.
    """

    version: str
    mark: int
    until: datetime
    unusable: int = 0

    def __post_init__(self) -> None:
        checks.whole(self.mark, "mark", low=0, high=2**63 - 1)
        checks.whole(self.unusable, "unusable", low=0, high=2**63 - 1)
        _put(self, until=checks.instant(self.until, "until"))


@dataclass(frozen=True, slots=True)
class BeliefCache:
    """What was computed from the log, and what it accounts for."""

    standing: Standing
    rows: Mapping[str, BeliefRow]
