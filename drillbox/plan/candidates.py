"""The values that go into a plan and come out of it.

Days are practice days, ordinals as in `drillbox.base.now`, so that weekdays follow by arithmetic;
lengths in seconds unless the name says minutes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from math import log2
from typing import TYPE_CHECKING

from drillbox.base.tempi import ASKED, TAKEN

if TYPE_CHECKING:
    from drillbox.base.now import Now
    from drillbox.memory import Belief, Grade


class Part(StrEnum):
    """Where in the day's practice an item stands."""

    WARM_UP = "warm-up"
    WORK = "work"
    WRAP_UP = "wrap-up"


@dataclass(frozen=True, slots=True)
class Candidate:
    """A card as the plan sees it.

    Parameters
    ----------
    card_id, title
        The fingerprint, and the name shown.
    belief
        What is believed of it; of a card never played, the prior.
    goal_bpm
        The tempo to hold it at.
    seconds60
        Length of one pass of the pattern at 60 bpm, in seconds: its length in metronome pulses.
    bars
        Bars in one pass.
    importance
        Weight of the card's worth, 1 for an ordinary card.
    family
        Cards of one family look alike; empty for a card that looks like none.
    after
        Cards that should be nearly at their goals before this one is begun.
    order
        Place in the deck; decides between equals.
    rested
        Set aside by the player.
    deadline
        Last practice day by which it is to be at its goal, before a recital say; None for most
        cards.
    wanted_bpm
        The tempo it is wanted at by then; 0 for its goal.
    decks, pace
        Its decks, and how many new cards a day they ask for at most; None for no limit. A card that
        stands in two decks is a new one of both.
    climbs
        Whether its tempo goes on up past the goal; else it is kept at the goal.
    top_bpm
        Where the hands, or the player's own word, end the climb.
    look
        One number for cards that a player mistakes for each other while they are new; 0 for none.
    """

    card_id: str
    title: str
    belief: Belief
    goal_bpm: float
    seconds60: float
    bars: int = 1
    importance: float = 1.0
    family: str = ""
    after: tuple[str, ...] = ()
    order: int = 0
    rested: bool = False
    deadline: int | None = None
    wanted_bpm: float = 0.0
    decks: tuple[str, ...] = ()
    pace: int | None = None
    climbs: bool = True
    top_bpm: float = ASKED.most
    look: int = 0

    @property
    def ceiling_bpm(self) -> float:
        """The fastest tempo it is played at."""
        return max(self.goal_bpm, self.top_bpm) if self.climbs else self.goal_bpm

    def with_belief(self, belief: Belief) -> Candidate:
        """Return the card with something else believed of it."""
        return replace(self, belief=belief)

    def wanted(self, day: int) -> bool:
        """Whether it is asked for by a day that has not passed, and not yet fast enough for it."""
        asked = self.wanted_bpm or self.goal_bpm
        return self.deadline is not None and self.deadline >= day and 2.0**self.belief.mu < asked

    @property
    def taught(self) -> bool:
        """Whether it was ever played."""
        return self.belief.takes > 0

    @property
    def apart(self) -> bool:
        """Whether it was begun and has not come together yet: no take was so much as steady."""
        return self.belief.takes > 0 and self.belief.apart > 0.0

    @property
    def over_goal(self) -> float | None:
        """Octaves by which its peak stands over its goal; None until it has come together."""
        return None if self.belief.apart else self.belief.mu - log2(max(self.goal_bpm, TAKEN.least))

    def fresh(self, day: int) -> bool:
        """Whether it is new to the player on this day: never played before it."""
        return self.belief.takes == self.played(day)

    def played(self, day: int) -> int:
        """Return the takes already played on this practice day."""
        return self.belief.takes_that_day if self.belief.day == day else 0


@dataclass(frozen=True, slots=True)
class Done:
    """A take that was played earlier on the same practice day."""

    card_id: str
    bpm: float
    grade: Grade


@dataclass(frozen=True, slots=True)
class Day:
    """The moment a plan is for, and the time there is.

    Parameters
    ----------
    now
        The moment, with the practice day it belongs to.
    minutes
        Length of the whole day's practice.
    spent_seconds
        What of it is gone.
    next_in_days
        Days until the next practice day: 1 tomorrow, 14 before a fortnight away.
    done
        Takes already played today, in order.
    most_new
        The most cards the player wants to begin in one day, those not counted that turn out to be
        near their goals already; None for no limit.
    """

    now: Now
    minutes: float = 15.0
    spent_seconds: float = 0.0
    next_in_days: float = 1.0
    done: tuple[Done, ...] = ()
    most_new: int | None = None

    @property
    def at(self) -> float:
        """Return the moment in days since the Unix epoch, for the forgetting formula."""
        return self.now.epoch_days

    @property
    def day(self) -> int:
        """Return the practice day."""
        return self.now.day

    @property
    def left_seconds(self) -> float:
        """What of the day's practice is left."""
        return max(0.0, 60.0 * self.minutes - self.spent_seconds)


@dataclass(frozen=True, slots=True)
class Item:
    """One visit: a card, the tempo of its first take, how many takes, and why.

    Parameters
    ----------
    card_id, bpm, takes
        What to play; later takes of the visit follow the grades (`drillbox.plan.next_bpm`).
    seconds
        Length of the whole visit, changing cards, counting in and grading included.
    why
        One sentence with numbers.
    part
        Warm-up, work or wrap-up.
    ceiling_bpm
        No take of the visit is faster.
    """

    card_id: str
    bpm: int
    takes: int
    seconds: float
    why: str
    part: Part
    ceiling_bpm: float = ASKED.most


@dataclass(frozen=True, slots=True)
class Plan:
    """What to play in the time that is left, in playing order.

    Parameters
    ----------
    items
        The visits; their seconds never sum to more than `left_seconds`.
    left_seconds
        The time the plan was made for.
    upkeep_seconds
        Forecast of the daily seconds that the cards already begun need.
    admits
        Whether that forecast leaves room for new cards.
    """

    items: tuple[Item, ...]
    left_seconds: float
    upkeep_seconds: float
    admits: bool

    @property
    def seconds(self) -> float:
        """Length of the plan."""
        return sum(item.seconds for item in self.items)
