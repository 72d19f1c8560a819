"""Progress files, written and read.

JSON Lines, refused whole where anything is wrong. docs/studio.md describes them.
"""

from __future__ import annotations

import re
import unicodedata
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any, BinaryIO, TypeGuard

from drillbox.base.jsonlines import end_line, numbered_lines, until_end, written_line
from drillbox.base.tempi import LOGGED
from drillbox.errors import ProgressError
from drillbox.studio.progress import STATES, Asked, CardProgress, DeckInfo, Played, Progress

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    Check = Callable[[Any], bool]

__all__ = ["FORMAT", "LONGEST_NAME", "VERSION", "is_name", "read_progress", "write_progress"]

FORMAT = "drillbox progress"
VERSION = 2
FIRST_VERSION = 1
"""Without an end line, and without what the later one adds to the head and to cards."""
MOST_ASKED, MOST_TAKEN_IN, LONGEST_PROGRAM = 100, 1_000, 40
LONGEST_NAME = 80
MOST_DECKS, MOST_CARDS, MOST_DAYS = 1_000, 20_000, 40_000
MOST_LINES = 500_000

_HEX_16 = re.compile(r"[0-9a-f]{16}")
_HEX_32 = re.compile(r"[0-9a-f]{32}")
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_MOMENT = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}Z")
_UNSEEN = ("Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp")
_JOINERS = ("\u200c", "\u200d")
"""Invisible, but part of the spelling in some scripts."""
_SLUG = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")


def write_progress(progress: Progress, out: BinaryIO) -> None:
    """Write a progress file."""
    out.write(
        written_line(
            {
                "format": FORMAT,
                "version": VERSION,
                "student": progress.student,
                "name": progress.name,
                "written": f"{progress.written.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}",
                "day": None if progress.day is None else progress.day.isoformat(),
                "program": progress.program,
                "minutes": progress.minutes,
                "taken_in": list(progress.taken_in),
            }
        )
    )
    body = [_deck_record(deck) for deck in progress.decks]
    for card in progress.cards:
        body.append(_card_record(card))
        body += [_day_record(card.rhythm, played) for played in card.days]
    out.writelines(map(written_line, body))
    out.write(end_line(len(body)))


def read_progress(source: BinaryIO, name: str) -> Progress:
    """Read a progress file.

    Parameters
    ----------
    source
        The file, open for reading bytes.
    name
        What to call it in an error.

    Raises
    ------
    ProgressError
        At the first line that is not right.
    """
    lines = numbered_lines(source, name, error=ProgressError, most=MOST_LINES)
    where, head = next(lines, (f"{name}:1", {}))
    if head.get("format") != FORMAT:
        fix = f'its first line names the format, "{FORMAT}"'
        raise ProgressError("this is no progress file", where=where, fix=fix)
    version = head.get("version")
    if type(version) is not int or version not in (FIRST_VERSION, VERSION):
        fix = f"this drillbox reads versions {FIRST_VERSION} and {VERSION}"
        raise ProgressError("the progress file is of another version", where=where, fix=fix)
    first = version == FIRST_VERSION
    _check(head, _HEAD if first else _HEAD | _HEAD_MORE, where)
    kinds = _KINDS if first else _KINDS | {"card": _KINDS["card"] | _CARD_MORE}
    decks, cards = _body(lines if first else until_end(lines, name, error=ProgressError), kinds)
    day = head.get("day")
    return Progress(
        student=head["student"],
        name=head["name"].strip(),
        written=datetime.fromisoformat(head["written"]),
        decks=tuple(decks.values()),
        cards=tuple(cards.values()),
        day=None if day is None else date.fromisoformat(day),
        program=head.get("program", ""),
        minutes=head.get("minutes"),
        taken_in=tuple(head.get("taken_in", ())),
    )


def _body(
    lines: Iterator[tuple[str, dict[str, Any]]], kinds: Mapping[str, Mapping[str, Check]]
) -> tuple[dict[str, DeckInfo], dict[str, CardProgress]]:
    decks: dict[str, DeckInfo] = {}
    cards: dict[str, dict[str, Any]] = {}
    days: dict[str, list[Played]] = {}
    for where, record in lines:
        kind = str(record.get("kind"))
        if kind not in _KINDS:
            raise ProgressError(
                "the line's kind is not known", where=where, fix=f"it is one of {', '.join(_KINDS)}"
            )
        _check(record, kinds[kind], where)
        if kind == "deck":
            _once(record["id"], decks, MOST_DECKS, where)
            decks[record["id"]] = DeckInfo(record["id"], record["title"], record["edition"])
        elif kind == "card":
            if unknown := [deck for deck in record["decks"] if deck not in decks]:
                raise ProgressError(f"there is no deck {unknown[0]!r} above", where=where)
            _once(record["rhythm"], cards, MOST_CARDS, where)
            cards[record["rhythm"]], days[record["rhythm"]] = record, []
        else:
            _add_day(record, days, where)
    return decks, {rhythm: _card(record, days[rhythm]) for rhythm, record in cards.items()}


