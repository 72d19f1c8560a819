"""What values a box accepts, checked once, when a row is made.

A row that exists is right: every value of `drillbox.store.rows` passes through here when it is
made, so the tables, the log file and the screens need not ask again. The tables repeat the coarse
part as CHECKs, for programs that write to the file without us.

Conventions: an instant is an aware datetime in UTC; as text it is RFC 3339 with six digits of
microseconds and ``Z``, always 27 characters, so that text order is time order. An id is 32
lowercase hex digits, a card id 16.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any
from unicodedata import category

from drillbox.errors import UsageError

CARD_ID = re.compile(r"[0-9a-f]{16}")
ID_START = re.compile(r"[0-9a-f]{1,32}")
ENTRY_ID = re.compile(r"[0-9a-f]{32}")
ZONE = re.compile(r"[A-Za-z][A-Za-z0-9_+\-/:]{0,63}|[+-](?:[01]\d|2[0-3]):[0-5]\d")
FIRST_MOMENT = datetime(1970, 1, 1, tzinfo=UTC)
LAST_MOMENT = datetime(2200, 1, 1, tzinfo=UTC)
"""A take is dated between these; outside, a clock or a program was wrong."""
EXPECTED_BPM, EXPECTED_SD = "expected_bpm", "expected_sd"
"""Measures of a card's first take.

The tempo that its relatives let expect, and its standard deviation in octaves.
"""
LEVEL, LEVEL_AFTER = "level", "level_after"
"""Measures of any take: the player's level before and after it, in octaves."""
MEASURED = "ear"
"""The name in a take's measures under which what the ear measured is kept."""
FARTHEST_LEVEL = 4.0
"""Nobody gets so many octaves faster or slower all over."""
WIDEST_SD = 1.0
"""Nobody knows less than this of a tempo."""
_NUMBERS = re.compile(
    r'\{(?:"[a-z_]{1,40}":-?\d{1,17}(?:\.\d{1,20})?(?:e[+-]?\d{1,2})?(?:,(?=")|(?=\})))*\}'
)
DEEPEST = 8  # levels of a JSON value
LONGEST_JSON = 32_768


def number(value: Any, name: str, *, low: float, high: float) -> float:
    """Return `value` as a float if it is a finite number in [low, high]."""
    if not isinstance(value, int | float) or isinstance(value, bool) or not low <= value <= high:
        raise UsageError(
            f"{name} is {shown(value)}",
            where=name,
            fix=f"give a number from {low:g} to {high:g}",
        )
    return float(value)


def whole(value: Any, name: str, *, low: int, high: int) -> int:
    """Return `value` as a plain int if it is a whole number in [low, high]."""
    if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
        raise UsageError(
            f"{name} is {shown(value)}",
            where=name,
            fix=f"give a whole number from {low} to {high}",
        )
    return int(value)


def shaped(value: Any, name: str, shape: re.Pattern[str], fix: str) -> str:
    """Return `value` if it is text that `shape` matches whole."""
    if not isinstance(value, str) or shape.fullmatch(value) is None:
        raise UsageError(f"{name} is {shown(value)}", where=name, fix=fix)
    return value


def card_id(value: Any, name: str = "card_id") -> str:
    """Return `value` if it is a card's fingerprint."""
    return shaped(value, name, CARD_ID, "give the 16 lowercase hex digits of a fingerprint")


def entry_id(value: Any, name: str = "id") -> str:
    """Return `value` if it is the id of a log entry."""
    return shaped(value, name, ENTRY_ID, "give 32 lowercase hex digits, as uuid4().hex does")


def zone(value: Any) -> str:
    """Return `value` if it can be a time zone's name or offset; whether it is known is not asked.

    A log written where the zone data is newer must still be readable here.
    """
    return shaped(value, "zone", ZONE, 'give a zone such as "Europe/Berlin", "UTC" or "+02:00"')


def line(value: Any, name: str, *, longest: int, empty: bool = False) -> str:
    """Return `value` if it is one line of text of at most `longest` characters."""
    if not isinstance(value, str) or len(value) > longest or not _is_one_line(value):
        raise UsageError(
            f"{name} is {shown(value)}",
            where=name,
            fix=f"give one line of at most {longest} characters",
        )
    if not value and not empty:
        raise UsageError(f"{name} is empty", where=name, fix="give it a text")
    return value


def prose(value: Any, name: str, *, longest: int) -> str:
    """Return `value` if it is text that UTF-8 can hold, lines and all, without NUL."""
    if (
        not isinstance(value, str)
        or len(value) > longest
        or "\0" in value
        or _has_surrogates(value)
    ):
        raise UsageError(
            f"{name} is {shown(value)}",
            where=name,
            fix=f"give plain text of at most {longest:,} characters",
        )
    return value


def instant(value: Any, name: str = "at") -> datetime:
    """Return `value` in UTC if it is an aware datetime."""
    if not isinstance(value, datetime) or value.utcoffset() is None:
        raise UsageError(
            f"{name} is {shown(value)}", where=name, fix="give a datetime that knows its time zone"
        )
    try:
        return value.astimezone(UTC)
    except OverflowError:
        raise UsageError(
            f"{name} is {shown(value)}", where=name, fix="give a time of the years 1 to 9999"
        ) from None


