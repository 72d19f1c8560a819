"""Students of the studio's tests, made by hand: cards with a goal of 100, days counted back."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from drillbox.studio import CardProgress, DeckInfo, Played, Progress, StudentFigures, look_at

TODAY = date(2026, 11, 25)
WRITTEN = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
DECK = DeckInfo("week-3", "Week 3", 1)


def days(*played: tuple[int, int, float]) -> tuple[Played, ...]:
    """Return days from (days ago, takes, cold tempo), a minute a take."""
    return tuple(
        Played(TODAY - timedelta(days=ago), takes, 60.0 * takes, bpm) for ago, takes, bpm in played
    )


def card(number: int, state: str, *played: tuple[int, int, float]) -> CardProgress:
    """Return a card of the deck with a goal of 100."""
    shown = days(*played)
    cold = shown[-1].cold_bpm if shown else None
    return CardProgress(f"{number:016x}", f"card {number}", ("week-3",), 100.0, state, cold, shown)


def student(number: int, name: str, *cards: CardProgress) -> Progress:
    """Return a student's file."""
    return Progress(f"{number:032x}", name, WRITTEN, (DECK,), cards)


def aged(days_old: int, *cards: CardProgress) -> StudentFigures:
    """Return the figures of a student whose file is some days old."""
    until = TODAY - timedelta(days=days_old)
    file = replace(student(1, "Mia", *cards), day=until)
    return look_at([file], today=TODAY)[0]


def failed(number: int, *played: tuple[int, int, float]) -> CardProgress:
    """Return a card whose takes all fell apart: no tempo can be told of it."""
    return replace(card(number, "building", *played), cold_bpm=None, last_bpm=62.0)
