"""Writing a reply at the desk: from what a teacher types to a reply that the student's box takes.

Cards are named by their titles, or a part of a title that no other card of the student has; a tempo
may follow after an equals sign, as in ``e of 2 and 4=84``.
"""

from __future__ import annotations

import re
from datetime import UTC, date, timedelta
from functools import partial
from io import BytesIO
from typing import TYPE_CHECKING

from drillbox.base.now import Now
from drillbox.errors import UnknownCardError, UsageError
from drillbox.studio.lesson_notes import BETWEEN
from drillbox.studio.reply_files import Goal, Reply, Wanted, read_reply, write_reply
from drillbox.studio.tasks import next_up

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from drillbox.studio.figures import StudentFigures
    from drillbox.studio.progress import CardProgress

__all__ = [
    "proposed",
    "proposed_goals",
    "reply_content",
    "reply_file_name",
    "reply_for",
    "reply_lines",
    "student_named",
]

LESSONS_APART = timedelta(days=14)
_WITH_BPM = re.compile(r"(.+)=\s*(\d{1,3}(?:\.\d+)?)")


def reply_for(
    one: StudentFigures,
    *,
    note: str,
    wanted: Sequence[str],
    by: date | None,
    goals: Sequence[str],
    teacher: str,
    now: datetime,
) -> Reply:
    """Return the reply to a student, as typed.

    Parameters
    ----------
    one
        The student.
    note, teacher
        A word, and who writes it; either may be empty.
    wanted, by
        Cards, and the day by which they are wanted.
    goals
        Cards with other goals, each ``CARD=BPM``.
    now
        The moment.

    Raises
    ------
    UsageError, UnknownCardError
        Something cannot be meant, or the reply would say nothing.
    """
    cards, today = one.progress.cards, Now.of(now).today
    if by and by < today:
        raise UsageError(f"{by} has passed", fix="give today or a day to come")
    asked = [_card_and_bpm(cards, text) for text in wanted]
    if asked and by is None:
        raise UsageError("say by when the cards are wanted", fix="give a day such as 2026-12-10")
    changed = [_card_and_bpm(cards, text) for text in goals]
    if missing := [card.title for card, bpm in changed if bpm is None]:
        raise UsageError(f"no goal for {missing[0]!r}", fix="write it as CARD=96")
    if not (note.strip() or asked or changed):
        raise UsageError("the reply says nothing", fix="write a word, a card or a goal")
    made = Reply(
        id="",
        student=one.progress.student,
        teacher=teacher.strip(),
        written=now.astimezone(UTC).replace(microsecond=0),
        note=note.strip(),
        wanted=tuple(Wanted(card.rhythm, by, bpm) for card, bpm in asked if by),
        goals=tuple(Goal(card.rhythm, bpm) for card, bpm in changed if bpm is not None),
    )
    # What a student's box would refuse is refused here, before it is sent.
    return read_reply(reply_content(made), "the reply")


def proposed(one: StudentFigures) -> list[str]:
    """Return what the studio would want of a student next, as a teacher would type it."""
    coming, name = next_up(one), partial(_typed, one)
    apart = [each for each in coming.slower if not each.stuck]
    slower = [f"{name(each.card)}={each.bpm:.0f}" for each in apart if each.bpm]
    steps = [f"{name(each.card)}={each.bpm:.0f}" for each in coming.steps]
    return [*slower, *map(name, coming.near), *steps, *map(name, coming.new)]


def proposed_goals(one: StudentFigures) -> list[str]:
    """Return the lower goals that the studio would give stuck cards, as a teacher would type them.

    A card is not wanted by a day below the tempo that it has: that is met already, and an
    assignment lowers no goal.
    """
    stuck = [each for each in next_up(one).slower if each.stuck and each.bpm]
    return [f"{_typed(one, each.card)}={each.bpm:.0f}" for each in stuck]


def _typed(one: StudentFigures, card: CardProgress) -> str:
    """Return what a teacher would type for a card: its title, where no other has it."""
    titles = [each.title for each in one.progress.cards]
    return card.title if titles.count(card.title) == 1 else card.rhythm


def next_lesson(now: datetime) -> date:
    """Return the day by which a reply wants its cards unless the teacher names another."""
    return Now.of(now).today + LESSONS_APART


def reply_content(reply: Reply) -> bytes:
    """Return a reply as a file."""
    out = BytesIO()
    write_reply(reply, out)
    return out.getvalue()


def reply_file_name(one: StudentFigures, now: datetime) -> str:
    """Return a name for the file, such as ``mia-2026-11-26.reply``."""
    stem = re.sub(r"[^a-z0-9]+", "-", one.label.casefold()).strip("-") or "student"
    return f"{stem}-{Now.of(now).today}.reply"


def reply_lines(reply: Reply, titles: dict[str, str]) -> list[str]:
    """Return what a reply says, a line each, with the titles that cards have by their rhythms."""
    lines = [reply.note] if reply.note else []
    for one in reply.wanted:
        tempo = "its goal" if one.goal_bpm is None else f"{one.goal_bpm:g}"
        lines.append(f"wanted by {one.by}: {_title(one.rhythm, titles)} at {tempo}")
    lines += [f"goal of {_title(one.rhythm, titles)}: {one.goal_bpm:g}" for one in reply.goals]
    return lines


def student_named(students: Sequence[StudentFigures], wanted: str) -> StudentFigures:
    """Return the student that a label, a name or the beginning of an id means.

    Raises
    ------
    UnknownCardError
        None is meant, or more than one.
    """
    text = wanted.strip().casefold()
    found = [one for one in students if one.label.casefold() == text]
    found = found or [one for one in students if one.progress.name.casefold() == text]
    if not found and len(text) >= 4:
        found = [one for one in students if one.progress.student.startswith(text)]
    if len(found) == 1:
        return found[0]
    names = ", ".join(one.label for one in (found or students)[:8])
    what = f"{wanted!r} is more than one student" if found else f"no student {wanted!r}"
    raise UnknownCardError(what, fix=f"say which: {names}")


def _title(rhythm: str, titles: dict[str, str]) -> str:
    return titles.get(rhythm, f"a card that is in none of your decks ({rhythm})")


def _card_and_bpm(cards: Sequence[CardProgress], text: str) -> tuple[CardProgress, float | None]:
    """Return the card that a text means, and the tempo after its last equals sign, if any."""
    match = _WITH_BPM.fullmatch(text.strip())
    name, bpm = (match[1].strip(), float(match[2])) if match else (text.strip(), None)
    wanted = name.casefold()
    found = [card for card in cards if wanted in {card.title.casefold(), card.rhythm}]
    found = found or [card for card in cards if wanted and wanted in card.title.casefold()]
    if len(found) == 1:
        return found[0], bpm
    if found:
        titles = BETWEEN.join(card.title for card in found[:4])
        raise UnknownCardError(f"{name!r} is more than one card", fix=f"say which: {titles}")
    raise UnknownCardError(f"no card {name!r} in this student's file", fix="see the studio")
