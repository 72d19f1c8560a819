"""All the files of a class, looked at together: one student once, who needs a word first."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from drillbox.studio.attention import attention, shared_troubles
from drillbox.studio.figures import figures_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping
    from datetime import date

    from drillbox.studio.figures import StudentFigures
    from drillbox.studio.progress import Progress

__all__ = ["look_at", "roster"]


def roster(files: Iterable[Progress]) -> tuple[Progress, ...]:
    """Return one file a student.

    The latest. Reading a file again changes nothing, nor does an older one.
    """
    latest: dict[str, Progress] = {}
    for progress in files:
        other = latest.setdefault(progress.student, progress)
        if progress is not other and _is_later(progress, other):
            latest[progress.student] = progress
    return tuple(sorted(latest.values(), key=lambda one: (one.name.casefold(), one.student)))


def _is_later(one: Progress, other: Progress) -> bool:
    # Two files of one second are told apart by what they say, so that their order does not matter.
    if one.written != other.written:
        return one.written > other.written
    return repr(one) > repr(other)


def look_at(
    files: Iterable[Progress],
    *,
    today: date,
    decks: Collection[str] = (),
    groups: Mapping[str, str] | None = None,
) -> tuple[StudentFigures, ...]:
    """Return every student's figures; who needs attention most comes first.

    Parameters
    ----------
    files
        Progress files, any number of each student.
    today
        The teacher's day.
    decks
        Look at these decks only; empty for all.
    groups
        What a student, by id, is filed under.
    """
    students = [_of_decks(one, decks) for one in roster(files)]
    names = [student.name.casefold() for student in students]
    bare = [
        figures_of(
            one,
            shared=names.count(one.name.casefold()) > 1,
            group=(groups or {}).get(one.student, ""),
            today=today,
        )
        for one in students
    ]
    shared = {trouble.rhythm for trouble in shared_troubles(bare)}
    found = [attention(one, shared=shared) for one in bare]
    return tuple(sorted(found, key=lambda one: (-one.attention, one.label.casefold())))


def _of_decks(progress: Progress, decks: Collection[str]) -> Progress:
    """Return a file with the cards of some decks only."""
    if not decks:
        return progress
    kept = tuple(deck for deck in progress.decks if deck.id in decks)
    cards = tuple(card for card in progress.cards if set(card.decks) & set(decks))
    return replace(progress, decks=kept, cards=cards)
