"""Replies at their very ends: lines, sizes, what a box keeps, and whom and what a word means."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from replies_by_hand import sealed
from students_by_hand import TODAY, aged, card, failed, student

from drillbox.errors import ReplyError, UnknownCardError
from drillbox.studio import Goal, Reply, Wanted, look_at, read_reply, reply_files
from drillbox.studio.reply_doubts import reply_doubts
from drillbox.studio.reply_files import reply_from_values, reply_values
from drillbox.studio.reply_writing import (
    proposed,
    proposed_goals,
    reply_content,
    reply_for,
    student_named,
)

if TYPE_CHECKING:
    from drillbox.studio import StudentFigures

NOW = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
ONE = f"{1:016x}"
BY = date(2026, 12, 10)
PLAIN = Reply("", "5" * 32, "Ms Roy", NOW, "Lower.", (), ())
HEAD, NOTE = (json.loads(line) for line in reply_content(PLAIN).splitlines()[:2])
GOAL = {"kind": "goal", "rhythm": ONE, "goal_bpm": 88.0}
WANTED = {"kind": "wanted", "rhythm": ONE, "by": "2026-12-10", "goal_bpm": None}


@pytest.mark.parametrize(
    "reply",
    [
        PLAIN,
        replace(PLAIN, note=""),
        replace(PLAIN, goals=(Goal(ONE, 90.0),)),
        replace(PLAIN, note="", wanted=(Wanted(ONE, BY, None),), goals=(Goal(ONE, 90.0),)),
    ],
)
def test_the_end_line_counts_what_the_reply_says(reply: Reply) -> None:
    """A line for the word, if there is one, and one a card."""
    _, *body, end = (json.loads(line) for line in reply_content(reply).splitlines())
    assert len(body) == end["lines"] == (bool(reply.note) + len(reply.wanted) + len(reply.goals))
    assert 64 == len(end["sha256"])
    assert 32 == len(read_reply(reply_content(reply), "x").id)


def test_an_end_line_that_does_not_fit_is_refused() -> None:
    """Another count, another sum, a field more, no line at all between."""
    assert "Lower." == read_reply(sealed(HEAD, NOTE), "x").note
    for wrong in ({"lines": 2}, {"lines": 0}, {"sha256": "0" * 64}, {"more": 1}):
        with pytest.raises(ReplyError, match="the checksum does not fit"):
            read_reply(sealed(HEAD, NOTE, **wrong), "x")
    for cut in (sealed(HEAD).splitlines(keepends=True)[0], reply_content(PLAIN).split(b"\n")[0]):
        with pytest.raises(ReplyError, match="it has no end line"):
            read_reply(cut.rstrip(b"\n") + b"\n", "x")


def test_a_reply_of_the_greatest_size_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """And one of a byte more is not."""
    whole = reply_content(PLAIN)
    monkeypatch.setattr(reply_files, "MOST_BYTES", len(whole))
    assert "Lower." == read_reply(whole, "x").note
    monkeypatch.setattr(reply_files, "MOST_BYTES", len(whole) - 1)
    with pytest.raises(ReplyError, match="larger than"):
        read_reply(whole, "x")


def test_a_box_keeps_a_reply_of_the_greatest_length() -> None:
    """A word and 150 cards, and no line more."""
    long = replace(PLAIN, goals=tuple(Goal(f"{n:016x}", 90.0) for n in range(150)))
    read = read_reply(reply_content(long), "x")
    kept = reply_values(read)
    assert 152 == len(kept)
    assert read == reply_from_values(read.id, kept)
    longer = replace(read, goals=(*read.goals, Goal("f" * 16, 90.0)))
    with pytest.raises(ReplyError, match="this is no reply"):
        reply_from_values(read.id, reply_values(longer))
    with pytest.raises(ReplyError, match="more than 153 lines"):
        read_reply(reply_content(longer), "x")


@pytest.mark.parametrize("wanted", [0, 1, 75, 150, 151])
def test_a_reply_has_150_cards_at_most_with_a_word_or_without(wanted: int) -> None:
    """Wanted and goals together; told by the line of the first that is too many."""
    days = tuple(Wanted(f"{n:016x}", BY, None) for n in range(wanted))
    goals = tuple(Goal(f"{n:016x}", 90.0) for n in range(151 - wanted))
    many = replace(PLAIN, note="", wanted=days, goals=goals)
    with pytest.raises(ReplyError, match=r"^x:152: more than 150 lines of wanted and goal"):
        read_reply(reply_content(many), "x")
    fewer = replace(many, wanted=days[1:]) if wanted else replace(many, goals=goals[1:])
    for note in ("", "Lower."):
        said = replace(fewer, note=note)
        assert said == replace(read_reply(reply_content(said), "x"), id="")


@pytest.mark.parametrize(
    ("number", "key", "value", "told"),
    [
        (0, "format", "drillbox log", "KEY:1: format cannot be"),
        (0, "version", 2, "KEY:1: version cannot be"),
        (0, "written", 5, "KEY:1: written cannot be"),
        (0, "teacher", None, "KEY:1: teacher cannot be"),
        (1, "text", 5, "KEY:2: text cannot be"),
        (1, "text", "", "KEY:2: text cannot be"),
        (1, "text", "one\ntwo\a", "KEY:2: text cannot be"),
        (2, "by", 5, "KEY:3: by cannot be"),
        (2, "by", "2200-01-01", "KEY:3: by cannot be"),
        (2, "rhythm", 5, "KEY:3: rhythm cannot be"),
        (3, "goal_bpm", "x" * 50, "KEY:4: goal_bpm cannot be '" + "x" * 39 + ";"),
        (3, "x" * 50, 1, "KEY:4: '" + "x" * 39 + " is missing or not known"),
        (3, "goal_bpm", 90.0, "the reply is not the one of this id"),
    ],
)
def test_what_a_box_keeps_is_looked_at_line_by_line(
    number: int, key: str, value: object, told: str
) -> None:
    """Each field, told by the id and the number of its line."""
    said = replace(PLAIN, wanted=(Wanted(ONE, BY, 80.0),), goals=(Goal(ONE, 88.0),))
    read = read_reply(reply_content(said), "x")
    kept = reply_values(read)
    assert read == reply_from_values(read.id, kept)
    kept[number] |= {key: value}
    with pytest.raises(ReplyError) as caught:
        reply_from_values(read.id, kept)
    assert told.replace("KEY", read.id) in str(caught.value)


@pytest.mark.parametrize("second", [GOAL, WANTED])
def test_a_card_stands_once_among_the_wanted_and_once_among_the_goals(
    second: dict[str, Any],
) -> None:
    """Another card beside it, and the same in the other list."""
    other = {**second, "rhythm": f"{2:016x}"}
    both = read_reply(sealed(HEAD, GOAL, WANTED, other), "x")
    assert 3 == len(both.goals) + len(both.wanted)
    with pytest.raises(ReplyError, match="x:5: a second"):
        read_reply(sealed(HEAD, GOAL, WANTED, other, second), "x")


def reply_to(one: StudentFigures, **typed: Any) -> Reply:
    """Return a reply as typed."""
    usual: dict[str, Any] = {"note": "", "wanted": (), "by": None, "goals": (), "teacher": ""}
    return reply_for(one, **{"now": NOW, **usual, **typed})


def test_each_thing_a_reply_may_say_is_enough_alone() -> None:
    """A word, a card by a day, or a goal; written at a whole second."""
    mia = aged(0, card(1, "waiting"))
    late = NOW.replace(microsecond=999_999)
    assert ("x", NOW) == ((made := reply_to(mia, note="x", now=late)).note, made.written)
    assert (Wanted(ONE, BY, None),) == reply_to(mia, wanted=["card 1"], by=BY).wanted
    assert (Goal(ONE, 88.0),) == reply_to(mia, goals=["card 1=88"]).goals
    assert ("", ()) == ((made := reply_to(mia, goals=["card 1=88"], by=BY)).note, made.wanted)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("", "no card '' in this student's file"),
        ("card", "'card' is more than one card; say which: card 1 | card 2 | card 11 | card 12"),
        ("card 2", ""),
        ("CARD 1", ""),
        ("rd 13", ""),
        ("card 14", "no card 'card 14'"),
    ],
)
def test_a_card_is_meant_by_its_whole_title_first(typed: str, told: str) -> None:
    """Then by a part that no other has; of many, four are named."""
    mia = aged(0, *(card(n, "waiting") for n in (1, 2, 11, 12, 13)))
    if not told:
        (one,) = reply_to(mia, wanted=[typed], by=BY).wanted
        number = int(typed.split()[1])
        assert f"{number:016x}" == one.rhythm
        return
    with pytest.raises(UnknownCardError) as caught:
        reply_to(mia, wanted=[typed], by=BY)
    assert told in str(caught.value)
    assert "card 13" not in str(caught.value)


def test_of_many_students_eight_are_named() -> None:
    """Where none is meant, of all; where several are, of those."""
    files = [student(n, f"S{n}", card(1, "waiting")) for n in range(1, 10)]
    files += [student(n, "Ana", card(1, "waiting")) for n in (10, 11)]
    students = look_at(files, today=TODAY)
    with pytest.raises(UnknownCardError) as caught:
        student_named(students, "Zoe")
    named = str(caught.value).partition("say which: ")[2]
    assert 8 == len(named.split(", "))
    assert ", ".join(one.label for one in students[:8]) in named
    with pytest.raises(UnknownCardError) as caught:
        student_named(students, "0000")
    assert "'0000' is more than one student" in str(caught.value)
    assert "S9" == student_named(students, " s9 ").label


def test_two_cards_of_one_title_are_proposed_by_their_rhythms() -> None:
    """So that the reply means one of them; what no tempo helps is not proposed at all."""
    twin = [replace(card(n, "building", (50, 1, 90.0 + n)), title="e") for n in (1, 2)]
    mia = aged(0, *twin, card(3, "waiting"))
    assert [f"{2:016x}", f"{1:016x}", "card 3"] == proposed(mia)
    assert 3 == len(reply_to(mia, wanted=proposed(mia), by=BY).wanted)
    apart = ((3, 1, 62.0), (2, 1, 62.0), (1, 1, 62.0))
    tom = aged(0, failed(1, *apart), replace(failed(2, *apart), last_bpm=None))
    assert ["card 1=55"] == proposed(tom)


THERE = (
    "it stands at 80 cold already, and a day lowers no goal; a lower goal is --goal 'card 1=80'."
)


@pytest.mark.parametrize(
    ("bpm", "days", "said"),
    [
        (90.0, 1, ""),
        (90.1, 1, "it stands at 80 cold."),
        (90.1, 14, "it stands at 80 cold."),
        (100.0, 28, ""),
        (100.1, 28, "it stands at 80 cold."),
        (95.0, 21, ""),
        (95.1, 21, "it stands at 80 cold."),
        (80.1, 1, ""),
        (80.0, 1, THERE),
        (None, 14, "it stands at 80 cold."),
        (None, 28, ""),
    ],
)  # fmt: skip
@pytest.mark.parametrize("gain", [0.0, 10.0])
def test_a_wish_is_doubted_from_just_out_of_reach_on(
    bpm: float | None, days: int, said: str, gain: float
) -> None:
    """Ten bpm within two weeks, as much more for a later day; one that is met is none.

    Without a tempo it is the card's own goal that is wanted, here a hundred.
    """
    mia = aged(0, card(1, "building", (40, 1, 80.0 - gain), (35, 1, 80.0 - gain), (3, 1, 80.0)))
    by = NOW.date() + timedelta(days=days)
    told = list(reply_doubts(replace(PLAIN, wanted=(Wanted(ONE, by, bpm),)), mia))
    start = f"perhaps not meant: card 1 wanted at {100 if bpm is None else bpm:g} by {by}: "
    assert ([start + said] if said else []) == told


def test_who_gains_more_may_be_asked_for_more() -> None:
    """As much in two weeks as in the month."""
    mia = aged(0, card(1, "building", (40, 1, 66.0), (35, 1, 66.0), (3, 1, 80.0)))
    for bpm, doubted in ((94.0, False), (94.1, True)):
        reply = replace(PLAIN, wanted=(Wanted(ONE, NOW.date() + timedelta(days=14), bpm),))
        assert doubted == bool(list(reply_doubts(reply, mia)))


@pytest.mark.parametrize(("bpm", "doubted"), [(None, False), (100.0, False), (100.1, True)])
def test_of_a_card_without_a_tempo_no_more_than_its_goal_is_meant(
    bpm: float | None, *, doubted: bool
) -> None:
    """Of one that the file does not have nothing is said."""
    mia = aged(0, card(1, "waiting"))
    wanted = (Wanted("f" * 16, BY, 400.0), Wanted(ONE, BY, bpm))
    told = list(reply_doubts(replace(PLAIN, wanted=wanted), mia))
    end = "wanted at 100.1 by 2026-12-10: its goal is 100, and it has no tempo yet."
    assert ([f"perhaps not meant: card 1 {end}"] if doubted else []) == told


@pytest.mark.parametrize(("last", "goals"), [(45.0, ["card 1=40"]), (44.9, [])])
def test_a_stuck_card_at_a_crawl_gets_no_lower_goal(last: float, goals: list[str]) -> None:
    """Under forty no goal helps; and what has not come together has none to lower."""
    slow = replace(card(1, "building", (50, 1, 80.0), (3, 12, 80.0)), last_bpm=last)
    apart = failed(2, (3, 1, 62.0), (2, 1, 62.0), (1, 1, 62.0))
    one = aged(0, slow, apart)
    assert (goals, ["card 2=55"]) == (proposed_goals(one), proposed(one))