def _once(key: str, seen: Mapping[str, object], most: int, where: str) -> None:
    if key in seen:
        raise ProgressError(f"{key} is there twice", where=where)
    if len(seen) >= most:
        raise ProgressError(f"more than {most:,} of them", where=where)


def _add_day(record: dict[str, Any], days: dict[str, list[Played]], where: str) -> None:
    if record["rhythm"] not in days:
        raise ProgressError("there is no card of this rhythm above", where=where)
    played = days[record["rhythm"]]
    day = date.fromisoformat(record["day"])
    if played and played[-1].day >= day:
        raise ProgressError("a card's days must go forward", where=where)
    if len(played) >= MOST_DAYS:
        raise ProgressError(f"more than {MOST_DAYS:,} days of one card", where=where)
    seconds, cold_bpm = float(record["seconds"]), float(record["cold_bpm"])
    played.append(Played(day, record["takes"], seconds, cold_bpm))


def _card(record: dict[str, Any], days: list[Played]) -> CardProgress:
    return CardProgress(
        rhythm=record["rhythm"],
        title=record["title"],
        decks=tuple(record["decks"]),
        goal_bpm=float(record["goal_bpm"]),
        state=record["state"],
        cold_bpm=_float(record["cold_bpm"]),
        days=tuple(days),
        low_bpm=_float(record.get("low_bpm")),
        high_bpm=_float(record.get("high_bpm")),
        asked=tuple(
            Asked(date.fromisoformat(one["by"]), float(one["goal_bpm"]))
            for one in record.get("asked", ())
        ),
    )


def _float(value: float | None) -> float | None:
    return None if value is None else float(value)


def _tenth(value: float | None) -> float | None:
    return None if value is None else round(value, 1)


def _deck_record(deck: DeckInfo) -> dict[str, Any]:
    return {"kind": "deck", "id": deck.id, "title": deck.title, "edition": deck.edition}


def _card_record(card: CardProgress) -> dict[str, Any]:
    return {
        "kind": "card",
        "rhythm": card.rhythm,
        "decks": list(card.decks),
        "title": card.title,
        "goal_bpm": card.goal_bpm,
        "state": card.state,
        "cold_bpm": _tenth(card.cold_bpm),
        "low_bpm": _tenth(card.low_bpm),
        "high_bpm": _tenth(card.high_bpm),
        "asked": [{"by": one.by.isoformat(), "goal_bpm": one.goal_bpm} for one in card.asked],
    }


def _day_record(rhythm: str, played: Played) -> dict[str, Any]:
    return {
        "kind": "day",
        "rhythm": rhythm,
        "day": played.day.isoformat(),
        "takes": played.takes,
        "seconds": round(played.seconds, 1),
        "cold_bpm": round(played.cold_bpm, 1),
    }


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
    if not _text(_DAY, 10)(value):
        return False
    try:
        date.fromisoformat(value)
    except ValueError:
        return False
    return True


def _is_moment(value: Any) -> bool:
    if not _text(_MOMENT, 20)(value):
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
        and value.keys() == {"by", "goal_bpm"}
        and _is_day(value["by"])
        and _BPM(value["goal_bpm"])
    )


_BPM = _number(*LOGGED)
_ANY_BPM = _number(0, 100_000)
"""The ends of a band may lie where no metronome goes."""
_HEAD: dict[str, Check] = {
    "format": lambda _: True,
    "version": lambda _: True,
    "student": _text(_HEX_32, 32),
    "name": is_name,
    "written": _is_moment,
}
_HEAD_MORE: dict[str, Check] = {
    "day": lambda value: value is None or _is_day(value),
    "program": lambda value: is_name(value, LONGEST_PROGRAM),
    "minutes": lambda value: value is None or _whole(1, 1440)(value),
    "taken_in": lambda value: _is_list(value, MOST_TAKEN_IN, _text(_HEX_32, 32)),
}
_CARD_MORE: dict[str, Check] = {
    "low_bpm": lambda value: value is None or _ANY_BPM(value),
    "high_bpm": lambda value: value is None or _ANY_BPM(value),
    "asked": lambda value: _is_list(value, MOST_ASKED, _is_asked),
}
_KINDS: dict[str, dict[str, Check]] = {
    "deck": {
        "kind": lambda _: True,
        "id": _text(_SLUG, 64),
        "title": _is_title,
        "edition": _whole(1, 1_000_000),
    },
    "card": {
        "kind": lambda _: True,
        "rhythm": _text(_HEX_16, 16),
        "decks": _are_slugs,
        "title": _is_title,
        "goal_bpm": _BPM,
        "state": lambda value: value in STATES,
        "cold_bpm": lambda value: value is None or _BPM(value),
    },
    "day": {
        "kind": lambda _: True,
        "rhythm": _text(_HEX_16, 16),
        "day": _is_day,
        "takes": _whole(1, 10_000),
        "seconds": _number(0, 864_000),
        "cold_bpm": _BPM,
    },
}


def _check(record: dict[str, Any], fields: Mapping[str, Check], where: str) -> None:
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
