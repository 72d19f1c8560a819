from __future__ import annotations

from math import log2, sqrt

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar
from scipy.stats import norm
from strategies import candidates, plan_day

from drillbox.memory import Grade, Parameters
from drillbox.plan import Candidate, aim_bpm, next_bpm, take_shape, visit_bpm
from drillbox.plan.candidate_columns import Candidates
from drillbox.plan.table import tabulate
from drillbox.plan.takes import (
    CHANGE_SECONDS,
    GRADE_SECONDS,
    HELD_OCTAVES,
    MEETING_SUCCESS_SDS,
    mark_under,
    nearest_mark,
)


@given(st.floats(1.0, 64.0), st.integers(1, 16), st.integers(20, 400))
def test_a_take_is_whole_bars_and_whole_passes(seconds60: float, bars: int, bpm: int) -> None:
    """It counts in for two seconds or a little more, plays about half a minute.

    And leaves time to grade.
    """
    shape = take_shape(seconds60, bars, bpm)
    one_pass = seconds60 * 60.0 / bpm
    count_in = shape.count_in_bars * one_pass / bars
    assert 2.0 - 1e-6 <= count_in < max(2.0 + one_pass / bars, one_pass / bars + 1e-6)
    assert shape.passes == 1 or abs(shape.passes * one_pass - 30.0) <= one_pass / 2 + 1e-6
    assert shape.seconds == pytest.approx(count_in + shape.passes * one_pass + GRADE_SECONDS)


def test_one_bar_of_four_at_ninety() -> None:
    """A bar of 4/4 at 90 lasts 2.67 s: one bar of count-in, eleven passes, six seconds to grade."""
    shape = take_shape(4.0, 1, 90.0)
    assert (shape.count_in_bars, shape.passes) == (1, 11)
    assert shape.seconds == pytest.approx(12 * 8 / 3 + 6)


def test_a_meeting_aims_where_learning_is_fastest() -> None:
    """Error 15.87 % maximises difficulty x precision for Gaussian noise.

    Wilson, Shenhav, Straccia & Cohen, Nature Communications 10:4646 (2019): d/db [b phi(b)...] is
    zero at b = 1, i.e. accuracy Phi(1) = 0.8413; found here by maximising the learning rate b
    phi(b).
    """
    best = minimize_scalar(lambda b: -b * norm.pdf(b), bounds=(0.1, 4.0), method="bounded")
    assert best.x == pytest.approx(MEETING_SUCCESS_SDS, abs=1e-4)
    assert norm.sf(MEETING_SUCCESS_SDS) == pytest.approx(0.158655, abs=1e-6)


@given(st.floats(40.0, 180.0), st.floats(0.0, 0.3))
def test_the_tempo_aimed_at_comes_off_84_times_in_100(bpm: float, sd: float) -> None:
    """P(at least steady) at the tempo aimed at is 0.8413, up to the rounding to a mark."""
    seen = aim_bpm(log2(bpm), sd**2, 0.08, 400.0)
    spread = sqrt(sd**2 + 0.08**2)
    chances = [norm.cdf((log2(bpm) - log2(b - 2.5)) / spread) for b in (seen - 2.5, seen + 2.5)]
    assert chances[1] - 1e-9 <= norm.cdf(1.0) <= chances[0] + 1e-9 or seen == 20


@given(st.floats(60.0, 180.0), st.floats(0.0, 0.2), st.floats(0.0, 0.3), st.floats(0.0, 0.3))
def test_the_farther_over_its_goal_the_more_is_asked(
    bpm: float, sd: float, less: float, more: float
) -> None:
    """A card well over its goal is asked faster, never slower."""
    less, more = min(less, more), max(less, more)
    asked = [aim_bpm(log2(bpm), sd**2, 0.08, 400.0, over_goal=x) for x in (less, more)]
    assert asked[0] <= asked[1] <= aim_bpm(log2(bpm), sd**2, 0.08, 400.0, over_goal=HELD_OCTAVES)
    assert aim_bpm(log2(bpm), sd**2, 0.08, 400.0, over_goal=-0.2) <= asked[0]


