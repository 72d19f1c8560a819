"""What a teacher reads.

Gains, stuck and fading cards, who stands first, the same however files arrive.
"""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import progress_files

from drillbox.studio import (
    CSV_HEAD,
    TABLE_HEAD,
    CardProgress,
    DeckInfo,
    Played,
    Progress,
    StudentFigures,
    as_csv,
    as_objects,
    look_at,
    roster,
    table_rows,
)

TODAY = date(2026, 11, 25)
WRITTEN = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
DECK = DeckInfo("week-3", "Week 3", 1)


def days(*played: tuple[int, int, float]) -> tuple[Played, ...]:
    """Return days from (days ago, takes, cold tempo), a minute a take."""
    return tuple(
        Played(TODAY - timedelta(days=ago), takes, 60.0 * takes, bpm) for ago, takes, bpm in played
    )


def card(number: int, state: str, *played: tuple[int, int, float]) -> CardProgress:
    """Return a card of the deck with a goal of 100."""
    shown = days(*played)
    cold = shown[-1].cold_bpm if shown else None
    return CardProgress(f"{number:016x}", f"card {number}", ("week-3",), 100.0, state, cold, shown)


def student(number: int, name: str, *cards: CardProgress) -> Progress:
    """Return a student's file."""
    return Progress(f"{number:032x}", name, WRITTEN, (DECK,), cards)


def one(*cards: CardProgress) -> StudentFigures:
    """Return the figures of one student with some cards."""
    return look_at([student(1, "Mia", *cards)], today=TODAY)[0]


@pytest.mark.parametrize(
    ("played", "gain"),
    [
        ([(40, 2, 80), (10, 2, 85), (2, 2, 92)], 12),
        ([(20, 2, 80), (2, 2, 84)], 4),
        ([(30, 2, 70), (29, 2, 90)], 20),
        ([(5, 9, 80)], 0),
        ([(40, 2, 80)], None),
        ([], None),
        ([(40, 2, 80), (-1, 2, 99)], None),
    ],
)
def test_the_tempo_gained_is_counted_from_when_the_month_began(
    played: list[tuple[int, int, float]], gain: float | None
) -> None:
    """From the tempo that stood then, or the first one since.

    A card that rested gained nothing to speak of.
    """
    (figures,) = one(card(1, "building", *played)).cards

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

    assert ["card 1"] == [c.card.title for c in one(stuck, *others).cards if c.stuck]
    assert ("1 stuck",) == one(stuck, *others).reasons


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

    assert ["Dan", "Ben", "Cleo", "Eve", "Ada"] == [one.label for one in found]
    assert [
        ("has not begun",),
        ("no practice for 29 days", "1 fading"),
        ("1 stuck",),
        ("slower than a month ago",),
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


@settings(max_examples=40, deadline=None)
@given(st.lists(progress_files(), max_size=4))
def test_reading_files_again_or_in_another_order_changes_nothing(files: list[Progress]) -> None:
    """The latest file of each student counts, whatever else lies in the folder."""
    expected = look_at(files, today=TODAY)

    for order in permutations(files):
        assert expected == look_at([*order, *order[:2]], today=TODAY)
    assert len({file.student for file in files}) == len(roster(files))
    for found in roster(files):
        assert found.written == max(f.written for f in files if f.student == found.student)


@settings(max_examples=40, deadline=None)
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


@settings(max_examples=40, deadline=None)
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
