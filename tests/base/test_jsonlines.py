"""JSON Lines from strangers: what was written is read again, what is wrong is named by its line."""

from __future__ import annotations

import io
import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.base.jsonlines import (
    LONGEST_LINE,
    end_line,
    head_of,
    numbered_lines,
    until_end,
    written_line,
)
from drillbox.errors import ProgressError

TEXTS = st.text(max_size=20)
RECORDS = st.dictionaries(
    TEXTS,
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
    | TEXTS | st.lists(TEXTS, max_size=3),
    max_size=4,
)  # fmt: skip


def read(content: bytes, most: int | None = None) -> list[tuple[str, dict[str, Any]]]:
    """Read lines under the name ``f``."""
    return list(numbered_lines(io.BytesIO(content), "f", error=ProgressError, most=most))


def told(content: bytes, most: int | None = None) -> str:
    """Return the sentence with which lines are refused."""
    with pytest.raises(ProgressError) as caught:
        read(content, most)
    return str(caught.value)


@given(st.lists(RECORDS, max_size=5))
def test_what_is_written_is_read_again(records: list[dict[str, Any]]) -> None:
    """Line by line, numbered from one; and each line is JSON to the standard library (RFC 8259)."""
    content = b"".join(map(written_line, records))

    assert [(f"f:{n}", record) for n, record in enumerate(records, 1)] == read(content)
    assert records == [json.loads(line) for line in content.split(b"\n")[:-1]]


def test_letters_are_written_as_they_are_and_halves_of_pairs_as_escapes() -> None:
    """A lone surrogate has no UTF-8 (RFC 3629, section 3) and is carried all the same."""
    assert '{"a": "é"}\n'.encode() == written_line({"a": "é"})
    assert b'{"a": "\\ud800"}\n' == written_line({"a": "\ud800"})
    assert [("f:1", {"a": "\ud800"})] == read(written_line({"a": "\ud800"}))


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        (b'{"a": 1, "a": 2}\n', "f:1: this is not JSON: a name is given twice"),
        (b'{"a": NaN}\n', "f:1: this is not JSON: NaN is no number"),
        (b'{"a": -Infinity}\n', "f:1: this is not JSON: -Infinity is no number"),
        (b'{"a": 1e999}\n', "f:1: this is not JSON: 1e999 is too large"),
        (b'{"a": ' + b"8" * 400 + b".5}\n", "f:1: this is not JSON: 88888888888888888888 is too"),
        (b'{"a": ' + b"9" * 5000 + b"}\n", "f:1: a number has thousands of digits"),
        (b"[1]\n", "f:1: the line is no JSON object"),
        (b"\xff\n", "f:1: the line is not UTF-8"),
        (b'{"a" 1}\n', "f:1:6: this is not JSON"),
        (b'{"a": 1', "f:1: the file is cut short in this line"),
        (b"[" * 60_000 + b"\n", "f:1: the line is nested too deep"),
    ],
)
def test_what_is_no_object_is_refused_with_its_place(line: bytes, expected: str) -> None:
    """One sentence, with the line and, where JSON tells it, the column."""
    assert expected in told(line)


@pytest.mark.parametrize(
    "line", [b"{\n", b'{"a": "\x01"}\n', b"[" * 60_000 + b"\n", b"[1]\n", b" " * 65_537, b'{"a"']
)
def test_a_refusal_says_what_to_do(line: bytes) -> None:
    """In whole words: what Python's reader puts before a place is cut off where there is none."""
    assert " again" in told(line).rpartition("; ")[2]
    assert " at;" not in told(line)


def test_the_mark_of_an_editor_before_the_first_line_is_passed_over() -> None:
    """U+FEFF in UTF-8 : anywhere else it is no JSON (RFC 8259, section 8.1)."""
    mark = b"\xef\xbb\xbf"
    assert [("f:1", {"a": 1}), ("f:2", {})] == read(mark + b'{"a": 1}\n{}\n')
    assert "f:2:1: this is not JSON" in told(b"{}\n" + mark + b"{}\n")


def test_a_number_as_large_as_they_come_is_read() -> None:
    """Of IEEE 754 double precision the largest is about 1.8e308."""
    assert [("f:1", {"a": 1.7e308})] == read(b'{"a": 1.7e308}\n')


def test_lines_have_a_longest_length() -> None:
    """The limit counts the line feed, and is itself allowed."""
    frame = len(b'{"a": ""}\n')
    fits = written_line({"a": "x" * (LONGEST_LINE - frame)})

    assert LONGEST_LINE == len(fits)
    assert 1 == len(read(fits))
    assert "f:1: the line is longer than 65,536 bytes" in told(
        written_line({"a": "x" * (LONGEST_LINE - frame + 1)})
    )


def test_lines_may_be_limited_in_number() -> None:
    """The limit itself is allowed; without one, any number is."""
    lines = written_line({}) * 3

    assert 3 == len(read(lines, most=3)) == len(read(lines))
    assert "f:3: more than 2 lines" in told(lines, most=2)


def test_the_head_is_the_first_line_or_nothing() -> None:
    """An empty file has an empty head."""
    assert {"a": 1} == head_of(io.BytesIO(b'{"a": 1}\n{}\n'), "f", error=ProgressError)
    assert {} == head_of(io.BytesIO(b""), "f", error=ProgressError)


def between(*records: dict[str, Any]) -> list[dict[str, Any]]:
    """Return what stands before the end line."""
    lines = [(f"f:{n}", record) for n, record in enumerate(records, 1)]
    return [record for _, record in until_end(lines, "f", error=ProgressError)]


def test_a_file_that_ends_as_it_says_is_whole() -> None:
    """The end line counts what stands before it, nothing included."""
    end = json.loads(end_line(2))

    assert [{"a": 1}, {"a": 2}] == between({"a": 1}, {"a": 2}, end)
    assert [] == between(json.loads(end_line(0)))


@pytest.mark.parametrize(
    ("records", "expected"),
    [
        ([{"a": 1}], "f: the file is cut short: it has no end line"),
        ([{"a": 1}, {"kind": "end", "lines": 2}], "f:2: lines are missing or too many: 1 stand"),
        ([{"a": 1}, {"kind": "end", "lines": 0}], "f:2: lines are missing or too many: 1 stand"),
        ([{"kind": "end", "lines": 0}, {"a": 1}], "f:2: a line stands after the end line"),
        ([{"kind": "end", "lines": 0}] * 2, "f:2: a line stands after the end line"),
    ],
)
def test_a_file_that_was_cut_or_grew_is_not_taken_for_whole(
    records: list[dict[str, Any]], expected: str
) -> None:
    """Whatever is missing or too many."""
    with pytest.raises(ProgressError) as caught:
        between(*records)
    assert expected in str(caught.value)


def test_what_is_no_number_is_never_written() -> None:
    """RFC 8259, section 6: infinities and NaN are not permitted."""
    with pytest.raises(ValueError, match="not JSON compliant"):
        written_line({"a": float("nan")})
