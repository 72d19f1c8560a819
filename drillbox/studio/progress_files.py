"""Progress files, written and read.

JSON Lines, refused whole where anything is wrong. docs/studio.md describes them.
"""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, date, datetime
from io import BytesIO
from typing import TYPE_CHECKING, Any, BinaryIO

from drillbox.base.jsonlines import end_line, numbered_lines, until_end, written_line
from drillbox.base.tempi import LOGGED
from drillbox.errors import ProgressError
from drillbox.studio.day_lines import MOST_DAYS, CardDays, days_at_once
from drillbox.studio.field_checks import (
    CARD_MORE,
    HEAD,
    HEAD_HEARD,
    HEAD_MORE,
    KINDS,
    MOST_ASKED,
    MOST_MONTHS,
    MOST_SECONDS,
    MOST_TAKES,
    WIDEST_BPM,
    check,
)
from drillbox.studio.progress import (
    Asked,
    CardProgress,
    DeckInfo,
    HeardMonth,
    Played,
    Progress,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from drillbox.base.tempi import TempoRange
    from drillbox.studio.field_checks import Check

__all__ = ["FORMAT", "VERSION", "read_progress", "write_progress"]

FORMAT = "drillbox progress"
VERSION = 3
"""With what was heard; a file that does not show it is written as the one before."""
PLAIN_VERSION = 2
FIRST_VERSION = 1
"""Without an end line, and without what the later one adds to the head and to cards."""
MOST_DECKS, MOST_CARDS = 1_000, 20_000
MOST_LINES = 500_000
MOST_BYTES = 32 << 20
"""A file this large holds decades of practice."""
_CARD, _END = b'\n{"kind": "card"', b'\n{"kind": "end"'


def write_progress(progress: Progress, out: BinaryIO) -> None:
    """Write a progress file.

    What a box holds beyond the ends of what a file may say is written as those ends, and of lists
    that are too long the latest, so that whatever is written can be read.
    """
    months = progress.heard[-MOST_MONTHS:]
    heard = {"heard": [asdict(month) for month in months]} if months else {}
    out.write(
        written_line(
            {
                "format": FORMAT,
                "version": VERSION if progress.heard else PLAIN_VERSION,
                "student": progress.student,
                "name": progress.name,
                "written": f"{progress.written.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}",
                "day": None if progress.day is None else progress.day.isoformat(),
                "program": progress.program,
                "minutes": progress.minutes,
                "taken_in": list(progress.taken_in),
                **heard,
            }
        )
    )
    body = [written_line(_deck_record(deck)) for deck in progress.decks]
    for card in progress.cards:
        body.append(written_line(_card_record(card)))
        body += _day_lines(card)
    out.writelines(body)
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
    where, head = next(numbered_lines(source, name, error=ProgressError), (f"{name}:1", {}))
    if head.get("format") != FORMAT:
        fix = f'its first line names the format, "{FORMAT}"'
        raise ProgressError("this is no progress file", where=where, fix=fix)
    version = head.get("version")
    if type(version) is not int or not FIRST_VERSION <= version <= VERSION:
        fix = f"this drillbox reads versions {FIRST_VERSION} to {VERSION}"
        raise ProgressError("the progress file is of another version", where=where, fix=fix)
    first = version == FIRST_VERSION
    more = {} if first else HEAD_MORE | (HEAD_HEARD if version == VERSION else {})
    check(head, HEAD | more, where)
    kinds = KINDS if first else KINDS | {"card": KINDS["card"] | CARD_MORE}
    content = source.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise ProgressError(f"the file is larger than {MOST_BYTES >> 20} MiB", where=name)
    lines = _lines(content, name)
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
        heard=tuple(HeardMonth(**month) for month in head.get("heard", ())),
    )


def _lines(content: bytes, name: str) -> Iterator[tuple[str, dict[str, Any] | CardDays]]:
    """Give the object of each line after the head, or the days below a card all at once."""
    number = 2
    for piece in _pieces(content):
        first, _, rest = piece.partition(b"\n")
        lines = piece.count(b"\n")
        days = days_at_once(rest) if number + lines <= MOST_LINES else None
        read = BytesIO(piece if days is None else first + b"\n")
        yield from numbered_lines(read, name, error=ProgressError, most=MOST_LINES, first=number)
        if days is not None:
            yield f"{name}:{number + 1}", days
        number += lines