def played_at(value: Any) -> datetime:
    """Return `value` in UTC if it is an aware datetime at which a take may have been played."""
    at = instant(value)
    if not FIRST_MOMENT <= at < LAST_MOMENT:
        raise UsageError(
            f"at is {shown(value)}",
            where="at",
            fix=f"give a time of the years {FIRST_MOMENT.year} to {LAST_MOMENT.year - 1}",
        )
    return at


def measures(value: Any, *, slowest: float, fastest: float) -> dict[str, Any] | None:
    """Return a private copy of a take's measures if they are a JSON object that makes sense.

    A copy, so that no caller can change a row later. What memory reads of them is a tempo and how
    far it may be off.
    """
    if value is None:
        return None
    if not isinstance(value, Mapping):
        raise UsageError("measures is no object", where="measures", fix="give names and values")
    plain: dict[str, Any] = json.loads(json_text(dict(value), "measures"))
    return _sensible(plain, slowest, fastest)


def stored_measures(text: str, *, slowest: float, fastest: float) -> dict[str, Any] | None:
    """Return the measures that a stored text says; the usual ones, names and numbers, quickly."""
    if len(text) <= LONGEST_JSON and _NUMBERS.fullmatch(text):
        return _sensible(json.loads(text), slowest, fastest)
    return measures(json.loads(text), slowest=slowest, fastest=fastest)


def _sensible(plain: dict[str, Any], slowest: float, fastest: float) -> dict[str, Any]:
    """Return measures whose numbers that memory reads are in range."""
    for name, low, high in (
        (EXPECTED_BPM, slowest, fastest),
        (EXPECTED_SD, 1e-6, WIDEST_SD),
        (LEVEL, -FARTHEST_LEVEL, FARTHEST_LEVEL),
        (LEVEL_AFTER, -FARTHEST_LEVEL, FARTHEST_LEVEL),
    ):
        if name in plain:
            plain[name] = number(plain[name], name, low=low, high=high)
    return plain


def instant_text(value: datetime) -> str:
    """Return an instant, on whatever wall clock, as the 27 characters in UTC that are stored."""
    utc = value if value.tzinfo is UTC else value.astimezone(UTC)
    return f"{utc.isoformat(timespec='microseconds')[:26]}Z"


def instant_of(text: Any) -> datetime:
    """Return the instant that an ISO 8601 text with an offset names."""
    try:
        return instant(datetime.fromisoformat(text))
    except (TypeError, ValueError):
        raise UsageError(
            f"at is {shown(text)}", where="at", fix='write a time as "2026-03-01T18:30:00.000000Z"'
        ) from None


def json_text(value: Any, name: str) -> str:
    """Return `value` as compact JSON with sorted keys: equal values give equal texts."""
    _refuse_depth(value, name, DEEPEST)
    try:
        text = json.dumps(value, allow_nan=False, sort_keys=True, separators=(",", ":"))
    except (TypeError, ValueError):
        raise UsageError(
            f"{name} is no JSON", where=name, fix="give finite numbers, texts, lists and objects"
        ) from None
    if r"\ud" in text and _has_surrogates(json.dumps(value, ensure_ascii=False)):
        raise UsageError(f"{name} has half a character", where=name, fix="give plain text")
    if len(text) > LONGEST_JSON:
        raise UsageError(
            f"{name} has {len(text):,} characters as JSON",
            where=name,
            fix=f"keep it to {LONGEST_JSON:,}",
        )
    return text


def _refuse_depth(value: Any, name: str, left: int) -> None:
    if isinstance(value, Mapping):
        if not all(isinstance(key, str) for key in value):
            raise UsageError(
                f"{name} has a key that is no text", where=name, fix="name every value"
            )
        inner = list(value.values())
    elif isinstance(value, list | tuple):
        inner = list(value)
    else:
        return
    if left == 0:
        raise UsageError(f"{name} is nested too deep", where=name, fix=f"keep to {DEEPEST} levels")
    for item in inner:
        _refuse_depth(item, name, left - 1)


def _is_one_line(value: str) -> bool:
    # isprintable() is quick but also refuses no-break spaces and joined emoji, which titles may
    # have.
    return value.isprintable() or not any(
        category(sign) in {"Cc", "Cs", "Zl", "Zp"} for sign in value
    )


def _has_surrogates(value: str) -> bool:
    return any(category(sign) == "Cs" for sign in value) if not value.isascii() else False


def shown(value: Any) -> str:
    """Return a value as a message may show it: short, and without a sign that moves the cursor."""
    if isinstance(value, int) and abs(value) > 10**18:
        return "a huge number"
    if not isinstance(value, str | int | float | datetime | None):
        return f"a {type(value).__name__}"
    text = value.isoformat() if isinstance(value, datetime) else ascii(value)
    text = re.sub(r"(?<!\\)\\udc([89a-f][0-9a-f])", r"<\1>", text)  # a byte that is no text
    return text if len(text) <= 60 else f"{text[:57]}..."
