"""What was asked of a student and what became of it, and what the studio proposes next."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from students_by_hand import TODAY, aged, card, failed, student

from drillbox.studio import (
    Asked,
    look_at,
    next_up,
    student_lines,
    tasks_of,
)
from drillbox.studio.reply_doubts import reply_doubts
from drillbox.studio.reply_files import Reply, Wanted
from drillbox.studio.reply_writing import proposed, proposed_goals


@pytest.mark.parametrize(
    ("reached", "by", "status"),
    [(5, 3, "met"), (3, 3, "met"), (2, 3, "late"), (None, 3, "missed"), (None, -1, "not due"),
     (None, 0, "not due"), (4, -9, "not due"), (1, -9, "met")],
)  # fmt: skip
def test_assignments_are_met_late_missed_or_not_due(
    reached: int | None, by: int, status: str
) -> None:
    """By the first day at the asked tempo; both in days ago, ahead if negative.

    A deck does not say since when it asks: while the day is ahead, what has slipped is not met.
    """
    later = [] if reached == 1 else [(1, 1, 90.0)]
    played = [(9, 1, 80.0), *([(reached, 1, 95.0)] if reached else []), *later]
    asked = Asked(TODAY - timedelta(days=by), 95.0)
    (task,) = tasks_of(aged(0, replace(card(1, "building", *played), asked=(asked,))))

    assert status == task.status
    shown = {"not due": "not due yet", "met": "asked and met"}.get(status, status)
    mia = aged(0, replace(card(1, "building", *played), asked=(asked,)))
    assert any(line.startswith(f"{shown}: card 1 at 95 by ") for line in student_lines(mia))
    assert ("1 assignment missed" in mia.reasons) == (status == "missed")


@pytest.mark.parametrize(
    ("given", "by", "status"),
    [(0, -14, "not due"), (11, -14, "not due"), (12, -14, "met"), (11, 2, "missed")],
)
def test_practice_from_before_a_reply_asked_does_not_meet_it(
    given: int, by: int, status: str
) -> None:
    """Ben stopped twelve days ago at 95: what is asked since wants a day of practice since."""
    asked = Asked(TODAY - timedelta(days=by), 95.0, TODAY - timedelta(days=given))
    ben = card(1, "building", (20, 1, 80.0), (12, 1, 96.0))
    (task,) = tasks_of(aged(0, replace(ben, asked=(asked,))))

    assert status == task.status


def test_a_cold_tempo_a_tenth_below_does_not_meet_what_a_deck_asks() -> None:
    """52.9 is shown as 53 and is not 53."""
    ben = replace(card(1, "building", (20, 1, 50.0), (12, 1, 53.4)), cold_bpm=52.9)
    (task,) = tasks_of(aged(0, replace(ben, asked=(Asked(TODAY + timedelta(days=14), 53.0),))))

    assert "not due" == task.status


def test_a_clear_gain_leaves_no_complaint_of_how_few_are_in_hand() -> None:
    """Mia gains 13 bpm a card, and one of four is in hand after a month."""
    mia = [card(n, "building", (28, 2, 60), (14, 3, 66), (1, 3, 73)) for n in (1, 2, 3)]
    same = [card(n, "building", (28, 2, 60), (14, 3, 60), (1, 3, 60)) for n in (1, 2, 3)]
    done = card(4, "holding", (2, 2, 101))

    assert not any("begun in hand" in reason for reason in aged(0, *mia, done).reasons)
    assert "1 of 4 begun in hand after 29 days" in aged(0, *same, done).reasons


def test_what_comes_next_is_in_the_decks_order_and_costs_what_the_others_did() -> None:
    """Two in the making leave room for one; the cards in hand took three days and nine minutes.

    What is in the making is brought to its goal first, the nearest before the others.
    """
    made = [card(n, "holding", (9, 3, 90), (8, 3, 95), (7, 3, 100), (1, 1, 101)) for n in (1, 2)]
    building = [card(n, "building", (2, 1, 90 + n)) for n in (3, 4)]
    waiting = [card(n, "waiting") for n in (5, 6)]
    coming = next_up(aged(0, *made, *building, *waiting))

    assert (["card 4", "card 3"], ["card 5"], 3, 9.0) == (
        [one.title for one in coming.near], [one.title for one in coming.new],
        coming.days, coming.minutes_a_day,
    )  # fmt: skip
    assert () == next_up(aged(0, *building, card(7, "building", (1, 1, 80)), *waiting)).new
    line = student_lines(aged(0, *made, *building, *waiting))[1]
    assert (
        "next: bring to the goal: card 4 (94 of 100) | card 3 (93 of 100); begin: card 5; "
        "about 9 minutes a day; this student's cards came there in 3 days of practice"
    ) == line


def test_a_stuck_card_gets_a_lower_goal_before_others_are_brought_to_their_goals() -> None:
    """Ola: three cards with many takes and no gain, a step under what was played last."""
    ola = [
        replace(card(n, "building", (40, 2, 72), (20, 6, 72), (3, 6 + n, 72.4)), last_bpm=75.0)
        for n in (1, 2, 3)
    ]
    close = card(4, "building", (20, 1, 90), (2, 1, 97))
    all_of_them, some = aged(0, *ola, close), aged(0, ola[0], close)

    assert ["card 3=65", "card 2=65", "card 1=65"] == proposed_goals(all_of_them)
    assert ([], ["card 4"], ["card 1=65"]) == (
        proposed(all_of_them), proposed(some), proposed_goals(some),
    )  # fmt: skip
    assert student_lines(some)[1].startswith(
        "next: stuck, so a lower goal for a while: card 1 at 65; "
        "bring to the goal: card 4 (97 of 100)"
    )


@pytest.mark.parametrize(
    ("before", "cold", "wanted"),
    [(69, 70, ["card 1=75"]), (69, 72, ["card 1=80"]), (89, 90, ["card 1"]),
     (50, 70, ["card 1=75"]), (60, 81, ["card 1"])],
)  # fmt: skip
def test_no_more_is_asked_than_the_student_goes(
    before: float, cold: float, wanted: list[str]
) -> None:
    """From 70 to 100 at a bpm a month is no task for two weeks, five to ten bpm are.

    Who gained 21 in the month may be asked for 19.
    """
    mia = aged(0, card(1, "building", (50, 1, before), (40, 1, before), (2, 2, cold)))

    assert wanted == proposed(mia)
    far = f"a step, for the goal is far ({cold - before:+.0f} bpm a card in the month): card 1 at "
    assert (far in student_lines(mia)[1]) == ("=" in wanted[0])


def test_a_student_for_whom_all_falls_apart_is_named_and_gets_nothing_new() -> None:
    """Tom tried three cards on few days; Mia practises well. He stands first, and plays slower."""
    tried = [failed(n, (4, 3, 62.0), (2, 2, 58.0)) for n in (1, 2, 3)]
    tom = student(1, "Tom", *tried, card(4, "waiting"), card(5, "waiting"))
    well = [card(n, "holding", *((ago, 1, 101.0) for ago in range(14, 0, -1))) for n in (1, 2)]
    mia = student(2, "Mia", *well, card(4, "waiting"))
    first, second = look_at([mia, tom], today=TODAY)

    assert ("Tom", "Mia") == (first.label, second.label)
    assert ("3 cards tried, none has come together",) == first.reasons
    assert () == second.reasons
    coming = next_up(first)
    assert (("card 1", "card 2", "card 3"), (55.0, 55.0, 55.0), ()) == (
        tuple(one.card.title for one in coming.slower), tuple(one.bpm for one in coming.slower),
        coming.new,
    )  # fmt: skip
    assert (
        "next: slower until they come together: card 1 at 55 | card 2 at 55 | card 3 at 55; "
        "nothing new before that"
    ) == student_lines(first)[1]
    assert (0, 3, None) == (first.whole.in_hand, first.whole.apart, first.whole.gain_bpm)
    assert ["card 1=55", "card 2=55", "card 3=55"] == proposed(first)
    assert [] == proposed_goals(first)


def test_a_card_that_does_not_come_together_is_named_after_its_third_day() -> None:
    """Beside others that do: two days are a beginning, on the third a slower tempo is proposed."""
    fine = [card(n, "holding", *((ago, 1, 101.0) for ago in range(14, 0, -1))) for n in (1, 2)]
    early = aged(0, *fine, failed(3, (2, 3, 62.0), (1, 3, 60.0)))
    late = aged(0, *fine, failed(3, (3, 3, 62.0), (2, 3, 61.0), (1, 3, 60.0)))

    assert ((), ()) == (early.reasons, next_up(early).slower)
    assert ("1 card not together yet",) == late.reasons
    assert "next: slower until it comes together: card 3 at 55" in student_lines(late)[1]
    assert "not together yet: card 3 (9 takes on 3 days)" in student_lines(late)


def test_what_falls_apart_at_a_crawl_is_taken_apart_in_the_lesson() -> None:
    """Under forty a slower click is no help, nor is one under a tempo that nobody knows."""
    crawls = replace(failed(1, (4, 3, 62.0), (2, 2, 58.0)), last_bpm=44.0)
    unknown = replace(failed(2, (4, 3, 62.0), (2, 2, 58.0)), last_bpm=None)
    tom = aged(0, crawls, unknown)

    assert ("next: take apart in the lesson: card 1 (last tried at 44) | card 2") == student_lines(
        tom
    )[1]
    assert [] == proposed(tom)


def test_of_what_has_not_come_together_no_tempo_is_believed() -> None:
    """A guess above the goal is no goal reached, no gain, and nothing asked that was met."""
    asked = Asked(TODAY, 90.0)
    (one,) = aged(0, replace(failed(1, (40, 3, 130.0), (5, 3, 99.0)), asked=(asked,))).cards

    assert (None, None, False, "apart") == (one.made, one.gain_bpm, one.new, one.kind)
    assert ["not due"] == [task.status for task in one.tasks]


def test_what_came_to_its_goal_this_month_is_to_be_praised() -> None:
    """For the first time within the thirty days, and still there; not what was there before."""
    new = card(1, "holding", (20, 3, 80.0), (9, 3, 101.0))
    old = card(2, "holding", (40, 3, 101.0), (9, 3, 103.0))
    lost = card(3, "fading", (20, 3, 80.0), (9, 3, 101.0))
    lines = student_lines(aged(0, new, old, lost))

    assert "new in hand this month: card 1 (101 of 100)" in lines
    assert "in hand: card 2 (103 of 100)" in lines


@pytest.mark.parametrize(
    ("cold", "asked", "days", "doubt"),
    [
        (84.0, 200.0, 1, "wanted at 200 by 2026-11-27: it stands at 84 cold."),
        (84.0, 94.0, 1, ""),
        (84.0, 95.0, 14, "wanted at 95 by 2026-12-10: it stands at 84 cold."),
        (84.0, 104.0, 28, ""),
        (84.0, 84.0, 7, "a lower goal is --goal 'card 1=84'."),
        (84.0, 60.0, 7, "it stands at 84 cold already, and a day lowers no goal"),
        (70.0, None, 7, "wanted at 100 by 2026-12-03: it stands at 70 cold."),
        (101.0, None, 7, ""),
        (None, 100.0, 7, ""),
        (None, 120.0, 7, "its goal is 100, and it has no tempo yet."),
    ],
)
def test_a_wish_out_of_reach_or_there_already_is_doubted(
    cold: float | None, asked: float | None, days: int, doubt: str
) -> None:
    """Ten bpm in two weeks are in reach of anybody; what a card has by now, a day cannot lower."""
    one = card(1, "waiting") if cold is None else card(1, "building", (40, 1, cold), (1, 1, cold))
    mia = aged(0, one)
    by = date(2026, 11, 26) + timedelta(days=days)
    written = datetime(2026, 11, 26, 9, tzinfo=UTC)
    reply = Reply("", "5" * 32, "", written, "", (Wanted(one.rhythm, by, asked),), ())
    told = list(reply_doubts(reply, mia))

    assert bool(doubt) == bool(told)
    assert doubt in "".join(told)
