"""Replies: written as typed, read as written, refused whole where one byte is not right."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st
from replies_by_hand import sealed
from students_by_hand import TODAY, aged, card, student

from drillbox.base.now import Now
from drillbox.errors import ReplyError, UnknownCardError, UsageError
from drillbox.studio import Goal, Reply, Wanted, look_at, read_reply, studio_page, write_reply
from drillbox.studio.classroom import map_lines
from drillbox.studio.drawings import minutes_chart, states_chart, tempo_chart
from drillbox.studio.lesson_notes import head_line
from drillbox.studio.reply_files import (
    LONGEST_NOTE,
    MOST_BYTES,
    MOST_CARDS,
    is_reply,
    reply_from_values,
    reply_values,
)
from drillbox.studio.reply_writing import next_lesson, reply_for
from drillbox.studio.text_tables import class_lines

NOW = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
ONE, TWO = f"{1:016x}", f"{2:016x}"
MADE = Reply(
    "", "5" * 32, "Mr. K", NOW, "Lower ghosts.\nSlower.",
    (Wanted(ONE, date(2026, 12, 10), None), Wanted(TWO, date(2026, 12, 10), 92.0)),
    (Goal(ONE, 88.0),),
)  # fmt: skip


def content(reply: Reply = MADE) -> bytes:
    """Return a reply as a file."""
    out = BytesIO()
    write_reply(reply, out)
    return out.getvalue()


def test_a_reply_is_read_as_it_was_written() -> None:
    """With the id that its words have: of the same words the same, of others another."""
    out = BytesIO()
    name = write_reply(MADE, out)
    read = read_reply(out.getvalue(), "mia.reply")
    assert replace(MADE, id=name) == read
    assert name == hashlib.sha256(out.getvalue().rsplit(b"\n", 2)[0] + b"\n").hexdigest()[:32]
    assert name == read_reply(content(MADE), "again").id
    assert name != read_reply(content(replace(MADE, note="Louder.")), "other").id
    assert is_reply(BytesIO(out.getvalue()), "x")
    for other in (b"", b"{}\n", b'{"format": "drillbox log"}\n', b"no JSON\n"):
        assert not is_reply(BytesIO(other), "x")


@given(st.data())
def test_a_reply_that_is_hurt_is_refused_whole(data: st.DataObject) -> None:
    """Cut anywhere, or with any byte another: nothing of it is taken in."""
    whole = content()
    at = data.draw(st.integers(0, len(whole) - 1))
    hurt = data.draw(
        st.sampled_from([whole[:at], whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :]])
    )
    if hurt.rstrip(b"\n") != whole.rstrip(b"\n"):
        with pytest.raises(ReplyError):
            read_reply(hurt, "x")


def test_what_a_box_keeps_of_a_reply_is_the_reply() -> None:
    """Under its id alone."""
    read = read_reply(content(), "x")
    kept = reply_values(read)
    assert read == reply_from_values(read.id, kept)
    for key, values in (
        ("0" * 32, kept), (read.id, []), (read.id, "text"), (read.id, [*kept, "text"]),
        (read.id, [kept[0], *[kept[2]] * (MOST_CARDS + 2)]),
    ):  # fmt: skip
        with pytest.raises(ReplyError):
            reply_from_values(key, values)


HEAD = {
    "format": "drillbox reply", "version": 1, "student": "5" * 32, "teacher": "",
    "written": "2026-11-25T17:00:00Z",
}  # fmt: skip
NOTE = {"kind": "note", "text": "Lower."}
WANTED = {"kind": "wanted", "rhythm": ONE, "by": "2026-12-10", "goal_bpm": None}
GOAL = {"kind": "goal", "rhythm": ONE, "goal_bpm": 88.0}


@pytest.mark.parametrize(
    "lines",
    [
        [HEAD, NOTE],
        [HEAD, {**NOTE, "text": "x" * LONGEST_NOTE}],
        [HEAD, WANTED, {**WANTED, "rhythm": TWO}, GOAL],
        [HEAD, {**GOAL, "goal_bpm": 20}],
        [HEAD, {**GOAL, "goal_bpm": 400}],
        [{**HEAD, "written": "2000-01-01T00:00:00Z"}, NOTE],
    ],
)
def test_what_a_reply_may_say_is_read(lines: list[dict[str, Any]]) -> None:
    """Each limit from inside."""
    assert read_reply(sealed(*lines), "x").student == "5" * 32


@pytest.mark.parametrize(
    ("lines", "what"),
    [
        ([{**HEAD, "version": 2}, NOTE], "x:1: the reply is of another version"),
        ([{**HEAD, "version": True}, NOTE], "x:1: the reply is of another version"),
        ([{**HEAD, "format": "drillbox log"}, NOTE], "x:1: this is no reply"),
        ([{**HEAD, "student": "mia"}, NOTE], "x:1: student cannot be 'mia'"),
        ([{**HEAD, "written": "2026-11-25"}, NOTE], "x:1: written cannot be"),
        ([{**HEAD, "written": "2026-13-25T17:00:00Z"}, NOTE], "x:1: written cannot be"),
        ([{**HEAD, "written": "1999-11-25T17:00:00Z"}, NOTE], "x:1: written cannot be"),
        ([{**HEAD, "more": 1}, NOTE], "x:1: 'more' is missing or not known"),
        ([HEAD, {"kind": "song"}], "x:2: the line's kind is not known"),
        ([HEAD, {"kind": 7}], "x:2: the line's kind is not known"),
        ([HEAD, NOTE, NOTE], "x:3: a second note of the same"),
        ([HEAD, {**NOTE, "text": " "}], "x:2: text cannot be"),
        ([HEAD, {**NOTE, "text": "x" * (LONGEST_NOTE + 1)}], "x:2: text cannot be"),
        ([HEAD, {**NOTE, "text": "a\x1b[2J"}], "x:2: text cannot be"),
        ([HEAD, WANTED, WANTED], "x:3: a second wanted of the same"),
        ([HEAD, {**WANTED, "rhythm": "e"}], "x:2: rhythm cannot be 'e'"),
        ([HEAD, {**WANTED, "by": "2026-02-30"}], "x:2: by cannot be"),
        ([HEAD, {**WANTED, "goal_bpm": "92"}], "x:2: goal_bpm cannot be '92'"),
        ([HEAD, {**GOAL, "goal_bpm": None}], "x:2: goal_bpm cannot be None"),
        ([HEAD, {**GOAL, "goal_bpm": 19.9}], "x:2: goal_bpm cannot be 19.9"),
        ([HEAD, {**GOAL, "goal_bpm": 400.5}], "x:2: goal_bpm cannot be 400.5"),
        ([HEAD, {**GOAL, "goal_bpm": True}], "x:2: goal_bpm cannot be True"),
    ],
)
def test_what_makes_no_sense_is_refused_at_its_line(lines: list[dict[str, Any]], what: str) -> None:
    """Though the checksum fits: whoever wrote it may be no drillbox."""
    with pytest.raises(ReplyError) as caught:
        read_reply(sealed(*lines), "x")
    assert str(caught.value).startswith(what)


def test_a_reply_has_a_size() -> None:
    """A byte over it is not read, and nothing inside is looked at."""
    with pytest.raises(ReplyError, match="larger than 262,144 bytes"):
        read_reply(b"x" * (MOST_BYTES + 1), "x")
    with pytest.raises(ReplyError, match="this is no reply"):
        read_reply(b"", "x")
    with pytest.raises(ReplyError, match="it has no end line"):
        read_reply(b"".join(json.dumps(line).encode() + b"\n" for line in (HEAD, NOTE)), "x")


def typed(**changes: Any) -> Reply:
    """Return the reply to a student with two cards, as typed."""
    usual: dict[str, Any] = {
        "note": "", "wanted": (), "by": None, "goals": (), "teacher": " Mr. K ", "now": NOW,
    }  # fmt: skip
    return reply_for(
        aged(0, card(1, "building", (2, 3, 80.0)), card(2, "waiting")), **usual | changes
    )


def test_a_reply_says_what_was_typed() -> None:
    """Cards by their titles in any case, by a part of one, or by their rhythms."""
    by = date(2026, 12, 10)
    made = typed(note=" Lower. ", wanted=("CARD 1", f"{TWO}= 92.5"), by=by, goals=("card 2=88",))
    assert ("Lower.", "Mr. K", NOW) == (made.note, made.teacher, made.written)
    assert (Wanted(ONE, by, None), Wanted(TWO, by, 92.5)) == made.wanted
    assert (Goal(TWO, 88.0),) == made.goals
    assert (Goal(ONE, 88.0),) == typed(goals=("d 1 =88",)).goals
    assert Now.of(NOW).today + timedelta(days=14) == next_lesson(NOW) == date(2026, 12, 9)


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({}, "the reply says nothing; write a word, a card or a goal"),
        ({"note": "  "}, "the reply says nothing"),
        ({"wanted": ("card 1",)}, "say by when the cards are wanted"),
        ({"note": "x", "by": TODAY - timedelta(days=1)}, "2026-11-24 has passed"),
        ({"goals": ("card 1",)}, "no goal for 'card 1'; write it as CARD=96"),
        ({"goals": ("card=88",)}, "'card' is more than one card; say which: card 1"),
        ({"goals": ("song=88",)}, "no card 'song' in this student's file"),
        ({"goals": ("=88",)}, "no card '=88' in this student's file"),
    ],
)
def test_what_cannot_be_meant_is_refused_before_it_is_sent(
    changes: dict[str, Any], what: str
) -> None:
    """In a sentence; a reply for today is one for a day to come."""
    with pytest.raises((UsageError, UnknownCardError)) as caught:
        typed(**changes)
    assert what in str(caught.value)
    assert typed(note="x", by=TODAY).note == "x"


def test_the_map_in_text_has_a_column_a_student() -> None:
    """Numbered, with tens above; a row a card that anybody began, and the others counted."""
    files = []
    for n in range(1, 12):
        first = card(1, "holding", (2, 3, 101.0)) if n == 10 else card(1, "waiting")
        files.append(student(n, f"S{n:02}", first, card(2, "waiting")))
    lines = map_lines(look_at(files, today=TODAY))
    labels = [line.split(maxsplit=1)[0] for line in lines[:11]]
    assert [str(n) for n in range(1, 12)] == labels
    tens, ones, row, rest = lines[12:16]
    assert "         1" == tens[36:].rstrip()
    assert "12345678901" == ones[36:]
    assert row.startswith("card 1 ")
    (holds,) = (int(line.split()[0]) for line in lines[:11] if line.endswith("S10"))
    assert "".join("●" if n == holds else "·" for n in range(1, 12)) == row[36:]
    assert "and 1 card that nobody has begun" == rest


def test_groups_are_told_where_there_are_several() -> None:
    """Students, cards in hand of all, minutes of the month: of each group, by its name."""
    played = [card(1, "holding", (2, 3, 101.0)), card(2, "waiting")]

    def lines_of(*groups: str) -> list[str]:
        files = [student(n, f"S{n}", *played) for n in range(len(groups))]
        pairs = zip(files, groups, strict=True)
        return class_lines(look_at([replace(f, group=name) for f, name in pairs], today=TODAY))

    assert [
        "a: 1 student, 1 of 2 in hand, 3 minutes.",
        "b: 2 students, 2 of 4 in hand, 6 minutes.",
    ] == lines_of("b", "a", "b")[1:3]
    assert not any(line.startswith("b: ") for line in lines_of("b", "b", ""))


def test_a_student_without_a_deck_is_told_so() -> None:
    """In the head line, before the file's day."""
    one = aged(0, card(1, "waiting"))
    assert head_line(one).startswith("Week 3 (edition 1); file of Wed 25 Nov")
    assert head_line(replace(one, decks=())).startswith("no deck; file of Wed 25 Nov")


