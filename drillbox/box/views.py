"""Cards and decks as the box shows them to those who ask: frozen records, no behaviour.

Tempos in bpm, moments as aware datetimes, lengths in seconds, gaps in days.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from drillbox.memory import Grade, State

if TYPE_CHECKING:
    from datetime import datetime

    from drillbox.box.dues import Due
    from drillbox.box.goals import GoalChange
    from drillbox.rhythm import Pattern

MAP_LEGEND = (
    "96 cold tempo, at its goal · (96) below it · 96? slipping\n"
    "– no tempo yet · zz set aside · empty: no card in the box"
)


@lru_cache(maxsize=1024)
def read_pattern(notation: str) -> Pattern:
    """Read a pattern.

    They are kept: a screen asks for the same one many times a second, and a map for all of them
    whenever it is opened.
    """
    from drillbox.rhythm import parse  # noqa: PLC0415 - a plan needs no notation

    return parse(notation)


@dataclass(frozen=True, slots=True)
class CardView:
    """A card as the shelf shows it.

    `cold_bpm`, `low_bpm` and `high_bpm` are what the model expects of a first take now, with the 80
    % band; None before the first take. `returns` is when it is predicted to slip under its goal;
    None where it is not held. `last_day` and `returns_on` are the practice days of `last_played`
    and `returns`. `due` is the nearest assignment that has not passed.
    """

    card_id: str
    title: str
    notation: str
    goal_bpm: float
    importance: float
    state: State
    deck_ids: tuple[str, ...]
    places: tuple[str, ...]
    family: str
    note: str
    takes: int
    last_played: datetime | None
    last_bpm: float | None
    cold_bpm: float | None
    low_bpm: float | None
    high_bpm: float | None
    returns: datetime | None
    last_day: int | None
    returns_on: int | None
    due: Due | None = None

    @property
    def pattern(self) -> Pattern:
        """What is played."""
        return read_pattern(self.notation)

    @property
    def words(self) -> str:
        """Its title, state, family and decks in lower case, for those who look for it by a word."""
        return " ".join((self.title, self.state.value, self.family, *self.places)).casefold()

    @property
    def standing(self) -> str:
        """The cold tempo with how it stands to its goal in signs; `MAP_LEGEND` explains them."""
        if self.state is State.RESTED:
            return "zz"
        if self.cold_bpm is None:
            return "–"
        tempo = f"{self.cold_bpm:.0f}"
        return {State.BUILDING: f"({tempo})", State.FADING: f"{tempo}?"}.get(self.state, tempo)

    def stands_at(self, bpm: float) -> bool:
        """Return whether it is at a tempo, cold, now; it is at none before it came together."""
        return self.cold_bpm is not None and self.cold_bpm >= bpm

    @property
    def due_met(self) -> bool:
        """Whether it stands at what is asked of it, so that nothing more need be said of that."""
        return self.due is not None and self.stands_at(self.due.goal_bpm)

    @property
    def holds(self) -> bool:
        """Whether it stands at its goal, cold, now."""
        return self.state is State.HOLDING


@dataclass(frozen=True, slots=True)
class Lately:
    """What was last heard of a card: its newest grades, oldest first, and its best cold take.

    `best_bpm` is the fastest tempo that came off at least steady cold, None where none did.
    """

    grades: tuple[Grade, ...]
    best_bpm: float | None


@dataclass(frozen=True, slots=True)
class CardOutlook:
    """What is expected of a card's first take at a moment.

    Parameters
    ----------
    cold_bpm
        Expected cold tempo.
    low_bpm, high_bpm
        The 80 % band around it: four times out of five it lies between.
    sd
        Its standard deviation in octaves.
    p_hold
        Chance that a cold take at the goal comes off at least steady.
    holds_until
        When the expected cold tempo falls under the goal, in the past if it has; None for a card
        that was never played or has not come to its goal.
    """

    cold_bpm: float
    low_bpm: float
    high_bpm: float
    sd: float
    p_hold: float
    holds_until: datetime | None


@dataclass(frozen=True, slots=True)
class DeckView:
    """A deck in the box."""

    deck_id: str
    title: str
    edition: int
    author: str
    licence: str
    about: str
    cards: int
    holding: int
    archived: bool


@dataclass(frozen=True, slots=True)
class DeckChange:
    """What adding a deck did, by card slug; `clauses` say in words what a new edition changed.

    `raised` are the goals of cards that came from other decks and are higher in this one.
    """

    deck_id: str
    title: str
    edition: int
    added: tuple[str, ...]
    changed: tuple[str, ...]
    unchanged: tuple[str, ...]
    removed: tuple[str, ...]
    clauses: tuple[str, ...] = ()
    raised: tuple[GoalChange, ...] = ()
