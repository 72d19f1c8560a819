"""Progress files: the round trip, other readers, and everything a stranger may put in one."""

from __future__ import annotations

import json
import time
import tracemalloc
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from typing import Any

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from strategies import progress_files

from drillbox.base.jsonlines import LONGEST_LINE
from drillbox.errors import ProgressError
from drillbox.studio import (
    Asked,
    CardProgress,
    DeckInfo,
    HeardMonth,
    Played,
    Progress,
    read_progress,
    write_progress,
)
from drillbox.studio.progress_files import MOST_LINES

HEAD = {
    "format": "drillbox progress",
    "version": 1,
    "student": "0" * 32,
    "name": "Mia",
    "written": "2026-11-25T17:00:00Z",
}
DECK = {"kind": "deck", "id": "week-3", "title": "Week 3", "edition": 1}
CARD = {
    "kind": "card",
    "rhythm": "3f6c0a9be4d21785",
    "decks": ["week-3"],
    "title": "e of every beat",
    "goal_bpm": 90,
    "state": "building",
    "cold_bpm": 84.5,
}
DAY = {
    "kind": "day",
    "rhythm": "3f6c0a9be4d21785",
    "day": "2026-11-20",
    "takes": 3,
    "seconds": 130.5,
    "cold_bpm": 85,
}


def written(progress: Progress) -> bytes:
    """Return a progress file's bytes."""
    out = BytesIO()
    write_progress(progress, out)
    return out.getvalue()


def lines(*records: Any) -> bytes:
    """Return objects, or lines that are none, as a file."""
    return b"".join(
        one if isinstance(one, bytes) else json.dumps(one).encode() + b"\n" for one in records
    )


def read(data: bytes) -> Progress:
    """Read a progress file from bytes."""
    return read_progress(BytesIO(data), "p.jsonl")


@examples(100)
@given(progress_files())
def test_what_is_written_is_read_the_same(progress: Progress) -> None:
    """Any progress comes back as it was, to a tenth of a bpm and of a second."""
    assert progress == read(written(progress))
    assert written(progress) == written(read(written(progress)))


def test_what_no_file_can_say_is_written_as_nearly_as_it_can() -> None:
    """A player told of 1,400 bpm, of eleven days of practice in one, of thirty years: all read."""
    on = date(2026, 11, 20)
    played = Played(on, 12_000, 11 * 86_400.0, 1353.9)
    asked = tuple(Asked(on + timedelta(days=n), 90.0) for n in range(130))
    card = CardProgress(
        "3f6c0a9be4d21785", "e", ("week-3",), 90.0, "building", 0.4, (played,),
        low_bpm=-1.0, high_bpm=1e6, last_bpm=1000.0, asked=asked,
    )  # fmt: skip
    heard = tuple(HeardMonth(f"{1990 + n // 12}-{n % 12 + 1:02}", 3, 9.0, 20.0) for n in range(372))
    progress = Progress(
        student="0" * 32,
        name="Mia",
        written=datetime(2026, 11, 25, 17, tzinfo=UTC),
        decks=(DeckInfo("week-3", "Week 3", 1),),
        cards=(card,),
        heard=heard,
    )
    again = read(written(progress))
    assert heard[-240:] == again.heard
    assert (Played(on, 10_000, 864_000.0, 1000.0),) == again.cards[0].days
    within = replace(
        card, cold_bpm=1.0, low_bpm=0.0, high_bpm=1e5, asked=asked[-100:], days=again.cards[0].days
    )
    assert within == again.cards[0]


@examples(30)
@given(progress_files())
def test_other_readers_read_every_line(progress: Progress) -> None:
    """Each line is one object for the standard JSON reader.

    And ends with a line feed (jsonlines.org).
    """
    data = written(progress)
    records = [json.loads(line) for line in data.decode("utf-8").split("\n")[:-1]]

    assert data.endswith(b"\n")
    assert {"kind": "end", "lines": len(records) - 2} == records[-1]
    assert 2 + len(progress.decks) + len(progress.cards) == sum(
        record.get("kind") != "day" for record in records
    )


