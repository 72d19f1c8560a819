"""JSON Lines from strangers (https://jsonlines.org): one object a line, nothing trusted.

Lines are limited in length, their number may be; keys are unique, numbers are finite; what is wrong
is said with its line number, as an error of the reader's own kind. A file ends with a line that
says how many lines stand between it and the head: one that was cut on its way is never taken for
whole.
"""

from __future__ import annotations

import json
from codecs import BOM_UTF8
from math import isinf
from typing import TYPE_CHECKING, Any, BinaryIO, NoReturn, TypeVar

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sized

    from drillbox.errors import DrillboxError

LONGEST_LINE = 65_536  # bytes
END = "end"
"""The kind of the last line."""
_SHOWN = 20
_WRITER = json.JSONEncoder(ensure_ascii=False, allow_nan=False)
Record = TypeVar("Record", bound="Sized")
_AGAIN = "write it again, or copy it again, whole"
_MEND = "mend the line, or write the file again"


def written_value(value: Any) -> str:
    """Return a value as JSON."""
    return _WRITER.encode(value)


def written_line(record: dict[str, Any]) -> bytes:
    """Return an object as a line."""
    text = written_value(record)
    try:
        return text.encode() + b"\n"
    except UnicodeEncodeError:  # half a surrogate pair, which only an escape can carry
        return json.dumps(record, allow_nan=False).encode() + b"\n"


def head_of(source: BinaryIO, name: str, *, error: type[DrillboxError]) -> dict[str, Any]:
    """Return the object of a file's first line; empty where there is no line."""
    return next(numbered_lines(source, name, error=error), (name, {}))[1]


def end_line(lines: int) -> bytes:
    """Return the last line of a file with so many lines after its head."""
    return written_line({"kind": END, "lines": lines})


def until_end(
    lines: Iterable[tuple[str, Record]], name: str, *, error: type[DrillboxError]
) -> Iterator[tuple[str, Record]]:
    """Give the lines after the head and before the end line.

    What is no object stands for as many lines as its length.

    Raises
    ------
    DrillboxError
        Of the kind `error`, if the end line is missing, counts otherwise, or is not the last.
    """
    passed, ended = 0, False
    for where, record in lines:
        if ended:
            raise error("a line stands after the end line", where=where, fix=_AGAIN)
        if isinstance(record, dict) and record.get("kind") == END:
            if record != {"kind": END, "lines": passed}:
                what = f"lines are missing or too many: {passed} stand before the end line"
                raise error(what, where=where, fix=_AGAIN)
            ended = True
            continue
        passed += 1 if isinstance(record, dict) else len(record)
        yield where, record
    if not ended:
        raise error("the file is cut short: it has no end line", where=name, fix=_AGAIN)


def numbered_lines(
    source: BinaryIO,
    name: str,
    *,
    error: type[DrillboxError],
    most: int | None = None,
    first: int = 1,
) -> Iterator[tuple[str, dict[str, Any]]]:
    """Give each line's place and object.

    Parameters
    ----------
    source, name
        The file, open for reading bytes, and what to call it.
    error
        What is raised at the first line that is too long, one too many, or no JSON object.
    most
        How many lines there may be; None sets no limit.
    first
        The number of the first line that is read.
    """
    number = first - 1
    while raw := source.readline(LONGEST_LINE + 1):
        number += 1
        where = f"{name}:{number}"
        if len(raw) > LONGEST_LINE:
            what = f"the line is longer than {LONGEST_LINE:,} bytes"
            raise error(what, where=where, fix=_MEND)
        if most is not None and number > most:
            raise error(f"more than {most:,} lines", where=where, fix=_AGAIN)
        # Some editors put a mark there that says UTF-8.
        line = raw.removeprefix(BOM_UTF8) if number == 1 else raw
        yield where, _decoded(line, where, error)


def _decoded(raw: bytes, where: str, error: type[DrillboxError]) -> dict[str, Any]:
    try:
        record = json.loads(
            raw.decode(), object_pairs_hook=_unique, parse_constant=_refused, parse_float=_finite
        )
    except UnicodeDecodeError:
        raise error("the line is not UTF-8", where=where, fix="save the file as UTF-8") from None
    except json.JSONDecodeError as wrong:
        if not raw.endswith(b"\n"):
            raise error("the file is cut short in this line", where=where, fix=_AGAIN) from None
        what = f"this is not JSON: {wrong.msg.removesuffix(' at')}"
        raise error(what, where=f"{where}:{wrong.colno}", fix=_MEND) from None
    except ValueError as wrong:
        # Python's own limit on digits; it tells programmers how to lift it.
        long = "int_max_str_digits" in str(wrong)
        what = "a number has thousands of digits" if long else f"this is not JSON: {wrong}"
        raise error(what, where=where, fix=_MEND) from None
    except RecursionError:
        raise error("the line is nested too deep", where=where, fix=_MEND) from None
    if not isinstance(record, dict):
        raise error("the line is no JSON object", where=where, fix=_MEND)
    return record


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    record = dict(pairs)
    if len(record) != len(pairs):
        raise ValueError("a name is given twice")
    return record


def _refused(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _finite(text: str) -> float:
    number = float(text)
    if isinf(number):
        raise ValueError(f"{text[:_SHOWN]} is too large")
    return number
