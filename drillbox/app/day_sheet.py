"""A practice day as it is shown when it is over: what was played, and what comes next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drillbox.app.words import day_words
from drillbox.base.now import day_name
from drillbox.base.wording import bpm_words, counted, listed_titles

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from drillbox.box import Box
    from drillbox.box.take_views import TakeView

DONE_COLUMNS = (("card", 0), ("takes ", 6), ("first→last", 10), ("last grade", 10), ("state", 8))
MOST_NAMED = 4


def done_rows(
    box: Box, *, at: datetime, played_as: Mapping[str, str] | None = None
) -> list[tuple[str, ...]]:
    """Return a row for each card that was played today, in `DONE_COLUMNS`.

    A card whose deck was taken out meanwhile has the title that it was played as since this start;
    where it was played before that, only its id is known.
    """
    known = box.entries()
    by_card: dict[str, list[TakeView]] = {}
    for take in box.day(at).takes:
        by_card.setdefault(take.card_id, []).append(take)
    rows: list[tuple[str, ...]] = []
    for card_id, played in by_card.items():
        title, state = (played_as or {}).get(card_id, f"card {card_id}"), "gone"
        if card_id in known:
            card = box.card(card_id, at=at)
            title, state = card.title, card.state.value
        first, last = bpm_words(played[0].bpm), bpm_words(played[-1].bpm)
        tempo = first if first == last else f"{first}→{last}"
        grade = played[-1].grade.label
        rows.append((title, str(len(played)), tempo, grade, state))
    return rows


def gone_words(box: Box, *, at: datetime) -> str:
    """Return that cards of today have left the box with their decks; nothing where none has."""
    gone = len({take.card_id for take in box.day(at).takes} - box.entries().keys())
    if not gone:
        return ""
    have, are = ("has left", "it is") if gone == 1 else ("have left", "they are")
    return (
        f"{counted(gone, 'card')} of today {have} the box: the takes stay, and count again once"
        f" {are} back."
    )


def coming_words(box: Box, *, at: datetime) -> str:
    """Return what the next practice day brings, and what slips until then if left alone."""
    from drillbox.box.practice import by_card  # noqa: PLC0415 - after the first frame

    lines, today = [], box.now(at).day
    day, plan = box.next_practice(at=at)
    titles = [f"{box.title(item.card_id)} at {item.bpm}" for item in by_card(plan.items)]
    if titles:
        when = "Tomorrow's first takes" if day == today + 1 else f"First takes on {day_name(day)}"
        lines.append(f"{when}: {listed_titles(titles, MOST_NAMED)}.")
    # What slips before this day is over cannot be met sooner than on the next one.
    slipping = [
        f"{card.title} {day_words(max(card.returns_on or 0, today + 1), today)}"
        for card in box.coming(at=at, days=7)
    ]
    if slipping:
        slip = listed_titles(slipping, MOST_NAMED)
        lines.append(f"Slipping under the goal if left alone: {slip}.")
    return "\n".join(lines)
