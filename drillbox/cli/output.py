"""Standard output: data for people as aligned text, data for programs as JSON."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING, Any

import click

from drillbox.base.wording import ALL_PUT_AWAY
from drillbox.cli.streams import let_output_go, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from drillbox.box import Box
    from drillbox.box.dues import Kept
    from drillbox.box.take_views import TakeView
    from drillbox.box.views import CardView

NO_DECK = "No deck in the box. 'drillbox decks' lists the starter decks and how to add one."

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for programs.")


def no_card(box: Box) -> str:
    """Return why a box has no card, and what to do."""
    return ALL_PUT_AWAY if box.all_put_away else NO_DECK


def say(text: str = "") -> None:
    """Print one line of data; on a terminal a sentence is wrapped between words.

    A reader that has left stops no command: what it still has to do is done.
    """
    try:
        click.echo(wrapped(text, sys.stdout), file=sys.stdout)
    except BrokenPipeError:
        let_output_go()


def say_json(value: Any) -> None:
    """Print a value as JSON; letters that the stream cannot carry are escaped."""
    escaped = not (sys.stdout.encoding or "utf-8").lower().startswith("utf")
    say(json.dumps(value, ensure_ascii=escaped, indent=2))


def say_table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print rows under a head, columns as wide as they need to be; numbers are right-aligned."""
    widths = [max(len(row[i]) for row in (head, *rows)) for i in range(len(head))]
    number = [bool(rows) and all(_is_number(row[i]) for row in rows) for i in range(len(head))]
    for row in (head, *rows):
        cells = [
            cell.rjust(width) if right else cell.ljust(width)
            for cell, width, right in zip(row, widths, number, strict=True)
        ]
        say("  ".join(cells).rstrip())


def moment(at: datetime | None) -> str | None:
    """Return a moment as ISO 8601, to the second, or None."""
    return None if at is None else at.isoformat(timespec="seconds")


def card_object(card: CardView) -> dict[str, Any]:
    """Return a card as JSON values."""
    return {
        "card_id": card.card_id,
        "title": card.title,
        "decks": list(card.deck_ids),
        "state": card.state.value,
        "goal_bpm": card.goal_bpm,
        "importance": card.importance,
        "cold_bpm": _rounded(card.cold_bpm),
        "low_bpm": _rounded(card.low_bpm),
        "high_bpm": _rounded(card.high_bpm),
        "takes": card.takes,
        "last_played": moment(card.last_played),
        "last_bpm": card.last_bpm,
        "slips_at": moment(card.returns),
        "asked_for": card.due and {"by": card.due.by.isoformat(), "goal_bpm": card.due.goal_bpm},
        "pattern": card.notation,
    }


def assignment_object(kept: Kept) -> dict[str, Any]:
    """Return what became of an assignment as JSON values."""
    return {
        "by": kept.due.by.isoformat(),
        "goal_bpm": kept.due.goal_bpm,
        "status": kept.status,
        "reached": kept.reached and kept.reached.isoformat(),
    }


def take_object(take: TakeView) -> dict[str, Any]:
    """Return a take as JSON values."""
    return {
        "take_id": take.take_id,
        "card_id": take.card_id,
        "bpm": take.bpm,
        "grade": take.grade.label,
        "at": moment(take.at),
        "seconds": take.seconds,
        "cold": take.cold,
        "source": take.source,
    }


def _rounded(bpm: float | None) -> float | None:
    return None if bpm is None else round(bpm, 1)


def _is_number(text: str) -> bool:
    return text.replace(".", "").replace(":", "").replace("–", "").isdigit() or text in {"", "–"}
