"""What a teacher reads.

Gains, stuck and fading cards, who stands first, the same however files arrive.
"""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from datetime import timedelta
from io import StringIO
from itertools import permutations

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from strategies import progress_files
from students_by_hand import DECK, TODAY, aged, card, student

from drillbox.studio import (
    CSV_HEAD,
    TABLE_HEAD,
    DeckInfo,
    Progress,
    as_csv,
    as_objects,
    class_lines,
    look_at,
    next_up,
    shared_troubles,
    table_rows,
)
from drillbox.studio.drawings import tempo_chart


@pytest.mark.parametrize(
    ("played", "gain"),
    [
        ([(40, 2, 80), (10, 2, 85), (2, 2, 92)], 12),
        ([(20, 2, 80), (2, 2, 84)], 4),
        ([(30, 2, 70), (29, 2, 90)], 20),
        ([(5, 9, 80)], 0),
        ([(20, 3, 83.5), (18, 3, 70), (2, 2, 72)], 2),
        ([(40, 3, 83.5), (18, 3, 70), (2, 2, 72)], 2),
        ([(24, 3, 78), (20, 2, 76), (17, 2, 75), (15, 2, 64), (9, 2, 64.5), (2, 2, 65)], 1),
        ([(24, 3, 78), (20, 2, 76)], 0),
        ([(40, 2, 80)], None),
        ([], None),
        ([(40, 2, 80), (-1, 2, 99)], None),
    ],
)
def test_the_tempo_gained_is_counted_from_when_the_month_began(
    played: list[tuple[int, int, float]], gain: float | None
) -> None:
    """From the tempo that stood then, or the first one since.

    A card that rested gained nothing to speak of. A first day's word that the next days take back
    was a guess, and no loss.
    """
    (figures,) = aged(0, card(1, "building", *played)).cards

    assert gain == figures.gain_bpm


def test_a_stuck_card_has_many_takes_no_gain_and_is_below_its_goal() -> None:
    """Twelve takes and half a bpm; not one that gained, that holds, or that was hardly played."""
    stuck = card(1, "building", (20, 6, 80), (3, 6, 80.5))
    others = (
        card(2, "building", (20, 6, 80), (3, 6, 90)),
        card(3, "holding", (20, 6, 100), (3, 6, 100)),
        card(4, "building", (20, 6, 80), (3, 5, 80)),
        card(5, "building", (50, 6, 80), (3, 6, 80)),
    )

    assert ["card 1"] == [c.card.title for c in aged(0, stuck, *others).cards if c.stuck]
    assert "1 card stuck" in aged(0, stuck, *others).reasons


def test_the_whole_and_its_decks_add_up() -> None:
    """A card of two decks counts in both, once in the whole; a day with two cards is one day."""
    shared = replace(card(1, "holding", (4, 3, 101)), decks=("week-3", "b"))
    own = card(2, "fading", (40, 1, 90), (4, 2, 95), (2, 1, 96))
    progress = replace(student(1, "Mia", shared, own), decks=(DECK, DeckInfo("b", "B", 2)))
    (mia,) = look_at([progress], today=TODAY)
    whole, (week, b) = mia.whole, mia.decks

    assert (2, 2, 1, 1) == (whole.cards, whole.begun, whole.in_hand, whole.fading)
    assert (2, 6.0, 6) == (whole.days, whole.minutes, whole.takes)
    assert (2, 1) == (week.figures.cards, b.figures.cards)
    assert 3.0 == whole.gain_bpm
    assert 2 == mia.idle_days
    assert 5.0 == mia.minutes_by_day()[TODAY - timedelta(days=4)]


def test_who_needs_a_word_stands_first() -> None:
    """Idle for weeks, then stuck, then never begun is no better; the one who gets on is last."""
    fine = student(1, "Ada", card(1, "holding", (1, 2, 101)))
    idle = student(2, "Ben", card(1, "fading", (29, 2, 101)))
    stuck = student(3, "Cleo", card(1, "building", (9, 8, 80), (1, 8, 80)))
    new = student(4, "Dan", card(1, "waiting"))
    slower = student(5, "Eve", card(1, "building", (40, 1, 90), (1, 2, 80)))
    found = look_at([fine, idle, stuck, new, slower], today=TODAY)

    assert ["Ben", "Dan", "Eve", "Cleo", "Ada"] == [one.label for one in found]
    assert [
        ("no practice for 29 days", "0 of 1 begun in hand after 30 days", "1 card fading"),
        ("has not begun",),
        ("0 of 1 begun in hand after 41 days", "practised on 1 day of 30"),
        ("practised on 2 days of 30", "1 card stuck"),
        (),
    ] == [one.reasons for one in found]


