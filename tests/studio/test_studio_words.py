"""Who needs a word, how much and why: each reason from just its limit on, and nothing below it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from math import inf

import pytest
from students_by_hand import TODAY, aged, card, failed, student

from drillbox.studio import (
    Asked,
    CardProgress,
    StudentFigures,
    look_at,
    shared_troubles,
)
from drillbox.studio.attention import attention
from drillbox.studio.text_tables import class_lines

GOOD = tuple(card(n, "holding", *((ago, 1, 101.0) for ago in range(19, -1, -1))) for n in (1, 2))
"""Practised on twenty days up to today, and in hand: nothing needs to be said."""


def told(one: StudentFigures, beginning: str) -> list[str]:
    """Return the reasons that begin so."""
    return [reason for reason in one.reasons if reason.startswith(beginning)]


def spread(days: int, span: int, last: int = 0) -> list[int]:
    """Return so many days ago, the first that makes the span and the last given."""
    return [span - 1, *range(last + days - 2, last - 1, -1)] if days > 1 else [span - 1]


def test_who_practises_and_stands_needs_no_word() -> None:
    """No reason and no weight."""
    fine = aged(0, *GOOD)
    assert ((), 0.0) == (fine.reasons, fine.attention)


@pytest.mark.parametrize(
    ("idle", "weight"), [(3, 0), (4, 1 / 4), (5, 2 / 4), (10, 7 / 4), (33, 30 / 4), (34, 30 / 4)]
)
def test_days_away_count_after_a_usual_pause_and_up_to_a_month(idle: int, weight: float) -> None:
    """Three days are a pause; each more is a quarter, thirty at most."""
    one = aged(0, card(1, "holding", *((idle + n, 1, 101.0) for n in range(40, -1, -1))))
    # Of the month, as many days were practised as still lie in it.
    few = max(10 - max(30 - idle, 0), 0) / 4
    assert pytest.approx(weight) == one.attention
    assert weight >= few
    assert ([f"no practice for {idle} days"] if weight else []) == told(one, "no practice")
    assert not told(one, "practised on")


@pytest.mark.parametrize(
    ("days", "span", "weight"),
    [(9, 20, 1 / 4), (10, 20, 0), (4, 10, 6 / 4), (4, 9, 0), (8, 10, 2 / 4), (1, 1, 0)],
)
def test_few_days_of_a_month_are_told_from_ten_days_on(days: int, span: int, weight: float) -> None:
    """Under ten, each missing is a quarter; of a student of nine days nothing is said."""
    one = aged(0, card(1, "holding", *((ago, 1, 101.0) for ago in spread(days, span))))
    assert (days, span) == (one.whole.days, one.span_days)
    assert pytest.approx(weight) == one.attention
    assert ([f"practised on {days} days of 30"] if weight else []) == told(one, "practised on")
    assert not told(one, "no practice")


@pytest.mark.parametrize(
    ("days", "idle", "expected"),
    [
        (6, 7, "no practice for 7 days"),
        (6, 6, "practised on 6 days of 30"),
        (5, 8, "no practice for 8 days"),
    ],
)
def test_of_days_away_and_few_days_the_one_that_says_more_is_told(
    days: int, idle: int, expected: str
) -> None:
    """Both count the same missing days; where they weigh the same, the days away."""
    one = aged(0, card(1, "holding", *((ago, 1, 101.0) for ago in spread(days, 25, idle))))
    assert (expected,) == one.reasons
    assert pytest.approx(max(10 - days, idle - 3) / 4) == one.attention


@pytest.mark.parametrize(
    ("age", "weight"), [(10, 0), (11, 1 / 7), (17, 1), (31, 3), (32, 3), (200, 3)]
)
def test_a_file_is_old_after_ten_days(age: int, weight: float) -> None:
    """Each week more is one, three at most."""
    later = [
        replace(one, days=tuple(d._replace(day=d.day - timedelta(days=age)) for d in one.days))
        for one in GOOD
    ]
    one = aged(age, *later)
    assert pytest.approx(weight) == one.attention
    assert ((f"the file is {age} days old",) if weight else ()) == one.reasons


@pytest.mark.parametrize(
    ("cards", "reason", "weight"),
    [
        (1, "1 card tried, it has not come together", 1.0),
        (2, "2 cards tried, none has come together", 2.0),
        (3, "3 cards tried, none has come together", 3.0),
        (4, "4 cards tried, none has come together", 3.0),
    ],
)
def test_where_nothing_comes_together_each_card_counts_one(
    cards: int, reason: str, weight: float
) -> None:
    """Three at most, and nothing else is said of them."""
    one = aged(0, *(failed(n, (1, 2, 60.0)) for n in range(1, cards + 1)))
    assert ((reason,), weight) == (one.reasons, one.attention)


@pytest.mark.parametrize("apart", [1, 2, 3, 4])
def test_beside_others_what_is_not_together_counts_one(apart: int) -> None:
    """From the third day of a card on, three at most; a card of two days is a beginning."""
    cards = [failed(n, (3, 1, 60.0), (2, 1, 60.0), (1, 1, 60.0)) for n in range(3, 3 + apart)]
    early = failed(9, (2, 1, 60.0), (1, 1, 60.0))
    done = [
        card(n, "holding", *((ago, 1, 101.0) for ago in range(19, -1, -1))) for n in range(20, 24)
    ]
    one = aged(0, *GOOD, *done, *cards, early)
    unit = "card" if apart == 1 else "cards"
    assert f"{apart} {unit} not together yet" == one.reasons[0]
    assert min(apart, 3) == one.attention


@pytest.mark.parametrize("fading", [1, 2, 6, 7])
def test_a_fading_card_counts_a_half(fading: int) -> None:
    """Three at most."""
    cards = [card(n, "fading", (50, 1, 101.0), (45, 1, 101.0)) for n in range(3, 3 + fading)]
    held = [replace(GOOD[0], rhythm=f"{n:016x}") for n in range(30, 40)]
    one = aged(0, *held, *cards)
    assert ((f"{fading} card{'s' * (fading > 1)} fading",)) == one.reasons
    assert min(fading / 2, 3) == one.attention


def stuck(number: int) -> CardProgress:
    """Return a card of many takes and no gain."""
    return card(number, "building", (40, 1, 80.0), (3, 12, 80.5))


@pytest.mark.parametrize("cards", [1, 3, 4])
def test_a_stuck_card_counts_one(cards: int) -> None:
    """Three at most; what the whole class is stuck on is no reason of one's own."""
    held = [replace(GOOD[0], rhythm=f"{n:016x}") for n in range(30, 40)]
    one = aged(0, *held, *(stuck(n) for n in range(3, 3 + cards)))
    assert (f"{cards} card{'s' * (cards > 1)} stuck",) == one.reasons
    assert min(cards, 3) == one.attention
    others = {f"{n:016x}" for n in range(3, 3 + cards)}
    assert ((), 0.0) == ((spared := attention(one, shared=others)).reasons, spared.attention)