def _pieces(content: bytes) -> Iterator[bytes]:
    """Cut lines before each card and before the end."""
    begin = 0
    while begin < len(content):
        cut = content.find(_CARD, begin)
        cut = content.find(_END, begin) if cut < 0 else cut
        end = len(content) if cut < 0 else cut + 1
        yield content[begin:end]
        begin = end


def _body(
    lines: Iterator[tuple[str, dict[str, Any] | CardDays]],
    kinds: Mapping[str, Mapping[str, Check]],
) -> tuple[dict[str, DeckInfo], dict[str, CardProgress]]:
    decks: dict[str, DeckInfo] = {}
    cards: dict[str, dict[str, Any]] = {}
    days: dict[str, list[Played]] = {}
    for where, record in lines:
        if isinstance(record, CardDays):
            _add_days(record, days, where)
            continue
        kind = str(record.get("kind"))
        if kind not in KINDS:
            raise ProgressError(
                "the line's kind is not known", where=where, fix=f"it is one of {', '.join(KINDS)}"
            )
        check(record, kinds[kind], where)
        if kind == "deck":
            _once(record["id"], decks, MOST_DECKS, where)
            decks[record["id"]] = DeckInfo(record["id"], record["title"], record["edition"])
        elif kind == "card":
            if unknown := [deck for deck in record["decks"] if deck not in decks]:
                raise ProgressError(f"there is no deck {unknown[0]!r} above", where=where)
            _once(record["rhythm"], cards, MOST_CARDS, where)
            cards[record["rhythm"]], days[record["rhythm"]] = record, []
        else:
            seconds, cold_bpm = float(record["seconds"]), float(record["cold_bpm"])
            on = date.fromisoformat(record["day"])
            played = Played(on, record["takes"], seconds, cold_bpm)
            _add_days(CardDays(record["rhythm"], [played]), days, where)
    return decks, {rhythm: _card(record, days[rhythm]) for rhythm, record in cards.items()}


def _once(key: str, seen: Mapping[str, object], most: int, where: str) -> None:
    if key in seen:
        raise ProgressError(f"{key} is there twice", where=where)
    if len(seen) >= most:
        raise ProgressError(f"more than {most:,} of them", where=where)


def _add_days(found: CardDays, days: Mapping[str, list[Played]], where: str) -> None:
    if found.rhythm not in days:
        raise ProgressError("there is no card of this rhythm above", where=where)
    played = days[found.rhythm]
    if played and played[-1].day >= found.days[0].day:
        raise ProgressError("a card's days must go forward", where=where)
    if len(played) + len(found.days) > MOST_DAYS:
        raise ProgressError(f"more than {MOST_DAYS:,} days of one card", where=where)
    played += found.days


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
        last_bpm=_float(record.get("last_bpm")),
        asked=tuple(
            Asked(
                date.fromisoformat(one["by"]),
                float(one["goal_bpm"]),
                date.fromisoformat(one["given"]) if "given" in one else None,
            )
            for one in record.get("asked", ())
        ),
    )


def _float(value: float | None) -> float | None:
    return None if value is None else float(value)


def _bpm(value: float | None, widest: TempoRange = LOGGED) -> float | None:
    """Return a tempo to a tenth, within what may stand in a file."""
    return None if value is None else round(widest.nearest(value), 1)


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
        "cold_bpm": _bpm(card.cold_bpm),
        "low_bpm": _bpm(card.low_bpm, WIDEST_BPM),
        "high_bpm": _bpm(card.high_bpm, WIDEST_BPM),
        "last_bpm": _bpm(card.last_bpm),
        "asked": [_asked_record(one) for one in card.asked[-MOST_ASKED:]],
    }


def _asked_record(asked: Asked) -> dict[str, Any]:
    given = {} if asked.given is None else {"given": asked.given.isoformat()}
    return {"by": asked.by.isoformat(), "goal_bpm": asked.goal_bpm, **given}


def _day_lines(card: CardProgress) -> list[bytes]:
    """Return the practice days of a card as lines of JSON.

    Nine lines in ten are such, and nothing in them needs an escape, so they are written by hand.
    """
    start = f'{{"kind": "day", "rhythm": "{card.rhythm}", "day": "'
    slowest, fastest = LOGGED
    return [
        (
            f'{start}{day.isoformat()}", "takes": {min(takes, MOST_TAKES)}, '
            f'"seconds": {min(seconds, MOST_SECONDS):.1f}, '
            f'"cold_bpm": {min(max(cold_bpm, slowest), fastest):.1f}}}\n'
        ).encode()
        for day, takes, seconds, cold_bpm in card.days
    ]
