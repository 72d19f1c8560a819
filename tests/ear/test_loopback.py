"""The way from the program to the microphone, measured by the click."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy import signal

from drillbox.ear.loopback import round_trip
from drillbox.rhythm import parse_meter
from drillbox.sound import RATE, click_program

if TYPE_CHECKING:
    from drillbox.sound.tones import Samples

BPM, BARS = 120, 2
PROGRAM = click_program(parse_meter("4/4"), BPM, bars=BARS, count_in_bars=0)
PLAYED = PROGRAM.block(0, (PROGRAM.frames_total or 0) + RATE)
CLICKS = [number * 60 / BPM for number in range(4 * BARS)]


def heard(late: float, *, wet: float = 0.0, noise: float = 0.0, gain: float = 1.0) -> Samples:
    """Return what a microphone hears of the click, so late, in a room, in noise."""
    rng = np.random.default_rng(4)
    tail = rng.normal(size=RATE // 3) * 10 ** (-3 * np.arange(RATE // 3) / (0.3 * RATE))
    tail *= wet / np.sqrt(np.sum(tail**2))
    tail[0] += 1.0
    room = signal.fftconvolve(PLAYED, tail)[: PLAYED.size]
    shifted = np.concatenate([np.zeros(round(late * RATE)), room])[: PLAYED.size]
    return (gain * shifted + rng.normal(0, noise, PLAYED.size)).astype(np.float32)


@pytest.mark.parametrize("late", [0.003, 0.0421, 0.13, 0.31])
def test_the_click_is_found_where_it_comes(late: float) -> None:
    """From a wire to Bluetooth, in a live room and in noise, turned down: within a millisecond."""
    found = round_trip(PLAYED, heard(late, wet=0.5, noise=0.003, gain=-0.1), CLICKS, RATE)

    assert late == pytest.approx(found, abs=0.001)


def test_silence_noise_and_speech_are_no_click() -> None:
    """Where the click is not in the recording, nothing is made up."""
    rng = np.random.default_rng(5)
    noise = rng.normal(0, 0.1, PLAYED.size).astype(np.float32)
    voice = np.asarray(signal.lfilter([1.0], [1.0, -1.8, 0.95], noise), np.float32)

    assert [None] * 3 == [
        round_trip(PLAYED, samples, CLICKS, RATE) for samples in (0 * noise, noise, voice)
    ]


def test_one_knock_is_not_enough() -> None:
    """A single click heard by chance at one place does not agree with the others."""
    once = np.zeros_like(PLAYED)
    once[30_000:32_000] = PLAYED[:2000]

    assert round_trip(PLAYED, once, CLICKS, RATE) is None


def test_a_recording_cut_short_is_no_measure() -> None:
    """A microphone that went away after a second leaves too few clicks."""
    assert round_trip(PLAYED, heard(0.04)[: RATE // 2], CLICKS, RATE) is None
