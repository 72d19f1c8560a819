"""The studio's figures as plain rows and values: for a terminal, for spreadsheets, for programs."""

from __future__ import annotations

import csv
from collections import Counter
from datetime import timedelta
from io import StringIO
from typing import TYPE_CHECKING, Any

from drillbox.base.wording import counted
from drillbox.studio.attention import shared_troubles
from drillbox.studio.figures import IN_HAND
from drillbox.studio.tasks import STATUSES, next_up, tasks_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.studio.figures import Figures, StudentFigures

__all__ = [
    "CSV_HEAD",
    "TABLE_HEAD",
    "as_csv",
    "as_objects",
    "class_lines",
    "table_rows",
]

TABLE_HEAD = (
    *("student", "days", "min", "in hand", "outgrown", "gained", "stuck", "fading", "last"),
    *("file", "attention"),
)
CSV_HEAD = (
    *("student", "name", "group", "written", "program", "age_days", "deck", "edition"),
    *("idle_days", "cards", "rested", "begun", "in_hand", "outgrown", "fading", "stuck"),
    *("not_together", "days", "minutes", "takes", "days_before", "minutes_before", "gain_bpm"),
    *("met", "late", "missed", "not_due", "attention", "reasons"),
)
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def table_rows(students: Sequence[StudentFigures]) -> list[tuple[str, ...]]:
    """Return a row a student for `TABLE_HEAD`.

    The month's days and minutes, then how the cards stand, then how old all that is.
    """
    return [
        (
            one.label,
            str(one.whole.days),
            f"{one.whole.minutes:.0f}",
            f"{one.whole.in_hand}/{one.whole.cards}",
            str(one.whole.outgrown),
            "–" if one.whole.gain_bpm is None else f"{one.whole.gain_bpm:+.1f}",
            str(one.whole.stuck),
            str(one.whole.fading),
            _last(one),
            _ago(one.age_days),
            ", ".join(one.reasons),
        )
        for one in students
    ]


def _last(one: StudentFigures) -> str:
    if one.idle_days is None:
        return "never"
    last = one.progress.until - timedelta(days=one.idle_days)
    return f"{last.day} {last:%b}"


def _ago(days: int) -> str:
    return {0: "today", 1: "yesterday"}.get(days, f"{days} days")


def class_lines(students: Sequence[StudentFigures]) -> list[str]:
    """Return what there is to say of the class: two months, groups, troubles that many share."""
    month = [one for one in students if one.whole.days]
    before = [one for one in students if one.whole.days_before]
    minutes = sum(one.whole.minutes for one in students)
    minutes_before = sum(one.whole.minutes_before for one in students)
    lines = [
        (
            f"{len(month)} of {counted(len(students), 'student')} practised in the month, "
            f"{len(before)} in the one before; {counted(minutes, 'minute')} together, "
            f"{minutes_before:.0f} before."
        )
    ]
    groups = Counter(one.group for one in students if one.group)
    if len(groups) > 1:
        lines += [_group_line(name, students) for name in sorted(groups)]
    for trouble in shared_troubles(students):
        low, high = trouble.goals
        goals = f"{low:.0f}" if low == high else f"{low:.0f} to {high:.0f}"
        lines.append(
            f"{trouble.stuck} of {trouble.students} who began {trouble.title} do not get on "
            f"with it, at a goal of {goals}: one word to all, or a lower goal."
        )
    return lines


