"""What was in hand, minutes and records: counted again day by day, from the takes alone."""

from __future__ import annotations

import random
from datetime import timedelta
from math import exp, log2
from statistics import fmean
from typing import TYPE_CHECKING

import pytest
from conftest import SMALL_DECK

from drillbox.deckfile import parse_deck
from drillbox.memory import Grade, State
from drillbox.report.calibration import Tenth, calibration, calibration_chart
from drillbox.report.in_hand import Record, coming_back, look_back

if TYPE_CHECKING:
    from datetime import datetime

    from drillbox.base.clock import ManualClock
    from drillbox.box import Box
    from drillbox.box.take_views import TakeView
    from drillbox.deckfile import Deck

DAYS = 26


def play(
    box: Box, name: str, bpm: float, grade: Grade, at: datetime, *, seconds: float = 40
) -> None:
    """Record a take of a card."""
    box.record(box.find(name), bpm=bpm, grade=grade, at=at, seconds=seconds)


@pytest.fixture
def player(box: Box, clock: ManualClock) -> Box:
    """Return the box after some weeks of takes at random: cards rise, hold, slip and come back."""
    chance = random.Random(5)
    start = clock.now()
    for day in range(DAYS):
        for n, name in enumerate(("e", "a", "e-a", "a-doubled")):
            for take in range(chance.choice((0, 0, 1, 2)) if 8 < day < 16 else 0 < day < 20):
                at = start + timedelta(days=day, minutes=7 * n + take, hours=chance.choice((0, 9)))
                bpm, grade = chance.randint(72, 100), chance.choice(list(Grade)[1:4])
                play(box, name, bpm, grade, at, seconds=chance.randint(10, 90))
    clock.set(start + timedelta(days=DAYS))
    return box


def takes_of(box: Box) -> list[TakeView]:
    """Return every take of a box."""
    return [take for card in box.entries() for take in box.history(card)]


def test_each_day_counts_what_held_when_it_ended(player: Box, clock: ManualClock) -> None:
    """Asked card by card of its own curve: would it hold until five the next morning.

    The formula is the one of docs/model.md, in the library's logarithms.
    """
    done, now = look_back(player, at=clock.now()), player.now(clock.now())
    lam = player.parameters.lam
    held = []
    for day in range(done.first, now.day):
        end = now.on(day + 1).at.replace(hour=5, minute=0)
        held.append(0)
        for card_id, entry in player.entries().items():
            steps = [step for step in player._beliefs.course(card_id) if step.take.at < end]
            if steps and not steps[-1].after.apart:
                mu, ln_s = steps[-1].after.mu, steps[-1].after.ln_s
                days = exp(ln_s) * (2 ** ((mu - log2(entry.goal_bpm)) / lam) - 1)
                held[-1] += steps[-1].take.at + timedelta(days=min(days, 3650)) >= end

    assert now.day - done.first + 1 == len(done.in_hand) == DAYS
    assert tuple(held) == done.in_hand[:-1]
    assert sum(card.holds for card in player.cards(at=clock.now())) == done.in_hand[-1]
    assert len(set(held)) > 2


def test_minutes_and_records_are_those_of_the_takes(player: Box, clock: ManualClock) -> None:
    """Added up and looked for take by take; of equal tempos the earliest is the record."""
    done, takes = look_back(player, at=clock.now()), takes_of(player)
    seconds: dict[int, float] = {}
    for take in takes:
        seconds[take.day] = seconds.get(take.day, 0.0) + take.seconds
    cold = [take for take in takes if take.cold and take.grade >= Grade.STEADY]
    best = min(cold, key=lambda take: (-take.bpm, take.at))

    assert {day: spent / 60 for day, spent in seconds.items()} == pytest.approx(done.minutes)
    assert (min(seconds), player.now(clock.now()).day) == (done.first, done.last)
    assert len(seconds) == len(done.minutes)
    (record,) = done.records
    assert (best.bpm, best.day, player.title(best.card_id)) == (
        record.bpm,
        record.day,
        record.title,
    )


