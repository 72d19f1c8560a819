"""What a teacher wants to know of each student, from progress files alone.

Nothing here knows how a tempo is remembered: a file says what was expected after each day and when
it was written, and these are sums and differences of that. A file is true on the day it was
written; of later days nothing is said but how many they are.

Conventions: *the month* is the 30 days that end on the day of the file. A tempo gained is the cold
tempo expected on that day minus the one after the last practice before the month, or after the
first practice in it for a card begun since. A first day's tempo is a guess at a few takes: as
long as each further day takes some of it back, the last of them counts.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import pairwise
from statistics import fmean
from typing import TYPE_CHECKING

from drillbox.base.outcomes import outcome

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from drillbox.studio.progress import Asked, CardProgress, DeckInfo, Progress

__all__ = [
    "MONTH",
    "SHOWN_DAYS",
    "CardFigures",
    "DeckFigures",
    "Figures",
    "Made",
    "StudentFigures",
    "Task",
    "figures_of",
]

MONTH = 30
"""Days."""
SHOWN_DAYS = 7 * 12
"""So many days are drawn; no day before them is kept, but the last."""
STUCK_TAKES = 12
"""A card below its goal that gained nothing in so many takes of a month is stuck (assumption)."""
STUCK_GAIN = 2.0
"""Less than this, in bpm, is nothing: a grade speaks in steps of five (assumption)."""
STEP = 5.0
"""One step of a grade, in bpm: the smallest gain that anybody would call one (common practice)."""
BAND = 1.2816
"""Standard deviations from the middle of an 80 % band to its end: the normal 0.9 quantile."""
IN_HAND = ("holding", "outgrown")


@dataclass(frozen=True, slots=True)
class Task:
    """One thing asked of one card.

    Parameters
    ----------
    card, asked
        What.
    status
        ``met``, ``late``, ``missed`` or ``not due``.
    """

    card: CardProgress
    asked: Asked
    status: str


@dataclass(frozen=True, slots=True)
class Made:
    """When a card first came to its goal, on how many days and in how many seconds."""

    on: date
    days: int
    seconds: float


@dataclass(frozen=True, slots=True)
class CardFigures:
    """A card, and what it did in the month.

    Parameters
    ----------
    card
        As it stands, with the days of the last `SHOWN_DAYS` and the one before them.
    begun_on
        The first day it was played; None of a card that never was.
    takes, days
        Within the month.
    gain_bpm
        None of a card that was not played in the month, or has not come together.
    stuck
        Many takes, no gain, and below its goal; not where the doubt leaves room for a step.
    made
        What it took until it first stood at its goal; None of a card that never did.
    new
        Whether it came to its goal within the month for the first time.
    tasks
        What was asked of it.
    """

    card: CardProgress
    begun_on: date | None
    takes: int
    days: int
    gain_bpm: float | None
    stuck: bool
    made: Made | None
    new: bool
    tasks: tuple[Task, ...]

    @property
    def apart(self) -> bool:
        """Whether it was begun and has not come together: no take was so much as steady."""
        return self.begun_on is not None and self.card.cold_bpm is None

    @property
    def kind(self) -> str:
        """How it stands for a teacher: ``apart``, ``stuck``, or else its state."""
        if self.card.state == "building":
            return "apart" if self.apart else "stuck" if self.stuck else "building"
        return self.card.state

    @property
    def fading(self) -> bool:
        """Whether it was at its goal and is expected below it."""
        return self.card.state == "fading"

    @property
    def doubt_bpm(self) -> float:
        """One standard deviation of the expected tempo; a step where the file does not say."""
        return _doubt_bpm(self.card)


@dataclass(frozen=True, slots=True)
class Figures:
    """Some cards of one student, all together; cards at rest are counted apart.

    Parameters
    ----------
    cards, begun, in_hand, outgrown, fading, stuck, apart
        How many there are, were ever played, stand at their goals, stand far above them, are
        slipping, do not get on, have been tried and have not come together.
    rested
        How many rest.
    days, minutes, takes
        Practised within the month, cards that rest by now included.
    days_before, minutes_before
        The same of the month before.
    gain_bpm, gain_doubt_bpm
        The mean gain of the cards played in the month, and its standard deviation; None if there
        are none.
    """

    cards: int
    begun: int
    in_hand: int
    outgrown: int
    fading: int
    stuck: int
    apart: int
    rested: int
    days: int
    minutes: float
    takes: int
    days_before: int
    minutes_before: float
    gain_bpm: float | None
    gain_doubt_bpm: float | None


@dataclass(frozen=True, slots=True)
class DeckFigures:
    """A student's cards of one deck."""

    deck: DeckInfo
    figures: Figures


