"""Takes kept, taken back and looked back on: by day, by card, from another window's rescue."""

from __future__ import annotations

from datetime import timedelta
from math import inf
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from strategies_history import packed_days

from drillbox.box import Box, days_played
from drillbox.box.days_played import WIDTH, DayRow, is_sound, unsound
from drillbox.box.diary import LONGEST_DAY, take_view, with_measures
from drillbox.box.whole_log import replay_all
from drillbox.memory import Grade, outlook
from drillbox.store import MEASURED, TakeRow

if TYPE_CHECKING:
    from pathlib import Path

    from drillbox.base.clock import ManualClock
    from drillbox.deckfile import Deck


def row_of(box: Box, clock: ManualClock, *, card: str | None = None, number: int = 7) -> TakeRow:
    """Return a take that is not in the box yet."""
    at = clock.now() - timedelta(minutes=3)
    return TakeRow(f"{number:032x}", card or box.find("e"), 80.0, 0, at, "+01:00", 40.0, "self")


def test_a_rescued_take_is_kept_once_under_its_own_id(box: Box, clock: ManualClock) -> None:
    """However often it is kept; with what relatives let expect where its card is in the box."""
    box.record(box.find("a"), bpm=70, grade=Grade.STEADY, at=clock.now(), seconds=40)
    take = row_of(box, clock)
    for _ in range(2):
        box.keep(take, at=clock.now())
    (kept,) = box.archive.takes(card_id=take.card_id)
    assert (take.id, take.bpm, take.at) == (kept.id, kept.bpm, kept.at)
    assert kept.measures is not None
    assert kept.measures["expected_bpm"] == pytest.approx(70, abs=5)
    gone = row_of(box, clock, card="f" * 16, number=8)
    box.keep(gone, at=clock.now())
    (without,) = box.archive.takes(card_id="f" * 16)
    assert "expected_bpm" not in (without.measures or {})


def test_a_day_holds_what_was_played_on_it(box: Box, clock: ManualClock) -> None:
    """Takes in order, seconds summed, cards once; yesterday's night counts till five."""
    e, a = box.find("e"), box.find("a")
    assert [True] == [box.nothing_played]
    night = clock.now().replace(hour=4, minute=59)
    for card, at, seconds in (
        (a, night, 30), (e, clock.now(), 40), (a, clock.now(), 41), (e, clock.now(), 42),
    ):  # fmt: skip
        box.record(card, bpm=70, grade=Grade.STEADY, at=at, seconds=seconds)
    assert [False] == [box.nothing_played]
    day = box.day(clock.now())
    assert (123.0, (e, a)) == (day.seconds, day.cards)
    assert [True, True, False] == [take.cold for take in day.takes]
    before = box.day(night)
    assert (30.0, (a,), day.day - 1) == (before.seconds, before.cards, before.day)
    assert timedelta(days=2) == LONGEST_DAY


def test_only_todays_last_take_is_undone(box: Box, clock: ManualClock) -> None:
    """Nothing to undo, then the last take of today, and yesterday's never."""
    assert box.undo(at=clock.now()) is None
    taken = box.record(box.find("e"), bpm=70, grade=Grade.STEADY, at=clock.now(), seconds=40)
    assert box.undo(at=clock.now() + timedelta(days=1)) is None
    undone = box.undo(at=clock.now())
    assert undone is not None
    assert (taken.take_id, taken.take_id[:8]) == (undone.take_id, undone.short_id)
    assert box.undo(at=clock.now()) is None


def test_takes_entered_late_do_not_hide_todays_from_undo(box: Box, clock: ManualClock) -> None:
    """Two takes of today, then one of yesterday: undo takes back today's two, the last one first.

    Yesterday's stays, though it was entered after them.
    """
    card, now = box.find("e"), clock.now()
    first, second = (
        box.record(card, bpm=bpm, grade=Grade.STEADY, at=now, seconds=40) for bpm in (70, 75)
    )
    yesterday = now - timedelta(days=1)
    late = box.record(card, 80, Grade.STEADY, yesterday, 40, entered=now)
    undone = [box.undo(at=now), box.undo(at=now)]
    assert [second.take_id, first.take_id] == [take.take_id for take in undone if take]
    assert box.undo(at=now) is None
    assert [late.take_id] == [take.take_id for take in box.history(card)]


def test_what_was_expected_and_what_was_measured_stand_together() -> None:
    """A take's row keeps either, both or none."""
    assert with_measures(None, None) is None
    assert {"a": 1} == with_measures({"a": 1}, None)
    assert {MEASURED: {"b": 2}} == with_measures(None, {"b": 2})
    assert {"a": 1, MEASURED: {"b": 2}} == with_measures({"a": 1}, {"b": 2})


