"""A page for parents: the practice of a month in words that need no knowledge of drums.

Everything comes from the student's progress file, so it is true on the day of that file.
"""

from __future__ import annotations

from datetime import timedelta
from textwrap import fill
from typing import TYPE_CHECKING

from drillbox.base.now import day_name
from drillbox.base.wording import counted
from drillbox.paper import Collection, Sheet
from drillbox.studio import MONTH, next_up, tasks_of
from drillbox.studio.figures import IN_HAND, STUCK_GAIN
from drillbox.studio.lesson_notes import BETWEEN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.paper.page import Page
    from drillbox.paper.sheet_layout import Block, Look
    from drillbox.studio import CardProgress, StudentFigures
    from drillbox.studio.figures import CardFigures

__all__ = ["parents_report", "parents_sections"]

MOST_NAMED = 8
"""Of more patterns than this the rest are counted: the page shall stay one page."""
STAYING = "At one speed for some time now, as happens to every player, and in need of patience:"
PAUSE_DAYS = 7
"""A week without practice is no usual pause any more (assumption)."""
CARE = (
    "Drums are loud: wear ear protection whenever a kit is played, and rest the ears afterwards. "
    "Hands stop at pain, tingling or numbness. If that, or a ringing in the ears, comes back, "
    "see a doctor or another licensed professional."
)
HELP = (
    "What helps most is a fixed quarter of an hour on most days, better than a long evening once "
    "a week, and somebody who listens now and then."
)
"""Short and often rather than long and rarely: common practice, no source."""


def parents_report(one: StudentFigures) -> Sheet:
    """Return the page for the parents of a student.

    Parameters
    ----------
    one
        The student's figures.
    """
    title = f"How {one.label} is getting on"
    until = one.progress.until
    lines = (f"As of {day_name(until)} {until.year}; a month here is the {MONTH} days up to then.",)
    sections = parents_sections(one)

    def pages(look: Look) -> tuple[Page, ...]:
        from drillbox.paper.sheet_layout import heading, joined, paged, paragraph  # noqa: PLC0415

        def block(name: str, said: tuple[str, ...]) -> Block:
            told = (paragraph(text, look, size=_SIZE) for text in said)
            return joined((paragraph(name, look, size=_HEAD, bold=True), *told))

        blocks = [block(name, said) for name, said in sections]
        return paged(heading(title, lines, look), blocks, look, foot="drillbox; for parents")

    text = "\n".join(_as_text(name, said) for name, said in sections)
    return Sheet(title, Collection(title, ()), pages, lines, text)


def _as_text(name: str, said: tuple[str, ...]) -> str:
    lines = (fill(each, 80, initial_indent="  ", subsequent_indent="  ") for each in said)
    return "\n".join((name, *lines, ""))


_SIZE, _HEAD = 11.0, 13.0
"""Sizes of text in points."""