def test_before_the_first_take_there_is_today_alone(box: Box, clock: ManualClock) -> None:
    """Nothing in hand, no minutes, no record."""
    done, today = look_back(box, at=clock.now()), box.now(clock.now()).day

    assert (today, today, (0,), {}, ()) == (
        done.first,
        done.last,
        done.in_hand,
        done.minutes,
        done.records,
    )


FAMILIES = """

[[card]]
id = "one"
snare = "(1e)"
family = "ones"

[[card]]
id = "two"
snare = "(2e)"
family = "ones"

[[card]]
id = "three"
snare = "(3e)"
family = "threes"
"""


def test_each_family_has_one_record_the_fastest_first(box: Box, clock: ManualClock) -> None:
    """Equal tempos of two families go by name, of one family by time.

    A card without a family stands under its deck's title; one that has left the box has no record.
    """
    box.put_deck(parse_deck(SMALL_DECK.replace("edition = 1", "edition = 2") + FAMILIES, name="d"),
                 at=clock.now())  # fmt: skip
    gone = SMALL_DECK.replace('"first-ghosts"', '"gone"').replace('"(e)"', '"(4e)"')
    box.put_deck(parse_deck(gone, name="g"), at=clock.now())
    for name, bpm, grade in (
        ("gone/e", 180, Grade.CLEAN), ("one", 90, Grade.STEADY), ("two", 90, Grade.CLEAN),
        ("three", 90, Grade.AUTOMATIC), ("first-ghosts/e", 120, Grade.SHAKY),
        ("first-ghosts/a", 95, Grade.STEADY), ("three", 150, Grade.CLEAN),
    ):  # fmt: skip
        play(box, name, bpm, grade, clock.now())
        clock.forward(seconds=60)
    box.remove_deck("gone")
    titles = {name: box.title(box.find(name)) for name in ("first-ghosts/a", "one", "three")}
    day = box.now(clock.now()).day

    assert (
        Record(box.deck_titles()["first-ghosts"], titles["first-ghosts/a"], 95.0, day),
        Record("ones", titles["one"], 90.0, day),
        Record("threes", titles["three"], 90.0, day),
    ) == look_back(box, at=clock.now()).records
    assert 7 * 40 / 60 == pytest.approx(look_back(box, at=clock.now()).minutes[day])


def test_a_record_that_is_equalled_keeps_its_day(box: Box, clock: ManualClock) -> None:
    """Of a card too, the first of its fastest takes counts."""
    days = []
    for bpm in (80, 96, 90, 96, 95):
        play(box, "e", bpm, Grade.STEADY, clock.now())
        days.append(box.now(clock.now()).day)
        clock.forward(days=1)
    (record,) = look_back(box, at=clock.now()).records

    assert (96.0, days[1]) == (record.bpm, record.day)


