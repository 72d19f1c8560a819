"""A take heard back: slower, at its place, under its click."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from drillbox.rhythm import parse
from drillbox.sound import HALF, RATE, heard_back

PATTERN = parse("snare: >1 >3\n")
BPM, START, PASSES = 120, 0.73, 2


def recording(*, early: float = 0.0) -> np.ndarray:
    """Return knocks on one and three, the first beat at `START`, so much early."""
    out = np.zeros(6 * RATE, np.float32)
    for number in range(2 * PASSES):
        first = round((START + number - early) * RATE)
        out[first : first + 40] = 0.1
    return out


@pytest.mark.parametrize("share", [HALF, Fraction(1)])
@pytest.mark.parametrize("early", [0.0, 0.02])
def test_strokes_lie_where_they_lay_against_the_click(share: Fraction, early: float) -> None:
    """Twenty milliseconds early are forty at half speed; nothing is heard twice or left out."""
    mix = heard_back(recording(early=early), START, PATTERN, BPM, passes=PASSES, share=share)
    (take,) = mix.tracks[1:]
    sound = np.zeros(mix.frames_total or 0, np.float32)
    for bar in range(PASSES):
        for hit in take.hits(bar):
            sound[hit.frame : hit.frame + len(hit.sound)] += hit.sound
    loud = np.flatnonzero(sound > 0.3)
    begins = loud[np.diff(loud, prepend=-RATE) > 1000] / RATE
    nominal = [number / float(share) for number in range(2 * PASSES)]
    expected = [at - early / float(share) for at in nominal]

    heard = [at for at in expected if at >= 0]
    assert heard == pytest.approx(list(begins), abs=0.001)
    assert 0.7 == pytest.approx(float(sound.max()), abs=0.01)


def test_silence_stays_silent() -> None:
    """What was not heard is not made loud."""
    mix = heard_back(np.zeros(RATE, np.float32), START, PATTERN, BPM, passes=PASSES)
    (take,) = mix.tracks[1:]

    assert not take.hits(0)[0].sound.any()