def test_a_take_is_seen_on_the_clock_it_was_played_by(box: Box, clock: ManualClock) -> None:
    """Played at 08:57 in Zurich it is told so on any machine; it was not measured."""
    take = row_of(box, clock)
    view = take_view(take, 5, cold=False)
    assert (8, 57) == (view.at.hour, view.at.minute)
    assert (None, "self", 40.0) == (view.measured, view.source, view.seconds)
    assert not view.cold


def test_a_day_s_row_is_eleven_numbers(box: Box, clock: ManualClock) -> None:
    """Day, own, takes, seconds, moment, mu, ln S, the chance of being apart, the cold take.

    And the chance that was told before that one.
    The chance is none for the very first take; a warm day has no cold take.
    """
    card = box.find("e")
    for day, bpm in ((0, 70), (1, 76)):
        at = clock.now() + timedelta(days=day)
        box.record(card, bpm=bpm, grade=Grade.CLEAN, at=at, seconds=40)
        late = at + timedelta(minutes=1)
        box.record(card, bpm=bpm + 5, grade=Grade.SHAKY, at=late, seconds=41)
    steps = box._beliefs.course(card)
    first, second = days_played.unpacked(box._beliefs.days()[card])
    today = box.now(clock.now()).day
    assert (11, today, 1.0, 2.0, 81.0) == (WIDTH, *first[:4])
    assert (today + 1, 70.0, 1.0, 76.0, 1.0) == (
        second.day, first.cold_bpm, first.cold_grade, second.cold_bpm, second.cold_grade,
    )  # fmt: skip
    assert (steps[1].after.mu, steps[1].after.ln_s, steps[1].seen.at) == pytest.approx(
        (first.mu, first.ln_s, first.at)
    )
    assert steps[1].after.apart == first.apart
    assert first.told != first.told
    chance = outlook(steps[2].before, steps[2].seen.at, box.parameters, hold_bpm=76.0).p_hold
    assert chance == pytest.approx(second.told)
    whole = replay_all(box.archive.columns(until=clock.now() + timedelta(9)), box._beliefs.premises)
    assert [first, second] == [
        pytest.approx(row, nan_ok=True) for row in days_played.unpacked(whole.days[card])
    ]


def test_rows_are_whole_or_they_are_none() -> None:
    """Eighty-eight bytes a row; anything else is no rows."""
    body = days_played.packed([DayRow(1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 0.0)])
    assert 88 == len(body)
    others = (
        body[:-1],
        bytes(88),
        b"\xff" * 88,
        days_played.packed([DayRow(1, 1, 1, 1, 1, 1, inf, 0)]),
    )
    assert [True, True, False, False, False, False] == [
        is_sound(one) for one in (b"", body * 2, *others)
    ]


@given(bodies=packed_days())
def test_many_cards_rows_are_looked_at_as_one_cards_are(bodies: list[bytes]) -> None:
    """In columns or one by one: the same cards have rows of which nothing can be made."""
    named = {f"{number:016x}": body for number, body in enumerate(bodies)}

    assert {card for card, body in named.items() if not is_sound(body)} == unsound(named)


def test_what_was_read_of_days_and_cards_is_kept_until_it_changes(
    tmp_path: Path, clock: ManualClock, small_deck: Deck
) -> None:
    """A page asks several times; a take of another window, a hour set anew or a goal is seen."""
    at = clock.now()
    with (
        Box.open(tmp_path / "box", clock=clock) as box,
        Box.open(tmp_path / "box", clock=clock) as other,
    ):
        box.put_deck(small_deck, at=at)
        card = box.find("e")
        box.record(card, bpm=80, grade=Grade.STEADY, at=at, seconds=40)
        days, cards = box.days(), box.cards(at=at)
        assert days is box.days()
        assert cards is box.cards(at=at)
        assert 1 == days.rows.takes.sum()
        other.record(card, bpm=85, grade=Grade.STEADY, at=at, seconds=40)
        assert 2 == box.days().rows.takes.sum()
        assert [2] == [one.takes for one in box.cards(at=at) if one.takes]
        box.change_settings(at=at, day_ends_at=int(f"{at:%H}") % 12)
        assert 2 == box.days().rows.takes.sum()
        box.set_goal(card, bpm=123, at=at)
        assert 123 == next(one.goal_bpm for one in box.cards(at=at) if one.card_id == card)
        other.set_goal(card, bpm=124, at=at)
        assert 124 == next(one.goal_bpm for one in box.cards(at=at) if one.card_id == card)
        box.undo(at=at)
        assert 1 == box.days().rows.takes.sum()