@pytest.mark.parametrize("missed", [0, 1, 3, 4])
def test_a_missed_assignment_counts_one(missed: int) -> None:
    """Three at most."""
    asked = tuple(Asked(TODAY - timedelta(days=n), 150.0) for n in range(1, 1 + missed))
    one = aged(0, replace(GOOD[0], asked=asked), GOOD[1])
    said = (f"{missed} assignment{'s' * (missed > 1)} missed",) if missed else ()
    assert (said, min(missed, 3)) == (one.reasons, one.attention)


@pytest.mark.parametrize(
    ("loss", "half_band", "slower"),
    [(2.0, 0.5, False), (2.1, 0.5, True), (5.0, 3.0, False), (6.0, 3.0, True)],
)
def test_slower_counts_one(loss: float, half_band: float, *, slower: bool) -> None:
    """More than two bpm and more than 1.645 deviations of the difference.

    With a band of 3 bpm on each side: 1.645 times the root of two, of 3 / 1.2816, is 5.45. (The
    normal 0.95 and 0.9 quantiles: 1.645 and 1.2816.)
    """
    days = [(ago, 1, 120.0) for ago in range(60, 30, -1)]
    now = [(ago, 1, 120.0 - loss) for ago in range(20, -1, -1)]
    low, high = 120.0 - loss - half_band, 120.0 - loss + half_band
    one = aged(0, replace(card(1, "holding", *days, *now), low_bpm=low, high_bpm=high))
    assert ((("slower than a month ago",), 1.0) if slower else ((), 0.0)) == (
        one.reasons,
        one.attention,
    )


