"""Whatever is said of a day is said of the player's own practice day, wherever the player lives.

The days in these tests are written out from the calendar of 2026, and so are the nights on which
the clocks change: second Sunday of March and first of November in the United States (Energy Policy
Act of 2005, section 110), last Sundays of March and October in the European Union (Directive
2000/84/EC), first Sunday of April and last of September in New Zealand (Daylight Time Order 2007).
India does not change its clocks.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from io import BytesIO
from itertools import count
from math import log, log2
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest
from conftest import SMALL_DECK
from everywhere import ZONES

from drillbox.app.words import day_words
from drillbox.base.clock import ManualClock
from drillbox.base.now import day_name
from drillbox.box import Box
from drillbox.box.beliefs import Beliefs
from drillbox.deckfile import parse_deck
from drillbox.memory import Belief, Grade, Parameters, State, interval_days
from drillbox.report.in_hand import coming_back, look_back
from drillbox.report.progress_file import keep_student, progress_of
from drillbox.report.time_away import after_time_away
from drillbox.studio import Reply, Wanted, read_reply, write_reply

if TYPE_CHECKING:
    from collections.abc import Callable

CHANGES = (
    ("America/New_York", "2026-03-08"),
    ("America/Los_Angeles", "2026-03-08"),
    ("Europe/Zurich", "2026-03-29"),
    ("Pacific/Auckland", "2026-04-05"),
    ("Pacific/Auckland", "2026-09-27"),
    ("Europe/Zurich", "2026-10-25"),
    ("America/New_York", "2026-11-01"),
    ("America/Los_Angeles", "2026-11-01"),
    ("Asia/Kolkata", "2026-03-29"),
)
"""Sundays in whose small hours the clocks change, and one on which they do not."""
every_zone = pytest.mark.parametrize("zone", ZONES)


def moment(zone: str, text: str) -> datetime:
    """Return a wall clock time as a moment."""
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone))


def box_at(at: datetime, deck: str = SMALL_DECK) -> Box:
    """Return a box in memory with a deck in it."""
    numbers = count(1)
    box = Box.open(":memory:", clock=ManualClock(at), new_id=lambda: f"{next(numbers):032x}")
    box.put_deck(parse_deck(deck, name="deck.toml"), at=at)
    return box


def slipping_at(slip: datetime) -> Callable[[Beliefs, str], Belief]:
    """Return what makes a box believe that every card slips under a goal of 90 at a moment."""
    peak = Belief(log2(96.0), log(6.0), 0.0004, 0.0, 0.05, 0.0, 0, 1, 12)
    lasts = interval_days(peak, Parameters(), hold_bpm=90.0)
    last = slip.timestamp() / 86_400 - lasts
    belief = Belief(log2(96.0), log(6.0), 0.0004, 0.0, 0.05, last, int(last) + 719_163, 1, 12)
    return lambda _beliefs, _card_id: belief


@every_zone
@pytest.mark.parametrize(
    ("time", "day"),
    [
        ("2026-03-10 03:59", "Mon 9 Mar"),
        ("2026-03-10 06:00", "Tue 10 Mar"),
        ("2026-03-10 12:00", "Tue 10 Mar"),
        ("2026-03-10 23:00", "Tue 10 Mar"),
        ("2026-03-11 03:59", "Tue 10 Mar"),
    ],
)
def test_a_day_lasts_until_five(zone: str, time: str, day: str) -> None:
    """Four in the morning of a Tuesday still is Monday's evening."""
    with box_at(moment(zone, time)) as box:
        assert day == day_name(box.now(moment(zone, time)).day)