@dataclass(frozen=True, slots=True)
class StudentFigures:
    """A student, looked at on one day.

    Parameters
    ----------
    progress
        The file it comes from, without the days that nobody looks at.
    label
        The name, with the start of the student's id where others have the same one or it is empty.
    age_days
        How many days ago the file was written.
    idle_days
        Days from the last practice to the day of the file; None if there was none.
    whole, decks
        All cards, and those of each deck.
    cards
        Each card.
    attention
        How much the student needs a word; the list is sorted by it.
    reasons
        Why, in words.
    """

    progress: Progress
    label: str
    age_days: int
    idle_days: int | None
    whole: Figures
    decks: tuple[DeckFigures, ...]
    cards: tuple[CardFigures, ...]
    attention: float
    reasons: tuple[str, ...]

    @property
    def group(self) -> str:
        """What the teacher files the student under; may be empty."""
        return self.progress.group

    @property
    def span_days(self) -> int:
        """How many days lie between the first practice and the file, both counted."""
        begun = [one.begun_on for one in self.cards if one.begun_on is not None]
        return (self.progress.until - min(begun)).days + 1 if begun else 0

    def minutes_by_day(self) -> dict[date, float]:
        """Return the minutes practised on the days kept; days without practice are missing."""
        minutes: dict[date, float] = {}
        for figures in self.cards:
            for played in figures.card.days:
                minutes[played.day] = minutes.get(played.day, 0.0) + played.seconds / 60
        return minutes

    def of_kind(self, kind: str) -> tuple[CardFigures, ...]:
        """Return the cards of one kind (see `CardFigures.kind`), in the order of the decks."""
        return tuple(one for one in self.cards if one.kind == kind)

    def standing(self, *states: str) -> tuple[CardFigures, ...]:
        """Return the cards in some states, in the order of the decks."""
        return tuple(one for one in self.cards if one.card.state in states)


def figures_of(progress: Progress, *, today: date) -> StudentFigures:
    """Return one student's figures, without what the teacher is told about them.

    The days of years go no further than this: what is kept is what is shown.

    Parameters
    ----------
    progress
        The student's latest file.
    today
        The teacher's day.
    """
    until = progress.until
    played = [
        card.days[known - 1].day for card in progress.cards if (known := _first_after(card, until))
    ]
    cards = tuple(_card(card, until) for card in progress.cards)
    return StudentFigures(
        progress=replace(progress, cards=tuple(one.card for one in cards)),
        label=progress.name or progress.student[:4],
        age_days=max((today - until).days, 0),
        idle_days=(until - max(played)).days if played else None,
        whole=_figures(cards, until),
        decks=tuple(
            DeckFigures(
                deck,
                _figures([one for one in cards if deck.id in one.card.decks], until),
            )
            for deck in progress.decks
        ),
        cards=cards,
        attention=0.0,
        reasons=(),
    )


def _card(card: CardProgress, until: date) -> CardFigures:
    first = _first_after(card, until - timedelta(days=MONTH))
    within = [played for played in card.days[first:] if played.day <= until]
    takes, gain = sum(played.takes for played in within), None
    if within and card.cold_bpm is not None:
        gain = card.cold_bpm - _stood_at(card, max(first - 1, 0))
    shown = max(_first_after(card, until - timedelta(days=SHOWN_DAYS)) - 1, 0)
    kept, made = replace(card, days=card.days[shown:]), _made(card)
    return CardFigures(
        card=kept,
        begun_on=card.days[0].day if card.days else None,
        takes=takes,
        days=len(within),
        gain_bpm=gain,
        stuck=takes >= STUCK_TAKES and gain is not None and _is_stuck(card, gain),
        made=made,
        new=made is not None and 0 <= (until - made.on).days < MONTH,
        tasks=tuple(Task(kept, asked, _status(card, asked, until)) for asked in card.asked),
    )