def busy(gain: float, days: int, in_hand: int, building: int) -> StudentFigures:
    """Return a student of so many days, cards in hand and in the making, and a mean gain."""
    start = [(40, 1, 110.0), (35, 1, 110.0)]
    ago = [*range(days - 1, 0, -1), 0]
    held = [
        card(n, "holding", *start, *((n_ago, 1, 110.0 + gain) for n_ago in ago))
        for n in range(1, in_hand + 1)
    ]
    low = [(40, 1, 60.0), (35, 1, 60.0)]
    making = [
        replace(
            card(n, "building", *low, *((n_ago, 1, 60.0 + gain) for n_ago in ago)),
            low_bpm=60.0,
            high_bpm=90.0,
        )
        for n in range(20, 20 + building)
    ]
    return aged(0, *held, *making)


@pytest.mark.parametrize(
    ("gain", "days", "in_hand", "building", "said"),
    [
        (0.0, 10, 1, 2, True),
        (1.9, 10, 1, 2, True),
        (2.0, 10, 1, 2, False),
        (0.0, 9, 1, 2, False),
        (0.0, 10, 1, 1, False),
        (0.0, 10, 2, 0, False),
        (0.0, 10, 0, 1, True),
    ],
)
def test_practising_for_nothing_counts_two(
    gain: float, days: int, in_hand: int, building: int, *, said: bool
) -> None:
    """Ten days, less than two bpm a card, and fewer cards in hand than below."""
    one = busy(gain, days, in_hand, building)
    reason = [f"practises on {days} days and gains nothing"] if said else []
    assert reason == told(one, "practises on")
    others = one.attention - 2.0 * said
    assert 0 <= others < 3.26


@pytest.mark.parametrize(
    ("span", "in_hand", "begun", "said"),
    [
        (20, 0, 2, "0 of 2 begun in hand after 20 days"),
        (19, 0, 2, ""),
        (20, 1, 4, "1 of 4 begun in hand after 20 days"),
        (20, 1, 3, ""),
        (20, 2, 6, ""),
        (20, 2, 7, "2 of 7 begun in hand after 20 days"),
    ],
)
def test_little_in_hand_is_told_after_twenty_days(
    span: int, in_hand: int, begun: int, said: str
) -> None:
    """Under a third; the weight goes from three at none in hand to nothing at a third."""
    ago = [*range(span - 1, span - 11, -1), 3, 2, 1, 0]
    held = [card(n, "holding", *((n_ago, 1, 101.0) for n_ago in ago)) for n in range(in_hand)]
    making = [
        card(n, "fading", *((n_ago, 1, 60.0) for n_ago in ago))
        for n in range(20, 20 + begun - in_hand)
    ]
    one = aged(0, *held, *making)
    assert ([said] if said else []) == [reason for reason in one.reasons if "begun in" in reason]
    weight = 3 * (1 - 3 * in_hand / begun) if said else 0.0
    nothing = 2.0 * any("gains nothing" in reason for reason in one.reasons)
    fading = min((begun - in_hand) / 2, 3)
    assert pytest.approx(weight + nothing + fading) == one.attention


@pytest.mark.parametrize(("gain", "said"), [(1.9, True), (2.0, False), (6.0, False)])
def test_a_clear_gain_keeps_little_in_hand_unsaid(gain: float, *, said: bool) -> None:
    """Two bpm that are beyond the doubt; not two that may be none."""
    ago = range(24, -1, -1)
    start, now = (60, 1, 60.0), [(n, 1, 60.0 + gain) for n in ago]
    one = replace(card(1, "fading", start, (50, 1, 60.0), *now), low_bpm=0.0, high_bpm=0.0)
    assert said == any("begun in hand" in reason for reason in aged(0, one).reasons)
    # As far on both sides as makes 1.645 deviations of a difference ten bpm.
    half = 10 / 1.645 / 2**0.5 * 1.2816
    unsure = replace(one, low_bpm=60.0 - half, high_bpm=60.0 + half)
    assert any("begun in hand" in reason for reason in aged(0, unsure).reasons)


