"""The player's year in words and plain charts, the same on the screen and in a pipe."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from drillbox.base.now import long_day
from drillbox.base.text_charts import DAYS_A_WEEK, bars, calendar, columns, month_names
from drillbox.base.wording import counted
from drillbox.box.beliefs import WAITS_AFTER
from drillbox.box.views import MAP_LEGEND

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from drillbox.box import Box
    from drillbox.report.in_hand import LookBack

OUTLOOK_DAYS = 60
MOST_WEEKS = 26
CHART_HEIGHT = 8
MOST_RECORDS = 12
LEAST_BAR = 30
"""Columns of a record's day, bar and number."""

STATES_TITLE = "How the cards stand today"
IN_HAND_TITLE = "Vocabulary in hand, at goal tempo when cold"


def year_sections(box: Box, *, at: datetime, width: int) -> Iterator[tuple[str, str]]:
    """Give the sections of the year one by one, each a title and a text.

    How the cards stand comes first: it is known before numpy is loaded, which the rest waits for.

    Parameters
    ----------
    box, at
        The player's box, and now.
    width
        The most columns of a line.
    """
    if box.archive.last_moment(until=at + WAITS_AFTER) is None:
        yield NOTHING
        return
    yield (STATES_TITLE, states_line(box, at))
    from drillbox.report.in_hand import look_back  # noqa: PLC0415 - numpy, only on this page

    done = look_back(box, at=at)
    yield (IN_HAND_TITLE, _in_hand(done, width) if done.last > done.first else FIRST_DAY)
    yield from below_the_plots(box, done, at=at, width=width)


FAMILY_SIGNS = "abcdefghijklmnopqrstuvwxyz"
"""One for each family, at the end of its curve."""
FIRST_DAY = "The curve begins with the second day: one day is no line."
NOTHING = ("No take yet", "After the first practice day this page shows what it brought.")


def below_the_plots(
    box: Box, done: LookBack, *, at: datetime, width: int
) -> Iterator[tuple[str, str]]:
    """Give the sections that are text on a screen, too."""
    yield ("Minutes practised", _minutes(done, width))
    yield (f"Coming back in the next {OUTLOOK_DAYS} days, if left alone", _coming(box, at, width))
    yield ("Fastest cold takes, at least steady", _records(done, width))
    yield from _heard(box, width)
    yield from _map(box, at, width)


def _heard(box: Box, width: int) -> list[tuple[str, str]]:
    if not box.archive.takes(measured=True, newest=1):
        return []
    from drillbox.report.measured_trends import heard_section  # noqa: PLC0415 - loads the ear

    return heard_section(box, width=width)


def _map(box: Box, at: datetime, width: int) -> list[tuple[str, str]]:
    from drillbox.rhythm import map_cells, vocabulary_map  # noqa: PLC0415 - only on this page

    cards = box.cards(at=at)
    cells = map_cells((card.pattern, card.cold_bpm, card.standing) for card in cards)
    drawn = vocabulary_map(cells, width=width)
    title = "The vocabulary: ghosts on every beat, by partials"
    return [(title, f"{drawn}\n{MAP_LEGEND}")] if drawn else []


def _in_hand(done: LookBack, width: int) -> str:
    first, _ = month_names(done.first, 1)
    if (began := date.fromordinal(done.first)).year != date.fromordinal(done.last).year:
        first = f"{first} {began.year}"
    return columns(
        [float(count) for count in done.in_hand],
        width=width,
        height=CHART_HEIGHT,
        left=first,
        right="today",
    )


def states_line(box: Box, at: datetime) -> str:
    """Return in a line how many cards stand how, today."""
    cards = box.cards(at=at)
    states = {
        state: sum(card.state == state for card in cards)
        for state in ("holding", "fading", "building")
    }
    words = ", ".join(f"{count} {state}" for state, count in states.items())
    return f"{words}, of {counted(len(cards), 'card')}."


def _minutes(done: LookBack, width: int) -> str:
    weeks = min((width - 3) // 3, MOST_WEEKS, (done.last - done.first) // DAYS_A_WEEK + 2)
    month = [spent for day, spent in done.minutes.items() if day > done.last - 30]
    words = f"Last 30 days: {counted(len(month), 'day')}, {counted(sum(month), 'minute')}."
    return f"{calendar(done.minutes, last=done.last, weeks=weeks)}\n{words}"


def _coming(box: Box, at: datetime, width: int) -> str:
    today = box.now(at).day
    from drillbox.report.in_hand import coming_back  # noqa: PLC0415 - numpy, only on this page

    cards = box.cards(at=at)
    counts = coming_back(cards, today=today, days=OUTLOOK_DAYS)
    if not any(counts) and not any(card.holds for card in cards):
        return "Nothing is held at its goal yet, so nothing can slip."
    if not any(counts):
        return f"Nothing slips under its goal within {OUTLOOK_DAYS} days."
    _, end = month_names(today, OUTLOOK_DAYS)
    return columns(
        [float(count) for count in counts],
        width=min(width, OUTLOOK_DAYS + 6),
        height=5,
        left="today",
        right=end,
    )


def _records(done: LookBack, width: int) -> str:
    if not done.records:
        return "None yet."
    shown = done.records[:MOST_RECORDS]
    names = [f"{record.family}: {record.title}" for record in shown]
    room = min(max(map(len, names)), width - LEAST_BAR)
    rows = [
        (f"{_fitted(name, room)}  {long_day(record.day):>11}", record.bpm)
        for name, record in zip(names, shown, strict=True)
    ]
    return bars(rows, width=width)


def _fitted(text: str, width: int) -> str:
    return f"{text:<{width}}" if len(text) <= width else f"{text[: width - 1]}…"
