"""Each limit of a progress file and of a reply from both sides; who is meant by a name."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from io import BytesIO
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from drillbox.errors import ProgressError, ReplyError, UnknownCardError, UsageError
from drillbox.studio import (
    CardProgress,
    DeckInfo,
    Played,
    Progress,
    StudentFigures,
    is_name,
    is_student,
    look_at,
    read_progress,
    write_progress,
)
from drillbox.studio.reply_files import Goal, Reply, Wanted, read_reply
from drillbox.studio.reply_writing import (
    next_lesson,
    reply_content,
    reply_file_name,
    reply_for,
    reply_lines,
    student_named,
)

TODAY = date(2026, 11, 25)
WRITTEN = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
A, B = "a" * 16, "b" * 16
PLAIN = Reply("", "5" * 32, "Ms Roy", WRITTEN, "Lower.", (), ())


def progress_with(kind: str, field: str, value: object) -> Progress:
    """Read a small progress file with one field changed."""
    played = Played(date(2026, 11, 20), 2, 80.0, 80.0)
    card = CardProgress(A, "e of 1", ("week-3",), 90.0, "building", 80.0, (played,))
    file = Progress("5" * 32, "Mia", WRITTEN, (DeckInfo("week-3", "Week 3", 1),), (card,), TODAY)
    out = BytesIO()
    write_progress(file, out)
    rows = [json.loads(line) for line in out.getvalue().splitlines()]
    rows[("head", "deck", "card", "day").index(kind)][field] = value
    text = "".join(f"{json.dumps(row)}\n" for row in rows)
    return read_progress(BytesIO(text.encode()), "p.jsonl")


@pytest.mark.parametrize(
    ("kind", "field", "within", "beyond"),
    [
        ("head", "name", ("", "x" * 80, "a\u200db"), ("x" * 81, "a\u200eb", 1)),
        ("head", "program", ("x" * 40,), ("x" * 41,)),
        ("deck", "title", ("x" * 160,), ("x" * 161,)),
        ("deck", "edition", (1, 1_000_000), (0, 1_000_001)),
        ("card", "title", ("x" * 160,), ("x" * 161,)),
        ("card", "goal_bpm", (1, 1000), (0.9, 1001)),
        ("card", "cold_bpm", (1, 1000, None), (0.9, 1001)),
        ("day", "takes", (1, 10_000), (0, 10_001)),
        ("day", "seconds", (0, 864_000), (-1, 864_001)),
        ("day", "cold_bpm", (1, 1000), (0.9, 1001, None)),
        ("day", "day", ("2000-02-29",), ("2001-02-29", "2026-1-1")),
        ("day", "day", ("1969-12-01", "2200-01-31"), ("1969-11-30", "2200-02-01", "0001-01-01")),
        ("head", "day", ("1969-12-31", None), ("0001-01-01", "9999-12-31")),
        ("head", "written", ("2199-12-31T23:59:59Z",), ("0001-01-01T00:00:00Z",)),
    ],
)
def test_every_limit_of_a_progress_file(
    kind: str, field: str, within: tuple[Any, ...], beyond: tuple[Any, ...]
) -> None:
    """What is allowed is read; one more is refused. 2000 had a 29 February (Gregorian calendar)."""
    for value in within:
        assert "week-3" == progress_with(kind, field, value).decks[0].id
    for value in beyond:
        with pytest.raises(ProgressError):
            progress_with(kind, field, value)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("x" * 80, True),
        ("x" * 81, False),
        ("", True),
        ("a\nb", False),
        ("\u202e", False),
        (5, False),
    ],
)
def test_a_name_is_one_line_that_can_be_seen(text: object, expected: bool) -> None:  # noqa: FBT001
    """A sign that turns text round (U+202E, Unicode bidirectional algorithm) is none."""
    assert expected is is_name(text)


def test_a_students_id_has_32_hex_digits() -> None:
    """Lower case, no more, no less, and text."""
    assert [True, False, False, False, False] == [
        is_student(text) for text in ("0a" * 16, "0A" * 16, "0" * 31, "0" * 33, 5)
    ]


@pytest.mark.parametrize(
    ("within", "beyond"),
    [
        ({"note": "x" * 2000}, {"note": "x" * 2001}),
        ({"note": "two\nlines"}, {"note": "bell\a"}),
        ({"teacher": "x" * 80}, {"teacher": "x" * 81}),
        ({"goals": (Goal(A, 20.0), Goal(B, 400.0))}, {"goals": (Goal(A, 19.9),)}),
        ({"wanted": (Wanted(A, TODAY, None),)}, {"wanted": (Wanted(A, TODAY, 400.1),)}),
        ({"goals": (Goal(A, 90.0),)}, {"goals": (Goal("A" * 16, 90.0),)}),
        (
            {"written": datetime(2199, 12, 31, tzinfo=UTC)},
            {"written": datetime(2200, 1, 1, tzinfo=UTC)},
        ),
        (
            {"written": datetime(2000, 1, 1, tzinfo=UTC)},
            {"written": datetime(1999, 12, 31, tzinfo=UTC)},
        ),
        (
            {"goals": tuple(Goal(f"{n:016x}", 90.0) for n in range(150))},
            {"goals": tuple(Goal(f"{n:016x}", 90.0) for n in range(152))},
        ),
    ],
)
def test_every_limit_of_a_reply(within: dict[str, Any], beyond: dict[str, Any]) -> None:
    """What is allowed comes back the same; what is not is refused before it is sent."""
    good = replace(PLAIN, **within)
    again = read_reply(reply_content(good), "r")

    assert good == replace(again, id="")
    with pytest.raises(ReplyError):
        read_reply(reply_content(replace(PLAIN, **beyond)), "r")


def test_a_reply_in_words() -> None:
    """The word first, then dates, then goals; a card nobody knows by its rhythm."""
    said = replace(
        PLAIN,
        wanted=(Wanted(A, TODAY, None), Wanted(B, TODAY, 72.5)),
        goals=(Goal(A, 96.0),),
    )

    assert [
        "Lower.",
        "wanted by 2026-11-25: e of 1 at its goal",
        f"wanted by 2026-11-25: a card that is in none of your decks ({B}) at 72.5",
        "goal of e of 1: 96",
    ] == reply_lines(said, {A: "e of 1"})
    assert [] == reply_lines(replace(PLAIN, note=""), {})


def class_of(*names: str) -> tuple[StudentFigures, ...]:
    """Return students of these names, with ids 1111..., 2222... and so on."""
    card = CardProgress(
        A, "e of 1", ("d",), 90.0, "building", 80.0, (Played(TODAY, 1, 40.0, 80.0),)
    )
    deck = DeckInfo("d", "D", 1)
    files = [
        Progress(f"{number}" * 32, name, WRITTEN, (deck,), (card,))
        for number, name in enumerate(names, start=1)
    ]
    return look_at(files, today=TODAY)


def test_a_student_is_meant_by_name_or_by_the_beginning_of_an_id() -> None:
    """Four digits are enough, three are not; case does not matter; of two, which is asked."""
    students = class_of("Mia", "Ben", "Ana", "Ana")

    assert "Mia" == student_named(students, " mia ").progress.name
    assert "Ben" == student_named(students, "2222").progress.name
    for wanted, told in (
        ("222", "no student '222'"),
        ("Zoe", "no student 'Zoe'; say which: "),
        ("ana", "'ana' is more than one student; say which: "),
    ):
        with pytest.raises(UnknownCardError, match=told):
            student_named(students, wanted)


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Mia", "mia-2026-11-25.reply"),
        ("Ms. O'Neil", "ms-o-neil-2026-11-25.reply"),
        ("李", "student-2026-11-25.reply"),
    ],
)
def test_a_reply_has_a_name_that_every_file_system_takes(name: str, expected: str) -> None:
    """Letters, digits and hyphens: the portable filename character set (POSIX.1-2017, 3.282)."""
    assert expected == reply_file_name(class_of(name)[0], WRITTEN)


@pytest.mark.parametrize(
    ("time", "day", "lesson"),
    [("03:59", 9, 23), ("06:00", 10, 24), ("12:00", 10, 24), ("23:00", 10, 24)],
)
@pytest.mark.parametrize("zone", ["Pacific/Auckland", "Europe/Zurich", "America/Los_Angeles"])
def test_a_reply_is_of_the_teachers_own_day(zone: str, time: str, day: int, lesson: int) -> None:
    """Its name and the lesson two weeks on: four in the morning of 10 March is still the ninth."""
    now = datetime.fromisoformat(f"2026-03-10 {time}").replace(tzinfo=ZoneInfo(zone))
    assert f"mia-2026-03-{day:02}.reply" == reply_file_name(class_of("Mia")[0], now)
    assert date(2026, 3, lesson) == next_lesson(now)
    assert [] == _refused(now, date(2026, 3, day))
    assert [f"2026-03-{day - 1:02} has passed"] == _refused(now, date(2026, 3, day - 1))


def _refused(now: datetime, by: date) -> list[str]:
    """Return why a reply that wants cards by a day is refused."""
    (student,) = class_of("Mia")
    try:
        reply_for(student, note="Slower.", wanted=(), by=by, goals=(), teacher="", now=now)
    except UsageError as error:
        return [error.what]
    return []
