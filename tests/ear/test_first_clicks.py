"""A metronome whose first click of the bar sounds different, bled into the microphone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from made_takes import RATE, noise

from drillbox.ear.clicks import remove_click
from drillbox.ear.measuring import _pulses
from drillbox.rhythm import parse

if TYPE_CHECKING:
    from drillbox.ear.energies import Samples

LATE = 0.016
PULSES = 28
BURST_AT = 0.004


def tone(hertz: float) -> Samples:
    """Return a click of one pitch."""
    t = np.arange(1764) / RATE
    return (0.1 * np.sin(2 * np.pi * hertz * t) * np.exp(-t / 0.006)).astype(np.float32)


USUAL, OWN, NONE = tone(1200), tone(1800), tone(1200) * 0


def bars(first: Samples, *, struck: bool = True) -> tuple[Samples, Samples]:
    """Return seven bars of clicks in quiet noise, and the same without the clicks.

    From the second bar on a burst comes to every first pulse, if asked, each time another.
    """
    rest = noise(0.5 * PULSES + 1.5, -75)
    rng = np.random.default_rng(1)
    for pulse in range(4, PULSES, 4) if struck else ():
        begin = int((0.5 + 0.5 * pulse + LATE + rng.uniform(-BURST_AT, BURST_AT)) * RATE)
        sound = rng.normal(0, 0.05, 2000) * np.exp(-np.arange(2000) / 500)
        rest[begin : begin + 2000] += sound.astype(np.float32)
    samples = rest.copy()
    for pulse in range(PULSES):
        begin = round((0.5 + 0.5 * pulse + LATE) * RATE)
        samples[begin : begin + 1764] += USUAL if pulse % 4 else first
    return samples, rest


def left(samples: Samples, rest: Samples, pulse: int, *, bar: int = 4) -> float:
    """Return what is left of a pulse's click, as power over that of the usual one."""
    struck = np.arange(2.5, 0.5 * PULSES, 2.0)
    found = remove_click(samples, RATE, 0.5, 0.5, struck, bar=bar).samples
    begin = round((0.5 + 0.5 * pulse + LATE) * RATE)
    place = slice(begin, begin + 1200)
    return float(np.sum((found[place] - rest[place]) ** 2) / np.sum(USUAL[:1200] ** 2))


@pytest.mark.parametrize("pulse", [0, 4, 5, 12, 15, 24])
def test_a_first_click_of_another_pitch_is_taken_out_as_well(pulse: int) -> None:
    """Each click loses 10 dB, alone in the count-in or under a stroke that comes with it."""
    assert 0.1 > left(*bars(OWN), pulse)


def test_with_no_bar_known_the_first_click_stays() -> None:
    """Taken for the usual one, more is put in than is taken out."""
    assert 1.0 < left(*bars(OWN), 12, bar=1)


@pytest.mark.parametrize("pulse", [0, 4, 5, 24])
def test_a_first_click_like_the_others_is_averaged_with_them(pulse: int) -> None:
    """One click for all: the strokes at the first pulses leave no trace in it."""
    assert 0.03 > left(*bars(USUAL), pulse)


@pytest.mark.parametrize("pulse", [0, 4, 12])
def test_where_the_first_pulse_is_silent_nothing_is_put_in(pulse: int) -> None:
    """A metronome that leaves the first beat to the player."""
    assert 0.03 > left(*bars(NONE), pulse)


def test_what_the_count_in_alone_holds_is_no_click() -> None:
    """A knock on the first pulse of the count-in, never again, is not taken from the others."""
    samples, rest = bars(NONE)
    begin = round((0.5 + LATE) * RATE)
    samples[begin : begin + 1764] += OWN

    assert 0.03 > left(samples, rest, 12)


@pytest.mark.parametrize(
    ("meter", "pulses"), [("4/4", 4), ("3/4", 3), ("6/8", 2), ("12/8", 4), ("7/8", 1), ("2/4", 2)]
)
def test_a_bar_has_as_many_pulses_as_the_metronome_clicks_in_it(meter: str, pulses: int) -> None:
    """Common practice, no source: a pulse is a quarter, or three eighths in compound meters."""
    assert pulses == _pulses(parse(f"meter: {meter}\nsnare: 1\n"))
