"""Meters: what is written, how it is grouped, and how long a beat lasts."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import meters

from drillbox.errors import NotationError, UsageError
from drillbox.rhythm import Meter, parse_meter


@given(meters())
def test_a_written_meter_reads_back(meter: Meter) -> None:
    """parse_meter(str(meter)) == meter, whatever the grouping."""
    assert meter == parse_meter(str(meter))


@pytest.mark.parametrize(
    ("text", "groups", "pulse"),
    [
        ("2/4", (2,), 1),
        ("3/4", (3,), 1),
        ("4/4", (4,), 1),
        ("5/4", (3, 2), 1),
        ("6/4", (3, 3), 1),
        ("7/4", (4, 3), 1),
        ("3/8", (3,), 2),
        ("5/8", (2, 3), 2),
        ("6/8", (3, 3), 3),
        ("7/8", (2, 2, 3), 2),
        ("9/8", (3, 3, 3), 3),
        ("12/8", (3, 3, 3, 3), 3),
        ("2+2+2/8", (2, 2, 2), 2),
    ],
)
def test_usual_groups_and_pulses(text: str, groups: tuple[int, ...], pulse: int) -> None:
    """Compound meters count dotted quarters, all others quarters (common practice, no source)."""
    meter = parse_meter(text)

    assert (groups, Fraction(pulse)) == (meter.groups, meter.pulse)
    assert text == str(meter)


def test_the_usual_grouping_need_not_be_written() -> None:
    """2+2+3/8 is 7/8, and is written so; 3+2+2/8 is not."""
    assert "7/8" == str(parse_meter("2+2+3/8"))
    assert "3+2+2/8" == str(parse_meter("3+2+2/8"))


@given(st.integers(20, 400))
def test_a_bar_lasts_its_pulses(bpm: int) -> None:
    """A bar of 4/4, of 12/8 and of 8/8 has four pulses: 240/bpm seconds, by rational arithmetic."""
    exact = float(Fraction(240, bpm))

    for text in ("4/4", "12/8", "8/8"):
        meter = parse_meter(text)
        assert exact == pytest.approx(meter.beats * meter.beat_seconds(bpm), rel=1e-15)


@pytest.mark.parametrize(
    "text", ["", "4", "4/", "/4", "0/4", "4/3", "4/16", "04/4", "4/4 ", "٤/4", "+4/4"]
)
def test_what_is_no_meter(text: str) -> None:
    """Anything but beats and beat note is refused where it stands, with examples."""
    with pytest.raises(NotationError, match=r"cannot read .* as a meter; write .*4/4") as caught:
        parse_meter(text, line=3, column=8)

    assert (3, 8) == (caught.value.line, caught.value.column)


def test_a_bar_has_at_most_24_beats() -> None:
    """A bar nobody counts is refused, written or made."""
    with pytest.raises(NotationError, match="a bar cannot have 30 beats; use 1 to 24"):
        parse_meter("30/8")
    with pytest.raises(UsageError, match="use 1 to 24"):
        Meter(0, 4)


def test_groups_make_the_bar() -> None:
    """Groups that do not add up, and beat notes other than quarters and eighths, cannot be made."""
    with pytest.raises(UsageError, match=r"the groups 2\+3 do not make 4 beats"):
        Meter(4, 4, (2, 3))
    with pytest.raises(UsageError, match="a beat cannot be 1/2"):
        Meter(4, 2)
