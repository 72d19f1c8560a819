"""Reply files: what a teacher sends back to one student, and nothing else.

A word, dates by which cards are wanted, other goals. JSON Lines like the other files, with a
checksum in the last line; docs/studio.md describes them. A reply is addressed to one student's box
by the id in the student's progress file. Its own id is its checksum, so the same reply is the same
however often it arrives.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from io import BytesIO
from typing import TYPE_CHECKING, Any, BinaryIO

from drillbox.base.jsonlines import END, head_of, numbered_lines, written_line
from drillbox.base.tempi import ASKED
from drillbox.errors import ReplyError
from drillbox.studio.field_checks import DAY, HEX_16, MOMENT, is_name, is_student

if TYPE_CHECKING:
    import re
    from collections.abc import Mapping

__all__ = [
    "FORMAT",
    "Goal",
    "Reply",
    "Wanted",
    "is_reply",
    "read_reply",
    "reply_from_values",
    "reply_values",
    "write_reply",
]

FORMAT = "drillbox reply"
VERSION = 1
LONGEST_NOTE = 2_000
MOST_CARDS = 150
MOST_BYTES = 1 << 18
_YEARS = range(2000, 2200)
_AGAIN = "ask for the file again"


@dataclass(frozen=True, slots=True)
class Wanted:
    """A card wanted by a day; `goal_bpm` None leaves the card's own goal."""

    rhythm: str
    by: date
    goal_bpm: float | None


@dataclass(frozen=True, slots=True)
class Goal:
    """Another goal for a card."""

    rhythm: str
    goal_bpm: float


@dataclass(frozen=True, slots=True)
class Reply:
    """What one reply says.

    Parameters
    ----------
    id
        The first 32 hex digits of the SHA-256 of what it says.
    student
        The id of the student it is for, as in the student's progress files.
    teacher
        Who wrote it; may be empty.
    written
        When, in UTC, to the second: of two replies the later word stands.
    note
        A word to the student; may be empty.
    wanted, goals
        Dates and goals.
    """

    id: str
    student: str
    teacher: str
    written: datetime
    note: str
    wanted: tuple[Wanted, ...]
    goals: tuple[Goal, ...]


def write_reply(reply: Reply, out: BinaryIO) -> str:
    """Write a reply file; return the reply's id, which follows from what it says."""
    body = _body(reply)
    digest = hashlib.sha256(body).hexdigest()
    out.write(body)
    lines = len(reply.wanted) + len(reply.goals) + bool(reply.note)
    out.write(written_line({"kind": END, "lines": lines, "sha256": digest}))
    return digest[:32]


def read_reply(content: bytes, name: str) -> Reply:
    """Read a reply file.

    Parameters
    ----------
    content
        The whole file.
    name
        What to call it in an error.

    Raises
    ------
    ReplyError
        At the first line that is not right, or where the checksum does not fit: nothing of it is
        taken in.
    """
    if len(content) > MOST_BYTES:
        raise ReplyError(f"the reply is larger than {MOST_BYTES:,} bytes", where=name)
    lines = list(numbered_lines(BytesIO(content), name, error=ReplyError, most=MOST_CARDS + 3))
    if not lines or lines[0][1].get("format") != FORMAT:
        fix = f'its first line names the format, "{FORMAT}"'
        raise ReplyError("this is no reply", where=f"{name}:1", fix=fix)
    (where, head), *body = lines
    if head.get("version") != VERSION or type(head.get("version")) is not int:
        fix = f"this drillbox reads version {VERSION}"
        raise ReplyError("the reply is of another version", where=where, fix=fix)
    if not body or body[-1][1].get("kind") != END:
        raise ReplyError("the reply is cut short: it has no end line", where=name, fix=_AGAIN)
    end = body.pop()[1]
    said = content.rstrip(b"\n").rpartition(b"\n")[0] + b"\n"
    digest = hashlib.sha256(said).hexdigest()
    if end != {"kind": END, "lines": len(body), "sha256": digest}:
        raise ReplyError("the checksum does not fit", where=name, fix=_AGAIN)
    reply = _reply((where, head), body)
    if len(reply.wanted) + len(reply.goals) > MOST_CARDS:
        what = f"more than {MOST_CARDS} lines of wanted and goal"
        raise ReplyError(what, where=body[-1][0], fix="send the rest in another reply")
    return reply


def is_reply(source: BinaryIO, name: str) -> bool:
    """Return whether a file says in its first line that it is a reply."""
    try:
        return head_of(source, name, error=ReplyError).get("format") == FORMAT
    except ReplyError:
        return False


def reply_values(reply: Reply) -> list[dict[str, Any]]:
    """Return a reply as JSON values, for a box to keep."""
    return _records(reply)


