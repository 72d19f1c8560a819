"""The studio's figures as plain rows and values: for a terminal, for spreadsheets, for programs."""

from __future__ import annotations

import csv
from io import StringIO
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.studio.figures import Figures, StudentFigures

__all__ = ["CSV_HEAD", "TABLE_HEAD", "as_csv", "as_objects", "table_rows"]

TABLE_HEAD = (
    *("student", "days", "min", "cards", "in hand", "gained", "stuck", "fading", "last"),
    "attention",
)
CSV_HEAD = (
    *("student", "name", "written", "deck", "edition", "idle_days", "cards", "begun", "in_hand"),
    *("fading", "stuck", "days", "minutes", "takes", "gain_bpm", "attention", "reasons"),
)
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def table_rows(students: Sequence[StudentFigures]) -> list[tuple[str, ...]]:
    """Return a row a student for `TABLE_HEAD`.

    The month's days and minutes, then how the cards stand.
    """
    return [
        (
            one.label,
            str(one.whole.days),
            f"{one.whole.minutes:.0f}",
            str(one.whole.cards),
            str(one.whole.in_hand),
            "–" if one.whole.gain_bpm is None else f"{one.whole.gain_bpm:+.1f}",
            str(one.whole.stuck),
            str(one.whole.fading),
            _ago(one.idle_days),
            ", ".join(one.reasons),
        )
        for one in students
    ]


def _ago(days: int | None) -> str:
    if days is None:
        return "never"
    return {0: "today", 1: "yesterday"}.get(max(days, 0), f"{days} days ago")


def as_csv(students: Sequence[StudentFigures]) -> str:
    """Return the figures as CSV (RFC 4180).

    For each student a row of all cards, then one a deck.
    """
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow(CSV_HEAD)
    for one in students:
        parts: list[tuple[str, str, Figures]] = [("", "", one.whole)]
        parts += [(part.deck.id, str(part.deck.edition), part.figures) for part in one.decks]
        for deck, edition, figures in parts:
            writer.writerow(
                (
                    one.progress.student,
                    _harmless(one.progress.name),
                    f"{one.progress.written:%Y-%m-%dT%H:%M:%SZ}",
                    deck,
                    edition,
                    "" if one.idle_days is None else one.idle_days,
                    *(figures.cards, figures.begun, figures.in_hand),
                    *(figures.fading, figures.stuck, figures.days),
                    *(f"{figures.minutes:.1f}", figures.takes),
                    "" if figures.gain_bpm is None else f"{figures.gain_bpm:.1f}",
                    f"{one.attention:.2f}" if not deck else "",
                    ", ".join(one.reasons) if not deck else "",
                )
            )
    return out.getvalue()


def _harmless(text: str) -> str:
    """Return a text that a spreadsheet takes for a text: names come from strangers."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def as_objects(students: Sequence[StudentFigures]) -> list[dict[str, Any]]:
    """Return the figures as JSON values."""
    return [
        {
            "student": one.progress.student,
            "name": one.progress.name,
            "label": one.label,
            "written": f"{one.progress.written:%Y-%m-%dT%H:%M:%SZ}",
            "attention": round(one.attention, 2),
            "reasons": list(one.reasons),
            "idle_days": one.idle_days,
            **_values(one.whole),
            "decks": [
                {"id": part.deck.id, "title": part.deck.title, "edition": part.deck.edition}
                | _values(part.figures)
                for part in one.decks
            ],
            "stuck_cards": [card.card.title for card in one.cards if card.stuck],
            "fading_cards": [card.card.title for card in one.cards if card.fading],
        }
        for one in students
    ]


def _values(figures: Figures) -> dict[str, Any]:
    return {
        "cards": figures.cards,
        "begun": figures.begun,
        "in_hand": figures.in_hand,
        "fading": figures.fading,
        "stuck": figures.stuck,
        "days": figures.days,
        "minutes": round(figures.minutes, 1),
        "takes": figures.takes,
        "gain_bpm": None if figures.gain_bpm is None else round(figures.gain_bpm, 1),
    }