def test_two_students_of_one_name_stay_apart() -> None:
    """Each gets the start of the own id; a student without a name is called by it."""
    files = [
        replace(student(1, "Mia"), student="a" * 32),
        replace(student(1, "mia"), student="b" * 32),
        replace(student(1, ""), student="c" * 32),
        replace(student(1, "Tom"), student="d" * 32),
    ]

    labels = {one.label for one in look_at(files, today=TODAY)}
    assert {"Mia (aaaa)", "mia (bbbb)", "cccc", "Tom"} == labels


@examples(40)
@given(st.lists(progress_files(), max_size=4))
def test_reading_files_again_or_in_another_order_changes_nothing(files: list[Progress]) -> None:
    """The latest file of each student counts, whatever else lies in the folder."""
    expected = look_at(files, today=TODAY)

    for order in permutations(files):
        assert expected == look_at([*order, *order[:2]], today=TODAY)
    assert len({file.student for file in files}) == len(expected)
    for found in (one.progress for one in expected):
        assert found.written == max(f.written for f in files if f.student == found.student)


@examples(40)
@given(st.lists(progress_files(), max_size=4))
def test_figures_stay_within_their_meaning(files: list[Progress]) -> None:
    """Whatever the files say.

    Counts add up, decks are parts of the whole, and the order is by attention.
    """
    found = look_at(files, today=TODAY)

    assert sorted((one.attention for one in found), reverse=True) == [o.attention for o in found]
    for one in found:
        for figures in (one.whole, *(part.figures for part in one.decks)):
            assert 0 <= figures.in_hand + figures.fading + figures.stuck <= figures.cards
            assert figures.begun <= figures.cards <= one.whole.cards
            assert figures.days <= 30
            assert figures.minutes <= one.whole.minutes + 1e-9


@examples(40)
@given(st.lists(progress_files(), max_size=4))
def test_csv_and_json_are_read_back_by_independent_readers(files: list[Progress]) -> None:
    """RFC 4180 lines for the standard reader, as many columns everywhere.

    JSON with the same numbers.
    """
    found = look_at(files, today=TODAY)
    text = as_csv(found)
    head, *rows = csv.reader(StringIO(text, newline=""))
    objects = json.loads(json.dumps(as_objects(found)))

    assert list(CSV_HEAD) == head
    assert {len(head)} == {len(row) for row in (head, *rows)}
    assert len(rows) == sum(1 + len(one["decks"]) for one in objects)
    wholes = [dict(zip(head, row, strict=True)) for row in rows if not row[head.index("deck")]]
    for row, one in zip(wholes, objects, strict=True):
        assert (one["student"], str(one["cards"])) == (row["student"], row["cards"])
        assert f"{one['minutes']:.1f}" == row["minutes"]
    for cells in table_rows(found):
        assert len(TABLE_HEAD) == len(cells)


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@SUM(A1)"])
def test_a_name_is_never_a_formula(name: str) -> None:
    """A spreadsheet takes what a stranger is called for a text (OWASP, CSV injection)."""
    text = as_csv(look_at([student(1, name)], today=TODAY))

    assert f"'{name}" == next(iter(list(csv.DictReader(StringIO(text)))))["name"]


# Only what is true


def test_an_old_file_is_old_and_says_nothing_of_the_days_since() -> None:
    """Written 19 days ago, the day after practice: the file is old, the student is not idle."""
    mia = aged(19, card(1, "holding", (40, 2, 95), (21, 2, 101), (20, 2, 102)))

    assert (19, 1) == (mia.age_days, mia.idle_days)
    assert ("the file is 19 days old", "practised on 3 days of 30") == tuple(reversed(mia.reasons))
    assert 3 == mia.whole.days
    assert "5 Nov" in table_rows([mia])[0]
    assert "19 days" in table_rows([mia])[0]