def test_reasons_stand_in_the_order_of_their_weight() -> None:
    """The heaviest first, and the whole is their sum."""
    cards = [card(n, "fading", (50, 1, 101.0), (45, 1, 101.0)) for n in range(3, 8)]
    asked = (Asked(TODAY - timedelta(days=1), 150.0),)
    held = [replace(GOOD[0], rhythm=f"{n:016x}") for n in range(30, 40)]
    one = aged(0, *held[:-1], replace(held[-1], asked=asked), *cards)
    assert ("5 cards fading", "1 assignment missed") == one.reasons
    assert 3.5 == one.attention


@pytest.mark.parametrize(
    ("stuck_ones", "fine_ones", "shared"),
    [(2, 0, False), (3, 0, True), (3, 9, True), (3, 10, False), (4, 12, True), (4, 13, False)],
)
def test_a_card_is_the_classs_trouble_from_three_and_a_quarter_on(
    stuck_ones: int, fine_ones: int, *, shared: bool
) -> None:
    """Of those who have begun it; who has it and waits does not count."""
    files = [
        student(n, f"S{n}", replace(stuck(1), goal_bpm=100.0 + n)) for n in range(1, stuck_ones + 1)
    ]
    files += [
        student(n, f"S{n}", card(1, "holding", (1, 1, 101.0))) for n in range(50, 50 + fine_ones)
    ]
    files += [student(n, f"S{n}", card(1, "waiting")) for n in range(80, 90)]
    troubles = shared_troubles(look_at(files, today=TODAY))
    assert shared == bool(troubles)
    for one in troubles:
        assert (stuck_ones, stuck_ones + fine_ones) == (one.stuck, one.students)
        assert (101.0, 100.0 + stuck_ones) == one.goals
    of_all = f"{stuck_ones} of {stuck_ones + fine_ones} who began card 1 "
    assert shared == any(
        line.startswith(of_all) for line in class_lines(look_at(files, today=TODAY))
    )


@pytest.mark.parametrize(("days", "shared"), [(2, False), (3, True)])
def test_what_does_not_come_together_for_many_is_the_classs_trouble(
    days: int, *, shared: bool
) -> None:
    """From the third day of each in the month on."""
    played = [(n, 1, 60.0) for n in range(days, 0, -1)]
    files = [student(n, f"S{n}", failed(1, *played), *GOOD[1:]) for n in range(3)]
    found = look_at(files, today=TODAY)
    assert shared == bool(shared_troubles(found))
    assert all(one.attention < inf and not told(one, "1 card not") for one in found)


def test_troubles_stand_with_the_most_stuck_first() -> None:
    """And of as many by their titles."""
    files = [student(n, f"S{n}", stuck(2), stuck(1), stuck(3)) for n in range(3)]
    files.append(student(9, "S9", stuck(3)))
    troubles = shared_troubles(look_at(files, today=TODAY))
    assert ["card 3", "card 1", "card 2"] == [one.title for one in troubles]


def test_a_trouble_is_called_as_the_first_student_calls_it() -> None:
    """Titles may differ from deck to deck; the rhythm is one."""
    files = [student(n, f"S{n}", replace(stuck(1), title=f"as {n}")) for n in range(3)]
    (trouble,) = shared_troubles(look_at(files, today=TODAY))
    assert (f"{1:016x}", "as 0") == (trouble.rhythm, trouble.title)


def test_of_cards_at_rest_nothing_is_asked_after_twenty_days() -> None:
    """None of none is in hand: no share of that, and no word."""
    one = aged(0, card(1, "rested", *((ago, 1, 101.0) for ago in range(30, -1, -1))))
    assert (0, 31) == (one.whole.begun, one.span_days)
    assert ((), 0.0) == (one.reasons, one.attention)


def test_where_nothing_comes_together_for_weeks_it_is_said_once() -> None:
    """That none is in hand follows from it."""
    one = aged(0, failed(1, *((ago, 1, 60.0) for ago in range(30, -1, -1))))
    assert (("1 card tried, it has not come together",), 1.0) == (one.reasons, one.attention)
