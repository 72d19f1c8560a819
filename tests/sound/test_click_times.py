"""When clicks fall: exact arithmetic, before any sample is made."""

from __future__ import annotations

from fractions import Fraction
from itertools import islice, pairwise

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from strategies import clicks_per_beat, meters, tempi

from drillbox.errors import UsageError
from drillbox.rhythm import Meter, Swing, parse_meter
from drillbox.sound import Click, ClickPlan, ClickStyle, TempoAt, Timeline
from drillbox.sound.click import pulse_positions
from drillbox.sound.timeline import frame_at


@pytest.mark.parametrize(
    ("meter", "expected"),
    [
        ("4/4", [0, 1, 2, 3]),
        ("5/4", [0, 1, 2, 3, 4]),
        ("6/8", [0, 3]),
        ("12/8", [0, 3, 6, 9]),
        ("7/8", [0, 2, 4]),
        ("3+2+2/8", [0, 3, 5]),
    ],
)
def test_pulses_are_where_a_drummer_counts_them(meter: str, expected: list[int]) -> None:
    """Quarters in x/4, dotted quarters in compound meters, groups in odd ones.

    Common practice, no source.
    """
    assert expected == [int(at) for at in pulse_positions(parse_meter(meter))]


@examples(40)
@given(meters(), tempi, clicks_per_beat)
def test_every_click_is_a_product_not_a_sum(meter: Meter, bpm: Fraction, per_beat: int) -> None:
    """Click k of an even grid stands at k * 60 / (bpm * pulse * clicks a beat).

    As an exact fraction.
    """
    timeline = Timeline.steady(meter, bpm, bars=5)
    events = list(ClickPlan(timeline, ClickStyle(subdivision=per_beat)).events())
    expected = [
        Fraction(60 * k) / (bpm * meter.pulse * per_beat) for k in range(5 * meter.beats * per_beat)
    ]
    assert expected == [event.seconds for event in events]


def test_kinds_of_a_bar_of_eighths_after_a_count_in() -> None:
    """The count-in sounds its pulses only.

    Then the first beat, the pulses and what lies between differ.
    """
    timeline = Timeline.steady(parse_meter("3/4"), 60, bars=1, count_in_bars=1)
    events = ClickPlan(timeline, ClickStyle(subdivision=2)).events()
    first, pulse, between, count_in = (
        Click.FIRST,
        Click.PULSE,
        Click.SUBDIVISION,
        Click.COUNT_IN,
    )
    expected = [*[count_in] * 3, first, between, pulse, between, pulse, between]
    assert expected == [event.kind for event in events]


def test_count_in_of_two_bars_lasts_two_bars() -> None:
    """In 6/8 at 60 dotted quarters a minute a bar is two seconds.

    The first beat comes after four.
    """
    timeline = Timeline.steady(parse_meter("6/8"), 60, bars=1, count_in_bars=2)
    events = list(ClickPlan(timeline).events())
    assert [0, 1, 2, 3, 4, 5] == [event.seconds for event in events]
    assert [Fraction(-12), Fraction(0)] == [events[0].beat, events[4].beat]


def test_a_metronome_without_end_goes_on() -> None:
    """Click 10,000 of an endless take at 97 bpm is still exact."""
    plan = ClickPlan(Timeline.steady(parse_meter("4/4"), 97))
    event = next(islice(plan.events(), 10_000, None))
    assert Fraction(60 * 10_000, 97) == event.seconds


def test_tempo_changes_at_bar_lines_are_exact() -> None:
    """Two bars of 4/4 at 80, three at 85, the rest at 90.

    Each bar is as long as its own tempo says.
    """
    tempi = (TempoAt(0, Fraction(80)), TempoAt(2, Fraction(85)), TempoAt(5, Fraction(90)))
    timeline = Timeline(parse_meter("4/4"), tempi, bars=6, count_in_bars=1)
    starts = [timeline.seconds_at(Fraction(4 * bar)) for bar in range(-1, 7)]
    lengths = [later - sooner for sooner, later in pairwise(starts)]
    assert [Fraction(240, bpm) for bpm in (80, 80, 80, 85, 85, 85, 90)] == lengths
    assert starts[-1] == timeline.seconds_total


