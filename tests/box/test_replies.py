"""A teacher's replies in a student's box: for one student, in any order, and safe."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from itertools import permutations
from typing import TYPE_CHECKING

import pytest
from conftest import MORNING, SMALL_DECK
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from strategies import damaged_bytes

from drillbox.base.clock import ManualClock
from drillbox.box import Box
from drillbox.deckfile import parse_deck
from drillbox.errors import DrillboxError, LogError, ReplyError
from drillbox.memory import Grade
from drillbox.report.progress_file import keep_student, progress_of
from drillbox.studio import (
    Asked,
    Goal,
    Reply,
    Wanted,
    read_progress,
    read_reply,
    write_progress,
    write_reply,
)

if TYPE_CHECKING:
    from collections.abc import Callable

DECK = parse_deck(SMALL_DECK, name="small.toml")
CARDS = [card.card_id for card in DECK.cards]
MIA = "5" * 32
SOON = date(2026, 3, 12)


def reply(minute: int = 0, **changes: object) -> Reply:
    """Return a reply to Mia, with its id."""
    written = datetime(2026, 3, 2, 7, 0, tzinfo=UTC) + timedelta(minutes=minute)
    made = Reply("", MIA, "Mr. K", written, "Lower ghosts.", (), ())
    return read_reply(file(replace(made, **changes)), "mia.reply")  # type: ignore[arg-type]


def file(one: Reply) -> bytes:
    """Return a reply as a file."""
    out = BytesIO()
    write_reply(one, out)
    return out.getvalue()


def mias_box(clock: ManualClock) -> Box:
    """Return a box that has handed its progress in."""
    box = Box.open(":memory:", clock=clock)
    box.put_deck(DECK, at=clock.now())
    progress = progress_of(box, at=clock.now(), new_id=lambda: MIA, name="Mia")
    keep_student(box, progress, at=clock.now())
    return box


def says(box: Box, clock: ManualClock) -> object:
    """Return all that replies change in a box."""
    cards = [(card.card_id, card.goal_bpm, card.due) for card in box.cards(at=clock.now())]
    return cards, box.notes(at=clock.now()), box.replies()


REPLIES = (
    reply(0, wanted=(Wanted(CARDS[0], SOON, None), Wanted(CARDS[1], SOON, 70.0))),
    reply(5, note="Slower.", goals=(Goal(CARDS[0], 84.0),)),
    reply(9, note="", goals=(Goal(CARDS[0], 88.0), Goal("f" * 16, 99.0))),
)


def test_in_any_order_and_any_number_of_times_it_comes_to_the_same(clock: ManualClock) -> None:
    """The later word stands over the earlier, whichever came first."""
    told = []
    for order in permutations(REPLIES):
        with mias_box(clock) as box:
            new = [box.take_in(one, at=clock.now()) for one in (*order, *order)]
            told.append(says(box, clock))
            assert [True] * 3 + [False] * 3 == new
            goals = {card.card_id: card.goal_bpm for card in box.cards(at=clock.now())}
            assert (88.0, 90.0) == (goals[CARDS[0]], goals[CARDS[1]])
            (note,) = box.notes(at=clock.now())
            assert ("Slower.", "Mr. K", None) == (note.text, note.teacher, note.by)
            due = box.card(CARDS[1], at=clock.now()).due
            assert due is not None
            assert (SOON, 70.0) == (due.by, due.goal_bpm)
    assert all(told[0] == one for one in told)


def test_the_word_and_its_date_stand_until_the_next_or_a_month(clock: ManualClock) -> None:
    """On Today, with who wrote it and when; the next progress file says it was taken in."""
    with mias_box(clock) as box:
        box.take_in(REPLIES[0], at=clock.now())
        (note,) = box.notes(at=clock.now())
        assert "Mr. K, Mon 2 Mar; wanted by Thu 12 Mar" == note.heading
        progress = progress_of(box, at=clock.now(), new_id=lambda: "x")
        assert (REPLIES[0].id,) == progress.taken_in
        assert [1, 1, 0, 0] == [len(card.asked) for card in progress.cards]
        clock.forward(days=31)
        assert () == box.notes(at=clock.now())


def test_the_next_file_says_since_when_a_reply_asks(clock: ManualClock) -> None:
    """So that a teacher's program counts no practice from before; written and read the same."""
    box = mias_box(clock)
    box.take_in(reply(wanted=(Wanted(CARDS[0], SOON, 84.0),)), at=clock.now())
    progress = progress_of(box, at=clock.now(), new_id=lambda: MIA)
    out = BytesIO()
    write_progress(progress, out)
    read = read_progress(BytesIO(out.getvalue()), "mia.jsonl")

    assert (Asked(SOON, 84.0, date(2026, 3, 2)),) == progress.cards[0].asked
    assert progress.cards[0].asked == read.cards[0].asked


