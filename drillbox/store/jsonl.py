"""The take log as a text file: JSON Lines (https://jsonlines.org), one entry a line.

The file opens with a header line that names the format and its version; docs/box-file.md is its
reference. The last line counts the entries, so that a file cut on its way is known. A file is
refused whole at the first line that is not right, with the line's number: nothing of it is taken
in. Files of version 1, which have no end line, are still read.

Reading is safe against hostile files: lines are limited in length and values in depth, numbers are
finite, keys are unique, and no value is trusted before it has passed the checks of its row.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, BinaryIO

from drillbox.base.jsonlines import end_line, numbered_lines, until_end, written_line
from drillbox.errors import LogError, UsageError
from drillbox.store import checks
from drillbox.store.rows import LogEntry, Retraction, TakeRow

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

FORMAT = "drillbox take log"
VERSION = 2
WITHOUT_END = 1
"""The version of before there were end lines."""

_TAKE_KEYS = ("kind", "id", "card", "bpm", "grade", "at", "zone", "seconds", "source")
_RETRACTION_KEYS = ("kind", "id", "take", "at")


def write_log(entries: Iterable[LogEntry | bytes], out: BinaryIO) -> int:
    """Write a header, the entries in the order given and the end line.

    Return how many entries there were. What is lines already (`log_lines`) is written as it is.
    """
    out.write(written_line({"format": FORMAT, "version": VERSION}))
    written = 0
    for entry in entries:
        lines = entry if isinstance(entry, bytes) else line_of(entry)
        out.write(lines)
        written += lines.count(b"\n")
    out.write(end_line(written))
    return written


def line_of(entry: LogEntry) -> bytes:
    """Return an entry as a line."""
    return written_line(_as_object(entry))


def read_log(source: BinaryIO, name: str) -> Iterator[LogEntry]:
    """Give the entries of a log file one by one.

    Parameters
    ----------
    source
        The file, open for reading bytes.
    name
        What to call it when a line is refused.

    Raises
    ------
    LogError
        At the first line that is not right.
    """
    lines = numbered_lines(source, name, error=LogError)
    version = _version(*next(lines, (f"{name}:1", {})))
    rest = lines if version == WITHOUT_END else until_end(lines, name, error=LogError)
    for where, record in rest:
        yield _entry(where, record)


def _as_object(entry: LogEntry) -> dict[str, Any]:
    at = checks.instant_text(entry.at)
    if isinstance(entry, Retraction):
        return {"kind": "retraction", "id": entry.id, "take": entry.take_id, "at": at}
    values = (
        entry.id,
        entry.card_id,
        entry.bpm,
        entry.grade,
        at,
        entry.zone,
        entry.seconds,
        entry.source,
    )
    record: dict[str, Any] = dict(zip(_TAKE_KEYS, ("take", *values), strict=True))
    if entry.measures is not None:
        record["measures"] = entry.measures
    return record


def _version(where: str, record: dict[str, Any]) -> int:
    if record.get("format") != FORMAT:
        raise LogError(
            "this is no take log", where=where, fix=f'its first line names the format, "{FORMAT}"'
        )
    version = record.get("version")
    if type(version) is not int or version not in (WITHOUT_END, VERSION):
        raise LogError(
            f"this is version {checks.shown(version)} of the take log",
            where=where,
            fix=f"this drillbox reads versions {WITHOUT_END} and {VERSION}",
        )
    return version


def _entry(where: str, record: dict[str, Any]) -> LogEntry:
    kind = record.get("kind")
    if kind not in ("take", "retraction"):
        fix = 'it is "take" or "retraction"'
        raise LogError(f"the kind is {checks.shown(kind)}", where=where, fix=fix)
    needed, more = (_TAKE_KEYS, ("measures",)) if kind == "take" else (_RETRACTION_KEYS, ())
    missing = [key for key in needed if key not in record]
    unknown = [key for key in record if key not in (*needed, *more)]
    if missing or unknown:
        problem = (
            f"{missing[0]} is missing" if missing else f"{checks.shown(unknown[0])} is not known"
        )
        raise LogError(problem, where=where, fix=f"a {kind} has {', '.join(needed)}")
    try:
        return _take(record) if kind == "take" else _retraction(record)
    except UsageError as error:
        raise LogError(error.what, where=where, fix=error.fix) from None


def _take(record: dict[str, Any]) -> TakeRow:
    return TakeRow(
        id=record["id"],
        card_id=record["card"],
        bpm=record["bpm"],
        grade=record["grade"],
        at=checks.instant_of(record["at"]),
        zone=record["zone"],
        seconds=record["seconds"],
        source=record["source"],
        measures=record.get("measures"),
    )


def _retraction(record: dict[str, Any]) -> Retraction:
    return Retraction(record["id"], record["take"], checks.instant_of(record["at"]))