@given(st.integers(-12, 6), st.floats(-0.3, 0.3))
def test_a_streak_moves_the_aim_its_own_way(streak: int, over: float) -> None:
    """The more first takes failed in a row, the slower the next; the more were easy, the faster.

    A card at 90 with 0.08 octave of noise alone: eight failures in a row ask at most 0.224 octave
    lower, three easy ones 0.06 higher, and further ones no more.
    """
    mean = log2(90.0)
    plain = aim_bpm(mean, 0.0, 0.08, 400.0, over_goal=over)
    asked = aim_bpm(mean, 0.0, 0.08, 400.0, over_goal=over, streak=streak)
    again = aim_bpm(mean, 0.0, 0.08, 400.0, over_goal=over, streak=streak + 1)
    assert asked <= again
    assert (asked <= plain) if streak <= 0 else (asked >= plain)
    assert -0.224 - 0.09 <= log2(asked / plain) <= 0.06 + 0.09
    met = [aim_bpm(mean, 0.0, 0.08, 400.0, streak=n) for n in (streak, 0)]
    assert met[0] == met[1]


def test_tempo_for_success_of_the_reference() -> None:
    """Half-hold tempo 100, noise 0.08 octave, success 0.8413.

    94.606 bpm, and 2.5 for 'at least steady': 97.1, whose nearest mark is 95.
    """
    assert aim_bpm(log2(100.0), 0.0, 0.08, 400.0) == nearest_mark(94.606 + 2.5) == 95


@given(st.integers(20, 400))
def test_marks_are_fives_from_sixty_up_and_twos_below(bpm: int) -> None:
    """Every tempo has a mark within two and a half, or within one below 60.

    Marks are their own. Common practice, no source.
    """
    mark = nearest_mark(bpm)
    assert mark % (5 if mark >= 60 else 2) == 0
    assert abs(mark - bpm) <= (2.5 if bpm >= 60 else 1)
    assert nearest_mark(mark) == mark


@given(st.floats(20.0, 400.0))
@example(59.9)
@example(60.0)
def test_the_mark_under_a_tempo_is_the_last_one_reached(bpm: float) -> None:
    """Of all marks of a metronome, twenty up to four hundred, the fastest that is no faster."""
    marks = [*range(20, 60, 2), *range(60, 401, 5)]
    assert max(mark for mark in marks if mark <= bpm) == mark_under(bpm)


def test_the_ceiling_is_never_exceeded() -> None:
    """A card that is to be kept is played no faster than its goal, and none slower than 20."""
    assert aim_bpm(log2(160.0), 0.0, 0.08, 95.5) == 95
    assert aim_bpm(log2(12.0), 0.0, 0.08, 95.0) == 20


@pytest.mark.parametrize(
    ("grade", "expected"),
    [
        (Grade.FELL_APART, 75),
        (Grade.SHAKY, 80),
        (Grade.STEADY, 88),
        (Grade.CLEAN, 92),
        (Grade.AUTOMATIC, 92),
    ],
)
def test_the_next_take_follows_the_grade(grade: Grade, expected: int) -> None:
    """To the mark at least five or ten up or down, up to the ceiling of 92 (common practice)."""
    assert next_bpm(88, grade, 92.0) == expected


def test_the_step_over_sixty_goes_to_a_five() -> None:
    """What the guide says: clean at 56 asks for 61 and leads to 65, and 54 stays among the twos."""
    assert [65, 60] == [next_bpm(bpm, Grade.CLEAN, 400.0) for bpm in (56, 54)]
    assert [70, 44] == [
        next_bpm(bpm, grade, 400.0)
        for bpm, grade in ((56, Grade.AUTOMATIC), (55, Grade.FELL_APART))
    ]


@given(st.integers(40, 200), st.sampled_from(Grade))
def test_a_step_is_one_that_can_be_heard(bpm: int, grade: Grade) -> None:
    """Every move of the metronome is at least 2.5 %, the just noticeable difference above 240 ms.

    Friberg & Sundberg, JASA 98:2524-2531 (1995).
    """
    moved = abs(next_bpm(bpm, grade, 400.0) - bpm) / bpm
    assert moved == 0.0 or moved >= 0.025


@given(candidates(0), st.floats(1.0, 300.0))
def test_the_table_of_all_cards_is_the_one_card_laws(card: Candidate, wait: float) -> None:
    """In columns or by itself, a card not played today has the same next tempo.

    And its take the same length.
    """
    at = (card.belief.at or 0.0) + wait
    day = plan_day(at)
    table = tabulate(Candidates([card]), day, Parameters())
    bpm = visit_bpm(card, at, Parameters())

    assert bpm == table.bpm[0]
    seconds = take_shape(card.seconds60, card.bars, bpm).seconds + CHANGE_SECONDS
    assert table.seconds[0, 0] == pytest.approx(seconds)
