"""A teacher's replies in a student's box.

Each reply is kept whole, as a setting under its id. What follows from all of them (the word that
stands, the dates, the goals) is worked out from the set, the later word over the earlier: so they
may arrive in any order and any number of times, and travel when the student's machines meet.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from drillbox.base.now import day_name
from drillbox.box.setting_kinds import REPLY, STUDENT
from drillbox.errors import ReplyError
from drillbox.studio.reply_files import reply_from_values, reply_values

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date, datetime

    from drillbox.base.now import Now
    from drillbox.store import Archive, Setting
    from drillbox.studio.reply_files import Goal, Reply, Wanted

STANDS_DAYS = 30
"""A word stands for so many days, or until the next one."""


@dataclass(frozen=True, slots=True)
class TeacherNote:
    """A teacher's word as Today shows it.

    Parameters
    ----------
    text
        The word.
    teacher
        Who wrote it; may be empty.
    day
        When.
    by
        The nearest day by which the reply wants something, or None.
    """

    text: str
    teacher: str
    day: date
    by: date | None

    @property
    def heading(self) -> str:
        """Who wrote when, and by when something is wanted, in a line."""
        who = self.teacher or "Your teacher"
        asked = f"; wanted by {day_name(self.by)}" if self.by else ""
        return f"{who}, {day_name(self.day)}{asked}"


def take_in(archive: Archive, reply: Reply, at: datetime) -> bool:
    """Keep a reply; return whether it is new.

    Raises
    ------
    ReplyError
        It is for another student's box.
    """
    kept = archive.setting(STUDENT)
    student = kept.get("id") if isinstance(kept, dict) else None
    if student is None:
        raise ReplyError(
            "this box has handed nothing in, so no reply can be for it",
            fix="take it in on the machine whose progress went to the teacher",
        )
    if reply.student != student:
        raise ReplyError(
            "this reply is for another student", fix="ask your teacher for the one that is yours"
        )
    if archive.setting(f"{REPLY}{reply.id}") is not None:
        return False
    archive.put_setting(f"{REPLY}{reply.id}", reply_values(reply), at)
    return True


def replies_in(settings: Mapping[str, Setting]) -> tuple[Reply, ...]:
    """Return the replies that a box keeps, the latest last; what is none is passed over."""
    found = []
    for key, setting in settings.items():
        if key.startswith(REPLY):
            try:
                found.append(reply_from_values(key.removeprefix(REPLY), setting.value))
            except ReplyError:
                continue
    return tuple(sorted(found, key=lambda reply: (reply.written, reply.id)))


def goals_of(replies: Iterable[Reply]) -> dict[str, tuple[Goal, datetime]]:
    """Return the goal that stands for each card, and when it was given."""
    return {goal.rhythm: (goal, reply.written) for reply in replies for goal in reply.goals}


def wanted_of(replies: Iterable[Reply]) -> dict[str, list[tuple[Wanted, datetime]]]:
    """Return what is wanted of each card, and since when; of one day the later word stands."""
    latest = {
        (one.rhythm, one.by): (one, reply.written) for reply in replies for one in reply.wanted
    }
    found: dict[str, list[tuple[Wanted, datetime]]] = {}
    for one, given in latest.values():
        found.setdefault(one.rhythm, []).append((one, given))
    return found


def notes_at(replies: Iterable[Reply], now: Now) -> tuple[TeacherNote, ...]:
    """Return the word that stands now; none where it has stood long enough."""
    today = now.today
    for reply in sorted(replies, key=lambda one: (one.written, one.id), reverse=True):
        day = now.date_of(reply.written)
        if reply.note and today - day <= timedelta(days=STANDS_DAYS):
            ahead = [one.by for one in reply.wanted if one.by >= today]
            return (TeacherNote(reply.note, reply.teacher, day, min(ahead, default=None)),)
    return ()