@examples(40)
@given(st.integers(-1, 6), tempi, tempi)
def test_a_tempo_change_leaves_the_past_alone(bar: int, before: Fraction, after: Fraction) -> None:
    """`with_tempo` moves nothing before its bar, not even the count-in.

    And sets the length of the bars after.
    """
    old = Timeline.steady(parse_meter("4/4"), before, bars=8, count_in_bars=1)
    new = old.with_tempo(bar, after)
    for past in range(-4, 4 * bar + 1):
        assert old.seconds_at(Fraction(past)) == new.seconds_at(Fraction(past))
    length = new.seconds_at(Fraction(4 * bar + 4)) - new.seconds_at(Fraction(4 * bar))
    assert 240 / after == length


@examples(60)
@given(
    meters(),
    tempi,
    st.fractions(min_value=-3, max_value=40, max_denominator=48),
    st.sampled_from([None, Swing(Fraction(2, 3)), Swing(Fraction(3, 5), Fraction(1, 2))]),
)
def test_beats_and_seconds_are_inverse(
    meter: Meter, bpm: Fraction, beat: Fraction, swing: Swing | None
) -> None:
    """Where a beat sounds, that beat is what sounds."""
    timeline = Timeline.steady(meter, bpm, count_in_bars=1, swing=swing).with_tempo(2, bpm * 9 / 8)
    assert beat == timeline.beat_at(timeline.seconds_at(beat))


def test_swing_puts_the_offbeat_eighth_on_the_third_triplet() -> None:
    """A share of 2/3 is the triplet feel.

    At 60 bpm the `&` sounds at 2/3 s, the beat stays (common practice).
    """
    timeline = Timeline.steady(parse_meter("4/4"), 60, swing=Swing(Fraction(2, 3)))
    assert Fraction(2, 3) == timeline.seconds_at(Fraction(1, 2))
    assert Fraction(1) == timeline.seconds_at(Fraction(1))


@examples(60)
@given(meters(), tempi, st.integers(0, 60))
def test_position_at_a_clicks_frame_is_the_clicks_beat(
    meter: Meter, bpm: Fraction, beat: int
) -> None:
    """Rounded down or up, the frame of a beat reads as that beat.

    With its fraction at most a frame.
    """
    timeline = Timeline.steady(meter, bpm, count_in_bars=2)
    position = timeline.position(frame_at(timeline.seconds_at(Fraction(beat))))
    assert divmod(beat, meter.beats) == (position.bar, position.beat)
    assert 0 <= position.fraction < 0.001


def test_position_counts_the_count_in_passes_and_the_end() -> None:
    """Four bars of a two-bar pattern after one bar of count-in, at one beat a second."""
    timeline = Timeline.steady(parse_meter("4/4"), 60, bars=4, count_in_bars=1, pass_bars=2)
    places = [timeline.position(second * 48_000 + 24_000) for second in (1, 4, 13, 19, 20)]
    assert [True, False, False, False, False] == [place.counting_in for place in places]
    assert [0, 0, 2, 3, 3] == [place.bar for place in places]
    assert [1, 0, 1, 3, 3] == [place.beat for place in places]
    assert [0, 0, 1, 1, 1] == [place.pass_number for place in places]
    assert [0, 0, 0, 1, 1] == [place.bar_in_pass for place in places]
    assert [False, False, False, False, True] == [place.done for place in places]


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda m: Timeline.steady(m, 5), "5 bpm is out of range"),
        (lambda m: Timeline.steady(m, 90, bars=0), "cannot have that many bars"),
        (lambda m: Timeline(m, ()), "not in order of bars"),
        (
            lambda m: Timeline(m, (TempoAt(0, Fraction(90)), TempoAt(0, Fraction(9)))),
            "not in order",
        ),
        (lambda _: ClickStyle(subdivision=32), "cannot be heard apart"),
        (lambda _: Swing(Fraction(1, 4)), "swing share"),
        (lambda _: Swing(Fraction(2, 3), Fraction(2)), "does not fill a beat"),
    ],
)
def test_what_cannot_be_meant_is_refused(make: object, match: str) -> None:
    """Every limit has its sentence."""
    with pytest.raises(UsageError, match=match):
        make(parse_meter("4/4"))  # type: ignore[operator]