def test_a_goal_stands_until_the_player_sets_another(clock: ManualClock) -> None:
    """The player's later word stands over the teacher's; to set the card aside is none."""
    with mias_box(clock) as box:
        box.set_goal(CARDS[0], bpm=100, at=clock.now() - timedelta(days=9))
        box.take_in(REPLIES[1], at=clock.now())
        assert 84.0 == box.card(CARDS[0], at=clock.now()).goal_bpm
        box.rest(CARDS[0], resting=True, at=clock.now())
        assert 84.0 == box.card(CARDS[0], at=clock.now()).goal_bpm
        box.set_goal(CARDS[0], bpm=91, at=clock.now())
        box.take_in(REPLIES[0], at=clock.now())
        assert 91.0 == box.card(CARDS[0], at=clock.now()).goal_bpm


def test_a_teachers_lower_goal_is_the_plans_and_a_lower_wish_by_a_day_is_not(
    clock: ManualClock,
) -> None:
    """A goal stands for the plan and every screen; what is wanted by a day lowers no goal."""
    for lowered, goal in ((reply(0, wanted=(Wanted(CARDS[0], SOON, 60.0),)), 90.0),
                          (reply(0, goals=(Goal(CARDS[0], 60.0),)), 60.0)):  # fmt: skip
        with mias_box(clock) as box:
            for _ in range(3):
                at = clock.now()
                box.record(CARDS[0], bpm=75, grade=Grade.STEADY, at=at, seconds=40)
            clock.forward(days=1)
            box.take_in(lowered, at=clock.now())
            card = box.card(CARDS[0], at=clock.now())
            why = next(one.why for one in box.plan(at=clock.now(), minutes=15).items
                       if one.card_id == CARDS[0])  # fmt: skip

        assert (goal, goal == 60.0) == (card.goal_bpm, card.holds)
        assert f" {goal:.0f}" in why
        assert ("on the way to 90" in why) == (goal == 90.0)


def test_replies_travel_between_the_students_machines(clock: ManualClock) -> None:
    """Taken in on one, they stand on the other after a merge."""
    with mias_box(clock) as here, mias_box(clock) as there:
        for one in REPLIES:
            here.take_in(one, at=clock.now())
        there.join(here.holdings())
        assert says(here, clock) == says(there, clock)


@pytest.mark.parametrize("handed_in", [True, False])
def test_another_students_box_refuses_it(clock: ManualClock, *, handed_in: bool) -> None:
    """And so does a box that has handed nothing in; neither keeps anything of it."""
    with Box.open(":memory:", clock=clock) as box:
        box.put_deck(DECK, at=clock.now())
        if handed_in:
            other = progress_of(box, at=clock.now(), new_id=lambda: "6" * 32)
            keep_student(box, other, at=clock.now())
        with pytest.raises(ReplyError, match=r"another student|handed nothing in"):
            box.take_in(REPLIES[0], at=clock.now())
        assert ((), ()) == (box.replies(), box.notes(at=clock.now()))


def lines(change: Callable[[list[dict[str, object]]], None]) -> bytes:
    """Return a reply whose lines were changed, with a checksum that fits all the same."""
    records = [json.loads(line) for line in file(REPLIES[0]).splitlines()[:-1]]
    change(records)
    body = b"".join(json.dumps(record).encode() + b"\n" for record in records)
    end = {"kind": "end", "lines": len(records) - 1, "sha256": hashlib.sha256(body).hexdigest()}
    return body + json.dumps(end).encode() + b"\n"


