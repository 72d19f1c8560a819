from __future__ import annotations

import io
import json
from contextlib import closing, suppress
from typing import TYPE_CHECKING, Any

import pytest
from hostile_rows import WRONG_IN_A_TAKE, lay_open, put_take
from hypothesis import given
from hypothesis import strategies as st
from store_kit import CARD, NOW, USUAL, open_box, take
from strategies import take_logs

from drillbox.errors import LogError
from drillbox.store import LogEntry, Retraction, read_log, write_log
from drillbox.store.jsonl import line_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

HEADER = '{"format": "drillbox take log", "version": 1}'
TAKE = {
    "kind": "take",
    "id": f"{1:032x}",
    "card": CARD,
    "bpm": 92.0,
    "grade": 1,
    "at": "2026-03-12T17:31:00.000000Z",
    "zone": "Europe/Berlin",
    "seconds": 45.0,
    "source": "self",
}
BACK = {"kind": "retraction", "id": f"{2:032x}", "take": f"{1:032x}", "at": "2026-03-12T18:00:00Z"}


def written(entries: Sequence[LogEntry | bytes]) -> bytes:
    """Return a log file's bytes."""
    out = io.BytesIO()
    count = write_log(entries, out)
    head_and_end = 2
    assert count + head_and_end == len(out.getvalue().splitlines())
    return out.getvalue()


def read(*lines: str | bytes | dict[str, Any]) -> list[LogEntry]:
    """Return the entries of a log file of these lines."""
    texts = (json.dumps(line) if isinstance(line, dict) else line for line in lines)
    content = b"\n".join(text if isinstance(text, bytes) else text.encode() for text in texts)
    return list(read_log(io.BytesIO(content), "takes.jsonl"))


@given(take_logs())
def test_a_log_comes_back_as_it_went_out(log: list[LogEntry]) -> None:
    """Writing and reading are inverse to one another."""
    assert log == list(read_log(io.BytesIO(written(log)), "takes.jsonl"))


@given(take_logs())
def test_any_json_reader_can_read_it(log: list[LogEntry]) -> None:
    """JSON Lines (https://jsonlines.org).

    UTF-8, one value a line, a line feed after each; by plain json, strictly.
    """
    content = written(log)
    assert content.endswith(b"\n")
    records = [
        json.loads(line, parse_constant=pytest.fail) for line in content.decode().split("\n")[:-1]
    ]
    assert json.loads(HEADER) | {"version": 2} == records[0]
    assert {"kind": "end", "lines": len(log)} == records[-1]
    assert [entry.id for entry in log] == [record["id"] for record in records[1:-1]]
    grades = [entry.grade for entry in log if not isinstance(entry, Retraction)]
    assert grades == [record["grade"] for record in records[1:] if record["kind"] == "take"]


def test_a_whole_box_goes_out_and_in(tmp_path: Path) -> None:
    """Export, import into an empty box, import again: the same log, nothing doubled."""
    with open_box(tmp_path / "box") as box:
        box.add_take(take(1, measures={"jitter_ms": 3.5}))
        box.add_take(take(2))
        box.retract(take(1).id, NOW)
        log = list(box.log())
    other = open_box()
    assert 3 == other.merge(read_log(io.BytesIO(written(log)), "takes.jsonl"))
    assert 0 == other.merge(read_log(io.BytesIO(written(log)), "takes.jsonl"))
    assert log == list(other.log())
    assert written(log) == written(list(other.log()))


def test_lines_of_other_writers_are_understood() -> None:
    """Whole tempos, other offsets, fewer digits, Windows line ends and a last line without one."""
    line = TAKE | {"bpm": 92, "seconds": 45, "at": "2026-03-12T18:31:00+01:00"}
    assert [take(1)] == read(HEADER + "\r", json.dumps(line) + "\r")
    assert (
        Retraction(f"{2:032x}", f"{1:032x}", NOW.replace(hour=19, minute=0))
        == read(HEADER, BACK)[0]
    )