def parents_sections(one: StudentFigures) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the page's parts: the head of each, and its sentences.

    Parameters
    ----------
    one
        The student's figures.
    """
    gained = [each.card for each in one.standing(*IN_HAND) if not _stood(each.card, one)]
    whole = one.whole
    told = _listed([f"{card.title}, {_pace(card.goal_bpm)} or faster" for card in gained])
    known = (
        f"In all {whole.in_hand} of {counted(whole.begun, 'pattern')} begun so far can be played "
        "at the speed asked for, at the first try of a day."
        if whole.begun
        else "No pattern has been begun yet."
    )
    if whole.fading:
        slipped = counted(whole.fading, "pattern")
        known += f" {slipped} more did so before and slipped a little; practice brings that back."
    return (
        ("Practice", _practice(one)),
        (
            "New this month",
            (
                *(told or ("No pattern has reached its speed for the first time this month.",)),
                known,
            ),
        ),
        ("What is next", _coming(one)),
        (
            "How to read this",
            (
                (
                    "A pattern is a short rhythm, named by the syllables a drummer counts aloud: "
                    "1 e & a for the four parts of a beat. Speed is in beats a minute, as the "
                    "ticking of a metronome counts them; every pattern has one to reach and keep."
                ),
            ),
        ),
        ("At home", (HELP, CARE)),
    )


def _practice(one: StudentFigures) -> tuple[str, ...]:
    whole, name = one.whole, one.label
    if not whole.days:
        last = "has not begun yet"
        if one.idle_days is not None:
            last = f"last practised on {_last_day(one)}"
        return (f"{name} did not practise in the month and {last}.",)
    said = [
        (
            f"{name} practised on {counted(whole.days, 'day')} of the {MONTH}, "
            f"{counted(whole.minutes, 'minute')} together, "
            f"about {counted(max(whole.minutes / whole.days, 1), 'minute')} on such a day."
        )
    ]
    if one.idle_days is not None and one.idle_days >= PAUSE_DAYS:
        said.append(f"{name} has not practised since {_last_day(one)}.")
    if whole.days_before:
        said.append(
            f"In the month before: {counted(whole.days_before, 'day')}, "
            f"{counted(whole.minutes_before, 'minute')}."
        )
    if one.progress.minutes:
        said.append(f"The plan is {counted(one.progress.minutes, 'minute')} on a practice day.")
    return tuple(said)


def _last_day(one: StudentFigures) -> str:
    return day_name(one.progress.until - timedelta(days=one.idle_days or 0))


def _coming(one: StudentFigures) -> tuple[str, ...]:
    """Return what is wanted by a day, what is being learned, and what is begun next."""
    wanted = [task for task in tasks_of(one) if task.status == "not due"]
    said = [
        f"By {day_name(task.asked.by)}: {task.card.title}, {_pace(task.asked.goal_bpm)}."
        for task in wanted[:MOST_NAMED]
    ]
    named = {task.card.rhythm for task in wanted}
    building = [
        each
        for each in one.standing("building")
        if each.card.rhythm not in named and each.card.cold_bpm is not None
    ]
    moving = [_on_the_way(each.card) for each in building if not _stays(each, one)]
    staying = [_on_the_way(each.card) for each in building if _stays(each, one)]
    if moving:
        said += ["Being learned:", *_listed(moving)]
    if staying:
        said += [STAYING, *_listed(staying)]
    # A card that is stuck stands above, as one that stays where it is for a while.
    slower = [each.card.title for each in next_up(one).slower if each.card.cold_bpm is None]
    if slower:
        said.append(f"Tried, and slower now until it comes together: {BETWEEN.join(slower)}.")
    begin = [card.title for card in next_up(one).new if card.rhythm not in named]
    if begin:
        said.append(f"To begin next: {BETWEEN.join(begin)}.")
    return tuple(said) or ("The teacher will say in the next lesson.",)


def _stays(each: CardFigures, one: StudentFigures) -> bool:
    """Return whether a pattern is practised and has stood where it is for a month, or is stuck."""
    begin = one.progress.until - timedelta(days=MONTH)
    old = each.begun_on is not None and each.begun_on <= begin
    return each.stuck or (old and each.gain_bpm is not None and each.gain_bpm < STUCK_GAIN)


def _on_the_way(card: CardProgress) -> str:
    goal = _pace(card.goal_bpm)
    now = f"{card.cold_bpm:.0f}"
    if now == f"{card.goal_bpm:.0f}":
        return f"{card.title}, almost at {goal}"
    return f"{card.title}, now at about {now}, on the way to {goal}"


def _listed(lines: Sequence[str]) -> tuple[str, ...]:
    shown = [f"•  {line}" for line in lines[:MOST_NAMED]]
    more = len(lines) - len(shown)
    return (*shown, f"•  and {more} more") if more else tuple(shown)


def _stood(card: CardProgress, one: StudentFigures) -> bool:
    """Return whether a card was at its goal a month before the file, as far as the file knows."""
    begin = one.progress.until - timedelta(days=MONTH)
    before = [played for played in card.days if played.day <= begin]
    return bool(before) and before[-1].cold_bpm >= card.goal_bpm


def _pace(bpm: float) -> str:
    return f"{bpm:.0f} beats a minute"
