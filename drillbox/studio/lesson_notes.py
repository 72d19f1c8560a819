"""What a teacher wants to know of one student before a lesson, note by note, in words.

The text, the screen and the page show these notes and no others, so they say the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.base.now import day_name
from drillbox.base.wording import counted
from drillbox.studio.figures import IN_HAND
from drillbox.studio.tasks import STATUSES, next_up, tasks_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from drillbox.studio.figures import CardFigures, Figures, StudentFigures
    from drillbox.studio.progress import CardProgress, HeardMonth

__all__ = ["BETWEEN", "Note", "head_line", "notes_on", "student_lines"]

BETWEEN = " | "
"""Stands between cards: their titles have commas and semicolons of their own."""
FIRST_WAITING = 4
MOST_MONTHS = 6
MOST_LISTED = 12
"""Of more cards than this the rest are counted."""


@dataclass(frozen=True, slots=True)
class Note:
    """One thing to know of a student.

    Parameters
    ----------
    name
        What it is about.
    items
        What there is to say, mostly a card each.
    first
        Whether it belongs to the lesson: to be asked, praised or mended.
    """

    name: str
    items: tuple[str, ...]
    first: bool


def student_lines(one: StudentFigures) -> list[str]:
    """Return what a teacher wants before a lesson, a line a note."""
    notes = notes_on(one)
    return [
        head_line(one),
        *(f"{note.name[:1].lower()}{note.name[1:]}: {BETWEEN.join(note.items)}" for note in notes),
    ]


def notes_on(one: StudentFigures) -> tuple[Note, ...]:
    """Return what there is to ask, to praise and to mend; then what else stands."""
    new = [card for card in one.standing(*IN_HAND) if card.new]
    kept = [card for card in one.standing("holding") if not card.new]
    notes = [
        Note("Next", (_next(one),), first=True),
        _cards("New in hand this month", new, first=True),
        _cards("Stuck", one.of_kind("stuck"), first=True, told=_stuck_text),
        _cards("Not together yet", one.of_kind("apart"), first=True, told=_apart_text),
        _cards("Fading", one.of_kind("fading"), first=True),
        *_tasks(one),
        _cards("In hand", kept),
        _cards("Outgrown, a higher goal is due", one.standing("outgrown")),
        _cards("Building", one.of_kind("building")),
        _cards("Waiting", one.standing("waiting"), told=_title, most=FIRST_WAITING),
    ]
    notes.append(Note("Heard", tuple(map(_month, one.progress.heard[-MOST_MONTHS:])), first=False))
    if taken := len(one.progress.taken_in):
        notes.append(Note("Replies taken in", (str(taken),), first=False))
    return tuple(note for note in notes if note.items)


def _month(heard: HeardMonth) -> str:
    """Return how even a month's takes were, and how far ghosts lay under accents."""
    parts = [f"{heard.month}: {counted(heard.takes, 'take')}"]
    if heard.spread_ms is not None:
        parts.append(f"spread {heard.spread_ms:.0f} ms")
    if heard.contrast_db is not None:
        parts.append(f"accents {heard.contrast_db:.0f} dB over ghosts")
    return ", ".join(parts)


def _cards(
    name: str,
    cards: Sequence[CardFigures],
    *,
    first: bool = False,
    told: Callable[[CardFigures], str] | None = None,
    most: int = MOST_LISTED,
) -> Note:
    return Note(name, _cut([(told or _card_text)(one) for one in cards], most), first)


def _cut(items: Sequence[str], most: int) -> tuple[str, ...]:
    return (*items[:most], *([f"and {len(items) - most} more"] if len(items) > most else []))


def _tasks(one: StudentFigures) -> list[Note]:
    """Return what was asked, by what became of it."""
    found: dict[str, list[str]] = {status: [] for status in STATUSES}
    for task in tasks_of(one):
        by, bpm = day_name(task.asked.by), f"{task.asked.goal_bpm:.0f}"
        found[task.status].append(f"{task.card.title} at {bpm} by {by}")
    names = {"met": "Asked and met", "not due": "Not due yet"}
    return [
        Note(names.get(status, status.capitalize()), _cut(items, MOST_LISTED), first=True)
        for status, items in found.items()
    ]