def reply_from_values(key: str, values: object) -> Reply:
    """Return the reply that a box keeps under its id.

    Raises
    ------
    ReplyError
        They are not what `reply_values` gives for a reply of that id.
    """
    if not isinstance(values, list) or not all(isinstance(one, dict) for one in values):
        raise ReplyError("this is no reply", where=key)
    if not 1 <= len(values) <= MOST_CARDS + 2:
        raise ReplyError("this is no reply", where=key)
    head, *body = ((f"{key}:{number}", one) for number, one in enumerate(values, start=1))
    reply = _reply(head, body)
    if reply.id != key:
        raise ReplyError("the reply is not the one of this id", where=key)
    return reply


def _records(reply: Reply) -> list[dict[str, Any]]:
    head = {
        "format": FORMAT,
        "version": VERSION,
        "student": reply.student,
        "teacher": reply.teacher,
        "written": f"{reply.written.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}",
    }
    body: list[dict[str, Any]] = [{"kind": "note", "text": reply.note}] if reply.note else []
    body += [
        {"kind": "wanted", "rhythm": one.rhythm, "by": one.by.isoformat(), "goal_bpm": one.goal_bpm}
        for one in reply.wanted
    ]
    body += [
        {"kind": "goal", "rhythm": one.rhythm, "goal_bpm": one.goal_bpm} for one in reply.goals
    ]
    return [head, *body]


def _body(reply: Reply) -> bytes:
    return b"".join(map(written_line, _records(reply)))


def _reply(head: tuple[str, dict[str, Any]], body: list[tuple[str, dict[str, Any]]]) -> Reply:
    where, record = head
    _check(record, _HEAD, where)
    found: dict[str, list[dict[str, Any]]] = {kind: [] for kind in _KINDS}
    for place, line in body:
        kind = line.get("kind")
        if not isinstance(kind, str) or kind not in _KINDS:
            fix = f"it is one of {', '.join(_KINDS)}"
            raise ReplyError("the line's kind is not known", where=place, fix=fix)
        _check(line, _KINDS[kind], place)
        same = [one for one in found[kind] if kind == "note" or one["rhythm"] == line["rhythm"]]
        if same:
            raise ReplyError(f"a second {kind} of the same", where=place, fix=_AGAIN)
        found[kind].append(line)
    reply = Reply(
        id="",
        student=record["student"],
        teacher=record["teacher"],
        written=datetime.fromisoformat(record["written"]),
        note=found["note"][0]["text"] if found["note"] else "",
        wanted=tuple(
            Wanted(one["rhythm"], date.fromisoformat(one["by"]), _float(one["goal_bpm"]))
            for one in found["wanted"]
        ),
        goals=tuple(Goal(one["rhythm"], float(one["goal_bpm"])) for one in found["goal"]),
    )
    # Of what it says, not of how it is written: the same words are the same reply.
    return replace(reply, id=hashlib.sha256(_body(reply)).hexdigest()[:32])


def _float(value: float | None) -> float | None:
    return None if value is None else float(value)


def _is_bpm(value: Any) -> bool:
    return type(value) in (int, float) and ASKED.least <= value <= ASKED.most


def _is_rhythm(value: Any) -> bool:
    return isinstance(value, str) and HEX_16.fullmatch(value) is not None


def _is_note(value: Any) -> bool:
    return (
        isinstance(value, str)
        and bool(value.strip())
        and len(value) <= LONGEST_NOTE
        and all(is_name(line, LONGEST_NOTE) for line in value.split("\n"))
    )


def _is_time(value: Any, shape: re.Pattern[str]) -> bool:
    if not isinstance(value, str) or shape.fullmatch(value) is None:
        return False
    try:
        return datetime.fromisoformat(value).year in _YEARS
    except ValueError:
        return False


_HEAD = {
    "format": lambda value: value == FORMAT,
    "version": lambda value: value == VERSION,
    "student": is_student,
    "teacher": is_name,
    "written": lambda value: _is_time(value, MOMENT),
}
_KINDS: Mapping[str, Mapping[str, Any]] = {
    "note": {"kind": lambda _: True, "text": _is_note},
    "wanted": {
        "kind": lambda _: True,
        "rhythm": _is_rhythm,
        "by": lambda value: _is_time(value, DAY),
        "goal_bpm": lambda value: value is None or _is_bpm(value),
    },
    "goal": {"kind": lambda _: True, "rhythm": _is_rhythm, "goal_bpm": _is_bpm},
}


def _check(record: Mapping[str, Any], fields: Mapping[str, Any], where: str) -> None:
    if record.keys() != fields.keys():
        odd = min(record.keys() ^ fields.keys())
        fix = f"it has {', '.join(fields)}"
        raise ReplyError(f"{ascii(odd)[:40]} is missing or not known", where=where, fix=fix)
    for key, value in record.items():
        if not fields[key](value):
            what = f"{key} cannot be {ascii(value)[:40]}"
            raise ReplyError(what, where=where, fix="docs/studio.md has the format")