def _group_line(name: str, students: Sequence[StudentFigures]) -> str:
    own = [one for one in students if one.group == name]
    in_hand, cards = (sum(getattr(one.whole, key) for one in own) for key in ("in_hand", "cards"))
    minutes = sum(one.whole.minutes for one in own)
    return (
        f"{name}: {counted(len(own), 'student')}, {in_hand} of {cards} in hand, "
        f"{counted(minutes, 'minute')}."
    )


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
            statuses = _statuses(one, deck)
            writer.writerow(
                (
                    one.progress.student,
                    _harmless(one.progress.name),
                    _harmless(one.group),
                    f"{one.progress.written:%Y-%m-%dT%H:%M:%SZ}",
                    _harmless(one.progress.program),
                    one.age_days,
                    *(deck, edition, "" if one.idle_days is None else one.idle_days),
                    *(figures.cards, figures.rested, figures.begun, figures.in_hand),
                    *(figures.outgrown, figures.fading, figures.stuck, figures.apart, figures.days),
                    *(f"{figures.minutes:.1f}", figures.takes, figures.days_before),
                    f"{figures.minutes_before:.1f}",
                    "" if figures.gain_bpm is None else f"{figures.gain_bpm:.1f}",
                    *(statuses[status] for status in STATUSES),
                    f"{one.attention:.2f}" if not deck else "",
                    _harmless(", ".join(one.reasons)) if not deck else "",
                )
            )
    return out.getvalue()


def _statuses(one: StudentFigures, deck: str = "") -> Counter[str]:
    return Counter(task.status for task in tasks_of(one) if not deck or deck in task.card.decks)


def _harmless(text: str) -> str:
    """Return a text that a spreadsheet takes for a text: names come from strangers."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def as_objects(students: Sequence[StudentFigures]) -> list[dict[str, Any]]:
    """Return the figures as JSON values."""
    return [_object(one) for one in students]


def _object(one: StudentFigures) -> dict[str, Any]:
    coming = next_up(one)
    return {
        "student": one.progress.student,
        "name": one.progress.name,
        "label": one.label,
        "group": one.group,
        "written": f"{one.progress.written:%Y-%m-%dT%H:%M:%SZ}",
        "day": one.progress.until.isoformat(),
        "program": one.progress.program,
        "age_days": one.age_days,
        "attention": round(one.attention, 2),
        "reasons": list(one.reasons),
        "idle_days": one.idle_days,
        **_values(one.whole),
        "decks": [
            {"id": part.deck.id, "title": part.deck.title, "edition": part.deck.edition}
            | _values(part.figures)
            for part in one.decks
        ],
        "new_in_hand_cards": [card.card.title for card in one.standing(*IN_HAND) if card.new],
        "in_hand_cards": [card.card.title for card in one.standing(*IN_HAND)],
        "outgrown_cards": [card.card.title for card in one.standing("outgrown")],
        "building_cards": [card.card.title for card in one.of_kind("building")],
        "not_together_cards": [card.card.title for card in one.of_kind("apart")],
        "waiting_cards": [card.card.title for card in one.standing("waiting")],
        "stuck_cards": [card.card.title for card in one.cards if card.stuck],
        "fading_cards": [card.card.title for card in one.cards if card.fading],
        "asked": [
            {
                "card": task.card.title,
                "by": task.asked.by.isoformat(),
                "goal_bpm": task.asked.goal_bpm,
                "status": task.status,
            }
            for task in tasks_of(one)
        ],
        "next": {
            "slower": [{"card": each.card.title, "bpm": each.bpm} for each in coming.slower],
            "near": [card.title for card in coming.near],
            "steps": [{"card": each.card.title, "bpm": each.bpm} for each in coming.steps],
            "new": [card.title for card in coming.new],
            "minutes_a_day": _rounded(coming.minutes_a_day),
            "days": coming.days,
            "higher": [card.title for card in coming.higher],
        },
        "replies_taken_in": list(one.progress.taken_in),
    }


def _values(figures: Figures) -> dict[str, Any]:
    return {
        "cards": figures.cards,
        "rested": figures.rested,
        "begun": figures.begun,
        "in_hand": figures.in_hand,
        "outgrown": figures.outgrown,
        "fading": figures.fading,
        "stuck": figures.stuck,
        "not_together": figures.apart,
        "days": figures.days,
        "minutes": round(figures.minutes, 1),
        "takes": figures.takes,
        "days_before": figures.days_before,
        "minutes_before": round(figures.minutes_before, 1),
        "gain_bpm": _rounded(figures.gain_bpm),
    }


def _rounded(number: float | None) -> float | None:
    return None if number is None else round(number, 1)