def head_line(one: StudentFigures) -> str:
    """Return in a line which decks, which file, which program, and the month against the last."""
    edition = ", ".join(f"{part.deck.title} (edition {part.deck.edition})" for part in one.decks)
    wrote = f", drillbox {one.progress.program}" if one.progress.program else ""
    return (
        f"{edition or 'no deck'}; file of {day_name(one.progress.until)}{wrote}; "
        f"{_against_before(one.whole)}."
    )


def _against_before(whole: Figures) -> str:
    if not whole.begun:
        return "not begun"
    gained = "" if whole.gain_bpm is None else f", {whole.gain_bpm:+.1f} bpm a card played"
    return (
        f"{counted(whole.days, 'day')} and {counted(whole.minutes, 'minute')} in the month, "
        f"{counted(whole.days_before, 'day')} and {whole.minutes_before:.0f} before{gained}"
    )


def _next(one: StudentFigures) -> str:
    coming = next_up(one)
    parts = []
    slower = [each for each in coming.slower if each.bpm]
    tempi = [f"{each.card.title} at {each.bpm:.0f}" for each in slower if not each.stuck]
    if tempi:
        they = "it comes" if len(tempi) == 1 else "they come"
        parts.append(f"slower until {they} together: {BETWEEN.join(tempi)}")
    stuck = [f"{each.card.title} at {each.bpm:.0f}" for each in slower if each.stuck]
    if stuck:
        parts.append(f"stuck, so a lower goal for a while: {BETWEEN.join(stuck)}")
    apart = [each.card for each in coming.slower if each.bpm is None]
    if apart:
        parts.append(f"take apart in the lesson: {BETWEEN.join(map(_fell_apart, apart))}")
    if coming.near:
        near = (f"{card.title} ({_tempo_of_goal(card)})" for card in coming.near)
        parts.append(f"bring to the goal: {BETWEEN.join(near)}")
    if coming.steps:
        gain = one.whole.gain_bpm
        rate = "" if gain is None else f" ({gain:+.0f} bpm a card in the month)"
        steps = (
            f"{each.card.title} at {each.bpm:.0f} ({_tempo_of_goal(each.card)})"
            for each in coming.steps
        )
        parts.append(f"a step, for the goal is far{rate}: {BETWEEN.join(steps)}")
    if coming.new:
        parts.append(f"begin: {BETWEEN.join(card.title for card in coming.new)}")
    if coming.minutes_a_day is not None:
        minutes = counted(max(round(coming.minutes_a_day), 1), "minute")
        days = counted(coming.days or 0, "day")
        parts.append(
            f"about {minutes} a day; this student's cards came there in {days} of practice"
        )
    if coming.higher:
        parts.append(f"raise the goal of {counted(len(coming.higher), 'outgrown card')}")
    if not (coming.near or coming.steps or coming.new) and one.standing("waiting"):
        some = "some of what is begun is in hand"
        parts.append(f"nothing new before {'that' if parts else some}")
    return "; ".join(parts) or "the next deck of the course"


def _fell_apart(card: CardProgress) -> str:
    last = "" if card.last_bpm is None else f" (last tried at {card.last_bpm:.0f})"
    return f"{card.title}{last}"


def _title(one: CardFigures) -> str:
    return one.card.title


def _card_text(one: CardFigures) -> str:
    """Return a card with its cold tempo and goal: ``e of 2 (84 of 90)``."""
    return f"{one.card.title} ({_tempo_of_goal(one.card)})"


def _stuck_text(one: CardFigures) -> str:
    """Return a stuck card with what went into it in the month, and what came of it."""
    gained = f"{one.gain_bpm:+.1f} bpm"
    return f"{one.card.title} ({_tempo_of_goal(one.card)}; {_tried(one)}, {gained})"


def _apart_text(one: CardFigures) -> str:
    """Return a card that has not come together with what went into it in the month."""
    return f"{one.card.title} ({_tried(one)})"


def _tempo_of_goal(card: CardProgress) -> str:
    """Return a card's cold tempo and goal: ``84 of 90``; a little below is not shown as level."""
    goal = f"{card.goal_bpm:.0f}"
    if card.cold_bpm is None:
        return goal
    cold = f"{card.cold_bpm:.0f}"
    if cold == goal and card.cold_bpm < card.goal_bpm:
        cold = f"{card.cold_bpm:.1f}"
    return f"{cold} of {goal}"


def _tried(card: CardFigures) -> str:
    """Return how much a card was _tried in the month: ``7 takes on 3 days``."""
    return f"{counted(card.takes, 'take')} on {counted(card.days, 'day')}"
