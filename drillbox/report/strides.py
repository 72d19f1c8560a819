"""What a take, a day or a week brought: true sentences about cold tempos.

A card's cold tempo is what is believed of it right after a take; it is compared with what was
believed after the last take that is a week old. Nothing is scored and nothing counts days in a row:
the only currency is the tempo that is there tomorrow.

Conventions: tempos in bpm, moments as aware datetimes.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from drillbox.base.text_charts import bars
from drillbox.base.wording import bpm_words, counted
from drillbox.memory import Grade

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from drillbox.box import Box
    from drillbox.box.days_played import DayColumns
    from drillbox.box.take_views import TakeView
    from drillbox.box.views import CardView

    Course = Sequence[tuple[TakeView, float | None]]

WEEK_DAYS = 7
MOST_NAMED = 12


@dataclass(frozen=True, slots=True)
class Stride:
    """How far a card came within a week.

    `was` is its cold tempo a week ago, `now` it is after the last take; None before the card came
    together. `new` says that it was first played within the week, `first_hold` that it came to its
    goal for the first time ever, `record` that a cold take was at least steady and faster than any
    such take before; both in the time that was asked for.
    """

    title: str
    was: float | None
    now: float | None
    new: bool
    first_hold: bool
    record: bool

    @property
    def gain(self) -> int:
        """Whole bpm up (or down, below 0) within the week; 0 for a card that had no tempo then."""
        return 0 if self.was is None or self.now is None else round(self.now) - round(self.was)

    def sentence(self) -> str:
        """Return it in words: ``About 97 cold, 6 up this week; in hand for the first time.``."""
        if self.now is None:
            return "Not together yet: it comes again, with others between."
        first = f"About {self.now:.0f} cold"
        if self.was is None:
            first += ", new this week" if self.new else ", together since this week"
        elif self.gain:
            first += f", {abs(self.gain)} {'up' if self.gain > 0 else 'down'} this week"
        if self.first_hold:
            return f"{first}; in hand for the first time."
        return f"{first}; the fastest it ever was when cold." if self.record else f"{first}."


@dataclass(frozen=True, slots=True)
class Week:
    """The seven practice days that end today.

    `minutes` by day, oldest first; `strides` of the cards that were played, the largest gain first.
    """

    first: int
    minutes: tuple[float, ...]
    takes: int
    strides: tuple[Stride, ...]

    @property
    def up(self) -> tuple[Stride, ...]:
        """The cards that are faster than a week ago."""
        return tuple(one for one in self.strides if one.gain > 0)

    @property
    def first_holds(self) -> tuple[Stride, ...]:
        """The cards that came to their goals for the first time."""
        return tuple(one for one in self.strides if one.first_hold)

    @property
    def records(self) -> tuple[Stride, ...]:
        """The cards that were faster than ever when cold."""
        return tuple(one for one in self.strides if one.record)

    def sentence(self) -> str:
        """Return the week in one sentence; empty where nothing was played."""
        if not self.takes:
            return ""
        said = [f"The last seven days: {self._days()}, {counted(len(self.strides), 'card')} played"]
        if self.up:
            said.append(f"{counted(len(self.up), 'card')} faster than a week ago")
        if self.first_holds:
            said.append(f"{len(self.first_holds)} in hand for the first time")
        return f"{', '.join(said)}."

    def _days(self) -> str:
        played = sum(minutes > 0 for minutes in self.minutes)
        return f"{counted(sum(self.minutes), 'minute')} on {counted(played, 'day')}"


def stride(box: Box, card_id: str, *, at: datetime) -> str:
    """Return one sentence on what the last take made of a card.

    After one that failed only where the card stands now: what else the week brought is no news of
    this take, and would read like praise.
    """
    card, course = box.card(card_id, at=at), box.course(card_id)
    last = course[-1][0] if course else None
    made = stride_of(card, course, at=at, news_since=at if last is None else last.at)
    failed = last is not None and last.grade < Grade.STEADY
    if failed and made.now is not None:
        return f"Now about {made.now:.0f} cold."
    guess = len(course) == 1 and made.now is not None and not made.first_hold
    return f"{made.sentence()} That is a guess from one take." if guess else made.sentence()


def stride_of(card: CardView, course: Course, *, at: datetime, news_since: datetime) -> Stride:
    """Return how far a card came in the week before `at`.

    Parameters
    ----------
    card, course
        The card, and its takes with the cold tempo after each, as the box gives them.
    at
        Now.
    news_since
        From when on a first hold or a record is news.
    """
    start = at - timedelta(days=WEEK_DAYS)
    before = [cold for take, cold in course if take.at < start]
    now = course[-1][1] if course else card.goal_bpm
    held = [take.at for take, cold in course if _reached(cold, card.goal_bpm)]
    return Stride(
        title=card.title,
        was=before[-1] if before else None,
        now=now,
        new=not before,
        first_hold=bool(held) and held[0] >= news_since and _reached(now, card.goal_bpm),
        record=_has_record([take for take, _ in course], news_since),
    )


def _reached(cold: float | None, goal_bpm: float) -> bool:
    return cold is not None and cold >= goal_bpm


def _has_record(takes: Sequence[TakeView], since: datetime) -> bool:
    cold = [take for take in takes if take.cold and take.grade >= Grade.STEADY]
    earlier = [take.bpm for take in cold if take.at < since]
    return bool(earlier) and any(take.bpm > max(earlier) for take in cold if take.at >= since)


def week(box: Box, *, at: datetime) -> Week:
    """Return the seven practice days that end with the one `at` belongs to.

    A card is compared with what was believed of it when the last practice day before them ended.
    """
    import numpy as np  # noqa: PLC0415 - for many cards only

    today, days = box.now(at).day, box.days()
    first, rows = today - WEEK_DAYS + 1, days.rows
    of_week = (rows.day >= first) & (rows.day <= today) & (rows.own == 1.0)
    day = rows.day[of_week].astype(np.int64) - first
    seconds = np.bincount(day, weights=rows.seconds[of_week], minlength=WEEK_DAYS)
    entries, strides = box.entries(), []
    for number in np.unique(days.card[of_week]).tolist():
        entry = entries.get(days.cards[number])
        if entry is not None:
            start, end = np.searchsorted(days.card, (number, number + 1)).tolist()
            mine = days.between(start, end)
            strides.append(_stride_by_days(entry.row.title, entry.goal_bpm, mine, first))
    return Week(
        first=first,
        minutes=tuple((seconds / 60.0).tolist()),
        takes=int(rows.takes[of_week].sum()),
        strides=tuple(sorted(strides, key=lambda one: (-one.gain, one.title))),
    )


def _stride_by_days(title: str, goal_bpm: float, rows: DayColumns, first: int) -> Stride:
    """Return how far a card came from a practice day on, by the rows of all its days."""
    cold, together, before = 2.0**rows.mu, rows.apart == 0.0, rows.day < first
    held = rows.day[together & (cold >= goal_bpm)]
    was = [float(bpm) for bpm in cold[together & before][-1:]]
    came_off = rows.cold_grade >= Grade.STEADY
    earlier, lately = rows.cold_bpm[came_off & before], rows.cold_bpm[came_off & ~before]
    return Stride(
        title=title,
        was=was[0] if was else None,
        now=float(cold[-1]) if together[-1] else None,
        new=not before.any(),
        first_hold=bool(len(held) > 0 and held[0] >= first and cold[-1] >= goal_bpm),
        record=bool(len(earlier) > 0 and len(lately) > 0 and lately.max() > earlier.max()),
    )


def week_sections(week: Week, *, width: int) -> list[tuple[str, str]]:
    """Return the week as sections, each a title and a text of at most `width` columns."""
    from drillbox.base.now import day_name  # noqa: PLC0415 - only on this page

    if not week.takes:
        return [("Nothing played in the last seven days", "The week fills with the first take.")]
    days = [(day_name(week.first + n), minutes) for n, minutes in enumerate(week.minutes)]
    sections = [("Minutes", f"{bars(days, width=width)}\n{week.sentence()}")]
    if week.up:
        sections.append(("Faster than a week ago, cold", _gains(week.up, width)))
    if week.first_holds:
        sections.append(("In hand for the first time", _titles(week.first_holds, width)))
    if week.records:
        sections.append(("Faster than ever when cold", _titles(week.records, width)))
    come = [one for one in week.strides if one.was is None and one.now is not None and not one.new]
    if come:
        sections.append(("Together since this week", _titles(come, width)))
    if fresh := [one for one in week.strides if one.new]:
        sections.append(("New this week", _titles(fresh, width)))
    return sections


def _gains(strides: Sequence[Stride], width: int) -> str:
    room = max(width - 20, 12)
    rows = [
        f"{one.was or 0:>4.0f} → {one.now:<4.0f} {f'+{one.gain}':>4}  {_cut(one.title, room)}"
        for one in strides[:MOST_NAMED]
    ]
    return "\n".join([*rows, *_more(strides)])


def _titles(strides: Sequence[Stride], width: int) -> str:
    room = max(width - 20, 12)
    rows = [f"{bpm_words(one.now):>4}  {_cut(one.title, room)}" for one in strides[:MOST_NAMED]]
    return "\n".join([*rows, *_more(strides)])


def _more(strides: Sequence[Stride]) -> list[str]:
    left = len(strides) - MOST_NAMED
    return [f"      and {left} more"] if left > 0 else []


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else f"{text[: width - 1]}…"
