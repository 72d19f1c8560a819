"""What a teacher wants to know of each student, from progress files alone.

And who needs attention first.

Nothing here knows how a tempo is remembered: a file says what was expected after each day and when
it was written, and these are sums and differences of that.

Conventions: *the month* is the 30 days that end today. A tempo gained is the last expected cold
tempo minus the one that stood when the month began, or minus the first day's for a card begun
within it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from statistics import fmean
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from drillbox.studio.progress import CardProgress, DeckInfo, Progress

__all__ = ["MONTH", "CardFigures", "DeckFigures", "Figures", "StudentFigures", "look_at", "roster"]

MONTH = 30
"""Days."""
STUCK_TAKES = 12
"""A card below its goal that gained nothing in so many takes of a month is stuck (assumption)."""
STUCK_GAIN = 2.0
"""Less than this, in bpm, is nothing: a grade speaks in steps of five (assumption)."""
IDLE_DAYS = 3
"""So many days without practice are a usual pause (assumption)."""


@dataclass(frozen=True, slots=True)
class CardFigures:
    """A card in the month.

    Parameters
    ----------
    card
        As it stands.
    takes, days
        Within the month.
    gain_bpm
        None of a card that was not played in the month.
    stuck
        Many takes, no gain, and below its goal.
    """

    card: CardProgress
    takes: int
    days: int
    gain_bpm: float | None
    stuck: bool

    @property
    def fading(self) -> bool:
        """Whether it was at its goal and is expected below it."""
        return self.card.state == "fading"


@dataclass(frozen=True, slots=True)
class Figures:
    """Some cards of one student, all together.

    Parameters
    ----------
    cards, begun, in_hand, fading, stuck
        How many there are, were ever played, stand at their goals, are slipping, do not get on.
    days, minutes, takes
        Practised within the month.
    gain_bpm
        The mean gain of the cards played in the month; None if there are none.
    """

    cards: int
    begun: int
    in_hand: int
    fading: int
    stuck: int
    days: int
    minutes: float
    takes: int
    gain_bpm: float | None


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
        The file it comes from.
    label
        The name, with the start of the student's id where others have the same one or it is empty.
    idle_days
        Days since the last practice; None if there was none.
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
    idle_days: int | None
    whole: Figures
    decks: tuple[DeckFigures, ...]
    cards: tuple[CardFigures, ...]
    attention: float
    reasons: tuple[str, ...]

    def minutes_by_day(self) -> dict[date, float]:
        """Return the minutes practised, by day; days without practice are missing."""
        minutes: dict[date, float] = {}
        for figures in self.cards:
            for played in figures.card.days:
                minutes[played.day] = minutes.get(played.day, 0.0) + played.seconds / 60
        return minutes


def roster(files: Iterable[Progress]) -> tuple[Progress, ...]:
    """Return one file a student.

    The latest. Reading a file again changes nothing, nor does an older one.
    """
    latest: dict[str, Progress] = {}
    for progress in files:
        other = latest.setdefault(progress.student, progress)
        if _age(progress) > _age(other):
            latest[progress.student] = progress
    return tuple(sorted(latest.values(), key=lambda one: (one.name.casefold(), one.student)))


def _age(progress: Progress) -> tuple[str, str]:
    # Two files of one second are told apart by what they say, so that their order does not matter.
    return progress.written.isoformat(), repr(progress)


def look_at(files: Iterable[Progress], *, today: date) -> tuple[StudentFigures, ...]:
    """Return every student's figures; who needs attention most comes first.

    Parameters
    ----------
    files
        Progress files, any number of each student.
    today
        The teacher's day.
    """
    students = roster(files)
    names = [student.name.casefold() for student in students]
    found = [
        _student(one, shared=names.count(one.name.casefold()) > 1, today=today) for one in students
    ]
    return tuple(sorted(found, key=lambda one: (-one.attention, one.label.casefold())))


def _student(progress: Progress, *, shared: bool, today: date) -> StudentFigures:
    mark = progress.student[:4]
    label = f"{progress.name} ({mark})" if shared and progress.name else progress.name or mark
    cards = tuple(_card(card, today) for card in progress.cards)
    played = [played.day for card in progress.cards for played in card.days]
    idle = (today - max(played)).days if played else None
    whole = _figures(cards, today)
    decks = tuple(
        DeckFigures(deck, _figures([one for one in cards if deck.id in one.card.decks], today))
        for deck in progress.decks
    )
    attention, reasons = _attention(whole, idle)
    return StudentFigures(progress, label, idle, whole, decks, cards, attention, reasons)


def _card(card: CardProgress, today: date) -> CardFigures:
    begin = today - timedelta(days=MONTH)
    within = [played for played in card.days if begin < played.day <= today]
    takes = sum(played.takes for played in within)
    if not within:
        return CardFigures(card, 0, 0, None, stuck=False)
    before = [played for played in card.days if played.day <= begin]
    gain = within[-1].cold_bpm - (before[-1] if before else within[0]).cold_bpm
    stuck = takes >= STUCK_TAKES and gain < STUCK_GAIN and card.state == "building"
    return CardFigures(card, takes, len(within), gain, stuck)


def _figures(cards: Sequence[CardFigures], today: date) -> Figures:
    begin = today - timedelta(days=MONTH)
    played = [played for one in cards for played in one.card.days if begin < played.day <= today]
    gains = [one.gain_bpm for one in cards if one.gain_bpm is not None]
    return Figures(
        cards=len(cards),
        begun=sum(bool(one.card.days) for one in cards),
        in_hand=sum(one.card.state == "holding" for one in cards),
        fading=sum(one.fading for one in cards),
        stuck=sum(one.stuck for one in cards),
        days=len({one.day for one in played}),
        minutes=sum(one.seconds for one in played) / 60,
        takes=sum(one.takes for one in played),
        gain_bpm=fmean(gains) if gains else None,
    )


def _attention(whole: Figures, idle: int | None) -> tuple[float, tuple[str, ...]]:
    """Return how much a student needs a word, and why.

    A stuck card counts one, a fading one or two idle days half.
    """
    reasons = []
    weight = whole.stuck + whole.fading / 2
    if idle is None:
        reasons.append("has not begun")
        weight += MONTH / 4
    elif idle > IDLE_DAYS:
        reasons.append(f"no practice for {idle} days")
        weight += min(idle - IDLE_DAYS, MONTH) / 4
    if whole.stuck:
        reasons.append(f"{whole.stuck} stuck")
    if whole.fading:
        reasons.append(f"{whole.fading} fading")
    if whole.gain_bpm is not None and whole.gain_bpm < 0:
        reasons.append("slower than a month ago")
        weight += 1
    return weight, tuple(reasons)