def test_an_inherited_day_is_no_practice_of_its_own(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """A rhythm that took another's place: its minutes count once, its records are the other's."""
    for _ in range(3):
        play(box, "e", 110, Grade.AUTOMATIC, clock.now(), seconds=60)
        clock.forward(days=1)
    changed = small_deck.text.replace('"(e)"', '"(1e)"').replace("edition = 1", "edition = 2")
    box.put_deck(parse_deck(changed, name="d"), at=clock.now())
    clock.forward(seconds=60)
    play(box, "e", 70, Grade.STEADY, clock.now(), seconds=30)
    done = look_back(box, at=clock.now())

    assert [1.0, 1.0, 1.0, 0.5] == [spent for _, spent in sorted(done.minutes.items())]
    assert {110.0, 70.0} >= {record.bpm for record in done.records}
    # What was foretold of the old rhythm's takes is told once as well, by its own rows.
    assert 2 <= sum(tenth.takes for tenth in calibration(box)) <= 3


def test_two_rhythms_of_one_history_are_two_in_hand(
    box: Box, clock: ManualClock, small_deck: Deck
) -> None:
    """Where the old rhythm is still a card, of another deck, the new one counts when it is played.

    What it inherited is the old one's until then.
    """
    other = small_deck.text.replace('"first-ghosts"', '"other"')
    box.put_deck(parse_deck(other, name="o"), at=clock.now())
    for _ in range(3):
        play(box, "other/e", 110, Grade.AUTOMATIC, clock.now())
        clock.forward(days=1)
    changed = small_deck.text.replace('"(e)"', '"(1e)"').replace("edition = 1", "edition = 2")
    box.put_deck(parse_deck(changed, name="d"), at=clock.now())
    clock.forward(days=2)
    play(box, "first-ghosts/e", 110, Grade.AUTOMATIC, clock.now())
    clock.forward(days=1)

    assert (1, 1, 1, 1, 1, 2, 2) == look_back(box, at=clock.now()).in_hand


def test_what_is_foretold_is_counted_by_tenths(box: Box, clock: ManualClock) -> None:
    """Each day's first take of a card: the chance of steady as the box tells it beforehand.

    Its goal is set to the tempo of the take, so the chance to hold is the chance of that take.
    """
    chance, told = random.Random(11), []
    for day in range(40):
        for name in ("e", "a"):
            card, at = box.find(name), clock.now()
            bpm, grade = chance.choice((60, 75, 85, 95, 110)), chance.choice(list(Grade)[1:])
            box.set_goal(card, bpm=bpm, at=at)
            if day:
                told.append((box.outlook(card, at=at).p_hold, grade >= Grade.STEADY))
            play(box, name, bpm, grade, at)
            clock.forward(seconds=600)
        clock.forward(days=1)
    tenths: dict[int, list[tuple[float, bool]]] = {}
    for said, seen in told:
        # A chance of 1, as doubles have it, belongs to the last tenth.
        tenths.setdefault(min(int(10 * said), 9), []).append((said, seen))
    expected = [
        (fmean(said for said, _ in both), fmean(seen for _, seen in both), len(both))
        for _, both in sorted(tenths.items())
    ]
    found = calibration(box)

    assert 5 <= len(expected) == len(found)
    assert 1.0 in {said for said, _ in told}
    for numbers, tenth in zip(expected, found, strict=True):
        assert numbers == pytest.approx((tenth.said, tenth.seen, tenth.takes))


@pytest.mark.parametrize("width", [1, 46, 80])
def test_the_bars_of_what_was_foretold_are_to_scale(width: int) -> None:
    """All is a full bar, nothing none, half is half; the mark stands where the chance was told."""
    tenths = (Tenth(0.0, 1.0, 3), Tenth(0.5, 0.5, 4), Tenth(1.0, 0.0, 5))
    head, *lines = calibration_chart(tenths, width=width).splitlines()
    room = max(width - 26, 20)
    drawn = [line[21:] for line in lines]

    assert "told  seen  takes  █ seen, ┃ told" == head
    assert ["┃" + "█" * (room - 1), "█" * (room // 2) + "┃", " " * room + "┃"] == drawn
    assert ["  0 %  100 %      3", " 50 %   50 %      4", "100 %    0 %      5"] == [
        line[:19] for line in lines
    ]
    assert width < 46 or max(map(len, lines)) <= width


def test_what_never_came_together_is_not_in_hand(box: Box, clock: ManualClock) -> None:
    """Whatever its relatives let expect: it has no tempo, so it holds none, on no day.

    Once it came together it counts like any other.
    """
    for _ in range(3):
        play(box, "e", 130, Grade.AUTOMATIC, clock.now())
        play(box, "a", 40, Grade.FELL_APART, clock.now())
        clock.forward(days=1)
    apart = box.card(box.find("a"), at=clock.now())

    assert (State.BUILDING, None, None) == (apart.state, apart.cold_bpm, apart.returns)
    assert 1 == box.decks(at=clock.now())[0].holding
    assert (1, 1, 1, 1) == look_back(box, at=clock.now()).in_hand
    assert (0,) == coming_back([apart], today=0, days=1)
    for _ in range(4):
        play(box, "a", 120, Grade.CLEAN, clock.now())
        clock.forward(seconds=60)
    assert State.HOLDING is box.card(box.find("a"), at=clock.now()).state
    assert 2 == look_back(box, at=clock.now()).in_hand[-1]
