"""What each field of a progress file may be, and whether a line has just those fields."""

from __future__ import annotations

import re
import unicodedata
from datetime import date, datetime
from itertools import pairwise
from typing import TYPE_CHECKING, Any, TypeGuard

from drillbox.base.tempi import LOGGED, TempoRange
from drillbox.errors import ProgressError
from drillbox.studio.progress import STATES

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    Check = Callable[[Any], bool]

__all__ = [
    "CARD_MORE",
    "DAY",
    "FIRST_DAY",
    "HEAD",
    "HEAD_HEARD",
    "HEAD_MORE",
    "HEX_16",
    "KINDS",
    "LAST_DAY",
    "LONGEST_NAME",
    "MOMENT",
    "MOST_ASKED",
    "MOST_MONTHS",
    "MOST_SECONDS",
    "MOST_TAKES",
    "WIDEST_BPM",
    "check",
    "is_name",
    "is_student",
]

MOST_ASKED, MOST_TAKEN_IN, LONGEST_PROGRAM = 100, 1_000, 40
MOST_MONTHS, MOST_HEARD = 240, 10_000
LONGEST_NAME = 80
FIRST_DAY, LAST_DAY = "1969-12-01", "2200-01-31"
"""No practice day lies before or after: the moments of takes are of the years 1970 to 2199 in UTC,
a wall clock may be a day off, and a month is asked about by its first day."""
MOST_TAKES, MOST_SECONDS = 10_000, 864_000
"""Of one card on one day."""

HEX_16 = re.compile(r"[0-9a-f]{16}")
_HEX_32 = re.compile(r"[0-9a-f]{32}")
DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
MOMENT = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}Z")
_UNSEEN = ("Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp")
_JOINERS = ("\u200c", "\u200d")
"""Invisible, but part of the spelling in some scripts."""
_SLUG = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")


def is_student(text: object) -> bool:
    """Whether a text can be a student's id."""
    return isinstance(text, str) and _HEX_32.fullmatch(text) is not None


def is_name(text: object, longest: int = LONGEST_NAME) -> TypeGuard[str]:
    """Whether a text can be a name: one line of printable characters, not too long."""
    return (
        isinstance(text, str)
        and len(text) <= longest
        and not any(sign not in _JOINERS and unicodedata.category(sign) in _UNSEEN for sign in text)
    )


def _is_title(text: object) -> bool:
    return is_name(text, 2 * LONGEST_NAME)


def _number(low: float, high: float) -> Check:
    def check(value: Any) -> bool:
        return isinstance(value, int | float) and value is not True and low <= value <= high

    return check


def _whole(low: int, high: int) -> Check:
    return lambda value: type(value) is int and low <= value <= high


def _text(shape: re.Pattern[str], longest: int) -> Check:
    def check(value: Any) -> bool:
        return (
            isinstance(value, str) and len(value) <= longest and shape.fullmatch(value) is not None
        )

    return check


def _is_day(value: Any) -> bool:
    if not _text(DAY, 10)(value) or not FIRST_DAY <= value <= LAST_DAY:
        return False
    try:
        date.fromisoformat(value)
    except ValueError:
        return False
    return True


def _is_moment(value: Any) -> bool:
    if not _text(MOMENT, 20)(value) or not FIRST_DAY <= value[:10] <= LAST_DAY:
        return False
    try:
        datetime.fromisoformat(value)
    except ValueError:
        return False
    return True


def _are_slugs(value: Any) -> bool:
    return isinstance(value, list) and 1 <= len(set(map(str, value))) == len(value) and all(
        _text(_SLUG, 64)(one) for one in value
    )  # fmt: skip


def _is_list(value: Any, most: int, each: Check) -> bool:
    return isinstance(value, list) and len(value) <= most and all(map(each, value))


def _is_asked(value: Any) -> bool:
    return (
        isinstance(value, dict)
        and value.keys() | {"given"} == {"by", "goal_bpm", "given"}
        and _is_day(value["by"])
        and _BPM(value["goal_bpm"])
        and ("given" not in value or _is_day(value["given"]))
    )


def _is_month(value: Any) -> bool:
    fields = {"month", "takes", "spread_ms", "contrast_db"}
    return (
        isinstance(value, dict)
        and value.keys() == fields
        and _is_day(f"{value['month']}-01")
        and _whole(1, MOST_TAKES)(value["takes"])
        and all(
            value[name] is None or _number(-MOST_HEARD, MOST_HEARD)(value[name])
            for name in ("spread_ms", "contrast_db")
        )
    )


def _go_forward(months: list[dict[str, Any]]) -> bool:
    return all(before["month"] < after["month"] for before, after in pairwise(months))


_BPM = _number(*LOGGED)
WIDEST_BPM = TempoRange(0, 100_000)
"""The ends of a band may lie where no metronome goes."""
_ANY_BPM = _number(*WIDEST_BPM)
HEAD: dict[str, Check] = {
    "format": lambda _: True,
    "version": lambda _: True,
    "student": _text(_HEX_32, 32),
    "name": is_name,
    "written": _is_moment,
}
HEAD_MORE: dict[str, Check] = {
    "day": lambda value: value is None or _is_day(value),
    "program": lambda value: is_name(value, LONGEST_PROGRAM),
    "minutes": lambda value: value is None or _whole(1, 1440)(value),
    "taken_in": lambda value: _is_list(value, MOST_TAKEN_IN, _text(_HEX_32, 32)),
}
HEAD_HEARD: dict[str, Check] = {
    "heard": lambda value: _is_list(value, MOST_MONTHS, _is_month) and _go_forward(value),
}
CARD_MORE: dict[str, Check] = {
    "low_bpm": lambda value: value is None or _ANY_BPM(value),
    "high_bpm": lambda value: value is None or _ANY_BPM(value),
    "last_bpm": lambda value: value is None or _BPM(value),
    "asked": lambda value: _is_list(value, MOST_ASKED, _is_asked),
}
KINDS: dict[str, dict[str, Check]] = {
    "deck": {
        "kind": lambda _: True,
        "id": _text(_SLUG, 64),
        "title": _is_title,
        "edition": _whole(1, 1_000_000),
    },
    "card": {
        "kind": lambda _: True,
        "rhythm": _text(HEX_16, 16),
        "decks": _are_slugs,
        "title": _is_title,
        "goal_bpm": _BPM,
        "state": lambda value: value in STATES,
        "cold_bpm": lambda value: value is None or _BPM(value),
    },
    "day": {
        "kind": lambda _: True,
        "rhythm": _text(HEX_16, 16),
        "day": _is_day,
        "takes": _whole(1, MOST_TAKES),
        "seconds": _number(0, MOST_SECONDS),
        "cold_bpm": _BPM,
    },
}


def check(record: dict[str, Any], fields: Mapping[str, Check], where: str) -> None:
    """Refuse a line that lacks a field, has one too many, or has one of a wrong value."""
    for key in fields:
        if key not in record:
            raise ProgressError(f"{key} is missing", where=where, fix=f"it has {', '.join(fields)}")
    for key, value in record.items():
        if key not in fields:
            raise ProgressError(
                f"{key[:40]!r} is not known", where=where, fix=f"it has {', '.join(fields)}"
            )
        if not fields[key](value):
            what = f"{key} cannot be {repr(value)[:40]}"
            raise ProgressError(what, where=where, fix="docs/studio.md has the format")
