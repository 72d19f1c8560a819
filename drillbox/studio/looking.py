"""All the files of a class, looked at together: one student once, who needs a word first.

Files are taken one by one and forgotten, so a class takes the memory of its figures and no more.
"""

from __future__ import annotations

import gc
from collections import Counter
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from drillbox.studio.attention import attention, shared_troubles
from drillbox.studio.figures import figures_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator
    from datetime import date

    from drillbox.studio.figures import StudentFigures
    from drillbox.studio.progress import Progress

__all__ = ["look_at"]


def look_at(
    files: Iterable[Progress], *, today: date, decks: Collection[str] = ()
) -> tuple[StudentFigures, ...]:
    """Return every student's figures; who needs attention most comes first.

    Parameters
    ----------
    files
        Progress files, any number of each student: the latest counts. Reading a file again
        changes nothing, nor does an older one.
    today
        The teacher's day.
    decks
        Look at these decks only; empty for all.
    """
    latest: dict[str, StudentFigures] = {}
    with _collector_at_rest():
        for progress in files:
            kept = latest.get(progress.student)
            if kept is None or progress.written >= kept.progress.written:
                one = figures_of(_of_decks(progress, decks), today=today)
                latest[progress.student] = one if kept is None else _later(one, kept)
    bare = _told_apart(list(latest.values()))
    shared = {trouble.rhythm for trouble in shared_troubles(bare)}
    found = [attention(one, shared=shared) for one in bare]
    return tuple(sorted(found, key=_rank))


@contextmanager
def _collector_at_rest() -> Iterator[None]:
    """Let the collector of cycles rest while files are read.

    What is read has none, and of a large class it would look through all again and again: a fourth
    of the time.
    """
    works = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if works:
            gc.enable()


def _later(one: StudentFigures, other: StudentFigures) -> StudentFigures:
    if one.progress.written != other.progress.written:
        return max(one, other, key=lambda student: student.progress.written)
    # Two files of one second are told apart by what they say, so that their order does not matter.
    return max(one, other, key=repr)


def _told_apart(students: list[StudentFigures]) -> list[StudentFigures]:
    """Return the students in order of their names; of one name, each with the start of the id."""
    names = Counter(one.progress.name.casefold() for one in students)
    students.sort(key=lambda one: (one.progress.name.casefold(), one.progress.student))
    return [
        replace(one, label=f"{one.progress.name} ({one.progress.student[:4]})")
        if one.progress.name and names[one.progress.name.casefold()] > 1
        else one
        for one in students
    ]


def _rank(one: StudentFigures) -> tuple[float, str, str]:
    return -one.attention, one.label.casefold(), one.progress.student


def _of_decks(progress: Progress, decks: Collection[str]) -> Progress:
    """Return a file with the cards of some decks only."""
    if not decks:
        return progress
    kept = tuple(deck for deck in progress.decks if deck.id in decks)
    cards = tuple(card for card in progress.cards if set(card.decks) & set(decks))
    return replace(progress, decks=kept, cards=cards)