def test_a_file_says_nothing_but_what_it_is_for() -> None:
    """No key beyond these: no time of day, no place, no grade, no device."""
    data = written(read(lines(HEAD, DECK, CARD, DAY)))
    keys = {key for line in data.splitlines() for key in json.loads(line)}

    later = {
        "day",
        "program",
        "minutes",
        "taken_in",
        "low_bpm",
        "high_bpm",
        "last_bpm",
        "asked",
        "lines",
    }
    assert {*HEAD, *DECK, *CARD, *DAY, *later} == keys


WRONG: dict[str, tuple[bytes, str]] = {
    "nothing": (b"", "p.jsonl:1: this is no progress file"),
    "a take log": (lines({"format": "drillbox take log", "version": 1}), "is no progress file"),
    "a later version": (lines({**HEAD, "version": 4}), "another version; this drillbox reads"),
    "no JSON": (lines(HEAD, b"{\n"), "p.jsonl:2:1: this is not JSON"),
    "no object": (lines(HEAD, b"[]\n"), "p.jsonl:2: the line is no JSON object"),
    "another encoding": (lines(HEAD, b'{"kind": "\xff"}\n'), "the line is not UTF-8"),
    "twice a name": (lines(HEAD, b'{"kind": 1, "kind": 2}\n'), "a name is given twice"),
    "no number": (lines(HEAD, b'{"kind": NaN}\n'), "NaN is no number"),
    "an endless number": (lines(HEAD, b'{"kind": 1e999}\n'), "is too large"),
    "a huge number": (lines(HEAD, b'{"kind": ' + b"9" * 5000 + b"}\n"), "thousands of digits"),
    "deep": (lines(HEAD, b"[" * 30_000 + b"\n"), "nested too deep|not JSON"),
    "a long line": (lines(HEAD, b" " * (LONGEST_LINE + 1)), "longer than 65,536 bytes"),
    "endless lines": (lines(HEAD, DECK, CARD) + b"{}" * 10 + b"\n", "not JSON"),
    "another kind": (lines(HEAD, {"kind": "take"}), "it is one of deck, card, day"),
    "a kind that is none": (lines(HEAD, {"kind": ["deck"]}), "it is one of deck, card, day"),
    "a missing field": (lines(HEAD, {"kind": "deck", "id": "d"}), "title is missing; it has kind"),
    "a field too many": (lines(HEAD, {**DECK, "path": "/"}), "'path' is not known; it has kind"),
    "a card of no deck": (lines(HEAD, CARD), "there is no deck 'week-3' above"),
    "a day of no card": (lines(HEAD, DECK, DAY), "there is no card of this rhythm above"),
    "two decks": (lines(HEAD, DECK, DECK), "week-3 is there twice"),
    "two cards": (lines(HEAD, DECK, CARD, CARD), "3f6c0a9be4d21785 is there twice"),
    "a day twice": (lines(HEAD, DECK, CARD, DAY, DAY), "a card's days must go forward"),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_file_is_refused_with_its_line(name: str) -> None:
    """One sentence that begins with file and line, in good time."""
    data, complaint = WRONG[name]
    before = time.process_time()
    with pytest.raises(ProgressError, match=rf"^p\.jsonl:\d+.*({complaint})|^{complaint}"):
        read(data)

    assert time.process_time() - before < 1.0


@pytest.mark.parametrize(
    ("record", "key", "values"),
    [
        (HEAD, "student", ["", "0" * 31, "G" * 32, 1, None, ["0"]]),
        (HEAD, "name", ["a\nb", "\x1b[31m", "a\u202eb", "x" * 81, 5, None]),
        (HEAD, "written", ["2026-11-25", "2026-13-25T17:00:00Z", "2026-11-25T17:00:00+01:00", 1]),
        (DECK, "id", ["Week 3", "", "a--b", "../a", 3]),
        (DECK, "title", ["a\tb", None, "x" * 161]),
        (DECK, "edition", [0, 1.5, True, "1", 10**9]),
        (CARD, "rhythm", ["3f6c", "3F6C0A9BE4D21785", None]),
        (CARD, "decks", [[], "week-3", ["week-3", "week-3"], [1], [["week-3"]], None]),
        (CARD, "goal_bpm", [0, 1001, True, "90", None, 10**400]),
        (CARD, "state", ["good", "", None, [], {}]),
        (CARD, "cold_bpm", [0, "84", True]),
        (DAY, "day", ["2026-02-30", "20261120", "2026-11-20T10:00:00", 5, None]),
        (DAY, "takes", [0, 1.0, True, 10_001]),
        (DAY, "seconds", [-1, 10**6, None]),
        (DAY, "cold_bpm", [None, -5, []]),
    ],
)
def test_no_value_is_trusted(record: dict[str, Any], key: str, values: list[Any]) -> None:
    """Each field has its type and its range.

    Control signs and turned-round text never reach a terminal.
    """
    good: list[Any] = [HEAD, DECK, CARD, DAY]
    assert "Mia" == read(lines(*good)).name
    for value in values:
        bad = [{**one, key: value} if one is record else one for one in good]
        with pytest.raises(ProgressError, match=rf"{key} cannot be .*; docs/studio.md"):
            read(lines(*bad))


def test_a_file_without_end_is_refused() -> None:
    """No first line ever comes, or no last one: refused at the limits, with nothing more read."""

    class Endless:
        """A file that always has another deck."""

        def __init__(self, first: bytes) -> None:
            self.first = first

        def readline(self, most: int) -> bytes:
            """Return the first line."""
            return self.first[:most]

        def read(self, most: int) -> bytes:
            """Return as many bytes as are asked for."""
            line = lines(DECK)
            return line * (most // len(line)) + line[: most % len(line)]

    with pytest.raises(ProgressError, match=r"^p.jsonl:1: the line is longer than 65,536 bytes"):
        read_progress(Endless(b" " * 70_000), "p.jsonl")  # type: ignore[arg-type]
    with pytest.raises(ProgressError, match=r"^p.jsonl: the file is larger than 32 MiB"):
        read_progress(Endless(lines(HEAD)), "p.jsonl")  # type: ignore[arg-type]
    decks = [{**DECK, "id": f"d{number}"} for number in range(1_001)]
    with pytest.raises(ProgressError, match=r"^p.jsonl:1002: more than 1,000 of them"):
        read(lines(HEAD, *decks))


@examples(60)
@given(progress_files(), st.data())
def test_days_are_read_the_same_at_once_and_one_by_one(
    progress: Progress, data: st.DataObject
) -> None:
    """A space more in one line and its card is read the long way; in any line, with one result."""
    whole = written(progress).splitlines(keepends=True)
    spaced = data.draw(st.sets(st.sampled_from(range(len(whole)))))
    apart = b"".join(b" " + line if n in spaced else line for n, line in enumerate(whole))

    assert read(b"".join(whole)) == read(apart)


@pytest.mark.parametrize(
    ("field", "value"),
    [("takes", 10_001), ("takes", 0), ("seconds", 864_000.5), ("cold_bpm", 0.5),
     ("day", "2026-02-30"), ("cold_bpm", 1000.5), ("rhythm", "f" * 16),
     ("day", "2026-11-19"), ("day", "2026-11-18")],
)  # fmt: skip
def test_a_wrong_day_among_many_is_refused_at_its_own_line(field: str, value: Any) -> None:
    """Read at once or not, the sentence names the line; here the third day of a card."""
    days = [{**DAY, "day": f"2026-11-{day}"} for day in (18, 19, 20, 21)]
    days[2][field] = value

    with pytest.raises(ProgressError, match=r"^p\.jsonl:6: "):
        read(lines(HEAD, DECK, CARD, *days))
    assert MOST_LINES > 2 * 365 * 80 * 8


GOOD = lines(HEAD, DECK, CARD, DAY)


@examples(300)
@given(
    st.lists(st.tuples(st.integers(0, len(GOOD) - 1), st.binary(max_size=3)), max_size=3),
    st.sampled_from([None, *range(len(GOOD))]),
)
def test_a_damaged_file_is_read_or_refused(
    changes: list[tuple[int, bytes]], cut: int | None
) -> None:
    """Bytes changed, lost or added anywhere.

    A ProgressError or a progress, nothing else, and no memory to speak of.
    """
    data = GOOD
    for at, new in changes:
        data = data[:at] + new + data[at + len(new) :]
    tracemalloc.start()
    try:
        again = read(data[:cut])
        assert again == read(written(again))
    except ProgressError as error:
        place = error.where
    else:
        place = "p.jsonl:"
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()

    assert place.startswith("p.jsonl:")
    assert peak < 5 << 20