def changed(number: int, **values: object) -> Callable[[list[dict[str, object]]], None]:
    """Return a change of one line."""
    return lambda records: records[number].update(values)


@pytest.mark.parametrize(
    "change",
    [
        changed(0, student="x"),
        changed(0, teacher="\x1b[31mMr. K"),
        changed(0, written="0001-01-01T00:00:00Z"),
        changed(0, version=2),
        changed(0, path="/etc/passwd"),
        changed(1, text="\x1b]0;owned\x07"),
        changed(1, text=""),
        changed(1, text="a\r\nb"),
        changed(1, text="\u202egnp"),
        changed(1, text="n" * 2001),
        changed(1, text=7),
        changed(1, kind="run"),
        changed(1, kind=["note"]),
        changed(2, goal_bpm=1e300),
        changed(2, goal_bpm=True),
        changed(2, goal_bpm="90"),
        changed(2, by="9999-12-31"),
        changed(2, by="2026-13-01"),
        changed(2, rhythm="../../x"),
        lambda records: records.append(dict(records[-1])),
        lambda records: records.append({"kind": "note", "text": "again"}),
        lambda records: records.extend(
            {"kind": "goal", "rhythm": f"{n:016x}", "goal_bpm": 90} for n in range(200)
        ),
        lambda records: records[1].pop("text"),
    ],
)  # fmt: skip
def test_a_hostile_reply_is_refused_in_one_sentence(
    change: Callable[[list[dict[str, object]]], None], clock: ManualClock
) -> None:
    """With its place; and a box that got it by a merge refuses it or passes it over."""
    with pytest.raises(ReplyError) as refusal:
        read_reply(lines(change), "mia.reply")
    assert 1 == len(refusal.value.sentence().splitlines())
    assert refusal.value.sentence().isascii()
    records = [json.loads(line) for line in lines(change).splitlines()[:-1]]
    with mias_box(clock) as box, mias_box(clock) as other:
        try:
            other.archive.put_setting(f"reply/{REPLIES[0].id}", records, clock.now())
        except DrillboxError:
            return
        assert () == other.replies()
        assert other.plan(at=clock.now()).items
        with pytest.raises(LogError, match="a teacher's reply that makes no sense"):
            box.join(other.holdings())


@examples(60)
@given(damaged_bytes(file(REPLIES[0])))
def test_a_damaged_reply_is_refused_or_whole(content: bytes) -> None:
    """The checksum finds every change but those that change nothing."""
    try:
        assert REPLIES[0] == read_reply(content, "mia.reply")
    except ReplyError:
        assert content != file(REPLIES[0])


names = st.text(st.characters(exclude_categories=("C", "Z")), max_size=20)


@examples(60)
@given(
    names,
    st.lists(names, max_size=3).map("\n".join),
    st.dictionaries(st.sampled_from(CARDS), st.none() | st.floats(20, 400), max_size=3),
    st.dictionaries(st.sampled_from(CARDS), st.integers(20, 400), max_size=3),
)
def test_what_is_written_is_read_the_same(
    teacher: str, note: str, wanted: dict[str, float | None], goals: dict[str, int]
) -> None:
    """Any reply comes back as it was, under the id of what it says, and is kept so by a box."""
    one = Reply(
        id="",
        student=MIA,
        teacher=teacher,
        written=datetime(2026, 3, 2, 7, tzinfo=UTC),
        note=note if note.strip() else "",
        wanted=tuple(Wanted(card, SOON, bpm) for card, bpm in wanted.items()),
        goals=tuple(Goal(card, float(bpm)) for card, bpm in goals.items()),
    )
    read = read_reply(file(one), "mia.reply")
    clock = ManualClock(MORNING)
    with mias_box(clock) as box:
        box.take_in(read, at=clock.now())

        assert one == replace(read, id="")
        assert (read,) == box.replies()
