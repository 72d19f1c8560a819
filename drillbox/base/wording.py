"""Words that several rooms need: counts, lists, and what the app and the commands both say."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

ALL_PUT_AWAY = "Every deck is put away: 'drillbox decks archive NAME --back' takes one out again."
BETWEEN_TITLES = " · "
"""Titles have commas and semicolons of their own."""
OPEN_FROM_SECONDS = 120.0
"""Less than this that a plan leaves of its minutes is no gap that asks for a word."""
NOTHING_TO_PLAY = "Nothing to play: every card is rested, or the minutes are too short."
YEARS_DAYS = 730
"""From here a length of time is told in years without a number: nobody knows it better."""
DAYS_A_MONTH = 30.4


def counted(number: float, thing: str, things: str = "") -> str:
    """Return ``1 card``, ``2 cards``; a number that is not whole is rounded."""
    whole = round(number)
    return f"{whole} {thing}" if whole == 1 else f"{whole} {things or thing + 's'}"


def bpm_words(bpm: float | None) -> str:
    """Return a tempo as a whole number, or a dash where none is known."""
    return "–" if bpm is None else f"{bpm:.0f}"


def as_sentence(words: str) -> str:
    """Return words as a sentence: the first letter upper, a full stop at the end."""
    return f"{words[:1].upper()}{words[1:]}."


def listed(names: Sequence[str], most: int) -> str:
    """Return ``a, b and 3 more``: the first so many by their names, the others counted."""
    more = len(names) - most
    return ", ".join(names[:most]) + (f" and {more} more" if more > 0 else "")


def listed_titles(titles: Sequence[str], most: int) -> str:
    """Return ``a · b · and 3 more``, as `listed` does."""
    more = len(titles) - most
    return BETWEEN_TITLES.join([*titles[:most], *([f"and {more} more"] if more > 0 else [])])


def day_is_over(next_day: str) -> str:
    """Return what a day that was played ends with; how to play on follows."""
    return f"Done for today. Come back {next_day}"


def day_off(next_day: str) -> str:
    """Return that today is no practice day; what is played on it counts like on any other."""
    return f"No practice day: the next is {next_day}. What you play today counts all the same."


def nearest(typed: str, known: Iterable[str]) -> str | None:
    """Return the known name that a mistyped one is spelt most like, if any is near enough."""
    from difflib import get_close_matches  # noqa: PLC0415 - only for a name nobody has

    return next(iter(get_close_matches(typed, known, n=1)), None)


def did_you_mean(typed: str, known: Iterable[str], *, otherwise: str) -> str:
    """Return the question whether the nearest known name was meant, or what else to do."""
    return was_meant(nearest(typed, known), otherwise=otherwise)


def was_meant(name: str | None, *, otherwise: str) -> str:
    """Return the question whether a name was meant, or what else to do where there is none."""
    return otherwise if name is None else f"did you mean {name!r}?"


def open_minutes(left_seconds: float, plan_seconds: float) -> str:
    """Return what becomes of the minutes that a plan leaves open; nothing where they are few.

    Both lengths are rounded as they are shown: whoever takes one from the other comes to the same.
    """
    open_seconds = round(left_seconds) - round(plan_seconds)
    if open_seconds < OPEN_FROM_SECONDS:
        return ""
    minutes = counted(open_seconds // 60, "minute")
    return f"{minutes} are open: more takes follow as you grade, or the day ends early."
