"""Clicks that help less: their exact places, from what a drummer would ask for."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st
from sounding import onsets, render

from drillbox.errors import UsageError
from drillbox.rhythm import Swing, parse, parse_meter
from drillbox.sound import (
    Click,
    ClickEvent,
    ClickPlan,
    ClickStyle,
    Gap,
    QuietDown,
    TempoAt,
    Timeline,
    click_program,
)

FOUR = parse_meter("4/4")


def clicks(style: ClickStyle, *, meter: str = "4/4", bars: int = 1) -> list[ClickEvent]:
    """Return the clicks of some bars at one pulse a second, without a count-in."""
    return list(ClickPlan(Timeline.steady(parse_meter(meter), 60, bars=bars), style).events())


def test_two_and_four_only() -> None:
    """The click that stands for the backbeat.

    Beats two and four, and no accent that would sound like one.
    """
    events = clicks(ClickStyle.backbeats(FOUR), bars=2)
    assert [1, 3, 5, 7] == [event.beat for event in events]
    assert {Click.PULSE} == {event.kind for event in events}


def test_backbeats_of_six_eight_are_the_second_dotted_quarters() -> None:
    """In 6/8 that is beat four (common practice, no source)."""
    style = ClickStyle.backbeats(parse_meter("6/8"))
    assert [3, 9] == [event.beat for event in clicks(style, meter="6/8", bars=2)]


@pytest.mark.parametrize(
    ("name", "late"), [("e", Fraction(1, 4)), ("&", Fraction(1, 2)), ("a", Fraction(3, 4))]
)
def test_a_displaced_click_stands_on_every_e_or_a(name: str, late: Fraction) -> None:
    """At 60 bpm a click on the `e` comes a quarter of a second after each beat.

    And never on one.
    """
    events = clicks(ClickStyle(displaced=late))
    assert [beat + late for beat in range(4)] == [event.seconds for event in events], name
    assert {Click.PULSE} == {event.kind for event in events}


def test_displaced_and_chosen_together() -> None:
    """Only the a of two: one click a bar."""
    events = clicks(ClickStyle(only=(1,), displaced=Fraction(3, 4)), bars=2)
    assert [Fraction(7, 4), Fraction(23, 4)] == [event.beat for event in events]


def test_the_pattern_s_own_grid_changes_beat_by_beat() -> None:
    """Sixteenths on one and two, triplets on three, eighths on four.

    The second bar is triplets throughout.
    """
    pattern = parse("grid: 16 16 8t 8 | 8t\nsnare: 2 | 2\n")
    events = clicks(ClickStyle.of_pattern(pattern), bars=3)
    first = [Fraction(slot, 4) for slot in range(4)]
    expected = [*first, *(1 + at for at in first)]
    expected += [
        Fraction(2),
        2 + Fraction(1, 3),
        2 + Fraction(2, 3),
        Fraction(3),
        3 + Fraction(1, 2),
    ]
    second = [4 + Fraction(slot, 3) for slot in range(12)]
    assert [*expected, *second, *(8 + at for at in expected)] == [event.beat for event in events]


@examples(30)
@given(st.integers(1, 4), st.integers(1, 4), st.integers(0, 2))
def test_a_gap_click_is_silent_in_its_bars_and_exact_after_them(
    on: int, off: int, count_in: int
) -> None:
    """`on` bars heard, `off` bars silent.

    What comes back is where it would have been, and the count-in stays.
    """
    timeline = Timeline.steady(FOUR, 93, bars=12, count_in_bars=count_in)
    whole = list(ClickPlan(timeline).events())
    gapped = list(ClickPlan(timeline, ClickStyle(bars=Gap(on, off))).events())
    expected = [each for each in whole if each.beat < 0 or each.beat // 4 % (on + off) < on]
    assert expected == gapped


def test_quiet_down_withdraws_bar_by_bar() -> None:
    """Two bars in full, then -6, -12 and -18 dB, then nothing."""
    events = clicks(ClickStyle(bars=QuietDown(after=2, over=3)), bars=7)
    assert [0.0, 0.0, -6.0, -12.0, -18.0] == [
        event.db for event in events if event.kind is Click.FIRST
    ]
    assert 20 == len(events)


def test_quiet_down_is_heard_at_its_levels() -> None:
    """The rendered peaks of the bars stand 6 dB apart."""
    program = click_program(
        FOUR, 240, bars=4, count_in_bars=0, style=ClickStyle(bars=QuietDown(1, 3))
    )
    bars = render(program).reshape(4, 48_000)
    peaks = 20 * np.log10(np.abs(bars).max(axis=1))
    assert [-6.0, -6.0, -6.0] == pytest.approx(np.diff(peaks).tolist(), abs=0.01)


def test_swung_eighths_are_heard_late() -> None:
    """With a share of 2/3 at 60 bpm the second eighth sounds at frame 32,000.

    And the sixteenth before it at 16,000.
    """
    timeline = Timeline.steady(FOUR, 60, bars=1, swing=Swing(Fraction(2, 3)))
    events = list(ClickPlan(timeline, ClickStyle(subdivision=4)).events())
    assert [0, Fraction(1, 3), Fraction(2, 3), Fraction(5, 6)] == [
        each.seconds for each in events[:4]
    ]


def test_a_ramp_climbs_at_its_bar_lines() -> None:
    """From 80 up by 5 every two bars over six bars: 80, 85 and 90, each two bars long."""
    ramp = Timeline.ramp(FOUR, 80, step=5, every_bars=2, bars=6, count_in_bars=1)
    assert (
        TempoAt(0, Fraction(80)),
        TempoAt(2, Fraction(85)),
        TempoAt(4, Fraction(90)),
    ) == ramp.tempi
    assert (
        Fraction(240, 80) + sum(2 * Fraction(240, bpm) for bpm in (80, 85, 90))
        == ramp.seconds_total
    )
    assert [80.0, 80.0, 85.0, 90.0] == [
        ramp.position(round(ramp.seconds_at(Fraction(4 * bar)) * 48_000)).bpm
        for bar in (-1, 1, 2, 5)
    ]


def test_a_gap_in_the_samples_is_silence() -> None:
    """One bar on, one bar off at 240 bpm: a second of clicks, a second of nothing."""
    program = click_program(FOUR, 240, bars=4, count_in_bars=0, style=ClickStyle(bars=Gap(1, 1)))
    found = onsets(render(program))
    assert [*range(0, 48_000, 12_000), *range(96_000, 144_000, 12_000)] == found


@pytest.mark.parametrize(
    "how",
    [
        {"subdivision": 2, "only": (1,)},
        {"grids": (4,), "displaced": Fraction(1, 4)},
        {"displaced": Fraction(1)},
        {"displaced": Fraction(-1, 4)},
    ],
)
def test_styles_that_contradict_themselves_are_refused(how: dict[str, object]) -> None:
    """A click on chosen places is not subdivided as well, and is late by less than a beat."""
    with pytest.raises(UsageError, match="cannot be"):
        ClickStyle(**how)  # type: ignore[arg-type]


def test_a_ramp_without_bars_between_its_steps_is_refused() -> None:
    """Every bar at the soonest."""
    with pytest.raises(UsageError, match="needs bars between"):
        Timeline.ramp(FOUR, 80, step=5, every_bars=0, bars=6)