@pytest.mark.parametrize(
    ("lines", "place", "problem"),
    [
        ([], "takes.jsonl:1", "no take log"),
        (['{"format": "something"}'], "takes.jsonl:1", "no take log"),
        ([TAKE], "takes.jsonl:1", "no take log"),
        (['{"format": "drillbox take log", "version": 3}'], "takes.jsonl:1", "version 3"),
        ([HEADER, "{"], "takes.jsonl:2", "cut short in this line"),
        ([HEADER, "{", ""], "takes.jsonl:2:1", "not JSON"),
        ([HEADER, TAKE, "", " "], "takes.jsonl:3:1", "not JSON"),
        ([HEADER, "[1]"], "takes.jsonl:2", "no JSON object"),
        ([HEADER, b'{"kind": "\xff"}'], "takes.jsonl:2", "not UTF-8"),
        ([HEADER, TAKE | {"kind": "gift"}], "takes.jsonl:2", "'gift'"),
        ([HEADER, TAKE | {"kind": ["take"]}], "takes.jsonl:2", "kind is"),
        (
            [HEADER, {key: TAKE[key] for key in TAKE if key != "zone"}],
            "takes.jsonl:2",
            "zone is missing",
        ),
        ([HEADER, TAKE | {"mood": "good"}], "takes.jsonl:2", "'mood' is not known"),
        ([HEADER, BACK | {"measures": {}}], "takes.jsonl:2", "'measures' is not known"),
        ([HEADER, TAKE | {"bpm": "92"}], "takes.jsonl:2", "bpm is '92'"),
        ([HEADER, TAKE | {"at": "2026-03-12T17:31:00"}], "takes.jsonl:2", "at is"),
        ([HEADER, TAKE | {"at": "yesterday"}], "takes.jsonl:2", "yesterday"),
        ([HEADER, TAKE | {"at": 5}], "takes.jsonl:2", "at is 5"),
        ([HEADER, TAKE | {"at": "0001-01-01T00:00:00+14:00"}], "takes.jsonl:2", "at is"),
        ([HEADER, json.dumps(TAKE).replace("92.0", "NaN")], "takes.jsonl:2", "NaN is no number"),
        (
            [HEADER, json.dumps(TAKE).replace("92.0", "1e999")],
            "takes.jsonl:2",
            "1e999 is too large",
        ),
        ([HEADER, json.dumps(TAKE).replace("92.0", "9" * 5000)], "takes.jsonl:2", "digits"),
        ([HEADER, json.dumps(TAKE)[:-1] + ', "bpm": 93.0}'], "takes.jsonl:2", "twice"),
        ([HEADER, "[" * 60_000], "takes.jsonl:2", "too deep"),
        (
            [HEADER, TAKE | {"measures": {"x": "y" * 70_000}}],
            "takes.jsonl:2",
            "longer than 65,536 bytes",
        ),
        ([HEADER, TAKE | {"measures": {"x": "y" * 40_000}}], "takes.jsonl:2", "as JSON"),
        ([HEADER, TAKE | {"measures": {"x": [[[[[[[[[]]]]]]]]]}}], "takes.jsonl:2", "too deep"),
        ([HEADER, TAKE | {"measures": [1]}], "takes.jsonl:2", "no object"),
        ([HEADER, TAKE | {"source": "\ud800"}], "takes.jsonl:2", "source is"),
        ([HEADER, TAKE | {"zone": "../../etc/passwd"}], "takes.jsonl:2", "zone is"),
    ],
)
def test_a_bad_line_is_named(
    lines: list[str | bytes | dict[str, Any]], place: str, problem: str
) -> None:
    """File, line, what was read; no other error than ours."""
    with pytest.raises(LogError, match=problem) as caught:
        read(*lines)
    assert place == caught.value.where


def test_nothing_of_a_bad_file_is_taken_in() -> None:
    """A good line before the bad one is not kept."""
    box = open_box()
    content = "\n".join([HEADER, json.dumps(TAKE), "nonsense", ""]).encode()
    with pytest.raises(LogError, match="not JSON"):
        box.merge(read_log(io.BytesIO(content), "takes.jsonl"))
    assert [] == list(box.log())


_fragments = st.sampled_from(
    [
        HEADER,
        json.dumps(TAKE),
        json.dumps(BACK),
        "\n",
        "{",
        "}",
        '"',
        ":",
        "[",
        "1e999",
        "NaN",
        "\ud800".encode("utf-8", "surrogatepass"),
        "null",
    ]
)


@given(st.lists(_fragments | st.binary(max_size=12), max_size=12))
def test_any_bytes_are_read_or_refused(parts: list[str | bytes]) -> None:
    """Whatever the file holds, the only error is ours.

    And what was read is what the box may hold.
    """
    content = (
        HEADER.encode()
        + b"\n"
        + b"".join(part if isinstance(part, bytes) else part.encode() for part in parts)
    )
    entries: list[LogEntry] = []
    with suppress(LogError):
        entries += read_log(io.BytesIO(content), "takes.jsonl")
    assert len(set(entries)) == open_box().merge(entries)


@given(take_logs(), st.integers(1, 5))
def test_rows_are_written_as_the_entries_they_are(log: list[LogEntry], part: int) -> None:
    """An export straight from the rows, of so many takes at once, has the bytes of each entry."""
    with open_box() as box, pytest.MonkeyPatch.context() as patch:
        patch.setattr("drillbox.store.takelog.PART", part)
        box.merge(log)
        lines = list(box.log_lines())

        assert b"".join(map(line_of, box.log())) == b"".join(lines)
        assert written(list(box.log())) == written(lines)


@pytest.mark.parametrize("name", WRONG_IN_A_TAKE)
def test_an_export_leaves_out_what_makes_no_sense(tmp_path: Path, name: str) -> None:
    """Whatever another program wrote, the file is one that can be read."""
    with open_box(tmp_path / "box") as box:
        box.add_take(take(1, measures={}))
        box.add_take(take(2, measures={"level": 1, "who": "Å"}))
    with closing(lay_open(tmp_path / "box")) as db:
        put_take(db, 3, USUAL, **WRONG_IN_A_TAKE[name])
    with open_box(tmp_path / "box") as box:
        assert b"".join(map(line_of, box.log())) == b"".join(box.log_lines())
        content = io.BytesIO(written(list(box.log_lines())))
        assert box.takes() == list(read_log(content, "takes.jsonl"))
