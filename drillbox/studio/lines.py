"""JSON Lines from strangers (https://jsonlines.org): one object a line, nothing trusted.

Lines are limited in length, keys are unique, numbers are finite; what is wrong is said with its line number.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, BinaryIO, NoReturn

from drillbox.errors import ProgressError

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["LONGEST_LINE", "MOST_LINES", "numbered_lines", "written_line"]

LONGEST_LINE = 65_536
MOST_LINES = 500_000


def written_line(record: dict[str, Any]) -> bytes:
    """Return an object as a line."""
    return json.dumps(record, ensure_ascii=False, allow_nan=False).encode() + b"\n"


def numbered_lines(source: BinaryIO, name: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Give each line's place and object.

    Raises
    ------
    ProgressError
        At the first line that is too long, one too many, or no JSON object.
    """
    number = 0
    while raw := source.readline(LONGEST_LINE + 1):
        number += 1
        where = f"{name}:{number}"
        if len(raw) > LONGEST_LINE:
            raise ProgressError(f"the line is longer than {LONGEST_LINE:,} bytes", where=where)
        if number > MOST_LINES:
            raise ProgressError(f"more than {MOST_LINES:,} lines", where=where)
        yield where, _decoded(raw, where)


def _decoded(raw: bytes, where: str) -> dict[str, Any]:
    try:
        record = json.loads(
            raw.decode(), object_pairs_hook=_unique, parse_constant=_refused, parse_float=_finite
        )
    except UnicodeDecodeError:
        raise ProgressError("the line is not UTF-8", where=where) from None
    except json.JSONDecodeError as error:
        what = f"this is not JSON: {error.msg}"
        raise ProgressError(what, where=f"{where}:{error.colno}") from None
    except ValueError as error:
        raise ProgressError(f"this is not JSON: {error}", where=where) from None
    except RecursionError:
        raise ProgressError("the line is nested too deep", where=where) from None
    if not isinstance(record, dict):
        raise ProgressError("the line is no JSON object", where=where)
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
    if number in (float("inf"), float("-inf")):
        raise ValueError(f"{text[:20]} is too large")
    return number
