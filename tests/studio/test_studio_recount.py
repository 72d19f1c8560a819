"""Figures counted again from raw days by plain loops, around every limit of a month and of a chart.

The days are drawn so that most lie at an end of something: of this month, of the one before, of
the weeks that are shown, of the file's own day. Nothing of the program's sums is used here.
"""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from statistics import NormalDist
from typing import TYPE_CHECKING

import pytest
from students_by_hand import DECK, TODAY, card, student

from drillbox.studio import CardFigures, CardProgress, DeckInfo, Figures, StudentFigures, look_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drillbox.studio import Played

AGO = (200, 86, 85, 84, 83, 61, 60, 59, 45, 31, 30, 29, 28, 15, 9, 2, 1, 0, -1, -2)
STATES = ("building", "building", "building", "holding", "outgrown", "fading", "rested")
SIDES = 2 * NormalDist().inv_cdf(0.9)
"""The middle 80 % of a normal distribution, in standard deviations, by the standard library."""


def made_card(chance: random.Random, number: int) -> CardProgress:
    """Return a card with days at limits, small moves of its tempo, and mostly a band."""
    if chance.random() < 0.1:
        return card(number, "waiting")
    days = sorted(chance.sample(AGO, chance.randint(1, 9)), reverse=True)
    bpm, played = chance.choice((80.0, 97.0)), []
    for ago in days:
        played.append((ago, chance.choice((1, 3, 4, 6)), bpm))
        bpm += chance.choice((-3.0, -1.0, 0.0, 0.5, 1.0, 2.0, 4.0))
    one = card(number, chance.choice(STATES), *played)
    cold = None if chance.random() < 0.15 else bpm
    half = chance.choice((None, 1.0, 3.0, 4.0, 15.0))
    if cold is None or half is None:
        return replace(one, cold_bpm=cold)
    return replace(one, cold_bpm=cold, low_bpm=cold - half, high_bpm=cold + half)


def made_student(seed: int) -> tuple[list[CardProgress], StudentFigures]:
    """Return the cards of a made file, of two decks, and what is found of them."""
    chance = random.Random(seed)
    cards = [made_card(chance, number) for number in range(1, chance.randint(2, 6))]
    decks = [("week-3",), ("b",), ("week-3", "b")]
    cards = [replace(one, decks=chance.choice(decks)) for one in cards]
    file = replace(student(1, "Mia", *cards), decks=(DECK, DeckInfo("b", "B", 2)))
    return cards, look_at([file], today=TODAY)[0]


def within(one: CardProgress, first: int, last: int) -> list[Played]:
    """Return the days that lie so many days before the file's, both counted."""
    return [each for each in one.days if first <= (TODAY - each.day).days <= last]


def expected_gain(one: CardProgress) -> float | None:
    """Return what a card gained in the month.

    From the last day before it, or else from the first within; and while a first guess is only
    taken back, from where that ends.
    """
    if not within(one, 0, 29) or one.cold_bpm is None:
        return None
    from_day = max(len([each for each in one.days if (TODAY - each.day).days >= 30]) - 1, 0)
    stops_falling = [
        n
        for n, (one_day, then) in enumerate(pairwise(one.days))
        if then.cold_bpm >= one_day.cold_bpm
    ]
    if not stops_falling:
        return 0.0
    return one.cold_bpm - one.days[max(from_day, stops_falling[0])].cold_bpm


def expected_doubt(one: CardProgress) -> float:
    """Return a standard deviation of a card's tempo; a step of five where nothing is said."""
    if one.low_bpm is None or one.high_bpm is None:
        return 5.0
    return (one.high_bpm - one.low_bpm) / SIDES


def expected_stuck(one: CardProgress) -> bool:
    """Return whether twelve takes brought less than two bpm, and five are ruled out."""
    gain, ruled_out = expected_gain(one), True
    many = sum(each.takes for each in within(one, 0, 29)) >= 12
    if gain is None or gain >= 2 or not many or one.state != "building":
        return False
    if one.low_bpm is not None and one.high_bpm is not None:
        ruled_out = gain + (one.high_bpm - one.low_bpm) / 2 < 5
    return ruled_out


@pytest.mark.parametrize("seed", range(60))
def test_a_cards_figures_are_those_of_its_days(seed: int) -> None:
    """Takes, days, gain, doubt, whether it is stuck, when and with how much it was made."""
    cards, found = made_student(seed)
    for one, told in zip(cards, found.cards, strict=True):
        month = within(one, 0, 29)
        assert (sum(each.takes for each in month), len(month)) == (told.takes, told.days)
        assert expected_gain(one) == told.gain_bpm
        assert expected_stuck(one) == told.stuck
        assert pytest.approx(expected_doubt(one), rel=1e-4) == told.doubt_bpm
        assert (one.days[0].day if one.days else None) == told.begun_on
        apart = bool(one.days) and one.cold_bpm is None
        assert apart == told.apart
        kind = "apart" if apart else "stuck" if expected_stuck(one) else "building"
        assert (kind if one.state == "building" else one.state) == told.kind
        assert (one.state == "fading") == told.fading
        at_goal = [n for n, each in enumerate(one.days) if each.cold_bpm >= one.goal_bpm]
        if one.cold_bpm is None or not at_goal:
            assert (None, False) == (told.made, told.new)
        else:
            assert told.made is not None
            until = one.days[: at_goal[0] + 1]
            assert (until[-1].day, len(until)) == (told.made.on, told.made.days)
            assert sum(each.seconds for each in until) == told.made.seconds
            assert (until[-1] in month) == told.new
        shown = [n for n, each in enumerate(one.days) if (TODAY - each.day).days < 84]
        first = max(shown[0] - 1, 0) if shown else max(len(one.days) - 1, 0)
        assert one.days[first:] == told.card.days