def test_the_chart_of_who_quit_ends_where_the_file_says() -> None:
    """After the last practice at 101 % the line falls to the 92 % expected on the file's day."""
    gone = replace(card(1, "fading", (70, 2, 90), (60, 2, 101)), cold_bpm=92.0)
    rests = replace(card(2, "rested", (70, 2, 10)), cold_bpm=10.0)
    mia = aged(0, gone, rests)

    assert "mean cold tempo 92 % of the goals; 90 % at first" in tempo_chart(mia.cards, today=TODAY)


def test_gained_is_what_the_page_defines() -> None:
    """The tempo expected on the file's day, which has slipped, minus the one before the month."""
    mia = aged(0, replace(card(1, "building", (40, 2, 80), (9, 2, 88.6)), cold_bpm=86.9))

    assert 6.9 == pytest.approx(mia.whole.gain_bpm)
    assert "+6.9" in table_rows([mia])[0]


@pytest.mark.parametrize(
    ("loss", "half_band", "said"), [(1.5, 0.5, False), (4, 8, False), (9, 2, True)]
)
def test_slower_is_said_beyond_the_doubt_alone(
    loss: float, half_band: float, *, said: bool
) -> None:
    """Less than two bpm is nothing; less than the doubt is not known."""
    now = 90.0 - loss
    slow = replace(
        card(1, "holding", (50, 2, 90), (40, 2, 90), (3, 2, now)),
        low_bpm=now - half_band,
        high_bpm=now + half_band,
    )

    assert said == ("slower than a month ago" in aged(0, slow).reasons)


def test_a_plateau_is_said_where_a_step_up_can_be_ruled_out() -> None:
    """Twelve takes and half a bpm, within three bpm or within fifteen."""
    sure = replace(card(1, "building", (20, 6, 80), (3, 6, 80.5)), low_bpm=78.0, high_bpm=83.0)
    unsure = replace(sure, rhythm="f" * 16, low_bpm=65.0, high_bpm=96.0)

    assert [True, False] == [one.stuck for one in aged(0, sure, unsure).cards]


def test_cards_at_rest_leave_the_count_and_outgrown_ones_are_in_hand() -> None:
    """Removed cards are no debt; a card far above its goal is not stuck, whatever its takes."""
    mia = aged(
        0,
        card(1, "holding", (3, 1, 101)),
        card(2, "outgrown", (20, 9, 140), (3, 9, 140)),
        card(3, "rested", (3, 1, 60)),
    )

    assert (2, 1, 2, 1, 0) == (
        mia.whole.cards, mia.whole.rested, mia.whole.in_hand, mia.whole.outgrown, mia.whole.stuck,
    )  # fmt: skip
    assert ["card 2"] == [one.title for one in next_up(mia).higher]


def test_practising_for_nothing_and_not_practising_are_different_reasons() -> None:
    """Every second day for a month and no gain; three days and then nothing."""
    busy = card(1, "building", *((n, 1, 80.0) for n in range(29, 0, -2)))
    lazy = card(1, "building", (29, 1, 70), (28, 1, 71), (27, 1, 72))

    assert any(r.startswith("practises on 15 days and gains") for r in aged(0, busy).reasons)
    assert "no practice for 27 days" in aged(0, lazy).reasons
    assert not any("gains nothing" in reason for reason in aged(0, lazy).reasons)


def test_what_the_class_is_stuck_on_is_nobodys_own_trouble() -> None:
    """Three of four are stuck on one card: it is said once, and counts against none of them."""
    bad = card(1, "building", (20, 6, 80), (1, 6, 80))
    files = [student(n, f"S{n}", bad) for n in range(3)]
    files += [student(3, "S3", card(1, "holding", (1, 6, 101)))]
    found = look_at(files, today=TODAY)
    (trouble,) = shared_troubles(found)

    assert ("card 1", 3, 4, (100.0, 100.0)) == (
        trouble.title, trouble.stuck, trouble.students, trouble.goals,
    )  # fmt: skip
    assert not any("stuck" in reason for one in found for reason in one.reasons)
    assert (
        "3 of 4 who began card 1 do not get on with it, at a goal of 100: "
        "one word to all, or a lower goal."
    ) in class_lines(found)
    look_closer = look_at(files[:1], today=TODAY)
    assert "1 card stuck" in look_closer[0].reasons