@pytest.mark.parametrize(("days_old", "age"), [(-1, 0), (0, 0), (1, 1), (9, 9)])
def test_a_file_is_as_old_as_its_day(days_old: int, age: int) -> None:
    """One of tomorrow, from farther east, is of today."""
    assert age == aged(days_old, card(1, "waiting")).age_days


def test_a_day_s_bar_stands_apart_from_the_next() -> None:
    """By one unit of the drawing, day after day; a day without practice has none."""
    practised = {TODAY - timedelta(days=ago): 20 for ago in (0, 1, 2, 4)}
    drawn = ET.fromstring(minutes_chart(practised, today=TODAY))
    bars = sorted((float(r.attrib["x"]), float(r.attrib["width"])) for r in drawn.iter("rect"))
    assert 4 == len(bars)
    ends = [x + wide for x, wide in bars]
    gaps = [round(x - end, 6) for end, (x, _) in zip(ends, bars[1:], strict=False)]
    assert [bars[0][1] + 2, 1.0, 1.0] == gaps


def test_the_strip_of_states_is_shared_out_and_labelled_where_there_is_room() -> None:
    """A part is as wide as its share; from 7 % on it has its number, from 21 % on its words.

    Both stand in its middle.
    """
    counts = {"holding": 45, "building": 22, "fading": 20, "outgrown": 8, "rested": 5}
    states = [state for state, count in counts.items() for _ in range(count)]
    drawn = ET.fromstring(states_chart(states))
    parts = list(drawn.iter("rect"))
    whole = sum(float(part.attrib["width"]) for part in parts)
    labels = {float(text.attrib["x"]): "".join(text.itertext()) for text in drawn.iter("text")}
    at, told = 0.0, []
    for part in parts:
        wide = float(part.attrib["width"])
        assert at == pytest.approx(float(part.attrib["x"]), abs=0.11)
        middle = [text for x, text in labels.items() if abs(x - at - wide / 2) < 0.2]
        count = round(100 * wide / whole)
        told.append((count, middle))
        at += wide
    assert 100 == sum(count for count, _ in told)
    for count, middle in told:
        words = [text for text in middle if not text.isdigit()]
        assert bool(middle) is (count >= 7)
        assert bool(words) is (count >= 21)
        assert all(text.split()[0] == str(count) for text in middle)