def is_sum(cards: Sequence[CardProgress], told: Figures) -> None:
    """Check the figures of some cards together."""
    awake = [one for one in cards if one.state != "rested"]
    month = [each for one in cards for each in within(one, 0, 29)]
    before = [each for one in cards for each in within(one, 30, 59)]
    gains = [gain for one in awake if (gain := expected_gain(one)) is not None]
    doubts = [expected_doubt(one) for one in awake if expected_gain(one) is not None]
    states = [one.state for one in awake]
    assert (len(awake), len(cards) - len(awake)) == (told.cards, told.rested)
    assert sum(bool(one.days) for one in awake) == told.begun
    assert states.count("holding") + states.count("outgrown") == told.in_hand
    assert (states.count("outgrown"), states.count("fading")) == (told.outgrown, told.fading)
    assert sum(expected_stuck(one) for one in awake) == told.stuck
    assert sum(bool(one.days) and one.cold_bpm is None for one in awake) == told.apart
    assert len({each.day for each in month}) == told.days
    assert pytest.approx(sum(each.seconds for each in month) / 60) == told.minutes
    assert sum(each.takes for each in month) == told.takes
    assert len({each.day for each in before}) == told.days_before
    assert pytest.approx(sum(each.seconds for each in before) / 60) == told.minutes_before
    if gains:
        assert pytest.approx(sum(gains) / len(gains)) == told.gain_bpm
        # A gain is a difference of two tempos, and a mean of independent ones has this deviation.
        deviation = (2 * sum(doubt**2 for doubt in doubts)) ** 0.5 / len(doubts)
        assert pytest.approx(deviation, rel=1e-4) == told.gain_doubt_bpm
    else:
        assert (None, None) == (told.gain_bpm, told.gain_doubt_bpm)


@pytest.mark.parametrize("seed", range(60))
def test_a_students_figures_are_those_of_the_cards(seed: int) -> None:
    """All of them, and those of each deck; the last practice, the span and the minutes a day."""
    cards, found = made_student(seed)
    is_sum(cards, found.whole)
    for part in found.decks:
        is_sum([one for one in cards if part.deck.id in one.decks], part.figures)
    known = [(TODAY - each.day).days for one in cards for each in one.days if each.day <= TODAY]
    assert (min(known) if known else None) == found.idle_days
    begun = [one.days[0].day for one in cards if one.days]
    assert ((TODAY - min(begun)).days + 1 if begun else 0) == found.span_days
    minutes: dict[int, float] = {}
    for one in cards:
        for each in within(one, -9, 83):
            ago = (TODAY - each.day).days
            minutes[ago] = minutes.get(ago, 0.0) + each.seconds / 60
    told = {(TODAY - day).days: spent for day, spent in found.minutes_by_day().items()}
    assert minutes == pytest.approx({ago: spent for ago, spent in told.items() if ago < 84})


@pytest.mark.parametrize(("days_on", "age"), [(-3, 0), (0, 0), (1, 1), (9, 9)])
def test_a_file_is_as_old_as_the_days_since_it(days_on: int, age: int) -> None:
    """One of tomorrow, from a time zone ahead, is of today."""
    file = replace(student(1, "", card(1, "waiting")), day=TODAY - timedelta(days=days_on))
    (found,) = look_at([file], today=TODAY)
    assert (age, None, 0) == (found.age_days, found.idle_days, found.span_days)
    assert (file.student[:4], 0.25 * 30) == (found.label, found.attention)


@pytest.mark.parametrize(
    ("takes", "gain", "upper", "stuck"),
    [
        (12, 1.9, 4.9, True),
        (11, 1.9, 4.9, False),
        (12, 2.0, 4.9, False),
        (12, 1.9, 5.1, False),
        (12, 0.0, 4.9, True),
    ],
)
def test_a_card_is_stuck_from_just_there_on(
    takes: int, gain: float, upper: float, *, stuck: bool
) -> None:
    """Twelve takes, less than two bpm, less than five within the band: each at its limit."""
    one = card(1, "building", (50, 1, 80.0), (40, 1, 80.0), (3, takes, 80.0 + gain))
    half = upper - gain
    known = replace(one, low_bpm=80.0 + gain - half, high_bpm=80.0 + gain + half)
    (found,) = look_at([student(1, "Mia", known)], today=TODAY)
    assert [stuck] == [each.stuck for each in found.cards]


def test_a_band_turned_round_leaves_no_doubt() -> None:
    """Its ends the wrong way about are no width below nothing."""
    (found,) = look_at(
        [student(1, "", replace(card(1, "holding", (1, 1, 99.0)), low_bpm=90.0, high_bpm=80.0))],
        today=TODAY,
    )
    (one,) = found.cards
    assert isinstance(one, CardFigures)
    assert 0.0 == one.doubt_bpm