def _stood_at(card: CardProgress, number: int) -> float:
    """Return the tempo to count a gain from, that of a practice day or of a later one.

    What is said of a card on its first day is a guess at first takes, often too high. While each
    further day takes some of it back it stays a guess, and nobody loses what was never there; of a
    card that has no other days yet, the tempo of the file's day is the first that counts.
    """
    tempi = [played.cold_bpm for played in card.days]
    first = next((n for n, (one, then) in enumerate(pairwise(tempi)) if then >= one), None)
    if first is None:
        return tempi[-1] if card.cold_bpm is None else card.cold_bpm
    return tempi[max(number, first)]


def _is_stuck(card: CardProgress, gain: float) -> bool:
    """Return whether a card that was played much does not get on, and no step is in the doubt."""
    known = card.low_bpm is not None and card.high_bpm is not None
    surely = not known or gain + BAND * _doubt_bpm(card) < STEP
    return card.state == "building" and gain < STUCK_GAIN and surely


def _doubt_bpm(card: CardProgress) -> float:
    low, high = card.low_bpm, card.high_bpm
    return STEP if low is None or high is None else max(high - low, 0.0) / (2 * BAND)


def _made(card: CardProgress) -> Made | None:
    if card.cold_bpm is None:
        return None
    goal = card.goal_bpm
    for number, day in enumerate(card.days, start=1):
        if day.cold_bpm >= goal:
            return Made(day.day, number, sum(played.seconds for played in card.days[:number]))
    return None


def _status(card: CardProgress, asked: Asked, until: date) -> str:
    """Return what became of something asked.

    Practice from before it was asked does not count.
    """
    cold, since = card.cold_bpm, asked.given
    reached = next(
        (
            day.day
            for day in card.days
            if cold is not None
            and day.cold_bpm >= asked.goal_bpm
            and (since is None or since <= day.day)
            and day.day <= until
        ),
        None,
    )
    stands, since_known = (cold or 0.0) >= asked.goal_bpm, since is not None
    return outcome(asked.by, since_known=since_known, reached=reached, today=until, stands=stands)


def _first_after(card: CardProgress, day: date) -> int:
    """Return the number of the first practice of a card after a day."""
    return bisect_right(card.days, day, key=lambda played: played.day)


def _figures(cards: Sequence[CardFigures], until: date) -> Figures:
    begin = until - timedelta(days=2 * MONTH)
    played = [played for one in cards for played in one.card.days[_first_after(one.card, begin) :]]
    month = [one for one in played if 0 <= (until - one.day).days < MONTH]
    before = [one for one in played if MONTH <= (until - one.day).days < 2 * MONTH]
    awake = [one for one in cards if one.card.state != "rested"]
    gained = [one for one in awake if one.gain_bpm is not None]
    doubt = sum(2 * one.doubt_bpm**2 for one in gained) ** 0.5 / max(len(gained), 1)
    return Figures(
        cards=len(awake),
        begun=sum(one.begun_on is not None for one in awake),
        in_hand=sum(one.card.state in IN_HAND for one in awake),
        outgrown=sum(one.card.state == "outgrown" for one in awake),
        fading=sum(one.fading for one in awake),
        stuck=sum(one.stuck for one in awake),
        apart=sum(one.apart for one in awake),
        rested=len(cards) - len(awake),
        days=len({one.day for one in month}),
        minutes=sum(one.seconds for one in month) / 60,
        takes=sum(one.takes for one in month),
        days_before=len({one.day for one in before}),
        minutes_before=sum(one.seconds for one in before) / 60,
        gain_bpm=fmean(one.gain_bpm for one in gained if one.gain_bpm is not None)
        if gained
        else None,
        gain_doubt_bpm=doubt if gained else None,
    )