@every_zone
def test_what_is_wanted_by_wednesday_is_wanted_by_wednesday(zone: str) -> None:
    """An assignment for Wednesday 11 March is named by that day, and lasts to the end of it."""
    asking = f"{SMALL_DECK}\n[[assignment]]\nby = 2026-03-11\n"
    said = {
        "2026-03-09 12:00": "by Wednesday",
        "2026-03-10 03:59": "by Wednesday",
        "2026-03-10 06:00": "tomorrow",
        "2026-03-10 12:00": "tomorrow",
        "2026-03-10 23:00": "tomorrow",
        "2026-03-11 03:59": "tomorrow",
        "2026-03-11 06:00": "today",
        "2026-03-11 23:00": "today",
        "2026-03-12 03:59": "today",
    }
    with box_at(moment(zone, "2026-03-09 12:00"), asking) as box:
        card = box.find("e")
        for text, wanted in said.items():
            at = moment(zone, text)
            assert box.why(card, at=at).endswith(f"on the way to 90, wanted {wanted}.")
            due = box.card(card, at=at).due
            assert date(2026, 3, 11) == (due and due.by)
        over = moment(zone, "2026-03-12 06:00")
        assert "wanted" not in box.why(card, at=over)
        assert box.card(card, at=over).due is None


@every_zone
def test_a_card_slips_on_the_day_it_is_said_to_slip(
    zone: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The reason, the card, the list and the chart name one day, the player's own.

    In the small hours of Thursday 12 March it is Wednesday's; at noon it is Thursday's.
    """
    ahead = {"tomorrow": 1, "today": 0, "Wednesday": 2, "Thursday": 2}
    said = {
        ("2026-03-10 03:59", "2026-03-12 03:30"): "Wednesday",
        ("2026-03-10 06:00", "2026-03-12 03:30"): "tomorrow",
        ("2026-03-10 12:00", "2026-03-12 03:30"): "tomorrow",
        ("2026-03-10 23:00", "2026-03-12 03:30"): "tomorrow",
        ("2026-03-11 06:00", "2026-03-12 03:30"): "today",
        ("2026-03-10 06:00", "2026-03-12 12:00"): "Thursday",
        ("2026-03-11 03:59", "2026-03-12 12:00"): "Thursday",
        ("2026-03-11 06:00", "2026-03-12 12:00"): "tomorrow",
        ("2026-03-11 23:00", "2026-03-12 23:30"): "tomorrow",
        ("2026-03-12 06:00", "2026-03-12 23:30"): "today",
    }
    with box_at(moment(zone, "2026-03-09 12:00")) as box:
        box.record(box.find("e"), 90, Grade.STEADY, moment(zone, "2026-02-20 12:00"), 40)
        for (now, slip), name in said.items():
            at = moment(zone, now)
            monkeypatch.setattr(Beliefs, "of", slipping_at(moment(zone, slip)))
            sentence = box.why(box.find("e"), at=at)
            found = re.search(r"(?:slipping under 90 (?:by )?|until )(\w+):", sentence)
            assert name == (found and found[1]), sentence
            card, today = box.card(box.find("e"), at=at), box.now(at).day
            assert card.returns_on == today + ahead[name]
            assert {0: "today", 1: "tomorrow", 2: "in 2 d"}[ahead[name]] == day_words(
                card.returns_on, today
            )
            assert [name == "today", name == "tomorrow"] == [
                bool(number) for number in coming_back([card], today=today, days=2)
            ]
            assert (ahead[name] <= 1) == bool(box.coming(at=at, days=1))


@every_zone
@pytest.mark.parametrize("time", ["03:59", "06:00", "12:00", "20:00", "23:00"])
def test_what_was_just_brought_to_its_goal_is_in_hand(zone: str, time: str) -> None:
    """Whatever the hour, today's column of the chart counts what the shelf counts as holding."""
    at = moment(zone, f"2026-03-10 {time}")
    with box_at(at) as box:
        card = box.find("a-doubled")
        for minute, grade in enumerate((Grade.AUTOMATIC, Grade.AUTOMATIC, Grade.STEADY)):
            box.record(card, 100, grade, at.replace(minute=min(59, at.minute + minute)), 40)
        end = at.replace(minute=59)
        assert State.HOLDING is box.card(card, at=end).state
        assert (1,) == look_back(box, at=end).in_hand


@every_zone
def test_a_day_ends_with_the_cards_that_held_until_its_end(zone: str) -> None:
    """The chart counts a card on each day whose end, five in the morning there, it outlasts."""
    cards = "".join(
        f'[[card]]\nid = "c{n}"\ntitle = "c{n}"\ngoal = {84 + n}\nsnare = "({place}{on})"\n'
        for n, (place, on) in enumerate((p, on) for p in range(1, 5) for on in ("e", "&", "a"))
    )
    deck = SMALL_DECK.partition("[[card]]")[0] + cards
    noon = moment(zone, "2026-03-02 12:00")
    with box_at(noon, deck) as box:
        for n in range(12):
            at = noon + timedelta(minutes=n)
            box.record(box.find(f"c{n}"), 100, Grade.STEADY, at, 40)
        now = moment(zone, "2026-05-20 12:00")
        until = [box.outlook(box.find(f"c{n}"), at=at).holds_until for n in range(12)]
        assert 6 < sum(one is not None and one < now for one in until) < 13
        chart = look_back(box, at=now)

        for ahead, held in enumerate(chart.in_hand[:-1]):
            day = date(2026, 3, 3) + timedelta(days=ahead)
            end = datetime.combine(day, time(5)).replace(tzinfo=ZoneInfo(zone))
            assert held == sum(one is not None and one > end for one in until), day


@every_zone
def test_a_take_belongs_to_the_day_it_was_played_on(zone: str) -> None:
    """Minutes, records, progress file, the day's own list and undo agree on the day.

    Takes of Monday 9 March at noon and of Tuesday at 03:59 are Monday's, one at 06:00 is Tuesday's.
    """
    with box_at(moment(zone, "2026-03-09 08:00")) as box:
        card = box.find("e")
        for text in ("2026-03-09 12:00", "2026-03-10 03:59", "2026-03-10 06:00"):
            box.record(card, 70, Grade.STEADY, moment(zone, text), 60)
        at = moment(zone, "2026-03-10 23:00")
        monday, tuesday = (date(2026, 3, day).toordinal() for day in (9, 10))
        done = look_back(box, at=at)
        file = progress_of(box, at=at, new_id=lambda: "1" * 32, name="Mia")
        days = {day.day: day.takes for one in file.cards for day in one.days}

        assert {monday: 2.0, tuesday: 1.0} == done.minutes
        assert {date(2026, 3, 9): 2, date(2026, 3, 10): 1} == days
        assert [True, False, True] == [take.cold for take in box.history(card)]
        assert ["Mon 9 Mar"] == [day_name(record.day) for record in done.records]
        assert 1 == len(box.day(at).takes)
        assert 2 == len(box.day(moment(zone, "2026-03-10 03:59")).takes)
        assert box.undo(at=moment(zone, "2026-03-11 05:01")) is None
        assert box.undo(at=moment(zone, "2026-03-11 03:59")) is not None


@every_zone
@pytest.mark.parametrize(
    ("time", "day"), [("03:59", 9), ("06:00", 10), ("12:00", 10), ("23:00", 10)]
)
def test_a_teachers_word_is_of_the_day_it_was_written_on(zone: str, time: str, day: int) -> None:
    """On Today and in the next progress file; it stands for thirty days of the player's own."""
    written = moment(zone, f"2026-03-10 {time}")
    with box_at(written) as box:
        keep_student(box, progress_of(box, at=written, new_id=lambda: "1" * 32), at=written)
        wanted = Wanted(box.find("e"), date(2026, 3, 20), None)
        word = Reply("", "1" * 32, "Mr. K", written.astimezone(UTC), "Lower.", (wanted,), ())
        out = BytesIO()
        write_reply(word, out)
        box.take_in(read_reply(out.getvalue(), "mia.reply"), at=written)

        (note,) = box.notes(at=written)
        file = progress_of(box, at=written, new_id=lambda: "1" * 32)
        given = {asked.given for card in file.cards for asked in card.asked}
        last = moment(zone, f"2026-04-{day - 1:02} 12:00")

        assert f"Mr. K, {day_name(date(2026, 3, day))}; wanted by Fri 20 Mar" == note.heading
        assert {date(2026, 3, day)} == given
        assert 1 == len(box.notes(at=last))
        assert () == box.notes(at=last + timedelta(days=1))


@every_zone
def test_what_a_reply_asks_is_met_by_practice_of_its_own_day(zone: str) -> None:
    """A card brought to its tempo an hour after the word came is met, wherever it is today."""
    written = moment(zone, "2026-03-10 20:00")
    with box_at(written) as box:
        keep_student(box, progress_of(box, at=written, new_id=lambda: "1" * 32), at=written)
        card = box.find("a-doubled")
        word = Reply(
            "", "1" * 32, "", written.astimezone(UTC), "",
            (Wanted(card, date(2026, 3, 20), None),), (),
        )  # fmt: skip
        out = BytesIO()
        write_reply(word, out)
        box.take_in(read_reply(out.getvalue(), "mia.reply"), at=written)
        for minute, grade in enumerate((Grade.AUTOMATIC, Grade.AUTOMATIC, Grade.STEADY)):
            box.record(card, 100, grade, written.replace(hour=21, minute=minute), 40)
        (kept,) = box.assignments(card, at=written.replace(hour=22))
        assert ("met", date(2026, 3, 10)) == (kept.status, kept.reached)


@every_zone
def test_the_next_practice_is_named_by_its_day(zone: str) -> None:
    """With Mondays, Wednesdays and Fridays, Monday 9 March is followed by Wednesday the 11th."""
    following = {
        "2026-03-10 03:59": ("Wed 11 Mar", "Wednesday"),
        "2026-03-10 06:00": ("Wed 11 Mar", "tomorrow"),
        "2026-03-10 23:00": ("Wed 11 Mar", "tomorrow"),
        "2026-03-11 03:59": ("Wed 11 Mar", "tomorrow"),
        "2026-03-11 06:00": ("Fri 13 Mar", "Friday"),
        "2026-03-11 12:00": ("Fri 13 Mar", "Friday"),
        "2026-03-12 03:59": ("Fri 13 Mar", "Friday"),
    }
    with box_at(moment(zone, "2026-03-09 08:00")) as box:
        box.change_settings(at=moment(zone, "2026-03-09 08:00"), days="mon wed fri")
        card = box.find("e")
        box.record(card, 80, Grade.STEADY, moment(zone, "2026-03-09 08:00"), 40)
        for text, (name, said) in following.items():
            at = moment(zone, text)
            assert name == day_name(box.next_practice(at=at)[0])
            assert f" cold, {said} about " in box.compared(card, at=at)


@every_zone
def test_days_away_are_practice_days(zone: str) -> None:
    """From Tuesday 24 February to 10 March are fourteen days; at 03:59 it is still Monday."""
    with box_at(moment(zone, "2026-02-24 08:00")) as box:
        box.record(box.find("e"), 100, Grade.AUTOMATIC, moment(zone, "2026-02-24 23:00"), 40)

        assert "" == after_time_away(box, at=moment(zone, "2026-03-10 03:59"))
        for time in ("06:00", "12:00", "23:00"):
            at = moment(zone, f"2026-03-10 {time}")
            assert after_time_away(box, at=at).startswith("14 days away: ")


@pytest.mark.parametrize(("zone", "sunday"), CHANGES)
def test_the_night_the_clocks_change_is_one_night(zone: str, sunday: str) -> None:
    """Saturday lasts until Sunday at five, with 23, 24 or 25 hours; then it is Sunday, once."""
    saturday = date.fromordinal(date.fromisoformat(sunday).toordinal() - 1)
    with box_at(moment(zone, f"{saturday} 12:00")) as box:
        card = box.find("e")
        for text in (f"{saturday} 23:00", f"{sunday} 03:59", f"{sunday} 06:00"):
            box.record(card, 70, Grade.STEADY, moment(zone, text), 60)
        at = moment(zone, f"{sunday} 23:00")
        days = {
            date.fromordinal(day): spent for day, spent in look_back(box, at=at).minutes.items()
        }

        assert {saturday: 2.0, date.fromisoformat(sunday): 1.0} == days
        assert [True, False, True] == [take.cold for take in box.history(card)]
        for text in (f"{saturday} 06:00", f"{saturday} 12:00", f"{sunday} 03:59"):
            following, _ = box.next_practice(at=moment(zone, text))
            assert date.fromisoformat(sunday).toordinal() == following
        tempos = box.slipping(card, at=moment(zone, f"{saturday} 06:00"), days=9)
        assert sorted(tempos, reverse=True) == list(tempos)


@pytest.mark.parametrize(("zone", "sunday"), CHANGES)
def test_a_day_after_the_change_is_named_by_the_clock_of_then(
    zone: str, sunday: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What slips at half past four on the Sunday slips on Saturday, at half past five on Sunday.

    Said on the Wednesday before, when the clocks still show the other time.
    """
    wednesday = date.fromordinal(date.fromisoformat(sunday).toordinal() - 4)
    with box_at(moment(zone, f"{wednesday} 12:00")) as box:
        for slip, name in (("04:30", "Saturday"), ("05:30", "Sunday"), ("12:00", "Sunday")):
            monkeypatch.setattr(Beliefs, "of", slipping_at(moment(zone, f"{sunday} {slip}")))
            for time in ("06:00", "12:00", "23:00"):
                sentence = box.why(box.find("e"), at=moment(zone, f"{wednesday} {time}"))
                found = re.search(r"(?:slipping under 90 (?:by )?|until )(\w+):", sentence)
                assert name == (found and found[1]), sentence


def test_a_plan_ahead_counts_local_days_over_a_change_of_the_clocks() -> None:
    """Two weeks from the eve of a change have fourteen days, like any others."""
    at = moment("Europe/Zurich", "2026-03-28 23:00")
    with box_at(at) as box:
        changed = box.ahead(at=at, minutes=15, days=14)
    with box_at(at := moment("Asia/Kolkata", "2026-03-28 23:00")) as box:
        assert changed == box.ahead(at=at, minutes=15, days=14)
    assert 14 == len(changed)


def test_the_hour_at_which_a_day_ends_is_the_players() -> None:
    """Set to midnight, a take at 03:59 opens the new day, and what is believed follows."""
    zone = "Europe/Zurich"
    with box_at(moment(zone, "2026-03-09 08:00")) as box:
        card = box.find("e")
        for text in ("2026-03-09 23:00", "2026-03-10 03:59"):
            box.record(card, 70, Grade.STEADY, moment(zone, text), 60)
        at = moment(zone, "2026-03-10 12:00")
        until_five = box.outlook(card, at=at)
        box.change_settings(at=at, day_ends_at=0)

        assert [True, True] == [take.cold for take in box.history(card)]
        assert until_five != box.outlook(card, at=at)
        assert 1 == len(box.day(moment(zone, "2026-03-10 03:59")).takes)
        box.change_settings(at=at, day_ends_at=5)
        assert until_five == box.outlook(card, at=at)


def test_an_hour_that_makes_no_sense_is_the_usual_one(box: Box, clock: ManualClock) -> None:
    """A setting from another machine can end no day at 99 o'clock."""
    for value in (99, -1, "five", True):
        box.archive.put_setting("day_ends_at", value, clock.now())
        assert (5, 5) == (box.settings.day_ends_at, box.now(clock.now()).day_ends_at)
