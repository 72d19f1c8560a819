"""A student's progress, out of the box and into a file for a teacher: only what the student chose.

The file's student id is made by chance once per box and kept as a setting, with the name last
chosen; so it travels to the student's other machines, and two students of one name stay apart.
"""

from __future__ import annotations

from datetime import UTC, date
from typing import TYPE_CHECKING

from drillbox.errors import UnknownCardError, UsageError
from drillbox.studio import (
    LONGEST_NAME,
    CardProgress,
    DeckInfo,
    Played,
    Progress,
    is_name,
    is_student,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping
    from datetime import datetime

    from drillbox.box import Box
    from drillbox.box.days_played import Days
    from drillbox.box.views import CardView

SETTING = "student"


def progress_of(
    box: Box,
    *,
    at: datetime,
    new_id: Callable[[], str],
    name: str | None = None,
    deck_ids: Collection[str] = (),
    since: date | None = None,
) -> Progress:
    """Return what a progress file of a box holds.

    Parameters
    ----------
    box
        The student's box.
    at
        Now.
    new_id
        Makes the student's id where the box has none yet.
    name
        What to be called; None for the name chosen the last time.
    deck_ids
        The decks to show; empty for all.
    since
        The first day to show; None for all.
    """
    decks = [deck for deck in box.decks(at) if not deck_ids or deck.deck_id in deck_ids]
    shown = {deck.deck_id for deck in decks}
    if unknown := [deck_id for deck_id in deck_ids if deck_id not in shown]:
        raise UnknownCardError("no such deck in the box", where=unknown[0])
    student, called = _student(box, name, at, new_id)
    played = _by_day(box.days())
    return Progress(
        student=student,
        name=called,
        written=at.astimezone(UTC).replace(microsecond=0),
        decks=tuple(DeckInfo(deck.deck_id, deck.title, deck.edition) for deck in decks),
        cards=tuple(
            _card(card, played.get(card.card_id, {}), shown, since)
            for card in box.cards(at=at)
            if shown & set(card.deck_ids)
        ),
    )


def _student(
    box: Box, name: str | None, at: datetime, new_id: Callable[[], str]
) -> tuple[str, str]:
    """Return the student's id and name; keep them where they are new."""
    if name is not None and not is_name(name):
        fix = f"use one line of at most {LONGEST_NAME} characters"
        raise UsageError("this cannot be a name", where="--name", fix=fix)
    kept = box.archive.setting(SETTING)
    known = kept if isinstance(kept, dict) else {}
    student = known["id"] if is_student(known.get("id")) else new_id()
    before = known.get("name")
    called = name.strip() if name is not None else before if is_name(before) else ""
    chosen = {"id": student, "name": called}
    if chosen != known:
        box.archive.put_setting(SETTING, chosen, at)
    return student, called


def _card(
    card: CardView, played: Mapping[int, Played], shown: Collection[str], since: date | None
) -> CardProgress:
    return CardProgress(
        rhythm=card.card_id,
        title=card.title,
        decks=tuple(deck_id for deck_id in card.deck_ids if deck_id in shown),
        goal_bpm=card.goal_bpm,
        state=card.state.value,
        cold_bpm=card.cold_bpm,
        days=tuple(day for _, day in sorted(played.items()) if since is None or day.day >= since),
    )


def _by_day(days: Days) -> dict[str, dict[int, Played]]:
    """Return the practice days of each card, each with the cold tempo expected after it."""
    found: dict[str, dict[int, Played]] = {card_id: {} for card_id in days.cards}
    rows = days.rows
    columns = (rows.day, rows.takes, rows.seconds, 2.0**rows.mu)
    for card, day, takes, seconds, tempo in zip(
        days.card.tolist(), *(column.tolist() for column in columns), strict=True
    ):
        mine, on = found[days.cards[card]], date.fromordinal(int(day))
        before = mine.get(int(day), Played(on, 0, 0.0, tempo))
        mine[int(day)] = Played(on, before.takes + int(takes), before.seconds + seconds, tempo)
    return found