def test_the_line_of_tempo_is_read_back_off_its_scale() -> None:
    """In the middle of each day's bar, as high as the mean share of the goals on that day.

    From the first day on each practice lifts it; after the last it falls evenly to what is
    expected on the day of the file.
    """
    slow = card(1, "fading", (20, 1, 60.0), (10, 1, 90.0))
    one = aged(0, replace(slow, cold_bpm=80.0), card(2, "building", (5, 1, 50.0)))
    drawn = ET.fromstring(tempo_chart(one.cards, today=TODAY))
    (line,) = drawn.iter("polyline")
    points = [tuple(map(float, pair.split(","))) for pair in line.attrib["points"].split()]
    goal, least = (float(each.attrib["y1"]) for each in list(drawn.iter("line"))[:2])
    floor_label = [text.text for text in drawn.iter("text")][1]
    bottom = float(str(floor_label).split()[0]) / 100
    shares = [1.0 - (y - goal) / (least - goal) * (1.0 - bottom) for _, y in points]
    expected = [0.6] * 10
    expected += [0.9 - 0.01 * n for n in range(5)]
    expected += [(0.9 - 0.01 * n + 0.5) / 2 for n in range(5, 11)]
    assert expected == pytest.approx(shares, abs=0.01)
    bars = ET.fromstring(
        minutes_chart({TODAY - timedelta(days=n): 20 for n in range(21)}, today=TODAY)
    )
    middles = sorted(float(r.attrib["x"]) + float(r.attrib["width"]) / 2 for r in bars.iter("rect"))
    assert middles == pytest.approx([x for x, _ in points], abs=0.6)
    (dot,) = drawn.iter("circle")
    assert points[-1] == (float(dot.attrib["cx"]), float(dot.attrib["cy"]))


@pytest.mark.parametrize(
    ("minutes", "top"), [((5.0,), 15.0), ((15.0,), 15.0), ((40.0, 20.0), 40.0)]
)
def test_a_bar_is_as_high_as_its_minutes(minutes: tuple[float, ...], top: float) -> None:
    """Of the scale that is written beside it: fifteen minutes at least, the longest day at most."""
    practised = {TODAY - timedelta(days=n): value for n, value in enumerate(minutes)}
    drawn = ET.fromstring(minutes_chart(practised, today=TODAY))
    high, low = (float(each.attrib["y1"]) for each in list(drawn.iter("line"))[:2])
    assert [f"{top:.0f}", "0"] == [text.text for text in drawn.iter("text")][:2]
    for bar, value in zip(drawn.iter("rect"), reversed(minutes), strict=True):
        tall = float(bar.attrib["height"])
        assert value / top * (low - high) == pytest.approx(tall, abs=0.11)
        assert low == pytest.approx(float(bar.attrib["y"]) + tall, abs=0.11)


@pytest.mark.parametrize(
    ("students", "columns", "kind"),
    [(24, 24, "map"), (25, 25, "map many"), (60, 60, "map many"), (61, 0, "map")],
)
def test_the_map_of_a_large_class_has_sums_alone(students: int, columns: int, kind: str) -> None:
    """Up to so many students each has a column, narrower from some on; then the counts stand."""
    files = [student(n, f"S{n}", card(1, "holding", (2, 3, 101.0))) for n in range(students)]
    page = studio_page(look_at(files, today=TODAY), today=TODAY)
    drawn = page.partition("<h2>The class</h2>")[2].partition("</section>")[0]
    assert columns == drawn.count('<th scope="col"><a href="#student-')
    assert f'<table class="{kind}">' in drawn
    assert f"<td>{students}</td>" in drawn


def test_a_drawing_ends_where_its_frame_does() -> None:
    """Every line and word of it: the marks of the weeks go to the last day and no farther."""
    one = aged(0, card(1, "holding", (20, 1, 60.0), (1, 1, 101.0)))
    for drawn in (
        minutes_chart({TODAY: 20}, today=TODAY),
        tempo_chart(one.cards, today=TODAY),
        states_chart(["holding", "building"]),
    ):
        svg = ET.fromstring(drawn)
        wide, high = map(float, svg.attrib["viewBox"].split()[2:])
        for kind, across, down in (("line", "x1 x2", "y1 y2"), ("text", "x", "y")):
            for each in svg.iter(kind):
                assert all(0 <= float(each.attrib[name]) <= wide for name in across.split())
                assert all(0 <= float(each.attrib[name]) <= high for name in down.split())
